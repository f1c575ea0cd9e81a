/** What is thought over before something is made: shown at once, kept in the library a moment after the hand rests. */
import { useCallback, useEffect, useRef, useState } from 'react';
import type { PlanDraft, Planned, PlanKind } from '../../shared-types/calls/plans.ts';
import type { PlanSubject } from '../../shared-types/records/plan.ts';
import { useAsked } from './use-asked.ts';
import { useStudio } from './studio.ts';

/** Changes nearer together than this are one step of undo, as the touches of a brush are. */
const REST_MS = 350;

export interface PlanDesk<K extends PlanKind> {
  readonly plan: PlanDraft<K>;
  /** Whether anything has been planned yet. */
  readonly isBegun: boolean;
  /** False until the kept plan is there. */
  readonly isReady: boolean;
  readonly change: (next: (plan: PlanDraft<K>) => PlanDraft<K>) => void;
}

/** `labels`: what undo would take back, by the field that was changed. */
export function usePlan<K extends PlanKind>(
  kind: K,
  subject: PlanSubject,
  first: PlanDraft<K>,
  labels: Readonly<Record<keyof PlanDraft<K>, string>>,
): PlanDesk<K> {
  const studio = useStudio();
  const asked = useAsked('plan.show', { kind, subject });
  const answer = asked.state === 'value' ? asked.value.planned : undefined;
  const kept = useSame(answer?.draft as PlanDraft<K> | undefined);
  // Decided here and on its way to the library.
  const [ahead, setAhead] = useState<PlanDraft<K>>();
  const now = ahead ?? kept ?? first;
  const latest = useRef({ now, subject, labels, before: now, timer: 0, isDirty: false, waiting: 0 });
  latest.current.now = now;
  latest.current.subject = subject;
  latest.current.labels = labels;

  const flush = useCallback(async (): Promise<void> => {
    const desk = latest.current;
    window.clearTimeout(desk.timer);
    if (!desk.isDirty) return;
    desk.isDirty = false;
    const { now: draft, before } = desk;
    const field = (Object.keys({ ...before, ...draft }) as (keyof PlanDraft<K>)[]).find(
      (one) => before[one] !== draft[one],
    );
    desk.waiting++;
    const planned = { kind, draft } as Planned;
    const label = field === undefined ? 'change a plan' : desk.labels[field];
    const answered = await studio.ask('plan.keep', { subject: desk.subject, label, planned });
    desk.waiting--;
    if (answered === undefined && desk.waiting === 0 && !desk.isDirty) setAhead(undefined);
  }, [studio, kind]);

  useEffect(() => {
    const { waiting, isDirty } = latest.current;
    // Every answer counts, also one that says the same as before: what was decided here may have been undone meanwhile.
    if (waiting === 0 && !isDirty) setAhead(undefined);
  }, [answer]);
  useEffect(() => {
    // Undo, and leaving the page, wait for what is still in the hand.
    studio.inHand.add(flush);
    const leave = (): void => void flush();
    window.addEventListener('pagehide', leave);
    return () => {
      window.removeEventListener('pagehide', leave);
      studio.inHand.delete(flush);
      void flush();
    };
  }, [studio, flush]);

  const change = useCallback(
    (next: (plan: PlanDraft<K>) => PlanDraft<K>): void => {
      const desk = latest.current;
      const draft = next(desk.now);
      if (draft === desk.now) return;
      if (!desk.isDirty) desk.before = desk.now;
      desk.now = draft;
      desk.isDirty = true;
      setAhead(draft);
      window.clearTimeout(desk.timer);
      desk.timer = window.setTimeout(() => void flush(), REST_MS);
    },
    [flush],
  );
  return { plan: now, isBegun: ahead !== undefined || kept !== undefined, isReady: asked.state === 'value', change };
}

/** The same object as long as it says the same: an answer asked for anew changes nothing that was drawn. */
function useSame<T>(value: T): T {
  const held = useRef(value);
  if (held.current !== value && JSON.stringify(held.current) !== JSON.stringify(value)) held.current = value;
  return held.current;
}
