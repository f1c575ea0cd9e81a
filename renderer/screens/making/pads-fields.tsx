/** Pads being thought over: usual places, where the body is a head, and others within lines drawn on the body. */
import type { CallResult } from '../../../shared-types/contract.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/zone-place.ts';
import type { Stock } from '../../../shared-types/records/making.ts';
import { Button } from '../../controls/button.tsx';
import type { Drawing, Surface } from '../../controls/drawing.ts';
import { DrawnLineRow } from '../../controls/drawn-line.tsx';
import { CheckField, SelectField, TextField } from '../../controls/field.tsx';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { LEAST_PLACES } from '../../controls/openings.ts';
import { Remark } from '../../controls/paper.tsx';
import { lengthNumber, lengthText, type LengthUnit } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { PaperField } from './paper-field.tsx';
import { crossesMiddle, namesOf, padLines, sharedNames, spread, type DrawnPad, type PadsPlan } from './make-plan.ts';

type PadsShown = NonNullable<CallResult<'making.preview'>['pads']>;

/** Places of a line taken over from a proposed rim: few enough to be moved one by one. */
const TAKEN_OVER = 10;

export interface DeskProps<P> {
  readonly plan: P;
  readonly onPlan: (plan: P) => void;
  readonly drawing: Drawing | undefined;
  readonly onDrawing: (drawing: Drawing | undefined) => void;
  readonly surface: Surface | undefined;
}

