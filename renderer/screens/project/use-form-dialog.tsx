/** Whose form, and which. */
import { useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { ChooseList } from '../../controls/choose-list.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { some } from '../../controls/figure.tsx';
import { AskedView } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';

export function UseFormDialog(props: { readonly shown: CallResult<'project.show'>; readonly onClose: () => void }) {
  const studio = useStudio();
  const { project, forms: used } = props.shown;
  const shelf = useAsked('shelf.show', {});
  const [wearerId, setWearerId] = useState<string>();
  const [formId, setFormId] = useState<string>();
  const wearing = useAsked('wearer.show', wearerId === undefined ? undefined : { id: wearerId });
  const forms =
    wearing.state === 'value'
      ? wearing.value.forms.map(({ form }) => form).filter((form) => !used.some((one) => one.form.id === form.id))
      : [];
  // With one form there is nothing to choose.
  const chosen = forms.some((form) => form.id === formId) ? formId : forms.length === 1 ? forms[0].id : undefined;
  const use = async (): Promise<void> => {
    if (chosen === undefined) return;
    const done = await studio.ask('project.use', { projectId: project.id, formId: chosen });
    if (done !== undefined) props.onClose();
  };
  return (
    <Dialog
      title={`Use a form in ${project.name}`}
      onClose={props.onClose}
      action={{ label: 'Use it here', run: use, isReady: chosen !== undefined }}
    >
      <AskedView asked={shelf} loading="Looking along the shelf">
        {({ wearers }) => (
          <ChooseList
            label="Wearer"
            options={wearers
              .filter((wearer) => wearer.forms > 0)
              .map((wearer) => ({ value: wearer.id, label: wearer.name, note: some(wearer.forms, 'form') }))}
            value={wearerId}
            onChange={setWearerId}
            nothing="Nobody of that name has a form yet; forms are made from scans, on their tickets."
          />
        )}
      </AskedView>
      {wearerId === undefined || wearing.state === 'loading' ? null : (
        <AskedView asked={wearing} loading="Fetching their forms">
          {() => (
            <ChooseList
              label="Form"
              options={forms.map((form) => ({ value: form.id, label: form.name }))}
              value={chosen}
              onChange={setFormId}
              nothing="Every form of theirs is used here already."
            />
          )}
        </AskedView>
      )}
    </Dialog>
  );
}
