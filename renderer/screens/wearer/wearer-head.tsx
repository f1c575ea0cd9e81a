import { useState } from 'react';
import { Button } from '../../controls/button.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { TextArea, TextField } from '../../controls/field.tsx';
import { dayText, some } from '../../controls/figure.tsx';
import { useStudio } from '../../state/studio.ts';
import type { Wearing } from './wearing.ts';

export function WearerHead({ wearing }: { readonly wearing: Wearing }) {
  const { wearer } = wearing;
  const [isEditing, setEditing] = useState(false);
  return (
    <header className="page-head">
      <div>
        <h1>{wearer.name}</h1>
        <p className="soft">
          On the shelf since {dayText(wearer.createdAt)} · {some(wearing.scans.length, 'scan')} ·{' '}
          {some(wearing.forms.length, 'form')} · {some(wearing.liners.length, 'liner')}
        </p>
        {wearer.note === undefined || wearer.note === '' ? null : <p className="page-note">{wearer.note}</p>}
      </div>
      <Button onClick={() => setEditing(true)}>Change name or note</Button>
      {isEditing ? <EditDialog wearing={wearing} onClose={() => setEditing(false)} /> : null}
    </header>
  );
}

function EditDialog({ wearing, onClose }: { readonly wearing: Wearing; readonly onClose: () => void }) {
  const studio = useStudio();
  const { wearer } = wearing;
  const [name, setName] = useState(wearer.name);
  const [note, setNote] = useState(wearer.note ?? '');
  const save = async (): Promise<void> => {
    const saved = await studio.ask('wearer.edit', { id: wearer.id, name: name.trim(), note });
    if (saved !== undefined) onClose();
  };
  return (
    <Dialog
      title="Name and note"
      onClose={onClose}
      action={{ label: 'Keep it', run: save, isReady: name.trim() !== '' }}
    >
      <TextField label="Name" value={name} onChange={setName} maxLength={200} autoFocus />
      <TextArea label="Note" value={note} onChange={setNote} rows={4} maxLength={20_000} />
    </Dialog>
  );
}
