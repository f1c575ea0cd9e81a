/** Sight, breath and load: figures to reason with, never a certificate. */
import type { Tried } from '../../../shared-types/calls/fittings.ts';
import { Button } from '../../controls/button.tsx';
import { Figure } from '../../controls/figure.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { SightChart } from './sight-chart.tsx';

const percent = (share: number): string => `${(100 * share).toFixed(0)} %`;

export function SightCard(props: {
  readonly tried: Tried | undefined;
  readonly busy: boolean;
  readonly onTry: () => void;
}) {
  const sight = props.tried?.sight;
  const ahead = sight?.floor.find(({ azimuthDeg }) => azimuthDeg === 0)?.nearestMm;
  return (
    <TicketCard
      title="Sight, breath and load"
      className="stacked"
      stub={
        <Button busy={props.busy} onClick={props.onTry}>
          Look out of it
        </Button>
      }
    >
      {sight === undefined ? (
        <p className="soft">Not looked at yet, as the part lies now.</p>
      ) : (
        <>
          {Math.max(...Object.values(sight.limitsDeg)) === 0 ? (
            <Remark tone="trouble">The part is in the way straight ahead of both eyes.</Remark>
          ) : null}
          <SightChart sight={sight} />
          <dl className="figures">
            <Figure
              label="Clear to"
              value={`${sight.limitsDeg.left.toFixed(0)}° left, ${sight.limitsDeg.right.toFixed(0)}° right`}
              note={`${sight.limitsDeg.up.toFixed(0)}° up, ${sight.limitsDeg.down.toFixed(0)}° down; each ± ${sight.limitUDeg.toFixed(0)}°`}
            />
            <Figure
              label="Of the natural field"
              value={percent(sight.eitherShare)}
              note={`${percent(sight.bothShare)} with both eyes`}
            />
            <Figure
              label="Nearest floor seen ahead"
              value={ahead === null || ahead === undefined ? 'none' : `${(ahead / 1000).toFixed(1)} m`}
              note="standing, head still"
            />
            <Figure
              label="Open before the mouth"
              value={percent(sight.mouthOpenShare)}
              note={`openings of ${(sight.mouthOpenAreaMm2 / 100).toFixed(0)} cm², ${(sight.enclosedAirMm3 / 1e6).toFixed(1)} litres of still air`}
            />
            <Figure
              label="Mass"
              value={`${sight.massG.toFixed(0)} g`}
              note={`pulls the head ${sight.momentNCm >= 0 ? 'forward' : 'backward'} by ${Math.abs(sight.momentNCm).toFixed(0)} N·cm; counted as ${sight.massIsOf === 'solid' ? 'solid material' : 'a sheet'}`}
            />
          </dl>
          {sight.guidance.map((line) => (
            <Remark key={line} tone="plain">
              {line}
            </Remark>
          ))}
        </>
      )}
    </TicketCard>
  );
}
