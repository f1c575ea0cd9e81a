import type { ReactNode } from 'react';
import { Button } from '../../controls/button.tsx';
import { bytesText, dayText } from '../../controls/figure.tsx';
import { Stamp, TicketCard } from '../../controls/paper.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';
import type { Wearing } from './wearing.ts';

export function ScanList({ wearing, bring }: { readonly wearing: Wearing; readonly bring: ReactNode }) {
  const studio = useStudio();
  const start = async (scanId: string): Promise<void> => {
    const ticket = await studio.ask('ticket.start', { scanId });
    if (ticket !== undefined) go({ at: 'ticket', id: ticket.id });
  };
  return (
    <TicketCard title="Scans and their tickets" kind="As they came" aside={bring}>
      {wearing.scans.length === 0 ? (
        <p className="soft">No scan yet. Drop one anywhere on this window; it is kept as it came.</p>
      ) : (
        <ul className="plain-list">
          {wearing.scans.map((scan) => {
            const tickets = wearing.tickets.filter((ticket) => ticket.scanId === scan.id);
            return (
              <li key={scan.id} className="scan">
                <div>
                  <strong className="scan-file">{scan.fileName}</strong>
                  <p className="soft small">
                    {bytesText(scan.byteCount)}, {dayText(scan.createdAt)}
                  </p>
                </div>
                <ul className="plain-list">
                  {tickets.map((ticket) => (
                    <li key={ticket.id} className="scan-ticket">
                      <a href={`#/ticket/${ticket.id}`}>{ticket.name}</a>
                      {ticket.formId === undefined ? (
                        <Stamp tone="doubt">open</Stamp>
                      ) : (
                        <Stamp tone="good">form made</Stamp>
                      )}
                    </li>
                  ))}
                </ul>
                <Button tone="quiet" onClick={() => void start(scan.id)}>
                  {tickets.length === 0 ? 'Start a ticket' : 'Start another ticket'}
                </Button>
              </li>
            );
          })}
        </ul>
      )}
    </TicketCard>
  );
}
