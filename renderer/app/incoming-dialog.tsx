/** Whose scan is it? The file goes up meanwhile, so that it is there when the answer is. */
import { useEffect, useRef, useState } from 'react';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { Button } from '../controls/button.tsx';
import { ChooseList } from '../controls/choose-list.tsx';
import { Dialog } from '../controls/dialog.tsx';
import { CheckField, ChoiceField, TextArea, TextField } from '../controls/field.tsx';
import { bytesText } from '../controls/figure.tsx';
import { Remark } from '../controls/paper.tsx';
import { ProgressTape } from '../controls/progress-tape.tsx';
import { scannedByName, type Scanned } from '../controls/scanned.ts';
import { ScannedField } from '../controls/scanned-field.tsx';
import { go } from '../state/routes.ts';
import type { Incoming } from '../state/incoming.ts';
import { useStudio } from '../state/studio.ts';
import { useAsked } from '../state/use-asked.ts';
import { today } from '../state/today.ts';

type Arrival =
  | { readonly state: 'coming'; readonly fraction: number }
  | { readonly state: 'here'; readonly upload: string }
  | { readonly state: 'trouble'; readonly sentence: string };

export function IncomingDialog({ incoming }: { readonly incoming: Incoming }) {
  const studio = useStudio();
  const { file } = incoming;
  const [arrival, retry] = useArrival(incoming);
  const shelf = useAsked('shelf.show', {});
  const wearers = shelf.state === 'value' ? shelf.value.wearers : [];
  const [whose, setWhose] = useState<'new' | 'known'>(incoming.wearerId === undefined ? 'new' : 'known');
  const [wearerId, setWearerId] = useState(incoming.wearerId);
  const [name, setName] = useState('');
  const [hasConsent, setConsent] = useState(false);
  const [consentNote, setConsentNote] = useState('');
  const [consentDate, setConsentDate] = useState(today());
  const [scanned, setScanned] = useState<Scanned>(scannedByName(file.name));
  const [trouble, setTrouble] = useState('');

  const close = (): void => studio.incoming.set(undefined);
  const isNew = whose === 'new' || wearers.length === 0;
  const isAnswered = isNew ? name.trim() !== '' : wearerId !== undefined;

  const keep = async (): Promise<void> => {
    if (arrival.state !== 'here' || !isAnswered) return;
    setTrouble('');
    let owner = isNew ? undefined : wearerId;
    if (isNew && hasConsent) {
      // With what was agreed to, the wearer is written down first.
      const added = await studio.client.call('wearer.add', {
        name: name.trim(),
        ...(consentNote.trim() === '' ? {} : { consentNote: consentNote.trim() }),
        ...(consentDate === '' ? {} : { consentDate }),
      });
      if (!added.ok) return setTrouble(faultSentence(added.fault));
      owner = added.value.id;
    }
    const kept = await studio.client.call('scan.keep', {
      upload: arrival.upload,
      fileName: file.name,
      ...scanned,
      ...(owner === undefined ? { wearerName: name.trim() } : { wearerId: owner }),
    });
    if (!kept.ok) {
      if (owner !== undefined && isNew) {
        // Not to be written down twice when it is tried again.
        setWhose('known');
        setWearerId(owner);
      }
      return setTrouble(faultSentence(kept.fault));
    }
    close();
    go({ at: 'ticket', id: kept.value.ticketId });
  };

  return (
    <Dialog
      title="Whose scan is it?"
      onClose={close}
      action={{
        label: arrival.state === 'coming' ? 'The file is still coming' : 'Keep the scan and open its ticket',
        run: keep,
        isReady: isAnswered && arrival.state === 'here',
      }}
    >
      {arrival.state === 'coming' ? (
        <ProgressTape title={file.name} phase={`Bringing in ${bytesText(file.size)}`} fraction={arrival.fraction} />
      ) : arrival.state === 'here' ? (
        <p>
          <strong>{file.name}</strong>, {bytesText(file.size)}. It is kept byte for byte as it came.
        </p>
      ) : (
        <>
          <Remark tone="trouble">{arrival.sentence}</Remark>
          <div className="button-row">
            <Button onClick={retry}>Bring it in again</Button>
          </div>
        </>
      )}
      {wearers.length === 0 ? null : (
        <ChoiceField
          label="Wearer"
          isLabelHidden
          value={whose}
          onChange={setWhose}
          options={[
            { value: 'new', label: 'Somebody new' },
            { value: 'known', label: 'Somebody on the shelf' },
          ]}
        />
      )}
      {isNew ? (
        <>
          <TextField label="Name" value={name} onChange={setName} maxLength={200} autoFocus />
          {wearers.some((one) => isSameName(one.name, name)) ? (
            <Remark tone="doubt">
              Somebody of that name is on the shelf already. If it is they, choose “Somebody on the shelf”.
            </Remark>
          ) : null}
          <CheckField
            label="They agreed that their body is kept here"
            hint="It stays on this computer, and can be forgotten on their sheet at any time."
            checked={hasConsent}
            onChange={setConsent}
          />
          {hasConsent ? (
            <>
              <TextField label="On" type="date" value={consentDate} onChange={setConsentDate} />
              <TextArea
                label="To what, in their words"
                value={consentNote}
                onChange={setConsentNote}
                rows={2}
                maxLength={20_000}
              />
            </>
          ) : null}
        </>
      ) : (
        <>
          <ChooseList
            label="Wearer"
            options={wearers.map((one) => ({ value: one.id, label: one.name }))}
            value={wearerId}
            onChange={setWearerId}
            nothing="Nobody of that name is on the shelf."
          />
        </>
      )}
      <ScannedField value={scanned} onChange={setScanned} />
      {trouble === '' ? null : <Remark tone="trouble">{trouble}</Remark>}
    </Dialog>
  );
}

const isSameName = (a: string, b: string): boolean => a.trim().toLocaleLowerCase() === b.trim().toLocaleLowerCase();

/** Brings the file up once, and again if asked; stops when the dialog closes before it is here. */
function useArrival({ file, upload }: Incoming): [Arrival, () => void] {
  const { client } = useStudio();
  const [arrival, setArrival] = useState<Arrival>({ state: 'coming', fraction: 0 });
  const [round, setRound] = useState(0);
  const stop = useRef<AbortController>(undefined);
  useEffect(() => {
    if (upload !== undefined) return;
    const controller = new AbortController();
    stop.current = controller;
    setArrival({ state: 'coming', fraction: 0 });
    const watch = {
      signal: controller.signal,
      onProgress: (fraction: number) => {
        if (!controller.signal.aborted) setArrival({ state: 'coming', fraction });
      },
    };
    void client.upload(file, watch).then((outcome) => {
      if (controller.signal.aborted) return;
      setArrival(
        outcome.ok
          ? { state: 'here', upload: outcome.value.upload }
          : { state: 'trouble', sentence: faultSentence(outcome.fault) },
      );
    });
    return () => controller.abort();
  }, [client, file, upload, round]);
  return [upload === undefined ? arrival : { state: 'here', upload }, () => setRound(round + 1)];
}
