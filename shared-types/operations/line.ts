import { z } from 'zod';
import { LINER_TOLERANCE_MM } from '../tolerances.ts';
import { described, type OperationSpecification } from './specification.ts';

const planeSchema = z.array(z.number()).length(6);

export const lineParameters = z.object({
  foamMm: described(z.number().min(0.5).max(60), {
    help: 'Thickness of the foam: every point of the liner lies this far from the form.',
    unit: 'mm',
    flag: 'foam',
  }),
  toleranceMm: described(z.number().min(0.01).max(2).default(LINER_TOLERANCE_MM), {
    help: 'How far the liner may lie from that thickness; smaller makes more faces.',
    unit: 'mm',
    flag: 'tolerance',
  }),
  bridgeMm: described(z.number().min(1).max(60).optional(), {
    help: 'Bridge hollows that a ball of this radius cannot enter, such as the folds of an ear.',
    unit: 'mm',
    flag: 'bridge',
  }),
  wallMm: described(z.number().min(0.4).max(30).optional(), {
    help: 'Make a printable shell: the liner is its inner side, this thick outward; without it the padded body, solid.',
    unit: 'mm',
    flag: 'wall',
  }),
  opening: described(
    z.union([z.object({ plane: planeSchema }), z.array(z.object({ plane: planeSchema })).min(1)]).optional(),
    {
      help: 'JSON file {"plane":[px,py,pz,nx,ny,nz]} or a list of such: what the normal points away from is cut off, flat.',
      placeholder: 'FILE',
      jsonFile: true,
    },
  ),
});

export const lineFigures = z.object({
  faces: z.number().int(),
  vertices: z.number().int(),
  /** Least and largest distance of the liner surface from the form, sampled; before an opening is cut. */
  minMm: z.number(),
  maxMm: z.number(),
  /** Miss of the thickness (of the bridged target when hollows are bridged), liner to form. */
  maxAbsErrorMm: z.number(),
  meanAbsErrorMm: z.number(),
  p99AbsErrorMm: z.number(),
  samples: z.number().int(),
  /** The other way: largest distance from sampled points of the true offset surface to the liner. */
  missingMaxMm: z.number(),
  missingSamples: z.number().int(),
  /** Side of the square each sample stands for. */
  sampleSpacingMm: z.number(),
  watertight: z.boolean(),
  selfIntersections: z.number().int(),
  pieces: z.number().int(),
  pocketsDropped: z.number().int(),
  volumeMm3: z.number(),
  areaMm2: z.number(),
  /** Between form and liner, before an opening is cut. */
  foamVolumeMm3: z.number(),
  /** Of the shell's outer side, from where its thickness is counted; null without a wall. */
  wallMinMm: z.number().nullable(),
  wallMaxMm: z.number().nullable(),
  /** Flat faces made by the openings. */
  rimAreaMm2: z.number(),
  /** Grid cell the surface was followed with. */
  cellMm: z.number(),
});

export const lineSpecification = {
  verb: 'line',
  summary: 'The liner: the surface at foam thickness from the form, as a sound solid.',
  inputs: ['FORM'],
  makesMesh: true,
  parameters: lineParameters,
  figures: lineFigures,
} as const satisfies OperationSpecification;
