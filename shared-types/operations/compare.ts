import { z } from 'zod';
import { described, type OperationSpecification } from './specification.ts';

export const compareParameters = z.object({
  fullColourMm: described(z.number().min(0.1).max(100).default(5), {
    help: 'Change that gets the strongest colour: blue where the body has shrunk, orange where it has grown.',
    unit: 'mm',
    flag: 'full',
  }),
});

const point = z.tuple([z.number(), z.number(), z.number()]);

/** Lengths mm, in the older form's frame; growth outward is positive. */
export const compareFigures = z.object({
  meanMm: z.number(),
  p95Mm: z.number(),
  maxMm: z.number(),
  where: point,
  whereInWords: z.string(),
  regions: z.array(
    z.object({
      name: z.string(),
      meanMm: z.number(),
      meanAbsMm: z.number(),
      mostMm: z.number(),
      at: point,
      areaMm2: z.number(),
    }),
  ),
  samples: z.number(),
});

export const compareSpecification = {
  verb: 'compare',
  summary:
    'How far a body has changed between two forms of it, region by region, with the older form as a coloured map.',
  inputs: ['OLDER', 'NEWER'],
  makes: 'mesh',
  parameters: compareParameters,
  figures: compareFigures,
} as const satisfies OperationSpecification;
