/** How messages reach the program: the same few words on every transport. */
import type { Outcome } from '../../shared-types/outcome.ts';
import type { MessageDown, MessageUp } from '../../shared-types/rpc.ts';

/** `lost` is a connection that was there or was tried and is being tried again. */
export type WireState = 'connecting' | 'open' | 'lost';

export interface UploadWatch {
  readonly onProgress?: (fraction: number) => void;
  readonly signal?: AbortSignal;
}

export interface Wire {
  /** False when it cannot be sent now; nothing is kept for later. */
  send(message: MessageUp): boolean;
  readonly onMessage: (listener: (message: MessageDown) => void) => () => void;
  readonly state: () => WireState;
  readonly onState: (listener: (state: WireState) => void) => () => void;
  /** Bring a file's bytes to the program; the answer names them for `scan.keep`. */
  upload(file: File, watch: UploadWatch): Promise<Outcome<{ upload: string }>>;
}

/** True for something that can be a message from the program; the rest is dropped. */
export function isMessageDown(value: unknown): value is MessageDown {
  if (typeof value !== 'object' || value === null) return false;
  const kind = (value as Record<string, unknown>)['kind'];
  return kind === 'done' || kind === 'fault' || kind === 'progress' || kind === 'event';
}

/** A set of listeners; calling it tells them all. */
export function listeners<T>(): {
  readonly add: (listener: (value: T) => void) => () => void;
  readonly tell: (value: T) => void;
} {
  const all = new Set<(value: T) => void>();
  return {
    add(listener) {
      all.add(listener);
      return () => all.delete(listener);
    },
    tell(value) {
      for (const listener of all) listener(value);
    },
  };
}
