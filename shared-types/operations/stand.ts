import { z } from 'zod';
import { landmarksFileSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

export const standParameters = z.object({
  landmarks: described(landmarksFileSchema.optional(), {
    help: 'JSON file of landmarks, {"tragion-left":[x,y,z],"tragion-right":...,"orbitale-left":...}; without it a guess is made.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const standFigures = z.object({
  /** 16 numbers, row by row: from the mesh as it was to the mesh standing. */
  transform: z.array(z.number()).length(16),
  method: z.enum(['frankfurt', 'landmarks', 'guess']),
  confidence: z.number(),
});

export const standSpecification = {
  verb: 'stand',
  summary:
    'Turn a head upright: origin midway between the tragions, x forward, y to the left, z up, Frankfurt plane level.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: standParameters,
  figures: standFigures,
} as const satisfies OperationSpecification;
