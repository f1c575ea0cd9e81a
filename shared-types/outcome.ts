import type { Fault } from './faults/index.ts';

/** Something the user should know about a result that is nevertheless good. */
export interface Warning {
  readonly code: string;
  /** One sentence, with figures and units. */
  readonly sentence: string;
}

/** Expected trouble is a value; `throw` is for our own mistakes. */
export type Outcome<T> =
  | { readonly ok: true; readonly value: T; readonly warnings: readonly Warning[] }
  | { readonly ok: false; readonly fault: Fault };

export function done<T>(value: T, warnings: readonly Warning[] = []): Outcome<T> {
  return { ok: true, value, warnings };
}

export function failed<T = never>(fault: Fault): Outcome<T> {
  return { ok: false, fault };
}
