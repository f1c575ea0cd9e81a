/** What of the fitting only the screens need; the command line has `fit`. */
import { z } from 'zod';
import type { OperationSpecification } from './specification.ts';

const floats = z.custom<Float32Array>((value) => value instanceof Float32Array);

export const easeMapSpecification = {
  verb: 'ease-map',
  summary: 'The gap at every vertex of a part in place, and over the body it covers.',
  inputs: ['PART', 'FORM'],
  makes: 'nothing',
  parameters: z.object({ placement: z.array(z.number()).length(16) }),
  figures: z.object({
    /** At each vertex of the part. */
    partMm: floats,
    /** Over each vertex of the form; NaN where the part does not cover it. */
    bodyMm: floats,
    leastEaseMm: z.number(),
  }),
} as const satisfies OperationSpecification;
