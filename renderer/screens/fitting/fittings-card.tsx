/** Parts tried on within a project, and the way to its company's table. */
import { Stamp, TicketCard } from '../../controls/paper.tsx';
import { useAsked } from '../../state/use-asked.ts';
import '../making/making.css';

export function FittingsCard({ projectId }: { readonly projectId: string }) {
  const asked = useAsked('fitting.list', { projectId });
  const fittings = asked.state === 'value' ? asked.value.fittings : [];
  return (
    <TicketCard
      title="Fittings"
      kind="Parts tried on"
      stub={<a href={`#/company/${projectId}`}>The whole company in one table</a>}
    >
      {fittings.length === 0 ? (
        <p className="soft">None yet; a fitting begins on a part.</p>
      ) : (
        <ul className="plain-list line-list">
          {fittings.map(({ fitting, tried }) => (
            <li key={fitting.id}>
              <a href={`#/fitting/${fitting.id}`}>{fitting.name}</a>{' '}
              {tried === undefined ? (
                <span className="soft small">not tried yet</span>
              ) : tried.outdated ? (
                <Stamp tone="doubt">Try again</Stamp>
              ) : (
                <span className="soft small">{tried.fit?.leastEaseMm.toFixed(1)} mm at least</span>
              )}
            </li>
          ))}
        </ul>
      )}
    </TicketCard>
  );
}
