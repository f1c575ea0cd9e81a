/** The answer to what is being thought over, asked for anew whenever that changes; the last one stays until the next is there. */
import { useEffect, useState } from 'react';
import type { CallInput, CallName, CallResult } from '../../shared-types/contract.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { useStudio } from './studio.ts';

/** Changes nearer together than this are one. */
const SETTLE_MS = 40;

export interface Live<T> {
  readonly preview: T | undefined;
  readonly isBusy: boolean;
  /** Why there is none for the plan as it is. */
  readonly trouble: string | undefined;
}

/** `input` undefined: nothing to show. Plain data: it is compared by what it says. */
export function useLive<N extends CallName>(name: N, input: CallInput<N> | undefined): Live<CallResult<N>> {
  const { client } = useStudio();
  const [state, setState] = useState<Live<CallResult<N>>>({ preview: undefined, isBusy: false, trouble: undefined });
  const key = input === undefined ? undefined : JSON.stringify(input);
  useEffect(() => {
    if (key === undefined) {
      setState({ preview: undefined, isBusy: false, trouble: undefined });
      return;
    }
    const stop = new AbortController();
    setState((before) => ({ ...before, isBusy: true }));
    const timer = setTimeout(() => {
      void client.call(name, JSON.parse(key) as CallInput<N>, { signal: stop.signal }).then((outcome) => {
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
  }, [client, name, key]);
  return state;
}
