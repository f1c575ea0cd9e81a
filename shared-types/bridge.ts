/**
 * What the desktop window's preload hands to the screens as `window.wearwright`; and the two channels behind it. In a
 * browser there is no such thing, and the screens speak over a socket.
 */
import type { Outcome } from './outcome.ts';
import type { MessageDown, MessageUp } from './rpc.ts';

export interface Bridge {
  /** One call or stop. */
  send(message: MessageUp): void;
  /** Hears every message from the program; returns how to stop hearing. */
  onMessage(listener: (message: MessageDown) => void): () => void;
  /** Brings a dropped or chosen scan to the program; one on disk is read there and does not cross the window. */
  upload(file: File): Promise<Outcome<{ readonly upload: string }>>;
}

export const CHANNEL_UP = 'wearwright:up';
export const CHANNEL_DOWN = 'wearwright:down';

/** Beside the messages of rpc.ts, between preload and program only. */
export interface UploadUp {
  readonly kind: 'upload';
  readonly id: number;
  readonly name: string;
  readonly path?: string;
  readonly bytes?: Uint8Array;
}

export interface UploadDown {
  readonly kind: 'uploaded';
  readonly id: number;
  readonly outcome: Outcome<{ readonly upload: string }>;
}

export function isUploadUp(value: unknown): value is UploadUp {
  if (typeof value !== 'object' || value === null) return false;
  const { kind, id, name, path, bytes } = value as Record<string, unknown>;
  return (
    kind === 'upload' &&
    Number.isSafeInteger(id) &&
    typeof name === 'string' &&
    name.length > 0 &&
    name.length <= 500 &&
    (typeof path === 'string' ? path !== '' && bytes === undefined : bytes instanceof Uint8Array)
  );
}
