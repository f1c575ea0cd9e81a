/** The coarse liner of a plan, asked for anew whenever the plan changes; the last one stays until the next is there. */
import { useEffect, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { useStudio } from '../../state/studio.ts';

export type Preview = CallResult<'liner.preview'>;

/** Changes nearer together than this are one. */
const SETTLE_MS = 40;

export interface PreviewState {
  readonly preview: Preview | undefined;
  readonly isBusy: boolean;
  /** Why there is none for the plan as it is. */
  readonly trouble: string | undefined;
}

/** `parameters` undefined: nothing to show. */
export function usePreview(revisionId: string, parameters: Record<string, unknown> | undefined): PreviewState {
  const { client } = useStudio();
  const [state, setState] = useState<PreviewState>({ preview: undefined, isBusy: false, trouble: undefined });
  const key = parameters === undefined ? undefined : JSON.stringify(parameters);
  useEffect(() => {
    if (key === undefined) {
      setState({ preview: undefined, isBusy: false, trouble: undefined });
      return;
    }
    const stop = new AbortController();
    setState((before) => ({ ...before, isBusy: true }));
    const timer = setTimeout(() => {
      const given = { revisionId, parameters: JSON.parse(key) as Record<string, unknown> };
      void client.call('liner.preview', given, { signal: stop.signal }).then((outcome) => {
        if (stop.signal.aborted) return;
        setState((before) =>
          outcome.ok
            ? { preview: outcome.value, isBusy: false, trouble: undefined }
            : { preview: before.preview, isBusy: false, trouble: faultSentence(outcome.fault) },
        );
      });
    }, SETTLE_MS);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [client, revisionId, key]);
  return state;
}
