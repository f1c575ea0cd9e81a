import { z } from 'zod';
import { described, type OperationSpecification } from './specification.ts';

const readingSchema = z.object({
  name: z.string().min(1, 'a reading needs a name').max(200),
  /** Read on the person, mm. */
  measured: z.number('expected a number').positive('a measurement must be more than 0').max(5000),
  /** Standard uncertainty of that, mm. */
  u: z.number().positive('the uncertainty u must be more than 0').max(500).optional(),
});

export const surveyChoiceSchema = z.enum(['men', 'women', 'either']);

/** A sheet of readings without places: nothing but names and values. */
export const readingSheetSchema = z.object({
  readings: z.array(readingSchema).max(200),
  survey: surveyChoiceSchema.optional(),
});
export type ReadingSheet = z.output<typeof readingSheetSchema>;

export const blockParameters = z.object({
  sheet: described(readingSheetSchema, {
    help: 'JSON file of readings by name: {"readings":[{"name":"head length","measured":196,"u":1.5}],"survey":"either"}.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  survey: described(surveyChoiceSchema.optional(), {
    help: 'Whose usual measures stand in for what was not read; before what the file says, either where neither does.',
  }),
  faces: described(z.number().int().min(2_000).max(20_000).default(9_500), {
    help: 'Most faces the form may have.',
    unit: 'faces',
  }),
  all: described(z.boolean().default(false), {
    help: 'Use every reading, also one that does not belong with the rest.',
  }),
});

export const foreseenMeasureSchema = z.object({
  name: z.string(),
  /** Given and met; given but left out; guessed from the others and the survey. */
  role: z.enum(['given', 'left out', 'guessed']),
  /** What was read, and its standard uncertainty; null where it is guessed. */
  measuredMm: z.number().nullable(),
  uMm: z.number().nullable(),
  /** What the readings used and the survey lead to expect of the person. */
  expectedMm: z.number(),
  /** The person may differ from the form by so much, 95 of 100 times. */
  within95Mm: z.number(),
  /** Where the expectation comes from: survey, derived from it, the form's shape, or assumed. */
  ground: z.enum(['survey', 'derived', 'shape', 'assumed']),
  why: z.string(),
});
export type ForeseenMeasure = z.output<typeof foreseenMeasureSchema>;

export const blockMeasureFigures = foreseenMeasureSchema.extend({
  /** Taken on the finished form. */
  formMm: z.number(),
});
export type BlockMeasure = z.output<typeof blockMeasureFigures>;

export const blockFigures = z.object({
  survey: surveyChoiceSchema,
  source: z.string(),
  measures: z.array(blockMeasureFigures),
  /** Largest miss of a reading that was used, in its own uncertainty: at most 1, or where no shape meets all of them 2. */
  largestMiss: z.number(),
  outliers: z.array(z.string()),
  /** Readings that could be meant instead of those left out. */
  orElse: z.array(z.string()),
  /** Names given that are no measure of a head known here. */
  notUsed: z.array(z.string()),
  /** How far off the skin may be, one standard deviation, before any reading and after each in the order given. */
  spreads: z.array(z.object({ after: z.string().nullable(), skinSpreadMm: z.number() })),
  /** Which further reading would help, the best first: by how much that falls. */
  next: z.array(z.object({ name: z.string(), gainMm: z.number() })),
  landmarks: z.record(z.string(), z.array(z.number()).length(3)),
  faces: z.number().int(),
  vertices: z.number().int(),
  watertight: z.boolean(),
  selfIntersections: z.number().int(),
  volumeMm3: z.number(),
  rounds: z.number().int(),
  /** Plain sentences: what is known, what is guessed and what to do. */
  advice: z.array(z.string()),
});

export const blockSpecification = {
  verb: 'block',
  summary:
    'A head form from readings alone, without a scan: it meets what was read and guesses the rest from a survey.',
  inputs: [],
  makes: 'mesh',
  parameters: blockParameters,
  figures: blockFigures,
} as const satisfies OperationSpecification;
