/** Places of a liner with a foam of their own: painted on the form, or one of a head's usual places. */
import { useId, useState } from 'react';
import { NAMED_ZONES, type ZoneName } from '../../../electron/geometry/measure/zone-share.ts';
import type { CallResult } from '../../../shared-types/contract.ts';
import { BRUSH_MM } from '../../controls/dabs.ts';
import { Button } from '../../controls/button.tsx';
import { CheckField, FieldRow, SelectField, TextField } from '../../controls/field.tsx';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { blendOf, roomOf, type LinerPlan, type LinerTool, type PlannedZone } from './liner-plan.ts';

const FIRST_ZONE_MM = 12;
type Stock = CallResult<'stock.list'>['stock'][number];

export interface LinerPartProps {
  readonly plan: LinerPlan;
  readonly onPlan: (plan: LinerPlan) => void;
  readonly tool: LinerTool | undefined;
  readonly onTool: (tool: LinerTool | undefined) => void;
}

export function LinerZones({ plan, onPlan, tool, onTool, isHead }: LinerPartProps & { readonly isHead: boolean }) {
  const stock = useAsked('stock.list', {});
  const foams = stock.state === 'value' ? stock.value.stock : [];
  const [isMirrored, setMirrored] = useState(true);
  const { zones } = plan;
  const change = (next: PlannedZone): void =>
    onPlan({ ...plan, zones: zones.map((zone) => (zone.id === next.id ? next : zone)) });
  const add = (region: ZoneName | undefined): void => {
    const id = crypto.randomUUID();
    const name = region ?? `zone ${zones.length + 1}`;
    const zone = { id, name, foamMm: FIRST_ZONE_MM, compression: 0, region, dabs: [], brushMm: BRUSH_MM };
    onPlan({ ...plan, zones: [...zones, zone] });
    if (region === undefined) onTool({ kind: 'paint', zoneId: id, isErasing: false, isMirrored });
  };
  return (
    <fieldset className="desk-part">
      <legend>Zones with a foam of their own</legend>
      {zones.map((zone) => (
        <ZoneRow
          key={zone.id}
          zone={zone}
          foams={foams}
          tool={tool}
          onTool={onTool}
          isMirrored={isMirrored}
          restMm={plan.foamMm}
          onChange={change}
          onDrop={() => {
            if (tool?.kind === 'paint' && tool.zoneId === zone.id) onTool(undefined);
            onPlan({ ...plan, zones: zones.filter(({ id }) => id !== zone.id) });
          }}
        />
      ))}
      {zones.length === 0 ? null : (
        <>
          <p className="soft small">
            Where zones overlap the later one counts. They pass into the rest over {blendOf(plan)} mm.
          </p>
          <CheckField
            label="Paint on both sides alike"
            checked={isMirrored}
            onChange={(next) => {
              setMirrored(next);
              if (tool?.kind === 'paint') onTool({ ...tool, isMirrored: next });
            }}
          />
        </>
      )}
      <div className="button-row">
        <Button onClick={() => add(undefined)}>Paint a zone</Button>
        {isHead ? (
          <SelectField
            label="Add a usual place"
            isLabelHidden
            value=""
            onChange={(name) => {
              if (name !== '') add(name);
            }}
            options={[
              { value: '', label: 'Add a usual place…' },
              ...(Object.keys(NAMED_ZONES) as ZoneName[])
                .filter((name) => zones.every(({ region }) => region !== name))
                .map((name) => ({ value: name, label: name })),
            ]}
          />
        ) : null}
      </div>
    </fieldset>
  );
}

/** A sheet of the stock as a zone takes it; no foam is pressed to less than a tenth. */
const takenFrom = (foam: Stock) => ({
  foamMm: foam.measuredMm ?? foam.nominalMm,
  compression: Math.min(0.9, foam.compression),
});
const isOf = ({ foamMm, compression }: PlannedZone, foam: Stock): boolean =>
  foamMm === takenFrom(foam).foamMm && compression === takenFrom(foam).compression;

