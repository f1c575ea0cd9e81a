/** A ticket as the program keeps it, with changes shown at once and kept one after the other. */
import { useCallback, useEffect, useMemo, useRef, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked, type Asked } from '../../state/use-asked.ts';

export type TicketShown = CallResult<'ticket.show'>;
/** `label` says in words what undo would take back. */
export type Edit = (label: string, change: (draft: TicketDraft) => TicketDraft) => void;

export interface TicketInHand {
  readonly asked: Asked<TicketShown>;
  readonly draft: TicketDraft | undefined;
  readonly edit: Edit;
}

export function useTicket(id: string): TicketInHand {
  const studio = useStudio();
  const asked = useAsked('ticket.show', { id });
  const kept = asked.state === 'value' ? asked.value.ticket.draft : undefined;
  const [pending, setPending] = useState<TicketDraft>();
  const latest = useRef<TicketDraft>(undefined);
  const queue = useRef<Promise<unknown>>(Promise.resolve());
  const underWay = useRef(0);

  latest.current = pending ?? kept;
  // What comes back after the last change has arrived is the truth, undo included.
  useEffect(() => {
    if (underWay.current === 0) setPending(undefined);
  }, [kept]);

  const edit = useCallback<Edit>(
    (label, change) => {
      const before = latest.current;
      if (before === undefined) return;
      const draft = change(before);
      latest.current = draft;
      setPending(draft);
      underWay.current++;
      queue.current = queue.current.then(async () => {
        const saved = await studio.ask('ticket.edit', { id, label, draft });
        underWay.current--;
        // Refused: show what is kept instead.
        if (saved === undefined && underWay.current === 0) setPending(undefined);
      });
    },
    [studio, id],
  );
  return useMemo(() => ({ asked, draft: pending ?? kept, edit }), [asked, pending, kept, edit]);
}
