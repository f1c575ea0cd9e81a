/** Getting in and out: safety comes before looks. */
import type { Tried } from '../../../shared-types/calls/fittings.ts';
import { Button } from '../../controls/button.tsx';
import { Figure, Length } from '../../controls/figure.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';

export function WayCard(props: {
  readonly tried: Tried | undefined;
  readonly busy: boolean;
  readonly onTry: () => void;
}) {
  const donning = props.tried?.fit?.donning;
  return (
    <TicketCard
      title="On and off"
      className="stacked"
      stub={
        <Button busy={props.busy} onClick={props.onTry}>
          Find the way on and off
        </Button>
      }
    >
      {donning === null || donning === undefined ? (
        <p className="soft">Not looked at yet. What cannot be taken off quickly must not be worn.</p>
      ) : (
        <>
          <Remark tone={donning.best.passes ? 'good' : 'trouble'}>{donning.sentence}</Remark>
          <dl className="figures">
            <Figure label="Best way" value={donning.best.words} note={`${donning.waysTried} ways tried`} />
            <Figure
              label={donning.best.passes ? 'Tightest' : 'Missing'}
              value={<Length mm={donning.best.passes ? donning.best.tightestMm : donning.best.blockedMm} />}
              note={`at the ${donning.best.region}`}
            />
          </dl>
          {donning.partings.length === 0 ? null : (
            <ul className="plain-list">
              {donning.partings.map((parting) => (
                <li key={parting.words}>
                  {parting.words}:{' '}
                  {parting.blockedMm > 0
                    ? `still ${parting.blockedMm.toFixed(1)} mm missing`
                    : `${parting.tightestMm.toFixed(1)} mm free at the tightest`}
                </li>
              ))}
            </ul>
          )}
        </>
      )}
    </TicketCard>
  );
}
