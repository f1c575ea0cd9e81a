/** Pieces to print being thought over: the bed, cuts of the maker's own, and whether every piece lies on the bed. */
import type { CallResult } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import type { Surface } from '../../controls/drawing.ts';
import { CheckField, ChoiceField, FieldRow } from '../../controls/field.tsx';
import { LengthField, LiveLengthField } from '../../controls/length-field.tsx';
import { Remark, Stamp } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { CUT_WAYS, cutAt, cutPlace, type CutWay, type OwnCut, type PiecesPlan } from './make-plan.ts';

type PiecesShown = NonNullable<CallResult<'making.preview'>['pieces']>;

const SIDES = ['Width', 'Depth', 'Height'] as const;
/** Lengths beyond this are of no part. */
const FARTHEST_MM = 5000;
/** Less is as good as straight. */
const STRAIGHT_DEGREES = 0.5;

export function PiecesFields(props: {
  readonly plan: PiecesPlan;
  readonly onPlan: (plan: PiecesPlan) => void;
  readonly shown: PiecesShown | undefined;
  /** What is shown is of an earlier plan. */
  readonly isBusy: boolean;
  readonly surface: Surface | undefined;
  readonly held: string | undefined;
  readonly onHeld: (id: string | undefined) => void;
}) {
  const { plan, onPlan } = props;
  const { unit } = useStore(useStudio().settings);
  return (
    <>
      <fieldset className="desk-part">
        <legend>Room of the print bed</legend>
        <FieldRow least="5.5rem">
          {SIDES.map((label, side) => (
            <LiveLengthField
              key={label}
              label={label}
              unit={unit}
              valueMm={plan.bedMm[side] ?? undefined}
              leastMm={20}
              mostMm={3000}
              onRead={(mm) =>
                onPlan({ ...plan, bedMm: plan.bedMm.with(side, mm ?? null) as unknown as PiecesPlan['bedMm'] })
              }
            />
          ))}
        </FieldRow>
        <OnTheBed plan={plan} shown={props.shown} isBusy={props.isBusy} />
      </fieldset>
      <OwnCuts {...props} />
      <fieldset className="desk-part">
        <legend>Joints and numbers</legend>
        <ChoiceField
          label="Pieces are held together by"
          value={plan.joint}
          onChange={(joint) => onPlan({ ...plan, joint })}
          options={[
            { value: 'dowel', label: 'Pins in holes' },
            { value: 'peg', label: 'Pegs and sockets' },
            { value: 'none', label: 'Glue alone' },
          ]}
        />
        {plan.joint === 'none' ? null : (
          <>
            <LiveLengthField
              label="Thickness of a pin"
              hint="Bits of printing filament, 1.75 mm thick, make good pins."
              unit={unit}
              digits={2}
              valueMm={plan.pinMm}
              leastMm={1}
              mostMm={20}
              onRead={(pinMm) => onPlan({ ...plan, pinMm })}
            />
            <LiveLengthField
              label="Holes wider by"
              unit={unit}
              digits={2}
              valueMm={plan.clearanceMm}
              leastMm={0}
              mostMm={2}
              onRead={(clearanceMm) => onPlan({ ...plan, clearanceMm })}
            />
          </>
        )}
        <CheckField
          label="Raise a number on each piece"
          hint="On the inner side, where padding hides it."
          checked={plan.isNumbered}
          onChange={(isNumbered) => onPlan({ ...plan, isNumbered })}
        />
      </fieldset>
    </>
  );
}

