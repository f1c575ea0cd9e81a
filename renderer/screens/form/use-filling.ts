/** A fill being thought over: its plan, and what it would come to once that was asked for. */
import { useRef, useState } from 'react';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { useStudio } from '../../state/studio.ts';
import { FIRST_FILL, wantedOf, type FillPlan, type FillPreview } from './fill-plan.ts';

export interface Filling {
  readonly plan: FillPlan;
  readonly change: (change: (plan: FillPlan) => FillPlan) => void;
  /** Of exactly this plan; undefined until it was looked at. */
  readonly preview: FillPreview | undefined;
  readonly isBusy: boolean;
  readonly trouble: string | undefined;
  readonly look: () => void;
  /** Leave off looking. */
  readonly stop: () => void;
}

export function useFilling(revisionId: string): Filling {
  const { client } = useStudio();
  const [plan, setPlan] = useState(FIRST_FILL);
  const [seen, setSeen] = useState<{ preview?: FillPreview; isBusy: boolean; trouble?: string }>({ isBusy: false });
  const asking = useRef<AbortController>(undefined);
  const change: Filling['change'] = (by) => {
    const next = by(plan);
    if (next === plan) return;
    setPlan(by);
    // Which tool is in hand changes nothing of what comes of it.
    if (JSON.stringify(wantedOf(revisionId, next)) === JSON.stringify(wantedOf(revisionId, plan))) return;
    asking.current?.abort();
    setSeen({ isBusy: false });
  };
  const look = (): void => {
    const wanted = wantedOf(revisionId, plan);
    if (wanted === undefined) return;
    asking.current?.abort();
    const stop = (asking.current = new AbortController());
    setPlan({ ...plan, tool: undefined });
    setSeen({ isBusy: true });
    void client.call('fill.preview', wanted, { signal: stop.signal }).then((outcome) => {
      if (stop.signal.aborted) return;
      setSeen(
        outcome.ok
          ? { isBusy: false, preview: outcome.value }
          : { isBusy: false, trouble: faultSentence(outcome.fault) },
      );
    });
  };
  const stop = (): void => {
    asking.current?.abort();
    setSeen({ isBusy: false });
  };
  return { plan, change, look, stop, preview: seen.preview, isBusy: seen.isBusy, trouble: seen.trouble };
}
