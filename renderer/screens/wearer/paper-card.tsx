/** What to print before the wearer comes, or to send to one who lives far away. */
import { PaperChoice } from '../../controls/paper-choice.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStudio } from '../../state/studio.ts';

export function PaperCard({ wearerId }: { readonly wearerId: string }) {
  const studio = useStudio();
  return (
    <TicketCard
      title="On paper"
      kind="PDF, to print or to send"
      stub={
        <PaperChoice
          orders={[
            {
              label: 'Measurement sheet',
              make: (paper) => studio.ask('paper.measures', { wearerId, paper }),
            },
            { label: 'Capture card', make: (paper) => studio.ask('paper.capture', { paper }) },
          ]}
        />
      }
    >
      <p>
        The measurement sheet shows each length with boxes for three readings. The capture card tells how to take the
        pictures for a scan and brings a scale card to stand in them.
      </p>
    </TicketCard>
  );
}
