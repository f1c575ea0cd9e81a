/** A liner being thought over beside its form: what is decided here is seen there. */
import { useState } from 'react';
import { Button } from '../../controls/button.tsx';
import type { Surface } from '../../controls/drawing.ts';
import { CheckField, SelectField } from '../../controls/field.tsx';
import { frameOf, heightsFrom } from '../../controls/heights.ts';
import { LengthField, LiveLengthField } from '../../controls/length-field.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import type { CallResult } from '../../../shared-types/contract.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Live } from '../../state/use-live.ts';
import {
  heightOf,
  FIRST_PLAN,
  levelAt,
  levelUnder,
  OPENINGS,
  parametersOf,
  tiltDegrees,
  type LinerPlan,
} from './liner-plan.ts';
import { LinerCurves, LinerKeepOuts, LinerWayIn } from './liner-way.tsx';
import { FoamOfStock, LinerZones, ThicknessSlider, type LinerPartProps } from './liner-zones.tsx';

/** Where edges are drawn. */
const EDGES = {
  head: 'over the brow, round the face, round the neck',
  limb: 'round the thumb, over the knuckles, up to a slit',
  torso: 'round an arm, round the neck, along the ribs',
} as const;

/** Less is as good as level. */
const LEVEL_DEGREES = 0.5;

export function LinerCard(
  props: LinerPartProps & {
    readonly revisionId: string;
    /** Of the body, as its recipe names it. */
    readonly region: unknown;
    readonly shown: Live<CallResult<'liner.preview'>>;
    /** The form, for places given by keys. */
    readonly surface: Surface | undefined;
    readonly onClose: () => void;
    /** It is being made. */
    readonly onStarted: () => void;
    readonly onAnew: () => void;
  },
) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [isBusy, setBusy] = useState(false);
  const { plan, onPlan, tool, onTool, shown, onClose } = props;
  const { opening, farOpening: far } = plan;
  const flat = OPENINGS[frameOf(props.region)];
  const parameters = parametersOf(plan);
  const make = async (): Promise<void> => {
    if (parameters === undefined || isBusy) return;
    setBusy(true);
    const started = await studio.ask('form.line', {
      revisionId: props.revisionId,
      parameters,
      ...(plan.projectId === undefined ? {} : { projectId: plan.projectId }),
    });
    setBusy(false);
    if (started === undefined) return;
    props.onStarted();
  };
  const tilt = opening === undefined ? 0 : tiltDegrees(opening);
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        void make();
      }}
    >
      <TicketCard
        title="Make a liner"
        kind="At foam thickness from the form"
        stub={
          <div className="button-row">
            <Button tone="main" type="submit" disabled={parameters === undefined} busy={isBusy}>
              Make it
            </Button>
            <Button onClick={onClose}>Leave it for now</Button>
            <Button tone="quiet" onClick={props.onAnew}>
              Begin anew
            </Button>
          </div>
        }
      >
        <div className="liner-fields">
          <FoamOfStock plan={plan} onPlan={onPlan} />
          <LiveLengthField
            label="Foam thickness"
            hint="As it is when worn, pressed together: so far the liner lies from the form."
            unit={unit}
            valueMm={plan.foamMm}
            leastMm={0.5}
            mostMm={60}
            autoFocus
            onRead={(foamMm) => onPlan({ ...plan, foamMm })}
          />
          <ThicknessSlider
            label="Thickness by sliding"
            valueMm={plan.foamMm ?? FIRST_PLAN.foamMm ?? 0}
            onChange={(foamMm) => onPlan({ ...plan, foamMm })}
          />
          <PreviewLine plan={plan} shown={shown} />
          <LinerZones {...{ plan, onPlan, tool, onTool }} isHead={frameOf(props.region) === 'head'} />
          <CheckField
            label="Bridge the hollows"
            hint="No foam goes into folds, as those of ears and armpits: hollows a ball of this radius cannot enter are spanned."
            checked={plan.hasBridge}
            onChange={(hasBridge) => onPlan({ ...plan, hasBridge })}
          />
          {plan.hasBridge ? (
            <LiveLengthField
              label="Radius of the ball"
              unit={unit}
              valueMm={plan.bridgeMm}
              leastMm={1}
              mostMm={60}
              onRead={(bridgeMm) => onPlan({ ...plan, bridgeMm })}
            />
          ) : null}
          <CheckField
            label="Give it a wall"
            hint="Then it is a printable shell with this liner as its inner side; without, a padded body, solid."
            checked={plan.hasWall}
            onChange={(hasWall) => onPlan({ ...plan, hasWall })}
          />
          {plan.hasWall ? (
            <LiveLengthField
              label="Wall"
              unit={unit}
              valueMm={plan.wallMm}
              leastMm={0.4}
              mostMm={30}
              onRead={(wallMm) => onPlan({ ...plan, wallMm })}
            />
          ) : null}
          <CheckField
            label="Open it"
            hint="Cut off flat, so that the body can get in. Drag the sheet in the view, or tilt it by its corners."
            checked={opening !== undefined}
            onChange={(isOpen) =>
              onPlan({
                ...plan,
                opening: isOpen ? levelAt(flat.sign * flat.firstMm) : undefined,
                farOpening: undefined,
              })
            }
          />
          {opening === undefined ? null : (
            <>
              <LengthField
                label={flat.label}
                unit={unit}
                valueMm={Math.round(flat.sign * heightOf(opening))}
                leastMm={-1000}
                mostMm={1000}
                onCommit={(mm) => {
                  const [x, y, z] = opening.point;
                  onPlan({ ...plan, opening: { ...opening, point: [x, y, z + flat.sign * mm - heightOf(opening)] } });
                }}
              />
              {tilt < LEVEL_DEGREES ? null : (
                <div className="button-row">
                  <span className="numbers">Tilted by {tilt.toFixed(0)}°</span>
                  <Button tone="quiet" onClick={() => onPlan({ ...plan, opening: levelAt(heightOf(opening)) })}>
                    Make it level
                  </Button>
                </div>
              )}
            </>
          )}
          {opening === undefined ? null : (
            <CheckField
              label="Open the other end too"
              hint="As a bracer or a breastplate is: cut off flat there as well."
              checked={far !== undefined}
              onChange={(isOpen) => onPlan({ ...plan, farOpening: isOpen ? levelUnder(flat.farMm) : undefined })}
            />
          )}
          {far === undefined ? null : (
            <LengthField
              label={`Above ${heightsFrom(props.region)} by, at the other end`}
              unit={unit}
              valueMm={Math.round(heightOf(far))}
              leastMm={-1000}
              mostMm={1000}
              onCommit={(mm) => {
                const [x, y, z] = far.point;
                onPlan({ ...plan, farOpening: { ...far, point: [x, y, z + mm - heightOf(far)] } });
              }}
            />
          )}
          {frameOf(props.region) === 'torso' ? <LinerHalf plan={plan} onPlan={onPlan} /> : null}
          <LinerCurves
            {...{ plan, onPlan, tool, onTool }}
            surface={props.surface}
            edges={EDGES[frameOf(props.region)]}
          />
          <LinerWayIn {...{ plan, onPlan, tool, onTool }} deepestMm={shown.preview?.deepestMm ?? undefined} />
          <LinerKeepOuts {...{ plan, onPlan, tool, onTool }} isHead={frameOf(props.region) === 'head'} />
          <ForProject plan={plan} onPlan={onPlan} />
        </div>
      </TicketCard>
    </form>
  );
}

