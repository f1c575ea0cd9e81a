/** What the page of a finished liner shows on it: foam under each place, and what the foam must give on the way in. */
import { z } from 'zod';
import { lineParameters } from './line.ts';
import type { OperationSpecification } from './specification.ts';

const float32 = z.custom<Float32Array>((value) => value instanceof Float32Array);

export const linerMapSpecification = {
  verb: 'liner-map',
  summary: 'Distance of each place of a liner from its form.',
  inputs: ['FORM', 'LINER'],
  makes: 'nothing',
  parameters: lineParameters,
  figures: z.object({
    /** At each vertex of the liner's inner side, mm; NaN elsewhere. */
    thicknessMm: float32,
    /** With a way in: how much the foam must give there, mm. */
    depthMm: float32.nullable(),
  }),
} as const satisfies OperationSpecification;
