/**
 * Calls of the contract, typed, over any wire. A call always settles: with its answer, with the fault the program
 * gave, or with one saying that the connection was lost.
 */
import type { CallInput, CallName, CallResult, EventName, EventValue } from '../../shared-types/contract.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { failed, type Outcome } from '../../shared-types/outcome.ts';
import type { UploadWatch, Wire, WireState } from './wire.ts';

export interface CallWatch {
  readonly signal?: AbortSignal;
  readonly onProgress?: (fraction: number, phase: string) => void;
}

export interface Client {
  call<N extends CallName>(name: N, input: CallInput<N>, watch?: CallWatch): Promise<Outcome<CallResult<N>>>;
  on<E extends EventName>(name: E, listener: (value: EventValue<E>) => void): () => void;
  upload(file: File, watch?: UploadWatch): Promise<Outcome<{ upload: string }>>;
  readonly connection: { readonly get: () => WireState; readonly subscribe: (listener: () => void) => () => void };
}

interface Waiting {
  readonly settle: (outcome: Outcome<never>) => void;
  readonly watch: CallWatch;
}

/** How long a call waits for a connection that is only just being made. */
const PATIENCE_MS = 8000;

export function createClient(wire: Wire): Client {
  const waiting = new Map<number, Waiting>();
  const events = new Map<string, Set<(value: never) => void>>();
  let nextId = 1;

  wire.onMessage((message) => {
    if (message.kind === 'event') {
      for (const listener of events.get(message.name) ?? []) listener(message.value as never);
      return;
    }
    const call = waiting.get(message.id);
    if (call === undefined) return;
    if (message.kind === 'progress') {
      call.watch.onProgress?.(message.fraction, message.phase);
      return;
    }
    waiting.delete(message.id);
    if (message.kind === 'fault') call.settle(failed(message.fault));
    else call.settle({ ok: true, value: message.value as never, warnings: message.warnings });
  });
  wire.onState((state) => {
    if (state !== 'lost') return;
    const cutOff = [...waiting.values()];
    waiting.clear();
    for (const call of cutOff) call.settle(failed(fault('job.connection', {})));
  });

  /** Resolves once the wire is open; at once with false when it was lost, or after some patience. */
  const opened = async (): Promise<boolean> => {
    if (wire.state() !== 'connecting') return wire.state() === 'open';
    return new Promise((settle) => {
      const timer = setTimeout(() => end(false), PATIENCE_MS);
      const drop = wire.onState((state) => end(state === 'open'));
      const end = (good: boolean): void => {
        clearTimeout(timer);
        drop();
        settle(good);
      };
    });
  };

  return {
    async call(name, input, watch = {}) {
      if (watch.signal?.aborted === true) return failed(fault('job.cancelled', {}));
      const id = nextId++;
      if (!(await opened())) return failed(fault('job.connection', {}));
      return new Promise((settle) => {
        waiting.set(id, { settle, watch });
        if (!wire.send({ kind: 'call', id, name, input })) {
          waiting.delete(id);
          settle(failed(fault('job.connection', {})));
          return;
        }
        watch.signal?.addEventListener('abort', () => {
          if (!waiting.has(id)) return;
          wire.send({ kind: 'stop', id });
        });
      });
    },
    on(name, listener) {
      const set = events.get(name) ?? new Set();
      events.set(name, set);
      set.add(listener);
      return () => set.delete(listener);
    },
    upload: (file, watch = {}) => wire.upload(file, watch),
    connection: { get: wire.state, subscribe: (listener) => wire.onState(listener) },
  };
}