/** A breastplate or a back: half of what goes round a torso. */
function LinerHalf({ plan, onPlan }: Pick<LinerPartProps, 'plan' | 'onPlan'>) {
  const { unit } = useStore(useStudio().settings);
  const { half } = plan;
  return (
    <>
      <SelectField<'all' | 'front' | 'back'>
        label="What is made"
        value={half?.side ?? 'all'}
        onChange={(side) => onPlan({ ...plan, half: side === 'all' ? undefined : { side, atMm: half?.atMm ?? 0 } })}
        options={[
          { value: 'all', label: 'all round the body' },
          { value: 'front', label: 'the front half, a breastplate' },
          { value: 'back', label: 'the back half' },
        ]}
      />
      {half === undefined ? null : (
        <LengthField
          label="Parted forward of the foot of the neck by"
          unit={unit}
          valueMm={half.atMm}
          leastMm={-1000}
          mostMm={1000}
          onCommit={(atMm) => onPlan({ ...plan, half: { ...half, atMm } })}
        />
      )}
    </>
  );
}

/** What the coarse liner in the view says. */
function PreviewLine({ plan, shown }: { readonly plan: LinerPlan; readonly shown: Live<CallResult<'liner.preview'>> }) {
  const { unit } = useStore(useStudio().settings);
  const { preview, isBusy, trouble } = shown;
  if (trouble !== undefined) return <Remark tone="trouble">{trouble}</Remark>;
  return (
    <p className="small" role="status" aria-busy={isBusy}>
      {parametersOf(plan) === undefined ? (
        'A length is missing or cannot be read; the coarse liner comes back with it.'
      ) : preview === undefined ? (
        'The coarse liner appears in the view.'
      ) : (
        <>
          The view shows it coarsely
          {plan.foamMm === undefined ? '' : `, ${lengthText(plan.foamMm, unit)} off the form`}:{' '}
          <span className="numbers">{(preview.foamVolumeMm3 / 1e6).toFixed(2)} litres</span> of foam as worn, before it
          is opened.
        </>
      )}
    </p>
  );
}

function ForProject({ plan, onPlan }: Pick<LinerPartProps, 'plan' | 'onPlan'>) {
  const shelf = useAsked('shelf.show', {});
  const projects = shelf.state === 'value' ? shelf.value.projects : [];
  if (projects.length === 0) return null;
  return (
    <SelectField
      label="For the project"
      value={plan.projectId ?? ''}
      onChange={(id) => onPlan({ ...plan, projectId: id === '' ? undefined : id })}
      options={[{ value: '', label: 'None' }, ...projects.map(({ id, name }) => ({ value: id, label: name }))]}
    />
  );
}
