import { z } from 'zod';
import { LINER_TOLERANCE_MM } from '../tolerances.ts';
import { missShape, openingEvidenceSchema, openingSchema } from './line.ts';
import { described, type OperationSpecification } from './specification.ts';

export const shellParameters = z.object({
  wallMm: described(z.number().min(0.4).max(30), {
    help: 'How far the wall goes inward from the surface given, which stays as it is.',
    unit: 'mm',
    flag: 'wall',
  }),
  toleranceMm: described(z.number().min(0.01).max(2).default(LINER_TOLERANCE_MM), {
    help: 'How far the inner side may lie from that; smaller makes more faces.',
    unit: 'mm',
    flag: 'tolerance',
  }),
  opening: described(openingSchema.optional(), {
    help: 'JSON file as for line: {"plane":[px,py,pz,nx,ny,nz]}, or {"planes":[[...]],"curves":[{"points":[[x,y,z],...],"away":[x,y,z]}]} with closed lines drawn on the surface. Without it the hollow stays shut.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const shellFigures = z.object({
  faces: z.number().int(),
  vertices: z.number().int(),
  /** Of the wall between its two sides, of what openings leave; where the piece is too thin to be hollow it is as thick as that. */
  wallMinMm: z.number(),
  wallMaxMm: z.number(),
  wallMeanMm: z.number(),
  wallSamples: z.number().int(),
  /** Where it is least and where it is thickest, in file coordinates. */
  wallMinAt: z.array(z.number()).length(3),
  wallMaxAt: z.array(z.number()).length(3),
  /** Of the inner side. */
  ...missShape,
  watertight: z.boolean(),
  selfIntersections: z.number().int(),
  /** Of the wall, after openings, and of what was taken out of the inside, before. */
  volumeMm3: z.number(),
  hollowMm3: z.number(),
  areaMm2: z.number(),
  /** Hollows apart from one another; those left full, because no opening reaches them where one reaches another. */
  hollows: z.number().int(),
  filled: z.number().int(),
  filledMm3: z.number(),
  openings: z.array(openingEvidenceSchema),
});

export type ShellFigures = z.infer<typeof shellFigures>;

export const shellSpecification = {
  verb: 'shell',
  summary: 'A solid made hollow: a wall of stated thickness inward from its surface, cut open where wanted.',
  inputs: ['SOLID'],
  makes: 'mesh',
  parameters: shellParameters,
  figures: shellFigures,
} as const satisfies OperationSpecification;
