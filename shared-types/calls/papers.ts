/** Papers to print: made when asked for, as PDF. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import { REGION_NAMES } from '../measures/index.ts';
import { PAPER_SIZES_MM, type PaperSize } from '../paper.ts';

const paper = z.enum(Object.keys(PAPER_SIZES_MM) as [PaperSize, ...PaperSize[]]).default('a4');
const pdf = z.object({
  fileName: z.string(),
  bytes: z.custom<Uint8Array<ArrayBuffer>>((value) => value instanceof Uint8Array, 'expected bytes'),
});

export const PAPER_CALLS = {
  /** To write readings on by hand; with the wearer's name if there is one. */
  'paper.measures': {
    input: z.object({
      wearerId: idSchema.optional(),
      regions: z.array(z.enum(REGION_NAMES)).min(1).max(REGION_NAMES.length).default(['head']),
      paper,
    }),
    output: pdf,
  },
  /** How to take the pictures of a scan, and a scale card. */
  'paper.capture': { input: z.object({ paper }), output: pdf },
  /** What is known of one making of a form, and what was made over it. */
  'paper.fitting': { input: z.object({ revisionId: idSchema, paper }), output: pdf },
} as const;
