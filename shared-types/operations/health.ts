import { z } from 'zod';
import type { OperationSpecification } from './specification.ts';

const point = z.array(z.number()).length(3);

/** What is known of a mesh's soundness. Lengths in the mesh's own numbers unless its file states a unit. */
export const healthFigures = z.object({
  faces: z.number().int(),
  vertices: z.number().int(),
  pieces: z.number().int(),
  openEdges: z.number().int(),
  boundaryLoops: z.number().int(),
  nonManifoldEdges: z.number().int(),
  nonManifoldVertices: z.number().int(),
  degenerateFaces: z.number().int(),
  duplicateFaces: z.number().int(),
  /** Pairs of faces that meet beyond the vertices and edges they share. */
  selfIntersections: z.number().int(),
  oriented: z.boolean(),
  watertight: z.boolean(),
  bounds: z.object({ min: point, max: point }),
  areaMm2: z.number(),
  /** Null while the surface is open: it encloses nothing yet. */
  volumeMm3: z.number().nullable(),
  unitGuess: z.object({ unit: z.string(), mmPerUnit: z.number(), reason: z.string() }),
});

export type HealthFigures = z.output<typeof healthFigures>;

export const healthSpecification = {
  verb: 'health',
  summary: 'What a mesh is and what is wrong with it: holes, pieces, self-intersections, size and likely unit.',
  inputs: ['MESH'],
  makes: 'nothing',
  parameters: z.object({}),
  figures: healthFigures,
} as const satisfies OperationSpecification;
