import { z } from 'zod';
import { foundPointSchema, matrixSchema, pointSchema, spanSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';
import { inOnePlace } from './zone-place.ts';

const finite = z.number('expected a number');
const pairSchema = z.object({ part: pointSchema, form: pointSchema }, 'expected {"part":[x,y,z],"form":[x,y,z]}');

/** A placement as a file has it: 16 numbers, alone or under "placement" or "matrix"; or points that belong together. */
const placeSchema = z.union([
  matrixSchema.transform((matrix) => ({ matrix, pairs: undefined })),
  z.object({ placement: matrixSchema }).transform(({ placement }) => ({ matrix: placement, pairs: undefined })),
  z.object({ matrix: matrixSchema }).transform(({ matrix }) => ({ matrix, pairs: undefined })),
  z.object({ pairs: z.array(pairSchema).min(1).max(100) }).transform(({ pairs }) => ({ matrix: undefined, pairs })),
]);

const patchSchema = inOnePlace(
  'patch',
  z.strictObject({
    region: z.string().min(1).optional(),
    points: z.array(pointSchema).min(1).max(10_000).optional(),
    radiusMm: z.number().min(1).max(1000).optional(),
    box: z.object({ min: pointSchema, max: pointSchema }).optional(),
  }),
);

export const PART_UNITS = ['mm', 'cm', 'm', 'in'] as const;

export const fitParameters = z.object({
  place: described(placeSchema.optional(), {
    help: 'JSON file of where the part sits or starts: {"matrix":[16 numbers]} from the part file to the form file, or {"pairs":[{"part":[x,y,z],"form":[x,y,z]}]}. Without it the part sits where its file has it.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  solve: described(z.enum(['place', 'scale', 'either']).optional(), {
    help: 'Find the place with the largest least ease (or the most even, with --even), or the smallest scale that leaves --least; either: the scale only where the place does not leave it.',
  }),
  leastMm: described(z.number().min(-50).max(200).optional(), {
    help: 'Ease that must be left everywhere, on top of pressed foam.',
    unit: 'mm',
    flag: 'least',
  }),
  even: described(z.boolean().default(false), {
    help: 'Solve for the most even ease instead of the largest least.',
  }),
  foamMm: described(z.number().min(0).max(100).default(0), {
    help: 'Foam between part and form; where the gap is smaller than the pressed foam, it pinches.',
    unit: 'mm',
    flag: 'foam',
  }),
  compression: described(z.number().min(0).max(0.95).default(0), {
    help: 'Share by which the foam is pressed together when worn, as 0.3.',
    unit: 'share',
  }),
  limitTiltDegrees: described(z.number().min(0).max(180).optional(), {
    help: 'How far a solved place may be tilted from the start, about each axis.',
    unit: 'degrees',
    flag: 'limit-tilt',
  }),
  limitShiftMm: described(z.number().min(0).max(2000).optional(), {
    help: 'How far a solved place may be shifted from the start, along each axis.',
    unit: 'mm',
    flag: 'limit-shift',
  }),
  patch: described(patchSchema.optional(), {
    help: 'JSON file of the part of the part that counts in solving: {"region":"crown"} of the form, or {"points","radiusMm"} or {"box":{"min","max"}} in the part file.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  snap: described(z.boolean().default(false), {
    help: "Turn the part so that its mirror plane is the form's, and keep it there, also where it hardly mirrors itself or starts far off.",
  }),
  free: described(z.boolean().default(false), {
    help: 'Let a part that mirrors itself lean or sit to one side while a place on a head is looked for; else it is kept straight.',
  }),
  mirror: described(z.enum(['x', 'y', 'z']).optional(), {
    help: 'Mirror the part first, along this axis of its file: a left piece becomes a right one.',
  }),
  known: described(z.object({ spans: z.array(spanSchema).min(1).max(50) }).optional(), {
    help: 'JSON file of the known dimensions of the part, which set its true size: {"spans":[{"name","from","to","measured"}]}, points in the part file, mm.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  unit: described(z.enum(PART_UNITS).optional(), {
    help: 'Unit of the part file where it states none and no dimension is known.',
  }),
  donning: described(z.boolean().default(false), {
    help: 'Find the way on and off, where it is tight, and what parting the piece would give.',
  }),
  direction: described(z.array(finite).length(3).optional(), {
    help: 'Direction in which the part comes off, x,y,z in form file coordinates; found by itself unless given.',
    placeholder: 'X,Y,Z',
  }),
  giveMm: described(z.number().min(0).max(100).optional(), {
    help: 'How much the pressed foam may give further on the way on and off; all of it unless given.',
    unit: 'mm',
    flag: 'give',
  }),
  quick: described(z.boolean().default(false), {
    help: 'Few points and steps: a rough place, often a millimetre from the best, with exact figures; for a first look.',
  }),
});

const regionEase = { region: z.string(), leastMm: z.number(), areaMm2: z.number() };

const wayFigures = z.object({
  kind: z.enum(['straight', 'tilted', 'led']),
  direction: foundPointSchema,
  words: z.string(),
  tiltDegrees: z.number(),
  /** Least gap between bare part and body on the way. */
  tightestMm: z.number(),
  blockedMm: z.number(),
  passes: z.boolean(),
  atMm: z.number(),
  lengthMm: z.number(),
  where: foundPointSchema,
  region: z.string(),
});

/** Lengths mm, points in the form's coordinates. */
export const fitFigures = z.object({
  /** From the part file's coordinates to the form file's, row by row; scale included. */
  placement: z.array(z.number()).length(16),
  /** Growth of the part against its true size; 1 unless a scale was solved for. */
  scale: z.number(),
  leastEaseMm: z.number(),
  meanEaseMm: z.number(),
  medianEaseMm: z.number(),
  unevenMm: z.number(),
  /** Where the ease is least. */
  at: foundPointSchema,
  region: z.string(),
  /** Room that the pressed foam and the wanted ease need. */
  neededMm: z.number(),
  pinches: z.array(z.object({ ...regionEase, shortMm: z.number(), at: foundPointSchema, sentence: z.string() })),
  regions: z.array(z.object({ ...regionEase, meanMm: z.number() })),
  histogram: z.array(z.object({ fromMm: z.number(), toMm: z.number(), share: z.number() })),
  insideShare: z.number(),
  /** Of the part, looking at the body. */
  innerAreaMm2: z.number(),
  samples: z.number().int(),
  /** From the body outward over the skin that the part covers; null where it covers none. */
  body: z.object({ leastMm: z.number(), meanMm: z.number(), coveredMm2: z.number(), at: foundPointSchema }).nullable(),
  trueSize: z.object({
    mmPerUnit: z.number(),
    how: z.enum(['known dimension', 'placement', 'unit of the file', 'unit given', 'guessed from its size']),
    residuals: z.array(z.object({ name: z.string(), measuredMm: z.number(), missMm: z.number() })),
  }),
  /** Edges of the part's own box as it is and as it is placed, and its known dimensions then. */
  outsideMm: z.object({ before: foundPointSchema, after: foundPointSchema }),
  knownMm: z.array(z.object({ name: z.string(), before: z.number(), after: z.number() })),
  solved: z
    .object({
      aim: z.enum(['least', 'even']),
      leastMm: z.number(),
      holds: z.array(z.object({ region: z.string(), share: z.number(), at: foundPointSchema })),
      heldByLimit: z.array(z.string()),
      couldGainMm: z.number(),
      triedMm: z.number(),
      starts: z.number().int(),
      agreeing: z.number().int(),
      reached: z.boolean(),
    })
    .nullable(),
  /** Where a scale was solved for: what its best place at its own size left. */
  ownSize: z
    .object({ placement: z.array(z.number()).length(16), leastEaseMm: z.number(), meanEaseMm: z.number() })
    .nullish(),
  mirrorPlaneMissMm: z.number().nullable(),
  donning: z
    .object({
      neededMm: z.number(),
      straight: wayFigures,
      best: wayFigures,
      partings: z.array(
        z.object({
          kind: z.enum(['halves', 'hinge']),
          words: z.string(),
          plane: z.array(z.number()).length(6),
          tightestMm: z.number(),
          blockedMm: z.number(),
        }),
      ),
      waysTried: z.number().int(),
      sentence: z.string(),
    })
    .nullable(),
  /** What it says in short. */
  sentences: z.array(z.string()),
});

export const fitSpecification = {
  verb: 'fit',
  summary:
    'A part tried on a form: the ease both ways and where it pinches, the best place, the scale it needs, the way on and off.',
  inputs: ['PART', 'FORM'],
  makes: 'mesh',
  outOptional: true,
  parameters: fitParameters,
  figures: fitFigures,
} as const satisfies OperationSpecification;
