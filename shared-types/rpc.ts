/**
 * The messages between the screens and the program, the same on every transport. Up: a call or a stop.
 * Down: an answer, progress of a call, or an event nobody asked for.
 */
import type { Fault } from './faults/index.ts';
import type { Warning } from './outcome.ts';

export type MessageUp =
  | { readonly kind: 'call'; readonly id: number; readonly name: string; readonly input: unknown }
  | { readonly kind: 'stop'; readonly id: number };

export type MessageDown =
  | { readonly kind: 'done'; readonly id: number; readonly value: unknown; readonly warnings: readonly Warning[] }
  | { readonly kind: 'fault'; readonly id: number; readonly fault: Fault }
  | { readonly kind: 'progress'; readonly id: number; readonly fraction: number; readonly phase: string }
  | { readonly kind: 'event'; readonly name: string; readonly value: unknown };

/** True for a well-formed message from a screen; whatever else arrives is dropped. */
export function isMessageUp(value: unknown): value is MessageUp {
  if (typeof value !== 'object' || value === null) return false;
  const message = value as Record<string, unknown>;
  if (!Number.isSafeInteger(message['id'])) return false;
  return message['kind'] === 'stop' || (message['kind'] === 'call' && typeof message['name'] === 'string');
}
