/** What to print before the wearer comes, or to send to one who lives far away. */
import { useState } from 'react';
import { REGION_NAMES, REGIONS, type RegionName } from '../../../shared-types/measures/index.ts';
import { SelectField } from '../../controls/field.tsx';
import { PaperChoice } from '../../controls/paper-choice.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useStudio } from '../../state/studio.ts';
import './paper-card.css';

type Part = RegionName | 'all';

const PARTS: readonly { readonly value: Part; readonly label: string }[] = [
  ...REGION_NAMES.map((name) => ({ value: name, label: REGIONS[name].title })),
  { value: 'all', label: 'The whole body' },
];

export function PaperCard({ wearerId }: { readonly wearerId: string }) {
  const studio = useStudio();
  const [part, setPart] = useState<Part>('head');
  const regions = part === 'all' ? [...REGION_NAMES] : [part];
  return (
    <TicketCard
      className="paper-card"
      title="On paper"
      kind="PDF, to print or to send"
      stub={
        <PaperChoice
          orders={[
            {
              label: 'Measurement sheet',
              make: (paper) => studio.ask('paper.measures', { wearerId, regions, paper }),
            },
            { label: 'Capture card', make: (paper) => studio.ask('paper.capture', { paper }) },
          ]}
        />
      }
    >
      <p>
        The measurement sheet shows each length with boxes for three readings. The capture card tells how to take the
        pictures for a scan and brings a scale card to be seen in them.
      </p>
      <SelectField label="Measurement sheet of" value={part} onChange={setPart} options={PARTS} />
    </TicketCard>
  );
}
