/** What a schema has against a value, as one place and one sentence. */
import type { z } from 'zod';

export interface Complaint {
  readonly path: readonly PropertyKey[];
  readonly code: string;
  /** Ends with a full stop. */
  readonly sentence: string;
}

/**
 * The complaint a person can act on: of a value that fits none of several shapes, that of the shape which fitted
 * furthest in, and of those the one with the least against it. Where no shape is nearer, what is said of all of them.
 */
export function complaintOf(error: z.ZodError): Complaint {
  const [first] = error.issues;
  return first === undefined ? { path: [], code: 'custom', sentence: 'It is not valid.' } : complaint(first, []);
}

/** What zod says of a value that fits none of several shapes, where the schema has no words of its own. */
const NO_WORDS = 'Invalid input';

function complaint(issue: z.core.$ZodIssue, before: readonly PropertyKey[]): Complaint {
  const path = [...before, ...issue.path];
  const own = { path, code: issue.code, sentence: /[.!?]$/.test(issue.message) ? issue.message : `${issue.message}.` };
  if (issue.code !== 'invalid_union') return own;
  const shapes = issue.errors
    // Only the first issue of each shape: what comes after it follows from it.
    .flatMap((all) => all.slice(0, 1).map((first) => ({ told: complaint(first, path), against: all.length })))
    .sort((a, b) => b.told.path.length - a.told.path.length || a.against - b.against);
  const [best, next] = shapes;
  if (best === undefined) return own;
  const isNearer = best.told.path.length > (next?.told.path.length ?? -1) || best.against < (next?.against ?? Infinity);
  return isNearer || issue.message === NO_WORDS ? best.told : own;
}

/** `spans[0].measured` */
export function placeOf(path: readonly PropertyKey[]): string {
  return path
    .map((step) => (typeof step === 'number' ? `[${step}]` : `.${String(step)}`))
    .join('')
    .replace(/^\./, '');
}
