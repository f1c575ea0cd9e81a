/** Pieces to print being thought over: the bed, cuts of the maker's own, and whether every piece lies on the bed. */
import type { CallResult } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import type { Surface } from '../../controls/drawing.ts';
import { CheckField, ChoiceField, FieldRow } from '../../controls/field.tsx';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { Remark, Stamp } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { CutRows } from './cut-rows.tsx';
import { boxOfSurface, CUT_WAYS, type OwnCut, type PiecesPlan } from './make-plan.ts';

type PiecesShown = NonNullable<CallResult<'making.preview'>['pieces']>;

const SIDES = ['Width', 'Depth', 'Height'] as const;
interface PiecesFieldsProps {
  readonly plan: PiecesPlan;
  readonly onPlan: (plan: PiecesPlan) => void;
  readonly shown: PiecesShown | undefined;
  /** What is shown is of an earlier plan. */
  readonly isBusy: boolean;
  readonly surface: Surface | undefined;
  readonly held: string | undefined;
  readonly onHeld: (id: string | undefined) => void;
}

export function PiecesFields(props: PiecesFieldsProps) {
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

function OwnCuts(props: PiecesFieldsProps) {
  const { plan, onPlan, shown, isBusy, surface } = props;
  const { cuts } = plan;
  const theirs = (shown?.planes ?? []).slice(cuts.length - (shown?.idle.length ?? 0));
  return (
    <fieldset className="desk-part">
      <legend>Cuts of your own</legend>
      <p className="soft small">
        They go through everything and come first; the program adds cuts only where a piece is still too large.
      </p>
      <CutRows
        cuts={cuts}
        onCuts={(next) => onPlan({ ...plan, cuts: next })}
        held={props.held}
        onHeld={props.onHeld}
        noun="Cut"
        words={(_, way) => CUT_WAYS[way].words}
        idle={shown?.idle ?? []}
        idleWords="It cuts nothing where it lies."
        first={() => middleOf(surface)}
      >
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
      </CutRows>
    </fieldset>
  );
}

/** The middle of the box round a body, in whole tenths of a millimetre: the maker reads and types them. */
function middleOf(surface: Surface | undefined): Vec3 {
  const { low, high } = boxOfSurface(surface);
  return low.map((c, k) => Math.round(5 * (c + high[k])) / 10) as unknown as Vec3;
}
