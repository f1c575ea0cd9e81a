import { z } from 'zod';
import { landmarksFileSchema, standingSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

export const standMethodSchema = z.enum(['frankfurt', 'limb', 'torso', 'part', 'landmarks', 'guess']);

export const standParameters = z.object({
  region: described(standingSchema.default('head'), {
    help: 'What it is. limb: z along it toward the trunk, from both sides of wrist and elbow, or of ankle and knee with the kneecap. torso: from suprasternale, cervicale, xiphion and midback. part: from part-origin, part-ahead and part-left.',
  }),
  landmarks: described(landmarksFileSchema.optional(), {
    help: 'JSON file of landmarks, {"tragion-left":[x,y,z],"tragion-right":...,"orbitale-left":...}; without it a guess is made.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const standFigures = z.object({
  /** 16 numbers, row by row: from the mesh as it was to the mesh standing. */
  transform: z.array(z.number()).length(16),
  /** frankfurt, limb, torso, part: by the landmarks that define the frame. */
  method: standMethodSchema,
  confidence: z.number(),
});

export const standSpecification = {
  verb: 'stand',
  summary:
    'Turn a head upright: origin midway between the tragions, x forward, y to the left, z up, Frankfurt plane level; or a limb, torso or part.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: standParameters,
  figures: standFigures,
} as const satisfies OperationSpecification;
