/** A wearer without a scan: they may live far away and send their measurements only. */
import { useState } from 'react';
import { Dialog } from '../../controls/dialog.tsx';
import { TextArea, TextField } from '../../controls/field.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';

export function WearerDialog({ onClose }: { readonly onClose: () => void }) {
  const studio = useStudio();
  const [name, setName] = useState('');
  const [note, setNote] = useState('');
  const [consentDate, setConsentDate] = useState('');
  const [consentNote, setConsentNote] = useState('');
  const add = async (): Promise<void> => {
    const added = await studio.ask('wearer.add', {
      name: name.trim(),
      ...(note.trim() === '' ? {} : { note: note.trim() }),
      ...(consentNote.trim() === '' ? {} : { consentNote: consentNote.trim() }),
      ...(consentDate === '' ? {} : { consentDate }),
    });
    if (added === undefined) return;
    onClose();
    go({ at: 'wearer', id: added.id });
  };
  return (
    <Dialog
      title="Add a wearer"
      onClose={onClose}
      action={{ label: 'Put them on the shelf', run: add, isReady: name.trim() !== '' }}
    >
      <TextField label="Name" value={name} onChange={setName} maxLength={200} autoFocus />
      <TextArea label="Note" value={note} onChange={setNote} rows={2} maxLength={20_000} />
      <TextField
        label="They agreed to be kept here on"
        hint="Leave it empty if they have not yet; it can be written on their sheet later."
        type="date"
        value={consentDate}
        onChange={setConsentDate}
      />
      <TextArea label="To what" value={consentNote} onChange={setConsentNote} rows={2} maxLength={20_000} />
    </Dialog>
  );
}
