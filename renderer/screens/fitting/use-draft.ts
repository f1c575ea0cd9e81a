/** A fitting's decisions as they stand on the desk: shown at once, kept one after the other. */
import { useEffect, useRef, useState } from 'react';
import type { FittingDraft } from '../../../shared-types/calls/fittings.ts';
import type { CallResult } from '../../../shared-types/contract.ts';
import { useStudio } from '../../state/studio.ts';

export interface DeskDraft {
  readonly draft: FittingDraft;
  readonly edit: (label: string, change: Partial<FittingDraft>) => Promise<void>;
  /** Once everything decided so far is kept. */
  readonly kept: () => Promise<unknown>;
}

export function useDraft({ fitting, draft }: CallResult<'fitting.show'>): DeskDraft {
  const studio = useStudio();
  // Decided here and on its way to the library: a second press builds on the first, not on what was fetched before it.
  const [ahead, setAhead] = useState<FittingDraft>();
  const queue = useRef<Promise<unknown>>(Promise.resolve());
  const waiting = useRef(0);
  useEffect(() => {
    if (waiting.current === 0) setAhead(undefined);
  }, [draft]);
  const now = ahead ?? draft;
  const edit = async (label: string, change: Partial<FittingDraft>): Promise<void> => {
    const next = { ...now, ...change };
    setAhead(next);
    waiting.current++;
    const asked = queue.current.then(() => studio.ask('fitting.edit', { id: fitting.id, label, draft: next }));
    queue.current = asked;
    const answer = await asked;
    waiting.current--;
    if (answer === undefined && waiting.current === 0) setAhead(undefined);
  };
  return { draft: now, edit, kept: () => queue.current };
}
