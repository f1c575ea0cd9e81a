/** The answer to a call, for a screen: loading, fault or value; asked again whenever records change. */
import { useCallback, useEffect, useRef, useState } from 'react';
import type { CallInput, CallName, CallResult } from '../../shared-types/contract.ts';
import type { Fault } from '../../shared-types/faults/index.ts';
import type { Warning } from '../../shared-types/outcome.ts';
import { useStore } from './store.ts';
import { useStudio } from './studio.ts';

export type Asked<T> =
  | { readonly state: 'loading' }
  | { readonly state: 'fault'; readonly fault: Fault; readonly again: () => void }
  | {
      readonly state: 'value';
      readonly value: T;
      readonly warnings: readonly Warning[];
      /** Being asked again; the value shown is the last one. */
      readonly stale: boolean;
      readonly again: () => void;
    };

/**
 * `input` undefined asks nothing. With `still`, changes of records do not ask again: for what never changes, such as
 * the mesh of one making.
 */
export function useAsked<N extends CallName>(
  name: N,
  input: CallInput<N> | undefined,
  options: { readonly still?: boolean } = {},
): Asked<CallResult<N>> {
  const { client, changes } = useStudio();
  const change = useStore(changes);
  const [round, setRound] = useState(0);
  const [asked, setAsked] = useState<{ key: string; result: Asked<CallResult<N>> }>();
  const key = input === undefined ? '' : `${name} ${JSON.stringify(input)}`;
  const again = useCallback(() => setRound((before) => before + 1), []);
  const givenRef = useRef(input);
  givenRef.current = input;
  const moment = options.still === true ? 0 : change;

  useEffect(() => {
    const given = givenRef.current;
    if (given === undefined) return;
    const stop = new AbortController();
    setAsked((before) =>
      before?.key === key && before.result.state === 'value'
        ? { key, result: { ...before.result, stale: true } }
        : before?.key === key && before.result.state === 'fault'
          ? before
          : { key, result: { state: 'loading' } },
    );
    void client.call(name, given, { signal: stop.signal }).then((outcome) => {
      if (stop.signal.aborted) return;
      setAsked((before) => {
        if (outcome.ok) {
          return {
            key,
            result: { state: 'value', value: outcome.value, warnings: outcome.warnings, stale: false, again },
          };
        }
        // A lost connection is told by the strip; what was shown stays readable meanwhile.
        if (outcome.fault.code === 'job.connection' && before?.key === key && before.result.state === 'value') {
          return before;
        }
        return { key, result: { state: 'fault', fault: outcome.fault, again } };
      });
    });
    return () => stop.abort();
  }, [client, name, key, moment, round, again]);

  return asked !== undefined && asked.key === key ? asked.result : { state: 'loading' };
}
