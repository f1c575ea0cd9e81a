/** Allowances for hair, clothing and soft tissue over a form: a second surface, the form stays. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import { allowFigures, allowParameters } from '../operations/allow.ts';

export const ALLOWANCE_CALLS = {
  /** The form with its allowances as a file; a few tenths of a second for a form of 10,000 faces. */
  'form.allow': {
    input: z.object({
      revisionId: idSchema,
      zones: allowParameters.shape.zones,
      format: z.enum(['obj', 'stl', 'ply', 'glb', '3mf']),
    }),
    output: z.object({
      fileName: z.string(),
      bytes: z.custom<Uint8Array<ArrayBuffer>>((value) => value instanceof Uint8Array, 'expected bytes'),
      zones: allowFigures.shape.zones,
      volumeMm3: z.number(),
      formVolumeMm3: z.number(),
      warnings: z.array(z.object({ code: z.string(), sentence: z.string() })),
    }),
  },
} as const;
