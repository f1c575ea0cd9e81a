/** Choosing whose form a part is tried on. */
import { useState } from 'react';
import type { Part } from '../../../shared-types/records/project.ts';
import { Button } from '../../controls/button.tsx';
import { ChooseList } from '../../controls/choose-list.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { Loading } from '../../controls/states.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';

export function StartFitting({ part }: { readonly part: Part }) {
  const [isOpen, setOpen] = useState(false);
  return (
    <>
      <Button disabled={part.madeSha256 === undefined} onClick={() => setOpen(true)}>
        Try it on…
      </Button>
      {part.madeSha256 === undefined ? <span className="soft small"> Once its size is known.</span> : null}
      {isOpen ? <WhoseForm part={part} onClose={() => setOpen(false)} /> : null}
    </>
  );
}

function WhoseForm({ part, onClose }: { readonly part: Part; readonly onClose: () => void }) {
  const studio = useStudio();
  const company = useAsked('company.show', { wish: {} }, { still: true });
  const [formId, setFormId] = useState<string>();
  const forms = company.state === 'value' ? company.value.forms : [];
  const run = async (): Promise<void> => {
    const form = forms.find(({ id }) => id === formId);
    if (form === undefined) return;
    const { projectId } = part;
    const started = await studio.ask('fitting.start', {
      name: `${part.name} on ${form.wearerName}`.slice(0, 200),
      formId: form.id,
      partId: part.id,
      ...(projectId === undefined ? {} : { projectId }),
    });
    if (started === undefined) return;
    onClose();
    go({ at: 'fitting', id: started.id });
  };
  return (
    <Dialog
      title={`Whom is ${part.name} tried on?`}
      onClose={onClose}
      action={{ label: 'Try it on', run, isReady: formId !== undefined }}
    >
      {company.state === 'loading' ? (
        <Loading what="Looking for forms" />
      ) : (
        <ChooseList
          label="Form"
          value={formId}
          onChange={setFormId}
          options={forms.map((form) => ({ value: form.id, label: form.wearerName, note: form.name }))}
          nothing="There is no form yet: bring in a scan first."
        />
      )}
    </Dialog>
  );
}