export function PadsFields(
  props: DeskProps<PadsPlan> & {
    readonly stock: readonly Stock[];
    readonly isHead: boolean;
    readonly isPlaced: boolean;
    readonly shown: PadsShown | undefined;
    /** What is shown is of an earlier plan. */
    readonly isBusy: boolean;
  },
) {
  const { plan, onPlan, drawing, onDrawing, surface, stock, shown, isBusy } = props;
  const { unit } = useStore(useStudio().settings);
  const lines = padLines(plan);
  const shared = sharedNames(plan);
  const edit = (next: DrawnPad): void =>
    onPlan({ ...plan, drawn: plan.drawn.map((pad) => (pad.id === next.id ? next : pad)) });
  const begin = (): void => {
    const id = crypto.randomUUID();
    const pad = { id, name: `pad ${plan.drawn.length + 1}`, curve: [], isMirrored: true, foams: [] };
    onPlan({ ...plan, drawn: [...plan.drawn, pad] });
    onDrawing({ lineId: id });
  };
  /** A usual place becomes lines of its own, to be moved; of a pair cut alike, one and its mirror image. */
  const takeOver = (zone: (typeof ZONE_NAMES)[number], foams: readonly string[]): void => {
    const rims = (shown?.lines ?? []).filter(({ name }) => name === zone || name.startsWith(`${zone} `));
    const drawn = rims.map(({ name, points }): DrawnPad => {
      const curve = spread(points, TAKEN_OVER);
      const isPair = plan.isMirrored && name === zone && !crossesMiddle(curve);
      return { id: crypto.randomUUID(), name, curve, isMirrored: isPair, foams };
    });
    if (drawn.length === 0) return;
    onPlan({ ...plan, usual: plan.usual.filter((one) => one.zone !== zone), drawn: [...plan.drawn, ...drawn] });
    onDrawing({ lineId: drawn[0].id });
  };
  const gone = ZONE_NAMES.filter((zone) => plan.usual.every((one) => one.zone !== zone));
  return (
    <>
      {props.isPlaced ? null : <Remark tone="doubt">Try the part on first: pads fill the room it leaves.</Remark>}
      {stock.length > 0 ? null : (
        <Remark tone="doubt">There is no foam in the stock yet; add it on the project’s page.</Remark>
      )}
      {props.isHead ? (
        <fieldset className="desk-part">
          <legend>Usual places</legend>
          <ul className="make-list">
            {plan.usual.map(({ zone, foams }) => {
              const found = shown?.pads.filter(({ name }) => name === zone || name.startsWith(`${zone} `)) ?? [];
              return (
                <li key={zone}>
                  <div className="make-line">
                    <strong>{capital(zone)}</strong>
                    <span className="button-row">
                      <Button
                        tone="quiet"
                        aria-label={`Move it, the pad at the ${zone}`}
                        disabled={found.length === 0}
                        onClick={() => takeOver(zone, foams)}
                      >
                        Move it
                      </Button>
                      <Button
                        tone="quiet"
                        aria-label={`Drop the pad at the ${zone}`}
                        onClick={() => onPlan({ ...plan, usual: plan.usual.filter((one) => one.zone !== zone) })}
                      >
                        Drop
                      </Button>
                    </span>
                  </div>
                  <PadWords pads={found} isAsked={shown !== undefined} isBusy={isBusy} />
                  <FoamField
                    label={`Foam at the ${zone}`}
                    {...{ stock, foams }}
                    onChange={(ids) =>
                      onPlan({
                        ...plan,
                        usual: plan.usual.map((one) => (one.zone === zone ? { ...one, foams: ids } : one)),
                      })
                    }
                  />
                </li>
              );
            })}
          </ul>
          {gone.length === 0 ? null : (
            <SelectField
              label="Add a usual place"
              value=""
              onChange={(zone) => {
                const added = ZONE_NAMES.find((one) => one === zone);
                if (added !== undefined) onPlan({ ...plan, usual: [...plan.usual, { zone: added, foams: [] }] });
              }}
              options={[
                { value: '', label: 'Choose…' },
                ...gone.map((zone) => ({ value: zone as string, label: zone })),
              ]}
            />
          )}
        </fieldset>
      ) : null}
      <fieldset className="desk-part">
        <legend>{props.isHead ? 'Drawn by hand' : 'Where pads lie'}</legend>
        {props.isHead || plan.drawn.length > 0 ? null : (
          <p className="soft small">
            Where the part bears on the body, and where it would strike: over the shoulders, on the breastbone, at the
            ribs, round a wrist or below an elbow. Draw round each place on the body.
          </p>
        )}
        <ul className="make-list">
          {plan.drawn.map((pad, number) => (
            <li key={pad.id}>
              <TextField
                label="Name of the pad"
                isLabelHidden
                value={pad.name}
                maxLength={50}
                onChange={(name) => edit({ ...pad, name })}
              />
              {namesOf(pad, number).some((name) => shared.has(name)) ? (
                <Remark tone="trouble">Another pad has this name; give each a name of its own.</Remark>
              ) : null}
              <DrawnLineRow
                line={lines[number]}
                {...{ drawing, onDrawing, surface }}
                least={LEAST_PLACES}
                words="Click round where the pad shall lie. The line closes by itself; the smaller side is the pad."
                onPlaces={(curve) => edit({ ...pad, curve })}
                onDrop={() => {
                  if (drawing?.lineId === pad.id) onDrawing(undefined);
                  onPlan({ ...plan, drawn: plan.drawn.filter(({ id }) => id !== pad.id) });
                }}
              />
              <CheckField
                label="The same on the other side"
                checked={pad.isMirrored}
                onChange={(isMirrored) => edit({ ...pad, isMirrored })}
              />
              {pad.isMirrored && crossesMiddle(pad.curve) ? (
                <Remark tone="doubt">
                  Its line crosses the middle of the body: the two would lie over each other.
                </Remark>
              ) : null}
              <PadWords
                pads={shown?.pads.filter(({ name }) => isOf(name, pad, number)) ?? []}
                isAsked={shown !== undefined && pad.curve.length >= LEAST_PLACES}
                isBusy={isBusy}
              />
              <FoamField
                label={`Foam of ${pad.name}`}
                {...{ stock }}
                foams={pad.foams}
                onChange={(foams) => edit({ ...pad, foams })}
              />
            </li>
          ))}
        </ul>
        <div className="button-row">
          <Button onClick={begin}>Draw a pad</Button>
        </div>
      </fieldset>
      <fieldset className="desk-part">
        <legend>All pads</legend>
        {props.isHead ? (
          <>
            <LiveLengthField
              label="No usual pad where there is less room than"
              unit={unit}
              valueMm={plan.leastMm}
              leastMm={0}
              mostMm={60}
              onRead={(leastMm) => onPlan({ ...plan, leastMm })}
            />
            <LiveLengthField
              label="Nor where there is more than"
              unit={unit}
              valueMm={plan.mostMm}
              leastMm={1}
              mostMm={100}
              onRead={(mostMm) => onPlan({ ...plan, mostMm })}
            />
          </>
        ) : null}
        <CheckField
          label="Left and right alike"
          hint="Pads that come in pairs are cut as mirror images."
          checked={plan.isMirrored}
          onChange={(isMirrored) => onPlan({ ...plan, isMirrored })}
        />
        <PaperField value={plan.paper} onChange={(paper) => onPlan({ ...plan, paper })} />
      </fieldset>
    </>
  );
}

