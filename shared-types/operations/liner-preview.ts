/** What the liner desk asks while a slider moves: a coarse liner, and where the body does not pass it. */
import { z } from 'zod';
import { lineParameters } from './line.ts';
import type { OperationSpecification } from './specification.ts';

export const linerPreviewSpecification = {
  verb: 'liner-preview',
  summary: 'A coarse liner to look at, never to make.',
  inputs: ['FORM'],
  makes: 'mesh',
  parameters: lineParameters,
  figures: z.object({
    /** With a way in: at each vertex of the preview, how much the foam must give, mm. */
    depthMm: z.custom<Float32Array>((value) => value instanceof Float32Array).nullable(),
    deepestMm: z.number().nullable(),
    /** Between form and preview, before openings. */
    foamVolumeMm3: z.number(),
    /** The fair lines through the drawn curves: xyz triples, closed. */
    curves: z.array(z.custom<Float32Array>((value) => value instanceof Float32Array)),
  }),
} as const satisfies OperationSpecification;
