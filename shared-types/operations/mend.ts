import { z } from 'zod';
import { healthFigures } from './health.ts';
import { described, type OperationSpecification } from './specification.ts';

export const mendParameters = z.object({
  keep: described(z.enum(['largest', 'all']).default('largest'), {
    help: 'Which pieces stay: the one that encloses most, or all but dust.',
    placeholder: 'largest|all',
  }),
  maxHoleMm: described(z.number().positive().max(100_000).optional(), {
    help: 'Leave holes with a longer edge open; the mesh is then not closed.',
    unit: 'mm',
    flag: 'max-hole',
  }),
  reskinMm: described(z.number().positive().max(100_000).optional(), {
    help: 'Lay a new closed skin of this resolution over the scan instead of mending its own faces.',
    unit: 'mm',
    flag: 'reskin',
  }),
});

export const mendFigures = z.object({
  before: healthFigures,
  after: healthFigures,
  /** How many mm one number of the file was taken to be, and why. */
  assumedMmPerUnit: z.number(),
  assumedBecause: z.string(),
  weldedVertices: z.number().int(),
  closedCracks: z.number().int(),
  removedFaces: z.number().int(),
  turnedFaces: z.number().int(),
  partedEdges: z.number().int(),
  dropped: z.array(
    z.object({ faces: z.number().int(), widthMm: z.number(), areaMm2: z.number(), distanceMm: z.number() }),
  ),
  filled: z.array(
    z.object({
      perimeterMm: z.number(),
      edges: z.number().int(),
      way: z.string(),
      faired: z.boolean(),
      faces: z.number().int(),
    }),
  ),
  holesLeft: z.number().int(),
  /** Places where faces met, made sound each by itself; the rest kept its coordinates. */
  spots: z.number().int(),
  relaxedVertices: z.number().int(),
  cutFaces: z.number().int(),
  /** Null unless a new skin was laid: asked for, or because nothing else made the surface sound. */
  reskinned: z.object({ resolutionMm: z.number(), reason: z.string() }).nullable(),
  movedMaxMm: z.number(),
  movedMeanMm: z.number(),
});

export const mendSpecification = {
  verb: 'mend',
  summary:
    'A sound surface from a raw scan: welded, cleared of debris, holes filled, closed, free of self-intersection.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: mendParameters,
  figures: mendFigures,
} as const satisfies OperationSpecification;
