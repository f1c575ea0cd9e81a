/** A solid part being made hollow: how thick its wall is, and where it is open. */
import type { CallResult } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import type { Drawing, Surface } from '../../controls/drawing.ts';
import { DrawnOpenings } from '../../controls/drawn-openings.tsx';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { LEAST_PLACES } from '../../controls/openings.ts';
import { Remark } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { CutRows } from './cut-rows.tsx';
import { boxOfSurface, CUT_WAYS, type CutWay, type OwnCut, type ShellPlan } from './make-plan.ts';

type ShellShown = NonNullable<CallResult<'making.preview'>['shell']>;

/** What goes at a flat opening: where the normal points up, left or forward, and where it points the other way. */
const GOES: Readonly<Record<CutWay, readonly [string, string]>> = {
  level: ['what is below goes', 'what is above goes'],
  side: ['what is right of it goes', 'what is left of it goes'],
  front: ['what is behind it goes', 'what is before it goes'],
};
/** A new opening lies this share of the part's size from the end that goes. */
const FROM_END = 0.1;

export function ShellFields(props: {
  readonly plan: ShellPlan;
  readonly onPlan: (plan: ShellPlan) => void;
  readonly shown: ShellShown | undefined;
  /** What is shown is of an earlier plan. */
  readonly isBusy: boolean;
  readonly surface: Surface | undefined;
  readonly held: string | undefined;
  readonly onHeld: (id: string | undefined) => void;
  readonly drawing: Drawing | undefined;
  readonly onDrawing: (drawing: Drawing | undefined) => void;
}) {
  const { plan, onPlan, shown, isBusy, surface, drawing, onDrawing } = props;
  const { unit } = useStore(useStudio().settings);
  const { cuts, curves } = plan;
  const idle = isBusy ? [] : (shown?.reaches ?? []).flatMap((isReached, at) => (isReached ? [] : [at]));
  // Drawn lines that do not close yet are not asked for.
  const drawn = curves.flatMap((curve, at) => (curve.length >= LEAST_PLACES ? [at + 1] : []));
  const idleLines = idle.flatMap((at) => drawn[at - cuts.length] ?? []);
  return (
    <>
      <LiveLengthField
        label="Wall"
        hint="It goes inward: the outside of the part stays as it is. Thinner than 1.2 mm breaks in the hand."
        unit={unit}
        digits={2}
        valueMm={plan.wallMm}
        leastMm={0.4}
        mostMm={30}
        onRead={(wallMm) => onPlan({ ...plan, wallMm })}
      />
      {shown === undefined ? null : (
        <p className="small numbers" aria-busy={isBusy}>
          About {(shown.wallMm3 / 1000).toFixed(0)} cm³ of wall round {(shown.hollowMm3 / 1000).toFixed(0)} cm³ of
          hollow, before it is opened. How thin the wall comes out is measured everywhere when it is made.
        </p>
      )}
      {shown !== undefined && !isBusy && !shown.reaches.includes(true) ? (
        <Remark tone="doubt">
          The hollow is shut: liquid resin or powder would stay in it, and nobody could put it on. Open it where the
          body goes in.
        </Remark>
      ) : null}
      <fieldset className="desk-part">
        <legend>Flat openings</legend>
        <CutRows
          cuts={cuts}
          onCuts={(next) => onPlan({ ...plan, cuts: next })}
          held={props.held}
          onHeld={props.onHeld}
          noun="Opening"
          words={(cut, way) => GOES[way][facesForward(cut, way) ? 0 : 1]}
          idle={idle}
          idleWords="It opens nothing where it lies: it does not reach the hollow."
          first={(way) => nearEnd(surface, way)}
          rowButtons={(cut, name) => (
            <Button
              tone="quiet"
              aria-label={`Turn round ${name.toLowerCase()}, so that the other side goes`}
              onClick={() => {
                const normal = cut.normal.map((c) => -c) as unknown as Vec3;
                onPlan({ ...plan, cuts: cuts.map((one) => (one.id === cut.id ? { ...cut, normal } : one)) });
              }}
            >
              Turn round
            </Button>
          )}
        />
      </fieldset>
      <DrawnOpenings
        {...{ drawing, onDrawing, surface }}
        drawn={plan}
        onDrawn={(drawn) => onPlan({ ...plan, ...drawn })}
        words="Click round on the part where the edge shall run: round the face, round the eyes."
      />
      {idleLines.map((number) => (
        <Remark key={number} tone="doubt">
          Line {number} opens nothing where it lies: it does not reach the hollow.
        </Remark>
      ))}
    </>
  );
}

/** Whether a cut's normal, which points to what stays, points up, left or forward. */
function facesForward({ normal }: OwnCut, way: CutWay): boolean {
  return normal[CUT_WAYS[way].normal.findIndex((c) => c !== 0)] > 0;
}

/** Near the end of a body that goes at a new opening; whole tenths, since the maker reads and types them. */
function nearEnd(surface: Surface | undefined, way: CutWay): Vec3 {
  const box = boxOfSurface(surface);
  return box.low.map((low, k) => {
    const share = CUT_WAYS[way].normal[k] === 0 ? 0.5 : FROM_END;
    return Math.round(10 * (low + share * (box.high[k] - low))) / 10;
  }) as unknown as Vec3;
}
