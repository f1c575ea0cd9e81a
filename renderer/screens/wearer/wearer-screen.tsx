/** A wearer's sheet: what was measured, their scans with their tickets, forms, liners, and what they agreed to. */
import { Button } from '../../controls/button.tsx';
import { useScanChooser } from '../../controls/mesh-chooser.tsx';
import { AskedView } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import { FormList } from './form-list.tsx';
import { MeasurementSheet } from './measurement-sheet.tsx';
import { PaperCard } from './paper-card.tsx';
import { PrivacyCard } from './privacy-card.tsx';
import { ScanList } from './scan-list.tsx';
import { WearerHead } from './wearer-head.tsx';
import type { Wearing } from './wearing.ts';
import './wearer.css';

export function WearerScreen({ id }: { readonly id: string }) {
  const asked = useAsked('wearer.show', { id });
  return (
    <AskedView asked={asked} loading="Fetching the sheet">
      {(wearing) => <WearerSheet wearing={wearing} />}
    </AskedView>
  );
}

function WearerSheet({ wearing }: { readonly wearing: Wearing }) {
  const studio = useStudio();
  const [chooser, chooseScan] = useScanChooser(wearing.wearer.id);
  useTitle(wearing.wearer.name);
  const addTo = async (projectId: string, formId: string): Promise<void> => {
    const used = await studio.ask('project.use', { projectId, formId });
    if (used !== undefined) studio.notes.add({ tone: 'good', text: 'The form is in the project now.' });
  };
  return (
    <div className="page">
      {chooser}
      <WearerHead wearing={wearing} />
      <div className="wearer-columns">
        <MeasurementSheet wearing={wearing} />
        <div className="wearer-side">
          <FormList wearing={wearing} onUse={(projectId, formId) => void addTo(projectId, formId)} />
          <ScanList
            wearing={wearing}
            bring={
              <Button tone={wearing.scans.length === 0 ? 'main' : 'plain'} onClick={chooseScan}>
                Bring a scan…
              </Button>
            }
          />
          <PaperCard wearerId={wearing.wearer.id} />
          <PrivacyCard wearer={wearing.wearer} />
        </div>
      </div>
    </div>
  );
}