/** Each piece against the bed, as it would lie. */
function OnTheBed(props: {
  readonly plan: PiecesPlan;
  readonly shown: PiecesShown | undefined;
  readonly isBusy: boolean;
}) {
  const { plan, shown, isBusy } = props;
  const { unit } = useStore(useStudio().settings);
  if (shown === undefined) return null;
  const { pieces, planes } = shown;
  const tooLarge = pieces.filter(({ fits }) => !fits).length;
  const own = plan.cuts.length - shown.idle.length;
  return (
    <>
      {tooLarge === 0 ? (
        <Remark tone="good">
          {pieces.length === 1
            ? 'It fits the bed in one piece.'
            : `${pieces.length} pieces, all of which fit the bed${isBusy ? '' : `; cuts of your own: ${own}, the program’s: ${planes.length - own}`}.`}
        </Remark>
      ) : (
        <Remark tone="trouble">
          {tooLarge} of {pieces.length} pieces {tooLarge === 1 ? 'does' : 'do'} not fit the bed.
        </Remark>
      )}
      <div className="table-room">
        <table className="checks">
          <thead>
            <tr>
              <th scope="col">Piece</th>
              <th scope="col">Room as it lies</th>
              <th scope="col">Material</th>
              <th scope="col">On the bed</th>
            </tr>
          </thead>
          <tbody>
            {pieces.map(({ sizeMm, fits, volumeMm3 }, number) => (
              <tr key={number}>
                <th scope="row">{number + 1}</th>
                <td className="numbers">{sizeMm.map((mm) => lengthText(mm, unit, 0)).join(' × ')}</td>
                <td className="numbers">{(volumeMm3 / 1000).toFixed(0)} cm³</td>
                <td>{fits ? <Stamp tone="good">fits</Stamp> : <Stamp tone="trouble">too large</Stamp>}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

function OwnCuts(props: {
  readonly plan: PiecesPlan;
  readonly onPlan: (plan: PiecesPlan) => void;
  readonly shown: PiecesShown | undefined;
  readonly isBusy: boolean;
  readonly surface: Surface | undefined;
  readonly held: string | undefined;
  readonly onHeld: (id: string | undefined) => void;
}) {
  const { plan, onPlan, shown, isBusy, surface, held, onHeld } = props;
  const { unit } = useStore(useStudio().settings);
  const { cuts } = plan;
  const put = (next: OwnCut): void => onPlan({ ...plan, cuts: cuts.map((cut) => (cut.id === next.id ? next : cut)) });
  const add = (way: CutWay): void => {
    const cut = { id: crypto.randomUUID(), point: middleOf(surface), normal: CUT_WAYS[way].normal };
    onPlan({ ...plan, cuts: [...cuts, cut] });
    onHeld(cut.id);
  };
  const theirs = (shown?.planes ?? []).slice(cuts.length - (shown?.idle.length ?? 0));
  return (
    <fieldset className="desk-part">
      <legend>Cuts of your own</legend>
      <p className="soft small">
        They go through everything and come first; the program adds cuts only where a piece is still too large.
      </p>
      <ul className="make-list">
        {cuts.map((cut, number) => {
          const { way, mm, tiltDegrees } = cutPlace(cut);
          const { axis, words, normal } = CUT_WAYS[way];
          const isHeld = held === cut.id;
          return (
            <li key={cut.id}>
              <div className="make-line">
                <strong>
                  Cut {number + 1}, {words}
                </strong>
                <span className="button-row">
                  <Button
                    tone="quiet"
                    aria-label={`Cut ${number + 1}: ${isHeld ? 'let go' : 'take hold'}`}
                    aria-pressed={isHeld}
                    onClick={() => onHeld(isHeld ? undefined : cut.id)}
                  >
                    {isHeld ? 'Let go' : 'Take hold'}
                  </Button>
                  <Button
                    tone="quiet"
                    aria-label={`Drop cut ${number + 1}`}
                    onClick={() => {
                      if (isHeld) onHeld(undefined);
                      onPlan({ ...plan, cuts: cuts.filter(({ id }) => id !== cut.id) });
                    }}
                  >
                    Drop
                  </Button>
                </span>
              </div>
              <div
                className="make-cut"
                onKeyDown={(event) => {
                  // Enter gives the number; the pieces are not made by that.
                  if (event.key === 'Enter' && event.target instanceof HTMLInputElement) event.preventDefault();
                }}
              >
                <LengthField
                  label={`${axis} at`}
                  unit={unit}
                  valueMm={Math.round(10 * mm) / 10}
                  leastMm={-FARTHEST_MM}
                  mostMm={FARTHEST_MM}
                  onCommit={(next) => put(cutAt(cut, next))}
                />
                {tiltDegrees < STRAIGHT_DEGREES ? null : (
                  <span className="button-row">
                    <span className="numbers">Tilted by {tiltDegrees.toFixed(0)}°</span>
                    <Button tone="quiet" onClick={() => put(cutAt({ ...cut, normal }, mm))}>
                      Make it straight
                    </Button>
                  </span>
                )}
              </div>
              {shown?.idle.includes(number) === true ? (
                <Remark tone="doubt">It cuts nothing where it lies.</Remark>
              ) : null}
            </li>
          );
        })}
      </ul>
      {held === undefined ? null : (
        <p className="small" role="status">
          Drag the sheet in the view by its round handle, tilt it by the square ones; with the keyboard, the arrow keys
          on a handle.
        </p>
      )}
      <div className="button-row" role="group" aria-label="Add a cut">
        <span className="small">Add a cut:</span>
        {(Object.keys(CUT_WAYS) as CutWay[]).map((way) => (
          <Button key={way} onClick={() => add(way)}>
            {CUT_WAYS[way].label}
          </Button>
        ))}
        {theirs.length === 0 || isBusy ? null : (
          <Button
            tone="quiet"
            onClick={() => {
              const taken = theirs.map(
                (plane): OwnCut => ({
                  id: crypto.randomUUID(),
                  point: [plane[0], plane[1], plane[2]],
                  normal: [plane[3], plane[4], plane[5]],
                }),
              );
              onPlan({ ...plan, cuts: [...cuts, ...taken] });
            }}
          >
            Take over the program’s cuts
          </Button>
        )}
      </div>
    </fieldset>
  );
}

/** The middle of the box round a body: where a new cut begins. */
function middleOf(surface: Surface | undefined): Vec3 {
  if (surface === undefined) return [0, 0, 0];
  const { positions: p } = surface;
  const [low, high] = [
    [p[0], p[1], p[2]],
    [p[0], p[1], p[2]],
  ];
  for (let i = 0; i < p.length; i++) {
    low[i % 3] = Math.min(low[i % 3], p[i]);
    high[i % 3] = Math.max(high[i % 3], p[i]);
  }
  // Whole tenths of a millimetre: the maker reads and types them.
  return low.map((c, k) => Math.round(5 * (c + high[k])) / 10) as unknown as Vec3;
}
