import { z } from 'zod';
import { planeSchema } from '../recipe.ts';
import { healthFigures } from './health.ts';
import { described, type OperationSpecification } from './specification.ts';

export const trimParameters = z.object({
  planes: described(z.array(planeSchema).min(1, 'give at least one --plane').max(64), {
    help: 'Cut by this plane, px,py,pz,nx,ny,nz; the side the normal points to stays. May be given several times.',
    flag: 'plane',
    placeholder: 'px,py,pz,nx,ny,nz',
    repeatable: true,
  }),
});

export const trimFigures = z.object({
  /** How many faces each plane took off or cut. */
  cut: z.array(z.object({ facesBefore: z.number().int(), facesAfter: z.number().int(), loops: z.number().int() })),
  cappedAreaMm2: z.number(),
  health: healthFigures,
});

export const trimSpecification = {
  verb: 'trim',
  summary: 'Cut by planes and close the cuts flat.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: trimParameters,
  figures: trimFigures,
} as const satisfies OperationSpecification;
