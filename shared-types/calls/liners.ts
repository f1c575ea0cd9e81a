/** Liners thought over and made. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import { linerSchema } from '../records/project.ts';

const parameters = z.record(z.string(), z.unknown());
const float32 = z.custom<Float32Array<ArrayBuffer>>((value) => value instanceof Float32Array, 'expected 32-bit floats');
const uint32 = z.custom<Uint32Array<ArrayBuffer>>((value) => value instanceof Uint32Array, 'expected 32-bit integers');

/** A liner in a list, with what tells it from others. */
export const listedLinerSchema = linerSchema
  .pick({ id: true, foamMm: true, createdAt: true, formRevisionId: true })
  .extend({ told: z.array(z.object({ words: z.string(), mm: z.number().optional() })) });

export const LINER_CALLS = {
  /** A coarse liner over a form, to look at while it is thought over; the parameters are those of `line`. */
  'liner.preview': {
    input: z.object({ revisionId: idSchema, parameters }),
    output: z.object({
      positions: float32,
      triangles: uint32,
      /** With a way in: how much the foam must give at each vertex. */
      depthMm: float32.nullable(),
      deepestMm: z.number().nullable(),
      foamVolumeMm3: z.number(),
      /** Fair lines through the drawn curves: xyz triples, closed. */
      curves: z.array(float32),
    }),
  },
  /** At each vertex of a liner: the foam under it, and what the foam must give on the way in; NaN off its inner side. */
  'liner.map': {
    input: z.object({ id: idSchema }),
    output: z.object({ thicknessMm: float32, depthMm: float32.nullable() }),
  },
} as const;
