import { z } from 'zod';
import { readingsSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

export const trueParameters = z.object({
  spans: described(readingsSchema, {
    help: 'JSON file of readings: {"spans":[{"name","from","to","measured","u"}],"girths":[{"name","through","measured","u"}],"arcs":[{"name","along","taut","measured","u"}], "levels":[{"name","at","aboveMm","measured","u"}],"landmarks":{...}}; girths and levels may have "hairMm".',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  all: described(z.boolean().default(false), {
    help: 'Use every reading, also one that disagrees with the rest.',
  }),
});

export const residualFigures = z.object({
  name: z.string(),
  kind: z.enum(['span', 'girth', 'arc']),
  role: z.enum(['used', 'left out', 'held back']),
  /** Length on the scan, in its own unit. */
  onScan: z.number(),
  scaledMm: z.number(),
  /** Read on the person, less what hair under the tape made it longer. */
  measuredMm: z.number(),
  hairAllowanceMm: z.number().optional(),
  uMm: z.number(),
  residualMm: z.number(),
  residualUMm: z.number(),
  standardised: z.number(),
  leverage: z.number(),
});

export const trueFigures = z.object({
  /** mm per number of the scan. */
  factor: z.number(),
  standardUncertainty: z.number(),
  /** Half width of the 95 % interval of the factor, in percent of it. */
  expandedPercent: z.number(),
  factorOfAll: z.number(),
  chiSquare: z.number(),
  degreesOfFreedom: z.number().int(),
  birgeRatio: z.number().nullable(),
  residuals: z.array(residualFigures),
  outliers: z.array(z.string()),
  warp: z
    .object({
      factors: z.array(z.number()).length(3),
      uncertainties: z.array(z.number()).length(3),
      chiSquareFall: z.number(),
      significant: z.boolean(),
    })
    .nullable(),
  /** The factor changing along the body; absent in figures made before it was looked for. */
  gradient: z
    .object({
      /** 0, 1, 2 for x, y, z of the standing body; of the file where it is not known how it stands. */
      axis: z.number().int(),
      low: z.string(),
      high: z.string(),
      change: z.number(),
      changeU: z.number(),
      chiSquareFall: z.number(),
      significant: z.boolean(),
    })
    .nullable()
    .optional(),
  /** Plain sentences: what the readings say and what to do. */
  advice: z.array(z.string()),
});

export const trueSpecification = {
  verb: 'true',
  summary:
    'The true size from calliper spans, tape girths and arcs, with its uncertainty and the reading that does not belong.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: trueParameters,
  figures: trueFigures,
} as const satisfies OperationSpecification;
