import { z } from 'zod';
import { foundPointSchema } from '../recipe.ts';
import { fitParameters } from './fit.ts';
import { described, type OperationSpecification } from './specification.ts';

export const partParameters = z.object({
  known: fitParameters.shape.known,
  unit: fitParameters.shape.unit,
  mirror: fitParameters.shape.mirror,
  asItIs: described(z.boolean().default(false), {
    help: 'Only set the size; join, drop and turn nothing.',
  }),
});

/** Lengths in true mm, points in the part file's coordinates. */
export const partFigures = z.object({
  faces: z.number().int(),
  vertices: z.number().int(),
  pieces: z.number().int(),
  kind: z.enum(['sheet', 'closed']),
  weldedVertices: z.number().int(),
  closedCracks: z.number().int(),
  droppedFaces: z.number().int(),
  turnedFaces: z.number().int(),
  borders: z.array(z.object({ lengthMm: z.number(), middle: foundPointSchema })),
  /** Of a closed part. */
  wall: z
    .object({
      leastMm: z.number(),
      usualMm: z.number(),
      mostMm: z.number(),
      at: foundPointSchema,
      samples: z.number().int(),
    })
    .nullable(),
  outsideMm: foundPointSchema,
  areaMm2: z.number(),
  /** Material of a closed part. */
  volumeMm3: z.number().nullable(),
  trueSize: z.object({
    mmPerUnit: z.number(),
    how: z.string(),
    residuals: z.array(z.object({ name: z.string(), measuredMm: z.number(), missMm: z.number() })),
  }),
});

export const partSpecification = {
  verb: 'part',
  summary:
    'A part made ready to be tried on: joined and turned alike but neither closed nor thickened, in its true size.',
  inputs: ['PART'],
  makes: 'mesh',
  parameters: partParameters,
  figures: partFigures,
} as const satisfies OperationSpecification;

/** The longest edge of the box round a part that is worn lies between these, mm. Own judgement, no source. */
const WORN_MM = [15, 2500] as const;

/** What is odd about the size of a part, from the edges of the box round it. */
export function partSizeDoubt(outsideMm: readonly number[]): string | undefined {
  const longest = Math.max(...outsideMm);
  if (longest >= WORN_MM[0] && longest <= WORN_MM[1]) return undefined;
  return `Nobody wears a part of ${outsideMm.map((mm) => mm.toPrecision(2)).join(' x ')} mm: its unit is probably another one.`;
}
