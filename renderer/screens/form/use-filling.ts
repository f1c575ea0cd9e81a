/** A fill being thought over: its plan, and what it would come to once that was asked for. */
import { useEffect, useRef, useState } from 'react';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { usePlan } from '../../state/use-plan.ts';
import { useStudio } from '../../state/studio.ts';
import { FILL_STEPS, FIRST_FILL, wantedOf, type FillPlan, type FillPreview, type FillTool } from './fill-plan.ts';

export interface Filling {
  readonly plan: FillPlan;
  /** False until the kept plan is there. */
  readonly isReady: boolean;
  /** A plan left from another day lies on the form only once it is taken up again. */
  readonly isShown: boolean;
  readonly show: () => void;
  readonly change: (change: (plan: FillPlan) => FillPlan) => void;
  readonly tool: FillTool | undefined;
  readonly onTool: (tool: FillTool | undefined) => void;
  /** Of exactly this plan; undefined until it was looked at. */
  readonly preview: FillPreview | undefined;
  readonly isBusy: boolean;
  readonly trouble: string | undefined;
  readonly look: () => void;
  /** Leave off looking. */
  readonly stop: () => void;
}

export function useFilling(revisionId: string, formId: string): Filling {
  const { client } = useStudio();
  const { plan, change: keep, isReady } = usePlan('fill', { formId }, FIRST_FILL, FILL_STEPS);
  const [tool, setTool] = useState<FillTool>();
  const [isShown, setShown] = useState(false);
  const [seen, setSeen] = useState<{ preview?: FillPreview; isBusy: boolean; trouble?: string }>({ isBusy: false });
  const asking = useRef<AbortController>(undefined);
  const wanted = wantedOf(revisionId, plan);
  const key = JSON.stringify(wanted);
  const show = (): void => setShown(true);
  const change: Filling['change'] = (by) => {
    show();
    keep(by);
  };
  const onTool: Filling['onTool'] = (next) => {
    show();
    setTool(next);
  };
  // Changed here or by undo: what was seen is of another plan.
  useEffect(() => {
    setSeen({ isBusy: false });
    return () => asking.current?.abort();
  }, [key]);
  const look = (): void => {
    if (wanted === undefined) return;
    asking.current?.abort();
    const stop = (asking.current = new AbortController());
    onTool(undefined);
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
  const { preview, isBusy, trouble } = seen;
  return { plan, isReady, isShown, show, change, tool, onTool, look, stop, preview, isBusy, trouble };
}
