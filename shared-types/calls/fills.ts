/** What a scan missed of a head form, filled by the likely body: looked at, then made as a form of its own. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import { fillFigures, fillParameters } from '../operations/fill.ts';

const float32 = z.custom<Float32Array<ArrayBuffer>>((value) => value instanceof Float32Array, 'expected 32-bit floats');
const uint32 = z.custom<Uint32Array<ArrayBuffer>>((value) => value instanceof Uint32Array, 'expected 32-bit integers');

/** The readings are those of the wearer's present sheet. */
const wanted = z.object({
  revisionId: idSchema,
  patch: fillParameters.shape.patch,
  blendMm: fillParameters.shape.blendMm,
  survey: fillParameters.shape.survey,
});

export const FILL_CALLS = {
  /** The filled form to look at; some seconds of one core. */
  'fill.preview': {
    input: wanted,
    output: z.object({
      positions: float32,
      triangles: uint32,
      /** At each vertex, how far it lies outside the form as it was; NaN where it stayed. */
      movedMm: float32,
      figures: fillFigures,
    }),
  },
  /** Make the filled form as a job, kept beside the true one; of the same name it is made again. */
  'fill.make': {
    input: wanted.extend({ name: z.string().trim().min(1).max(200) }),
    output: z.object({ jobId: z.string() }),
  },
} as const;
