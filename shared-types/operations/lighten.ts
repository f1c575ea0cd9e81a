import { z } from 'zod';
import { SOLID_CAD_FACES } from '../tolerances.ts';
import { described, type OperationSpecification } from './specification.ts';

/** One face below the bar, so that "under 10,000" holds. */
export const LIGHTEN_DEFAULT_FACES = SOLID_CAD_FACES - 1;

export const lightenParameters = z.object({
  faces: described(z.number().int().min(4).max(20_000_000).optional(), {
    help: `Make it at most this many faces (${LIGHTEN_DEFAULT_FACES} when neither this nor --within is given).`,
    unit: 'faces',
  }),
  withinMm: described(z.number().min(0.001).max(1000).optional(), {
    help: 'Make it as few faces as stay within this distance of the surface, measured both ways.',
    unit: 'mm',
    flag: 'within',
  }),
});

export const lightenFigures = z.object({
  /** Faces and vertices of the light mesh. */
  faces: z.number().int(),
  vertices: z.number().int(),
  facesBefore: z.number().int(),
  /** Largest distance met, both ways. */
  maxDeviationMm: z.number(),
  /** Proven: no point of the dense surface lies further from the light one. */
  maxBoundMm: z.number(),
  /** Where the largest distance was met, in the output's coordinates. */
  maxDeviationAt: z.array(z.number()).length(3),
  meanDeviationMm: z.number(),
  p99DeviationMm: z.number(),
  rmsDeviationMm: z.number(),
  /** Points measured, and the side of the square each stands for, on the coarser sampled side. */
  samples: z.number().int(),
  sampleSpacingMm: z.number(),
  /** Means nothing on an open surface, and is then 0. */
  volumeChangePercent: z.number(),
  openEdges: z.number().int(),
  watertight: z.boolean(),
  /** Pairs of faces that cut one another. */
  selfIntersections: z.number().int(),
});

export const lightenSpecification = {
  verb: 'lighten',
  summary: 'Fewer faces for the same surface, to a number of faces or to a largest deviation.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: lightenParameters,
  figures: lightenFigures,
} as const satisfies OperationSpecification;
