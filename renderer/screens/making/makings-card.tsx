/** What has been cut and printed from this form, liner or part, and the way to make more. */
import { useState } from 'react';
import type { MakingSource } from '../../../shared-types/calls/makings.ts';
import { Button } from '../../controls/button.tsx';
import { dayText, some } from '../../controls/figure.tsx';
import { Stamp, TicketCard } from '../../controls/paper.tsx';
import { useAsked } from '../../state/use-asked.ts';
import { MakeDialog, type MakeDialogProps } from './make-dialog.tsx';
import { kindWords } from './making-words.ts';

export function MakingsCard(props: {
  readonly source: MakingSource;
  readonly kinds: MakeDialogProps['kinds'];
  readonly subject: string;
  readonly placement?: readonly number[] | undefined;
}) {
  const asked = useAsked('making.list', props.source);
  const [isOpen, setOpen] = useState(false);
  const made = asked.state === 'value' ? asked.value.made : [];
  return (
    <TicketCard
      title="Cut and print"
      kind="Made from this"
      stub={<Button onClick={() => setOpen(true)}>Make something from it…</Button>}
    >
      {made.length === 0 ? (
        <p className="soft">Nothing yet.</p>
      ) : (
        <ul className="plain-list line-list">
          {made.toReversed().map(({ making, files, outdated }) => (
            <li key={making.id}>
              <a href={`#/making/${making.id}`}>{making.name}</a>{' '}
              {outdated === undefined ? null : <Stamp tone="doubt">Outdated</Stamp>}{' '}
              <span className="soft small">
                {kindWords(making)} · {some(files.length, 'file')} · {dayText(making.createdAt)}
              </span>
            </li>
          ))}
        </ul>
      )}
      {isOpen ? <MakeDialog {...props} onClose={() => setOpen(false)} /> : null}
    </TicketCard>
  );
}
