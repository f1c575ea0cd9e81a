import { useState } from 'react';
import { Button } from '../../controls/button.tsx';
import { SelectField } from '../../controls/field.tsx';
import { countText, dayText } from '../../controls/figure.tsx';
import { FormPicture } from '../../controls/form-picture.tsx';
import { LinerItems } from '../../controls/liner-list.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { useAsked } from '../../state/use-asked.ts';
import { BlockDialog } from './block-dialog.tsx';
import type { Wearing } from './wearing.ts';

export function FormList({
  wearing,
  onUse,
}: {
  readonly wearing: Wearing;
  readonly onUse: (projectId: string, formId: string) => void;
}) {
  const [isBlocking, setBlocking] = useState(false);
  return (
    <TicketCard
      title="Forms"
      kind="Clean, upright, true to size"
      aside={
        <Button tone="quiet" onClick={() => setBlocking(true)}>
          Make one from the sheet…
        </Button>
      }
    >
      {isBlocking ? <BlockDialog wearing={wearing} onClose={() => setBlocking(false)} /> : null}
      {wearing.forms.length === 0 ? (
        <p className="soft">
          {wearing.tickets.length === 0
            ? 'A form is made from a scan on its ticket; without a scan, from what the sheet says.'
            : 'None yet: finish a ticket below and its form will stand here.'}
        </p>
      ) : (
        <ul className="plain-list">
          {wearing.forms.map(({ form, revisions }) => {
            const newest = [...revisions].sort((a, b) => b.revision - a.revision);
            const liners = wearing.liners.filter((liner) => revisions.some((one) => one.id === liner.formRevisionId));
            return (
              <li key={form.id} className="form-entry">
                <div className="form-entry-picture">
                  <FormPicture revisionId={newest[0]?.id} label="" pixels={192} />
                </div>
                <div className="form-entry-words">
                  <h3>{form.name}</h3>
                  <ul className="plain-list small">
                    {newest.map((one) => (
                      <li key={one.id}>
                        <a href={`#/form/${one.id}`}>Making {one.revision}</a>{' '}
                        <span className="soft">
                          {countText(one.faceCount)} faces, {dayText(one.createdAt)}
                        </span>
                      </li>
                    ))}
                    <LinerItems liners={liners} />
                  </ul>
                  <UseInProject formId={form.id} onUse={onUse} />
                </div>
              </li>
            );
          })}
        </ul>
      )}
    </TicketCard>
  );
}

function UseInProject(props: { readonly formId: string; readonly onUse: (projectId: string, formId: string) => void }) {
  const [isOpen, setOpen] = useState(false);
  const shelf = useAsked('shelf.show', isOpen ? {} : undefined);
  const projects = shelf.state === 'value' ? shelf.value.projects : [];
  const [chosen, setChosen] = useState('');
  const projectId = chosen === '' ? (projects[0]?.id ?? '') : chosen;
  if (!isOpen) {
    return (
      <Button tone="quiet" onClick={() => setOpen(true)}>
        Use in a project…
      </Button>
    );
  }
  if (shelf.state === 'value' && projects.length === 0) {
    return <p className="soft small">There is no project yet; begin one on the shelf.</p>;
  }
  return (
    <div className="button-row">
      <SelectField
        label="Project"
        isLabelHidden
        value={projectId}
        onChange={setChosen}
        options={projects.map((project) => ({ value: project.id, label: project.name }))}
      />
      <Button
        disabled={projectId === ''}
        onClick={() => {
          props.onUse(projectId, props.formId);
          setOpen(false);
        }}
      >
        Use it there
      </Button>
    </div>
  );
}