/** A pair cut alike comes back once, under the name of both. */
function isOf(name: string, pad: DrawnPad, number: number): boolean {
  const [one, other] = namesOf(pad, number);
  return name === one || name === other || (other !== undefined && name === one.replace(/ (left|right)$/, ''));
}

const capital = (word: string): string => word.charAt(0).toUpperCase() + word.slice(1);

function PadWords(props: {
  readonly pads: PadsShown['pads'];
  /** There is an answer. */
  readonly isAsked: boolean;
  readonly isBusy: boolean;
}) {
  const { unit } = useStore(useStudio().settings);
  if (!props.isAsked) return null;
  if (props.pads.length === 0) {
    return (
      <p className="soft small">{props.isBusy ? 'Being looked at…' : 'The part leaves no room for a pad here.'}</p>
    );
  }
  return (
    <>
      {props.pads.map(({ name, areaMm2, room, stack, contactPercent }) => (
        <p key={name} className="small numbers">
          {props.pads.length > 1 ? `${capital(name)}: ` : ''}
          {(areaMm2 / 100).toFixed(0)} cm², room {lengthText(room.p10Mm, unit)} to {lengthText(room.p90Mm, unit)};{' '}
          {stackText(stack, unit)}, touches over {contactPercent.toFixed(0)} %
        </p>
      ))}
    </>
  );
}

/** A stack in its order, each material named once: "Soft foam 10 + 6 + 6 mm". */
function stackText(stack: PadsShown['pads'][number]['stack'], unit: LengthUnit): string {
  const runs: { material: string; sheets: number[] }[] = [];
  for (const { material, nominalMm } of stack) {
    if (runs.at(-1)?.material === material) runs.at(-1)?.sheets.push(nominalMm);
    else runs.push({ material, sheets: [nominalMm] });
  }
  return runs
    .map(({ material, sheets }) => {
      const last = lengthText(sheets.at(-1) ?? 0, unit);
      const others = sheets.slice(0, -1).map((mm) => lengthNumber(mm, unit));
      return `${material} ${[...others, last].join(' + ')}`;
    })
    .join(' + ');
}

function FoamField(props: {
  readonly label: string;
  readonly stock: readonly Stock[];
  readonly foams: readonly string[];
  readonly onChange: (foams: string[]) => void;
}) {
  const { unit } = useStore(useStudio().settings);
  const { stock, foams } = props;
  if (stock.length < 2) return null;
  const chosen = stock.find(({ id }) => id === foams[0]);
  return (
    <SelectField
      label={props.label}
      value={chosen?.id ?? ''}
      onChange={(id) => props.onChange(id === '' ? [] : [id])}
      options={[
        { value: '', label: 'Whatever fits best' },
        ...stock.map((foam) => ({
          value: foam.id,
          label: `${foam.material}, ${lengthText(foam.measuredMm ?? foam.nominalMm, unit)}`,
        })),
      ]}
    />
  );
}
