/** A pattern being thought over: what it covers, the seams drawn across it, and what the sheet must give with and without them. */
import type { CallResult } from '../../../shared-types/contract.ts';
import { some } from '../../../shared-types/counts.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/zone-place.ts';
import { Button } from '../../controls/button.tsx';
import { DrawnLineRow } from '../../controls/drawn-line.tsx';
import { CheckField, SelectField, TextField } from '../../controls/field.tsx';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { LEAST_PLACES } from '../../controls/openings.ts';
import { Remark } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import type { DeskProps } from './pads-fields.tsx';
import { PaperField } from './paper-field.tsx';
import { LEAST_SEAM, OUTLINE, patternLines, stretchOf, type PatternPlan } from './make-plan.ts';

type PatternShown = NonNullable<CallResult<'making.preview'>['pattern']>;
type Piece = PatternShown['pieces'][number];

const WHERE = [
  ...ZONE_NAMES.map((value) => ({ value: value as string, label: value.charAt(0).toUpperCase() + value.slice(1) })),
  { value: OUTLINE, label: 'Within a line I draw' },
];

export function PatternFields(
  props: DeskProps<PatternPlan> & {
    readonly shown: PatternShown | undefined;
    readonly isHead: boolean;
    /** The same without the seams drawn. */
    readonly before: PatternShown | undefined;
    readonly isBefore: boolean;
    readonly onBefore: (isBefore: boolean) => void;
  },
) {
  const { plan, onPlan, drawing, onDrawing, surface } = props;
  const { unit } = useStore(useStudio().settings);
  const lines = patternLines(plan);
  const outline = lines.find(({ id }) => id === OUTLINE);
  const begin = (): void => {
    const id = crypto.randomUUID();
    onPlan({ ...plan, seams: [...plan.seams, { id, name: `seam ${plan.seams.length + 1}`, points: [] }] });
    onDrawing({ lineId: id });
  };
  return (
    <>
      <fieldset className="desk-part">
        <legend>What it covers</legend>
        {props.isHead ? (
          <SelectField
            label="Where"
            value={plan.zone ?? OUTLINE}
            onChange={(value) => {
              const zone = ZONE_NAMES.find((one) => one === value);
              onPlan({ ...plan, zone });
              onDrawing(zone === undefined ? { lineId: OUTLINE } : undefined);
            }}
            options={WHERE}
          />
        ) : null}
        {outline === undefined ? null : (
          <DrawnLineRow
            line={outline}
            {...{ drawing, onDrawing, surface }}
            least={LEAST_PLACES}
            words="Click round what the pattern shall cover. The line closes by itself; the smaller side is laid flat."
            onPlaces={(curve) => onPlan({ ...plan, curve })}
            onDrop={plan.curve.length === 0 ? undefined : () => onPlan({ ...plan, curve: [] })}
          />
        )}
      </fieldset>
      <fieldset className="desk-part">
        <legend>Seams drawn by hand</legend>
        <ul className="make-list">
          {plan.seams.map((seam) => (
            <li key={seam.id}>
              <TextField
                label="Name of the seam"
                isLabelHidden
                value={seam.name}
                maxLength={50}
                onChange={(name) =>
                  onPlan({ ...plan, seams: plan.seams.map((one) => (one.id === seam.id ? { ...one, name } : one)) })
                }
              />
              <DrawnLineRow
                line={lines.find(({ id }) => id === seam.id) ?? { ...seam, places: seam.points, isClosed: false }}
                {...{ drawing, onDrawing, surface }}
                least={LEAST_SEAM}
                words="Click along where it shall be parted. From rim to rim it makes two pieces; ending inside, a slit."
                onPlaces={(points) =>
                  onPlan({ ...plan, seams: plan.seams.map((one) => (one.id === seam.id ? { ...one, points } : one)) })
                }
                onDrop={() => {
                  if (drawing?.lineId === seam.id) onDrawing(undefined);
                  onPlan({ ...plan, seams: plan.seams.filter(({ id }) => id !== seam.id) });
                }}
              />
            </li>
          ))}
        </ul>
        <div className="button-row">
          <Button onClick={begin}>Draw a seam</Button>
        </div>
        <Strain {...props} />
      </fieldset>
      <fieldset className="desk-part">
        <legend>Sheet and paper</legend>
        <LiveLengthField
          label="Thickness of the foam"
          hint="As your calliper says; the pattern is made for its middle."
          unit={unit}
          valueMm={plan.foamMm}
          leastMm={0}
          mostMm={60}
          onRead={(foamMm) => onPlan({ ...plan, foamMm })}
        />
        <TextField
          label="The sheet gives, %"
          hint="Along itself; where it must give more, the finished pattern has darts besides your seams."
          inputMode="decimal"
          value={plan.stretch}
          onChange={(stretch) => onPlan({ ...plan, stretch })}
          trouble={stretchOf(plan.stretch) === undefined ? 'Write a share from 0.1 to 50.' : undefined}
        />
        <LiveLengthField
          label="Seam allowance"
          unit={unit}
          valueMm={plan.allowanceMm}
          leastMm={0}
          mostMm={50}
          onRead={(allowanceMm) => onPlan({ ...plan, allowanceMm })}
        />
        <PaperField value={plan.paper} onChange={(paper) => onPlan({ ...plan, paper })} />
      </fieldset>
    </>
  );
}

const worst = (pieces: readonly Piece[]): number => Math.max(...pieces.map(({ giveP99Percent }) => giveP99Percent));

/** What the sheet must give, piece by piece, and how much the seams took off it. */
function Strain(props: {
  readonly plan: PatternPlan;
  readonly shown: PatternShown | undefined;
  readonly before: PatternShown | undefined;
  readonly isBefore: boolean;
  readonly onBefore: (isBefore: boolean) => void;
}) {
  const { shown, before, plan } = props;
  const allowed = stretchOf(plan.stretch);
  if (shown === undefined || allowed === undefined || shown.pieces.length === 0) return null;
  const now = worst(shown.pieces);
  return (
    <>
      <table className="checks">
        <caption>What the sheet must give along itself, without darts</caption>
        <thead>
          <tr>
            <th scope="col">Piece</th>
            <th scope="col">Area</th>
            <th scope="col">On average</th>
            <th scope="col">At most</th>
          </tr>
        </thead>
        <tbody>
          {shown.pieces.map((piece, number) => (
            <tr key={number}>
              <th scope="row">{number + 1}</th>
              <td className="numbers">{(piece.areaMm2 / 100).toFixed(0)} cm²</td>
              <td className="numbers">{piece.giveMeanPercent.toFixed(1)} %</td>
              <td className="numbers">
                {piece.giveP99Percent.toFixed(1)} %{piece.overlaps ? ', lies over itself' : ''}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {before === undefined || before.pieces.length === 0 ? null : (
        <>
          <p className="numbers" role="status">
            Without your seams {worst(before.pieces).toFixed(1)} % at most in {some(before.pieces.length, 'piece')};
            with them {now.toFixed(1)} %.
          </p>
          <CheckField
            label="Show it without the seams"
            checked={props.isBefore}
            onChange={(isBefore) => props.onBefore(isBefore)}
          />
        </>
      )}
      {now <= allowed ? (
        <Remark tone="good">The sheet gives {allowed} %: every piece lies flat without darts.</Remark>
      ) : (
        <Remark tone="doubt">
          More than the {allowed} % the sheet gives: the finished pattern gets darts there, or draw another seam where
          the map is darkest.
        </Remark>
      )}
    </>
  );
}
