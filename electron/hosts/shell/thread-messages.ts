/** What the shell and the studio's thread say to each other, beside the messages of rpc.ts. */
import type { Outcome } from '../../../shared-types/outcome.ts';
import type { MessageDown, MessageUp } from '../../../shared-types/rpc.ts';

export interface ThreadData {
  readonly libraryPath: string;
}

export type ToStudio =
  | MessageUp
  /** A file begins; its pieces follow, each after the one before has been asked for, and an end or a break. */
  | { readonly kind: 'file'; readonly id: number; readonly name: string }
  | { readonly kind: 'piece'; readonly id: number; readonly bytes: Uint8Array | undefined }
  | { readonly kind: 'broken'; readonly id: number; readonly code: string }
  | { readonly kind: 'close' };

export type FromStudio =
  | MessageDown
  | { readonly kind: 'opened'; readonly outcome: Outcome<null> }
  | { readonly kind: 'more'; readonly id: number }
  | { readonly kind: 'received'; readonly id: number; readonly outcome: Outcome<{ readonly upload: string }> }
  | { readonly kind: 'log'; readonly reference: string; readonly account: string }
  | { readonly kind: 'closed' };
