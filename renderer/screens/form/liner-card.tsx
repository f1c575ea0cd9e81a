/** A liner being thought over beside its form: what is decided here is seen there. */
import { useState } from 'react';
import { Button } from '../../controls/button.tsx';
import { CheckField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import {
  belowOf,
  FIRST_PLAN,
  levelBelow,
  OPEN_BELOW_MM,
  parametersOf,
  tiltDegrees,
  type LinerPlan,
} from './liner-plan.ts';

/** Less is as good as level. */
const LEVEL_DEGREES = 0.5;

export function LinerCard(props: {
  readonly revisionId: string;
  readonly plan: LinerPlan;
  readonly onPlan: (plan: LinerPlan) => void;
  readonly onClose: () => void;
}) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [isBusy, setBusy] = useState(false);
  const { plan, onPlan, onClose } = props;
  const { opening } = plan;
  const parameters = parametersOf(plan);
  const make = async (): Promise<void> => {
    if (parameters === undefined || isBusy) return;
    setBusy(true);
    const started = await studio.ask('form.line', { revisionId: props.revisionId, parameters });
    setBusy(false);
    if (started === undefined) return;
    studio.notes.add({
      tone: 'plain',
      text: 'The liner is being made; it will be listed here, and Jobs shows how far it is.',
    });
    onClose();
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
            <Button onClick={onClose}>Leave it</Button>
          </div>
        }
      >
        <div className="liner-fields">
          <LengthField
            label="Foam thickness"
            hint="As it is when worn, pressed together. Every point of the liner lies this far from the form."
            unit={unit}
            valueMm={FIRST_PLAN.foamMm}
            leastMm={0.5}
            mostMm={60}
            autoFocus
            onRead={(foamMm) => onPlan({ ...plan, foamMm })}
          />
          <CheckField
            label="Bridge the hollows"
            hint="No foam goes into the folds of the ears: hollows a ball of this radius cannot enter are spanned."
            checked={plan.hasBridge}
            onChange={(hasBridge) => onPlan({ ...plan, hasBridge })}
          />
          {plan.hasBridge ? (
            <LengthField
              label="Radius of the ball"
              unit={unit}
              valueMm={FIRST_PLAN.bridgeMm}
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
            <LengthField
              label="Wall"
              unit={unit}
              valueMm={FIRST_PLAN.wallMm}
              leastMm={0.4}
              mostMm={30}
              onRead={(wallMm) => onPlan({ ...plan, wallMm })}
            />
          ) : null}
          <CheckField
            label="Open it"
            hint="Cut off flat, so that a head can get in. Drag the sheet in the view, or tilt it by its corners."
            checked={opening !== undefined}
            onChange={(isOpen) => onPlan({ ...plan, opening: isOpen ? levelBelow(OPEN_BELOW_MM) : undefined })}
          />
          {opening === undefined ? null : (
            <>
              <LengthField
                label="Below the notches of the ears by"
                unit={unit}
                valueMm={Math.max(1, Math.round(belowOf(opening)))}
                mostMm={1000}
                onCommit={(below) => {
                  const [x, y, z] = opening.point;
                  onPlan({ ...plan, opening: { ...opening, point: [x, y, z + belowOf(opening) - below] } });
                }}
              />
              {tilt < LEVEL_DEGREES ? null : (
                <div className="button-row">
                  <span className="numbers">Tilted by {tilt.toFixed(0)}°</span>
                  <Button
                    tone="quiet"
                    onClick={() => onPlan({ ...plan, opening: levelBelow(Math.max(1, belowOf(opening))) })}
                  >
                    Make it level
                  </Button>
                </div>
              )}
            </>
          )}
        </div>
      </TicketCard>
    </form>
  );
}
