import { z } from 'zod';
import { matrixSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

const point = z.array(z.number()).length(3);

export const sightParameters = z.object({
  placement: described(z.object({ placement: matrixSchema }).optional(), {
    help: 'JSON file {"placement":[16 numbers]}, from the part file to the form, as fit gives it; without it the part lies in place.',
    flag: 'place',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  eyes: described(z.object({ left: point, right: point }).optional(), {
    help: 'JSON file {"left":[x,y,z],"right":[x,y,z]}: the pupils in the form file. Without it they are guessed from the form.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  eyeHeightMm: described(z.number().min(300).max(2500).default(1600), {
    help: 'Height of the eyes over the floor, standing, for the floor that is hidden.',
    unit: 'mm',
    flag: 'eye-height',
  }),
  densityGCm3: described(z.number().min(0.02).max(9).default(1.24), {
    help: 'Density of what the part is made of, for its mass (PLA about 1.24).',
    unit: 'g/cm³',
    flag: 'density',
  }),
  wallMm: described(z.number().min(0.1).max(30).default(3), {
    help: 'Thickness of a part that is a single sheet, for its mass.',
    unit: 'mm',
    flag: 'wall',
  }),
  thing: described(z.array(z.number().min(1).max(500)).length(3).optional(), {
    help: 'Size of a thing to find room for inside: length, breadth, height.',
    unit: 'mm',
    placeholder: 'L,B,H',
  }),
  within: described(z.enum(['anywhere', 'brow', 'face', 'back']).default('anywhere'), {
    help: 'Where the thing is to go.',
  }),
  clearanceMm: described(z.number().min(0).max(50).default(2), {
    help: 'Room to be left round that thing.',
    unit: 'mm',
    flag: 'clearance',
  }),
});

const eye = z.object({
  /** Where the pupil was taken to be, in the form file. */
  at: point,
  /** Every 3 degrees around, beginning at the wearer's left, then up: how far out nothing is in the way. */
  clearDeg: z.array(z.number()),
  naturalDeg: z.array(z.number()),
  share: z.number(),
});

export const sightFigures = z.object({
  left: eye,
  right: eye,
  eyesGuessed: z.boolean(),
  /** What the pupils' uncertain place (3 mm) and the steps between rays do to a limit, as a standard uncertainty. */
  limitUDeg: z.number(),
  limitsDeg: z.object({ left: z.number(), right: z.number(), up: z.number(), down: z.number() }),
  eitherShare: z.number(),
  bothShare: z.number(),
  /** Nearest floor that can be seen, from below the eyes; null where none is seen within ten metres. */
  floor: z.array(z.object({ azimuthDeg: z.number(), nearestMm: z.number().nullable() })),
  mouthOpenShare: z.number(),
  mouthOpenAreaMm2: z.number(),
  enclosedAirMm3: z.number(),
  massG: z.number(),
  massIsOf: z.enum(['solid', 'sheet']),
  centreForwardMm: z.number(),
  momentNCm: z.number(),
  /** What room was looked for; absent where none was. */
  roomFor: z.object({ sizeMm: z.array(z.number()).length(3), within: z.string(), clearanceMm: z.number() }).nullish(),
  room: z.object({ centre: point, axes: z.array(point).length(3), clearanceMm: z.number() }).nullable(),
  /** What to set the figures against, and what they are not. */
  guidance: z.array(z.string()),
});

export type SightFigures = z.infer<typeof sightFigures>;

export const sightSpecification = {
  verb: 'sight',
  summary:
    'What a wearer sees out of a part, how open it is to breath, how it weighs on the head, and what goes inside.',
  inputs: ['PART', 'FORM'],
  makes: 'nothing',
  parameters: sightParameters,
  figures: sightFigures,
} as const satisfies OperationSpecification;