function ZoneRow(props: {
  readonly zone: PlannedZone;
  readonly foams: readonly Stock[];
  readonly tool: LinerTool | undefined;
  readonly onTool: (tool: LinerTool | undefined) => void;
  readonly isMirrored: boolean;
  /** Foam of the rest, as worn. */
  readonly restMm: number | undefined;
  readonly onChange: (zone: PlannedZone) => void;
  readonly onDrop: () => void;
}) {
  const { unit } = useStore(useStudio().settings);
  const { zone, foams, tool, onTool, isMirrored, onChange, onDrop } = props;
  const id = useId();
  const isAsRest = zone.foamMm !== undefined && props.restMm === roomOf(zone);
  const isPainting = tool?.kind === 'paint' && tool.zoneId === zone.id;
  const isErasing = isPainting && tool.isErasing;
  const paint = (erase: boolean): void =>
    onTool(
      isPainting && isErasing === erase ? undefined : { kind: 'paint', zoneId: zone.id, isErasing: erase, isMirrored },
    );
  return (
    <section className="liner-zone" aria-label={`Zone ${zone.name}`}>
      <div className="liner-zone-head">
        <TextField
          label="Name of the zone"
          isLabelHidden
          value={zone.name}
          maxLength={80}
          onChange={(name) => onChange({ ...zone, name: name === '' ? ' ' : name.trimStart() })}
        />
        <Button tone="quiet" onClick={onDrop} aria-label={`Drop the zone ${zone.name}`}>
          Drop
        </Button>
      </div>
      <FieldRow least="8.5rem">
        <StockField
          foams={foams}
          isOf={(foam) => isOf(zone, foam)}
          onChoose={(taken) => onChange({ ...zone, ...taken })}
        />
        <LiveLengthField
          label="Foam as bought"
          unit={unit}
          valueMm={zone.foamMm}
          leastMm={0.5}
          mostMm={60}
          onRead={(foamMm) => onChange({ ...zone, foamMm })}
        />
        <div className="field">
          <label className="field-label" htmlFor={id}>
            Pressed together by
          </label>
          <span className="liner-percent">
            <input
              id={id}
              className="field-input numbers"
              type="number"
              min={0}
              max={90}
              step={5}
              value={Math.round(100 * zone.compression)}
              onChange={(event) =>
                onChange({ ...zone, compression: Math.min(0.9, Math.max(0, Number(event.target.value) / 100)) })
              }
            />
            <span aria-hidden="true">%</span>
          </span>
        </div>
      </FieldRow>
      <ThicknessSlider
        label={`Foam of ${zone.name} by sliding`}
        valueMm={zone.foamMm ?? FIRST_ZONE_MM}
        onChange={(foamMm) => onChange({ ...zone, foamMm })}
      />
      <p className="small numbers">
        {zone.foamMm === undefined ? 'Give it a thickness' : `${lengthText(roomOf(zone), unit)} of room when worn`}
        {zone.region === undefined
          ? zone.dabs.length === 0
            ? '; nothing is painted yet'
            : `; painted in ${zone.dabs.length} touches`
          : ''}
        {isAsRest ? '; as thick as the rest, so nothing changes there' : ''}
      </p>
      {isPainting ? (
        <p className="small" role="status">
          Press and draw over the form. With keys: turn the picture until the spot is in its middle and press Enter.
        </p>
      ) : null}
      {zone.region === undefined ? (
        <div className="button-row">
          <Button aria-pressed={isPainting && !isErasing} onClick={() => paint(false)}>
            Brush
          </Button>
          <Button aria-pressed={isErasing} onClick={() => paint(true)} disabled={zone.dabs.length === 0}>
            Wipe off
          </Button>
          <label className="liner-brush">
            <span className="small">Brush</span>
            <input
              type="range"
              aria-label={`Width of the brush for ${zone.name}`}
              min={6}
              max={50}
              step={1}
              value={zone.brushMm}
              aria-valuetext={`${zone.brushMm} mm`}
              onChange={(event) => onChange({ ...zone, brushMm: Number(event.target.value) })}
            />
            <span className="small numbers">{lengthText(zone.brushMm, unit, 0)}</span>
          </label>
        </div>
      ) : null}
    </section>
  );
}

/** A sheet of the stock to take the thickness and compression of; nothing while there is no stock. */
function StockField(props: {
  readonly foams: readonly Stock[];
  readonly isOf: (foam: Stock) => boolean;
  readonly onChoose: (taken: ReturnType<typeof takenFrom>) => void;
}) {
  const { unit } = useStore(useStudio().settings);
  const { foams, isOf: isChosen, onChoose } = props;
  if (foams.length === 0) return null;
  return (
    <SelectField
      label="From stock"
      value={foams.find(isChosen)?.id ?? ''}
      onChange={(chosen) => {
        const foam = foams.find((one) => one.id === chosen);
        if (foam !== undefined) onChoose(takenFrom(foam));
      }}
      options={[
        { value: '', label: 'Choose…' },
        ...foams.map((foam) => ({
          value: foam.id,
          label: `${foam.material}, ${lengthText(foam.measuredMm ?? foam.nominalMm, unit)}`,
        })),
      ]}
    />
  );
}

/** The foam of the rest, taken from the stock as it is when worn. */
export function FoamOfStock({ plan, onPlan }: Pick<LinerPartProps, 'plan' | 'onPlan'>) {
  const stock = useAsked('stock.list', {});
  return (
    <StockField
      foams={stock.state === 'value' ? stock.value.stock : []}
      isOf={(foam) => plan.foamMm === wornMm(takenFrom(foam))}
      onChoose={(taken) => onPlan({ ...plan, foamMm: wornMm(taken) })}
    />
  );
}

/** In hundredths, as it is read in the field. */
const wornMm = ({ foamMm, compression }: ReturnType<typeof takenFrom>): number =>
  Math.round(100 * foamMm * (1 - compression)) / 100;

/** Longest foam a slider reaches; the field beside it takes more. */
const SLIDER_MM = 40;

export function ThicknessSlider(props: {
  readonly label: string;
  readonly valueMm: number;
  readonly onChange: (mm: number) => void;
}) {
  return (
    <input
      className="liner-slider"
      type="range"
      aria-label={props.label}
      min={1}
      max={SLIDER_MM}
      step={0.5}
      value={props.valueMm}
      aria-valuetext={`${props.valueMm} mm`}
      onChange={(event) => props.onChange(Number(event.target.value))}
    />
  );
}
