import { useState } from 'react';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { Button } from '../controls/button.tsx';
import { TextField } from '../controls/field.tsx';
import { TicketCard } from '../controls/paper.tsx';
import { useStudio } from '../state/studio.ts';
import { useTitle } from '../state/use-title.ts';

export function LockedScreen() {
  const { client, refresh } = useStudio();
  const [passphrase, setPassphrase] = useState('');
  const [trouble, setTrouble] = useState('');
  const [isBusy, setBusy] = useState(false);
  useTitle('Locked');
  const unlock = async (): Promise<void> => {
    setBusy(true);
    const outcome = await client.call('library.unlock', { passphrase });
    setBusy(false);
    if (outcome.ok) refresh();
    else setTrouble(faultSentence(outcome.fault));
  };
  return (
    <TicketCard title="This library is locked" level={1} className="locked">
      <p>Bodies are private: this library was sealed with a passphrase. It is never kept anywhere but in your head.</p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void unlock();
        }}
      >
        <TextField
          label="Passphrase"
          type="password"
          autoComplete="current-password"
          autoFocus
          value={passphrase}
          onChange={setPassphrase}
          trouble={trouble}
        />
        <div className="button-row">
          <Button tone="main" type="submit" busy={isBusy} disabled={passphrase === ''}>
            Open the library
          </Button>
        </div>
      </form>
    </TicketCard>
  );
}
