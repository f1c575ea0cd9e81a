import { z } from 'zod';
import { planeSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

/** How a print is reckoned; common practice, no source, and every printer differs. */
export const printParameters = {
  densityGCm3: described(z.number().min(0.5).max(3).default(1.24), {
    help: 'Density of the printed material, for the mass (PLA about 1.24).',
    unit: 'g/cm³',
    flag: 'density',
  }),
  skinMm: described(z.number().min(0.2).max(10).default(1.2), {
    help: 'Thickness of the solid skin, for mass and time.',
    unit: 'mm',
    flag: 'skin',
  }),
  infillPercent: described(z.number().min(0).max(100).default(20), {
    help: 'How much of the inside is filled, for mass and time.',
    unit: '%',
    flag: 'infill',
  }),
  flowMm3S: described(z.number().min(0.5).max(60).default(6), {
    help: 'Material laid down per second, moves included, for the time.',
    unit: 'mm³/s',
    flag: 'flow',
  }),
};

const size = z.array(z.number()).length(3);

export const splitParameters = z.object({
  bed: described(z.array(z.number().min(20).max(3000)).length(3), {
    help: 'Room of the print bed, width, depth and height; pieces that do not fit are halved until they do.',
    unit: 'mm',
    placeholder: 'X,Y,Z',
  }),
  planes: described(z.array(planeSchema).max(64).default([]), {
    help: 'Cut here first, px,py,pz,nx,ny,nz in file coordinates. May be given several times.',
    flag: 'plane',
    placeholder: 'px,py,pz,nx,ny,nz',
    repeatable: true,
  }),
  joint: described(z.enum(['dowel', 'peg', 'none']).default('dowel'), {
    help: 'Between pieces: dowel, a hole in both for a pin (a bit of filament serves); peg, a peg on one and its socket in the other; none.',
  }),
  pinMm: described(z.number().min(1).max(20).default(1.75), {
    help: 'Diameter of the pin or peg.',
    unit: 'mm',
    flag: 'pin',
  }),
  pinDepthMm: described(z.number().min(2).max(60).default(6), {
    help: 'How deep it goes into each piece; down to half of it where the wall is bent.',
    unit: 'mm',
    flag: 'pin-depth',
  }),
  clearanceMm: described(z.number().min(0).max(2).default(0.2), {
    help: 'By how much holes are wider than pins.',
    unit: 'mm',
    flag: 'clearance',
  }),
  pinWallMm: described(z.number().min(0.2).max(10).default(0.4), {
    help: 'Material that must stay around a hole; where there is less, no pin is set.',
    unit: 'mm',
    flag: 'pin-wall',
  }),
  spacingMm: described(z.number().min(5).max(500).default(50), {
    help: 'Pins of one seam stand at least this far apart.',
    unit: 'mm',
    flag: 'spacing',
  }),
  markMm: described(z.number().min(0).max(30).default(6), {
    help: 'Height of the number raised on the inner side of each piece; 0 for none.',
    unit: 'mm',
    flag: 'mark',
  }),
  ...printParameters,
});

export const splitFigures = z.object({
  pieces: z.array(
    z.object({
      /** As raised on the piece. */
      number: z.number().int(),
      file: z.string(),
      faces: z.number().int(),
      /** Room on the bed as it lies. */
      sizeMm: size,
      fits: z.boolean(),
      /** Flat cut lying on the bed; 0 when it stands on none. */
      flatDownMm2: z.number(),
      volumeMm3: z.number(),
      massG: z.number(),
      hours: z.number(),
      marked: z.boolean(),
      /** From the coordinates of the file that was split to the piece as it lies: 16 numbers, row by row. */
      placement: z.array(z.number()).length(16),
    }),
  ),
  seams: z.array(
    z.object({
      pieces: z.array(z.number().int()).length(2),
      /** How deep the pins of this seam go into each piece. */
      pinDepthMm: z.number(),
      /** Middle of each pin, in file coordinates, and the material left around its hole. */
      pins: z.array(z.object({ at: size, wallMm: z.number() })),
    }),
  ),
  /** The planes that cut, as point and normal in file coordinates. */
  planes: z.array(z.array(z.number()).length(6)),
  wholeVolumeMm3: z.number(),
  /** The cut pieces together less the whole, before holes and marks. */
  volumeDifferenceMm3: z.number(),
  holeDiameterMm: z.number(),
  massG: z.number(),
  hours: z.number(),
  assumptions: z.object({
    densityGCm3: z.number(),
    skinMm: z.number(),
    infillPercent: z.number(),
    flowMm3S: z.number(),
    words: z.string(),
  }),
});

export type SplitFigures = z.infer<typeof splitFigures>;

export const splitSpecification = {
  verb: 'split',
  summary: 'Cut a solid into pieces that fit the print bed, with holes for pins, numbers, and what each will weigh.',
  inputs: ['SOLID'],
  makes: 'folder',
  parameters: splitParameters,
  figures: splitFigures,
} as const satisfies OperationSpecification;
