/** What of the fitting only the screens and the company's table need; the command line has `fit`. */
import { z } from 'zod';
import type { OperationSpecification } from './specification.ts';

const matrix = z.array(z.number()).length(16);
const floats = z.custom<Float32Array>((value) => value instanceof Float32Array);

export const easeMapSpecification = {
  verb: 'ease-map',
  summary: 'The gap at every vertex of a part in place, and over the body it covers.',
  inputs: ['PART', 'FORM'],
  makes: 'nothing',
  parameters: z.object({ placement: matrix }),
  figures: z.object({
    /** At each vertex of the part. */
    partMm: floats,
    /** Over each vertex of the form; NaN where the part does not cover it. */
    bodyMm: floats,
    leastEaseMm: z.number(),
  }),
} as const satisfies OperationSpecification;

export const companyPairSpecification = {
  verb: 'company-pair',
  summary: 'The best place of a part on a body near the way it is worn, and the scale at which it leaves the room.',
  inputs: ['PART', 'FORM'],
  makes: 'nothing',
  parameters: z.object({
    /** The way it is worn, and how far from it a place is looked for. */
    from: matrix,
    limitTiltDegrees: z.number().min(0),
    limitShiftMm: z.number().min(0),
    roomMm: z.number(),
  }),
  figures: z.object({
    /** At its own size. */
    leastEaseMm: z.number(),
    meanEaseMm: z.number(),
    placement: matrix,
    /** 1 where the room is there already, null where no scale was found that leaves it. */
    scale: z.number().nullable(),
  }),
} as const satisfies OperationSpecification;
