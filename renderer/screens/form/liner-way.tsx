/** How the part is opened along drawn lines, the way it is put on, and what has to stay free. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import type { Surface } from '../../controls/drawing.ts';
import { AXES, FARTHEST_MM } from '../../controls/drawn-line.tsx';
import { DrawnOpenings } from '../../controls/drawn-openings.tsx';
import { CheckField, FieldRow, SelectField, TextField } from '../../controls/field.tsx';
import { LengthField, LiveLengthField } from '../../controls/length-field.tsx';
import { Remark } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import {
  halvesOf,
  MOST_TILT_DEGREES,
  needsOpening,
  WAYS_IN,
  type KeepOutShape,
  type PlannedKeepOut,
  type WayIn,
} from './liner-plan.ts';
import type { LinerPartProps } from './liner-zones.tsx';

export function LinerCurves({
  plan,
  onPlan,
  tool,
  onTool,
  surface,
  edges,
}: LinerPartProps & { readonly surface: Surface | undefined; readonly edges: string }) {
  return (
    <DrawnOpenings
      drawn={plan}
      onDrawn={(drawn) => onPlan({ ...plan, ...drawn })}
      drawing={tool?.kind === 'curve' ? tool.drawing : undefined}
      onDrawing={(drawing) => onTool(drawing === undefined ? undefined : { kind: 'curve', drawing })}
      surface={surface}
      words={`Click round on the form where the edge shall run: ${edges}.`}
    />
  );
}

export function LinerWayIn({
  plan,
  onPlan,
  tool,
  deepestMm,
}: LinerPartProps & { readonly deepestMm: number | undefined }) {
  const { unit } = useStore(useStudio().settings);
  const { wayIn, giveMm = 0 } = plan;
  const passes = deepestMm !== undefined && deepestMm <= giveMm;
  return (
    <fieldset className="desk-part">
      <legend>Putting it on</legend>
      <SelectField<WayIn>
        label="The part moves"
        value={wayIn}
        onChange={(next) => onPlan({ ...plan, wayIn: next })}
        options={(Object.keys(WAYS_IN) as WayIn[]).map((value) => ({ value, label: WAYS_IN[value].label }))}
      />
      {wayIn === 'none' ? null : (
        <>
          {needsOpening(plan) ? <Remark tone="doubt">Open it first, so that the body can get in.</Remark> : null}
          <LiveLengthField
            label="The foam gives"
            unit={unit}
            valueMm={plan.giveMm}
            mostMm={60}
            onRead={(next) => onPlan({ ...plan, giveMm: next })}
          />
          <CheckField
            label="It may be tipped"
            hint={`Where it does not go on straight, the finished liner tells of a way with one tilt of up to ${MOST_TILT_DEGREES}°.`}
            checked={plan.isTipped}
            onChange={(isTipped) => onPlan({ ...plan, isTipped })}
          />
          <CheckField
            label="Take the undercuts out"
            hint="Where the body would not pass, the liner stands farther off: it slides on, and holds less there."
            checked={plan.isCleared}
            onChange={(isCleared) => onPlan({ ...plan, isCleared })}
          />
          {deepestMm === undefined ? null : plan.isCleared ? (
            <Remark tone="good">
              With its undercuts taken out it slides on. The page of the finished liner tells where it stands off for
              that, and how far.
            </Remark>
          ) : passes ? (
            <Remark tone="good">
              It goes on: the foam gives way by {lengthText(deepestMm, unit)} at most (coarsely looked at).
            </Remark>
          ) : (
            <Remark tone="doubt">
              It does not go on: the foam would have to give {lengthText(deepestMm, unit)}
              {tool === undefined ? ' where the map is darkest' : ''}. Open it higher, take the undercuts out, or split
              the part; the finished liner says what each would do.
            </Remark>
          )}
        </>
      )}
    </fieldset>
  );
}

/** Edges of a box, in the order of its coordinates. */
const EDGES = ['Deep', 'Wide', 'High'] as const;
const LEAST_ACROSS_MM = 2;
const MOST_ACROSS_MM = 300;

export function LinerKeepOuts({ plan, onPlan, tool, onTool, isHead }: LinerPartProps & { readonly isHead: boolean }) {
  const { unit } = useStore(useStudio().settings);
  const { keepOuts } = plan;
  const change = (next: PlannedKeepOut): void =>
    onPlan({ ...plan, keepOuts: keepOuts.map((one) => (one.id === next.id ? next : one)) });
  const place = (shape: KeepOutShape, label: string) => {
    const isOn = tool?.kind === 'keep-out' && tool.shape === shape;
    return (
      <Button aria-pressed={isOn} onClick={() => onTool(isOn ? undefined : { kind: 'keep-out', shape })}>
        {label}
      </Button>
    );
  };
  return (
    <fieldset className="desk-part">
      <legend>Room for what sits beside the body</legend>
      {keepOuts.map((one) => (
        <section className="liner-zone" key={one.id} aria-label={one.name}>
          <div className="liner-zone-head">
            <TextField
              label="Name of the volume"
              isLabelHidden
              value={one.name}
              maxLength={80}
              onChange={(name) => change({ ...one, name })}
            />
            <Button
              tone="quiet"
              aria-label={`Drop ${one.name}`}
              onClick={() => onPlan({ ...plan, keepOuts: keepOuts.filter(({ id }) => id !== one.id) })}
            >
              Drop
            </Button>
          </div>
          <FieldRow least="8.5rem">
            {one.kind === 'ball' ? (
              <LengthField
                label="Across"
                unit={unit}
                valueMm={2 * one.reachMm}
                leastMm={LEAST_ACROSS_MM}
                mostMm={MOST_ACROSS_MM}
                onCommit={(acrossMm) => change({ ...one, reachMm: acrossMm / 2 })}
              />
            ) : null}
            <LengthField
              label="Kept clear by"
              unit={unit}
              valueMm={one.clearanceMm}
              mostMm={60}
              onCommit={(clearanceMm) => change({ ...one, clearanceMm })}
            />
          </FieldRow>
          {one.kind === 'ball' ? null : (
            <FieldRow least="5.5rem">
              {EDGES.map((label, axis) => (
                <LengthField
                  key={label}
                  label={label}
                  unit={unit}
                  valueMm={2 * halvesOf(one)[axis]}
                  leastMm={LEAST_ACROSS_MM}
                  mostMm={MOST_ACROSS_MM}
                  onCommit={(mm) => change({ ...one, halvesMm: halvesOf(one).with(axis, mm / 2) as unknown as Vec3 })}
                />
              ))}
            </FieldRow>
          )}
          <p className="soft small">Its middle:</p>
          <FieldRow least="5.5rem">
            {AXES.map((label, axis) => (
              <LengthField
                key={label}
                label={label}
                unit={unit}
                valueMm={one.centre[axis]}
                leastMm={-FARTHEST_MM}
                mostMm={FARTHEST_MM}
                onCommit={(mm) => change({ ...one, centre: one.centre.with(axis, mm) as unknown as Vec3 })}
              />
            ))}
          </FieldRow>
        </section>
      ))}
      {tool?.kind === 'keep-out' ? (
        <p className="small" role="status">
          {tool.shape === 'spectacles'
            ? 'Click on the bridge of the nose, where they rest. Then give them the size of the pair that is worn.'
            : 'Click on the form where it sits: a fan, a microphone.'}
        </p>
      ) : null}
      <div className="button-row">
        {place('ball', 'Place a ball')}
        {place('box', 'Place a box')}
        {isHead ? place('spectacles', 'Place spectacles') : null}
      </div>
    </fieldset>
  );
}
