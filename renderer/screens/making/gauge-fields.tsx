/** Gauge bands being thought over: how high they lie, how high they are, and what is raised on them. */
import { Button } from '../../controls/button.tsx';
import { TextField } from '../../controls/field.tsx';
import { frameOf, heightsFrom } from '../../controls/heights.ts';
import { LiveLengthField } from '../../controls/length-field.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import type { BandLines } from './gauge-lines.ts';
import { levelsOf, type GaugePlan } from './make-plan.ts';

const WHERE = {
  head: `over ${heightsFrom('head')}; a brow band lies at about 40`,
  limb: `over ${heightsFrom('limb')}`,
  torso: `over ${heightsFrom('torso')}, below it with a minus; a chest band lies at about -190`,
} as const;

const thirdsOf = ([low, high]: readonly [number, number]): string =>
  [low + (high - low) / 3, high - (high - low) / 3].map((mm) => mm.toFixed(0)).join(', ');

export function GaugeFields(props: {
  readonly plan: GaugePlan;
  readonly onPlan: (plan: GaugePlan) => void;
  readonly bands: BandLines | undefined;
  /** Of the body its heights are told by, or 'part' for its own. */
  readonly region: unknown;
}) {
  const { plan, onPlan, bands, region } = props;
  const { unit } = useStore(useStudio().settings);
  const isBad = plan.levels.trim() !== '' && levelsOf(plan.levels) === undefined;
  const reach = bands === undefined ? '' : ` It reaches from ${bands.reachMm.map(whole).join(' to ')} mm.`;
  const missed =
    bands === undefined || bands.missed.length === 0
      ? undefined
      : `No whole band lies at ${bands.missed.join(', ')} mm.${reach}`;
  return (
    <>
      <TextField
        label="Heights of the bands, mm"
        hint={`The middle of each, ${region === 'part' ? 'in the part’s own measure, as its lines in the view show' : WHERE[frameOf(region)]}. Several with commas.${missed === undefined ? reach : ''}`}
        value={plan.levels}
        onChange={(levels) => onPlan({ ...plan, levels })}
        trouble={isBad ? 'Write heights as numbers, for example 0, 40.' : missed}
      />
      {missed === undefined || bands === undefined ? null : (
        <div className="button-row">
          <Button onClick={() => onPlan({ ...plan, levels: thirdsOf(bands.reachMm) })}>
            At a third and two thirds of its height
          </Button>
        </div>
      )}
      <LiveLengthField
        label="How high a band is"
        unit={unit}
        valueMm={plan.bandMm}
        leastMm={2}
        mostMm={100}
        onRead={(bandMm) => onPlan({ ...plan, bandMm })}
      />
      <TextField
        label="Words raised on it"
        hint="Its height is added by itself."
        value={plan.words}
        maxLength={60}
        onChange={(words) => onPlan({ ...plan, words })}
      />
    </>
  );
}

const whole = (mm: number): string => mm.toFixed(0).replace('-', '−');
