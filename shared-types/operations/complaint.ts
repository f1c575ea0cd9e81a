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
 * furthest in.
 */
export function complaintOf(error: z.ZodError): Complaint {
  let best: Complaint | undefined;
  const look = (issue: z.core.$ZodIssue, before: readonly PropertyKey[]): void => {
    const path = [...before, ...issue.path];
    if (issue.code === 'invalid_union' && issue.errors.length > 0) {
      // Only the first issue of each shape: what comes after it follows from it.
      for (const [first] of issue.errors) if (first !== undefined) look(first, path);
      return;
    }
    if (best !== undefined && best.path.length >= path.length) return;
    const sentence = /[.!?]$/.test(issue.message) ? issue.message : `${issue.message}.`;
    best = { path, code: issue.code, sentence };
  };
  const [first] = error.issues;
  if (first !== undefined) look(first, []);
  return best ?? { path: [], code: 'custom', sentence: 'It is not valid.' };
}

/** `spans[0].measured` */
export function placeOf(path: readonly PropertyKey[]): string {
  return path
    .map((step) => (typeof step === 'number' ? `[${step}]` : `.${String(step)}`))
    .join('')
    .replace(/^\./, '');
}
