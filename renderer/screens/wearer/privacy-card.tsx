/** What the wearer agreed to, and forgetting them for good. */
import { useState } from 'react';
import type { Wearer } from '../../../shared-types/records/wearer.ts';
import { Button } from '../../controls/button.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { TextArea, TextField } from '../../controls/field.tsx';
import { dayText, some } from '../../controls/figure.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { AskedView } from '../../controls/states.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { today } from '../../state/today.ts';

export function PrivacyCard({ wearer }: { readonly wearer: Wearer }) {
  const [open, setOpen] = useState<'consent' | 'forget'>();
  return (
    <TicketCard
      title="Consent"
      kind="Their body, their say"
      stub={
        <div className="button-row">
          <Button onClick={() => setOpen('consent')}>
            {wearer.consentDate === undefined ? 'Note their consent…' : 'Change what is noted…'}
          </Button>
          <Button tone="danger" onClick={() => setOpen('forget')}>
            Forget them…
          </Button>
        </div>
      }
    >
      {wearer.consentDate === undefined ? (
        <Remark tone="doubt">
          No consent is noted. Ask before keeping a body; everything stays on this computer either way.
        </Remark>
      ) : (
        <p>
          Given on {dayText(wearer.consentDate)}
          {wearer.consentNote === undefined || wearer.consentNote === '' ? '.' : `: ${wearer.consentNote}`}
        </p>
      )}
      {open === 'consent' ? <ConsentDialog wearer={wearer} onClose={() => setOpen(undefined)} /> : null}
      {open === 'forget' ? <ForgetDialog wearer={wearer} onClose={() => setOpen(undefined)} /> : null}
    </TicketCard>
  );
}

function ConsentDialog({ wearer, onClose }: { readonly wearer: Wearer; readonly onClose: () => void }) {
  const studio = useStudio();
  const [consentDate, setConsentDate] = useState(wearer.consentDate ?? today());
  const [consentNote, setConsentNote] = useState(wearer.consentNote ?? '');
  const save = async (): Promise<void> => {
    const saved = await studio.ask('wearer.edit', { id: wearer.id, consentDate, consentNote });
    if (saved !== undefined) onClose();
  };
  return (
    <Dialog
      title={`What ${wearer.name} agreed to`}
      onClose={onClose}
      action={{ label: 'Note it', run: save, isReady: consentDate !== '' }}
    >
      <TextField label="On" type="date" value={consentDate} onChange={setConsentDate} autoFocus />
      <TextArea
        label="To what, in their words"
        value={consentNote}
        onChange={setConsentNote}
        rows={4}
        maxLength={20_000}
      />
    </Dialog>
  );
}

/** The store's own tables, in people's words. */
const KEPT: Readonly<Record<string, string>> = {
  wearers: 'wearer',
  scans: 'scan',
  landmarks: 'landmark',
  readings: 'reading',
  tickets: 'ticket',
  forms: 'form',
  form_revisions: 'making',
  liners: 'liner',
  trials: 'trial',
  project_forms: 'place in a project',
  jobs: 'job',
  blobs: 'file or mesh',
};
const MANY: Readonly<Record<string, string>> = {
  'place in a project': 'places in projects',
  'file or mesh': 'files and meshes',
};

function keptWords(rows: Readonly<Record<string, number>>): string[] {
  return Object.entries(rows)
    .filter(([, count]) => count > 0)
    .map(([table, count]) => {
      const one = KEPT[table] ?? table.replaceAll('_', ' ').replace(/s$/, '');
      return some(count, one, MANY[one] ?? `${one}s`);
    });
}

function ForgetDialog({ wearer, onClose }: { readonly wearer: Wearer; readonly onClose: () => void }) {
  const studio = useStudio();
  const plan = useAsked('wearer.forgetPlan', { id: wearer.id });
  const [typed, setTyped] = useState('');
  const isMeant = typed.trim() === wearer.name;
  const forget = async (): Promise<void> => {
    const gone = await studio.ask('wearer.forget', { id: wearer.id });
    if (gone === undefined) return;
    studio.notes.add({ tone: 'plain', text: `${wearer.name} is forgotten.` });
    onClose();
    go({ at: 'shelf' });
  };
  return (
    <Dialog
      title={`Forget ${wearer.name}?`}
      onClose={onClose}
      action={{ label: 'Forget for good', run: forget, isReady: isMeant && plan.state === 'value', tone: 'danger' }}
      away="Keep them"
    >
      <AskedView asked={plan} loading="Looking for everything of theirs">
        {(value) => (
          <>
            <p>This is taken out of the library and cannot be undone:</p>
            <ul className="forget-list">
              {keptWords(value.rows).map((words) => (
                <li key={words}>{words}</li>
              ))}
              <li>{some(value.historySteps, 'step')} of the history</li>
            </ul>
            {value.copiesHolding.length === 0 ? null : (
              <Remark tone="doubt">
                Safety copies that hold them too and go with them: {value.copiesHolding.join(', ')}
              </Remark>
            )}
            {value.copiesUnread.length === 0 ? null : (
              <Remark tone="trouble">
                Copies that cannot be read, so look at them yourself: {value.copiesUnread.join(', ')}
              </Remark>
            )}
            <TextField
              label={`Write their name to mean it: ${wearer.name}`}
              value={typed}
              onChange={setTyped}
              autoFocus
            />
          </>
        )}
      </AskedView>
    </Dialog>
  );
}
