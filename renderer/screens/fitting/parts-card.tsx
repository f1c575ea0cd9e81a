/** Parts on the shelf, made or bought, and the way to bring one in. */
import { useState } from 'react';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { Button } from '../../controls/button.tsx';
import { dayText, some } from '../../controls/figure.tsx';
import { useMeshChooser } from '../../controls/mesh-chooser.tsx';
import { Stamp, TicketCard } from '../../controls/paper.tsx';
import { FaultCard, Loading } from '../../controls/states.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import '../making/making.css';

/** All parts, or those of a project and those that are fitted in it. */
export function PartsCard({ projectId }: { readonly projectId?: string }) {
  const studio = useStudio();
  const asked = useAsked('part.list', {});
  const [isBusy, setBusy] = useState(false);
  const bring = async (file: File): Promise<void> => {
    setBusy(true);
    const received = await studio.client.upload(file);
    if (!received.ok) {
      studio.notes.add({ tone: 'trouble', text: faultSentence(received.fault) });
      setBusy(false);
      return;
    }
    const kept = await studio.ask('part.keep', {
      upload: received.value.upload,
      fileName: file.name,
      name: file.name.replace(/\.[^.]*$/, '').slice(0, 200) || 'Part',
      ...(projectId === undefined ? {} : { projectId }),
    });
    setBusy(false);
    if (kept !== undefined) go({ at: 'part', id: kept.id });
  };
  const [chooser, choosePart] = useMeshChooser('part', 'Part file', (file) => void bring(file));
  const parts = asked.state === 'value' ? asked.value.parts : [];
  const shown = projectId === undefined ? parts : parts.filter((part) => part.projectId === projectId);
  return (
    <TicketCard
      title="Parts"
      kind="Made or bought, to be tried on"
      stub={
        <>
          {chooser}
          <Button busy={isBusy} onClick={choosePart}>
            Bring in a part…
          </Button>
        </>
      }
    >
      {asked.state === 'loading' ? (
        <Loading what="Looking through the parts" />
      ) : asked.state === 'fault' ? (
        <FaultCard fault={asked.fault} onAgain={asked.again} />
      ) : shown.length === 0 ? (
        <p className="soft">None yet. A helmet, a visor, a breastplate: any mesh file, in any unit.</p>
      ) : (
        <ul className="plain-list line-list">
          {shown.map((part) => (
            <li key={part.id}>
              <a href={`#/part/${part.id}`}>{part.name}</a>{' '}
              {part.ready ? null : <Stamp tone="doubt">Size not known</Stamp>}{' '}
              <span className="soft small">
                {some(part.fittings, 'fitting')} · {dayText(part.createdAt)}
              </span>
            </li>
          ))}
        </ul>
      )}
    </TicketCard>
  );
}
