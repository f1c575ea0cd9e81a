import { z } from 'zod';
import { printParameters } from './split.ts';
import { described, type OperationSpecification } from './specification.ts';

export const gaugeParameters = z.object({
  levelsMm: described(z.array(z.number()).min(1, 'give at least one level').max(20), {
    help: 'Heights (z in file coordinates) of the middle of each band; the shell must stand upright.',
    unit: 'mm',
    flag: 'levels',
    placeholder: 'Z1,Z2,...',
  }),
  bandMm: described(z.number().min(2).max(100).default(12), { help: 'Height of a band.', unit: 'mm', flag: 'band' }),
  words: described(z.string().max(60).default(''), {
    help: 'Words raised on each band before its level: the name of the wearer, for example.',
    placeholder: 'TEXT',
  }),
  ...printParameters,
});

export const gaugeFigures = z.object({
  bands: z.array(
    z.object({
      levelMm: z.number(),
      file: z.string(),
      /** As raised on the band; empty where it could not be. */
      words: z.string(),
      /** Way round the lower edge, inside and outside; the inside is null where the section has no closed hollow. */
      insideMm: z.number().nullable(),
      outsideMm: z.number(),
      faces: z.number().int(),
      volumeMm3: z.number(),
      massG: z.number(),
      hours: z.number(),
    }),
  ),
});

export type GaugeFigures = z.infer<typeof gaugeFigures>;

export const gaugeSpecification = {
  verb: 'gauge',
  summary: 'Thin rings of a shell at chosen levels, to print and try on before the whole is printed.',
  inputs: ['SHELL'],
  makes: 'folder',
  parameters: gaugeParameters,
  figures: gaugeFigures,
} as const satisfies OperationSpecification;
