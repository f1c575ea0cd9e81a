import { z } from 'zod';
import { readingSheetSchema, surveyChoiceSchema } from './block.ts';
import { healthFigures } from './health.ts';
import { described, type OperationSpecification } from './specification.ts';
import { inOnePlace, ZONE_NAMES, zonePlace } from './zone-place.ts';

const patchZoneSchema = inOnePlace(
  'zone',
  z.object({
    name: z.string().min(1).max(100).optional(),
    ...zonePlace,
  }),
);

export const fillParameters = z.object({
  patch: described(z.object({ zones: z.array(patchZoneSchema).min(1).max(100) }), {
    help: `JSON file {"zones":[...]} of what is false or was not seen, as for allow: each one of "region" (${ZONE_NAMES.join(', ')}), "points" (file coordinates) with "radiusMm", "box" {"min","max"}; all outside of them is trusted and stays.`,
    placeholder: 'FILE',
    jsonFile: true,
  }),
  sheet: described(readingSheetSchema.default({ readings: [] }), {
    help: 'JSON file of readings by name, as for block; without it the patch follows what is seen and the survey alone.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  survey: described(surveyChoiceSchema.optional(), {
    help: 'Whose usual measures stand in for what was neither read nor seen; before what the file says, either where neither does.',
  }),
  blendMm: described(z.number().min(4).max(80).default(20), {
    help: 'How far the seen rim is followed into the patch.',
    unit: 'mm',
    flag: 'blend',
  }),
  all: described(z.boolean().default(false), {
    help: 'Use every reading, also one that does not belong with the rest.',
  }),
});

export const fillMeasureFigures = z.object({
  name: z.string(),
  /** Read and met by the patch; read but left out; read, but the patch has no part in it; neither read nor seen; seen. */
  role: z.enum(['given', 'left out', 'outside', 'guessed', 'seen']),
  measuredMm: z.number().nullable(),
  /** Standard uncertainty of the reading. */
  uMm: z.number().nullable(),
  /** On the form as it was, where it can be taken there. */
  beforeMm: z.number().nullable(),
  formMm: z.number(),
});
export type FillMeasure = z.output<typeof fillMeasureFigures>;

const point = z.array(z.number()).length(3);

export const fillFigures = z.object({
  survey: surveyChoiceSchema,
  source: z.string(),
  /** Names of the zones of the patch. */
  patch: z.array(z.string()),
  /** Of the form as it was: what was taken out. */
  takenOut: z.object({ vertices: z.number().int(), areaMm2: z.number() }),
  setIn: z.object({ vertices: z.number().int(), areaMm2: z.number() }),
  /** Vertices that stayed, and how far the farthest of them moved: 0. */
  kept: z.object({ vertices: z.number().int(), movedMaxMm: z.number() }),
  /** How far the new surface lies from the old one, sampled at its vertices; outward above 0. */
  moved: z.object({ maxMm: z.number(), meanMm: z.number(), outMm: z.number(), inMm: z.number(), at: point }),
  /** The patch is guessed: the person may differ from it by so much, 95 of 100 times, at the worst place and usually. */
  guess: z.object({ within95Mm: z.number(), usually95Mm: z.number(), at: point, samples: z.number().int() }),
  /** How far the bent head misses what is seen, one standard deviation: it is part of the guess. */
  seenMissMm: z.number(),
  measures: z.array(fillMeasureFigures),
  /** Largest miss of a reading that the patch takes part in, in its own uncertainty. */
  largestMiss: z.number(),
  outliers: z.array(z.string()),
  orElse: z.array(z.string()),
  /** Names given that are no measure that can be taken on a form here. */
  notUsed: z.array(z.string()),
  volumeMm3: z.number(),
  formVolumeMm3: z.number(),
  health: healthFigures,
  /** Plain sentences: what is guessed, how well, and what to do. */
  advice: z.array(z.string()),
});

export const fillSpecification = {
  verb: 'fill',
  summary:
    'A head form with what its scan missed or has wrong (a hidden crown, hair) filled by the likely body; all else stays.',
  inputs: ['FORM'],
  makes: 'mesh',
  parameters: fillParameters,
  figures: fillFigures,
} as const satisfies OperationSpecification;
