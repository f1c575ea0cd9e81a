/**
 * Operations that only the screens need: parts of the ticket in the order a person does them, each quick enough to be
 * asked again after every change. The command line has the whole verbs instead.
 */
import { z } from 'zod';
import { REGION_NAMES } from '../measures/index.ts';
import { landmarksSchema, levelPlaceSchema, pointSchema, standingSchema } from '../recipe.ts';
import { mendFigures } from './mend.ts';
import type { OperationSpecification } from './specification.ts';
import { standFigures } from './stand.ts';
import { trueFigures } from './true.ts';

const matrix = z.array(z.number()).length(16);
const float32 = z.custom<Float32Array>((value) => value instanceof Float32Array);

export const intakeSpecification = {
  verb: 'intake',
  summary: 'The scan as it came.',
  inputs: ['SCAN'],
  makes: 'mesh',
  parameters: z.object({}),
  figures: z.object({ faces: z.number().int() }),
} as const satisfies OperationSpecification;

export const prepareSpecification = {
  verb: 'prepare',
  summary: 'Mend the scan and guess how it stands.',
  inputs: ['SCAN'],
  makes: 'mesh',
  parameters: z.object({ keep: z.enum(['largest', 'all']) }),
  figures: z.object({
    mend: mendFigures,
    unit: z.string().nullable(),
    /** From the mended mesh's coordinates to standing by a guess, in mm by the guessed unit. */
    toView: matrix,
    confidence: z.number(),
  }),
} as const satisfies OperationSpecification;

export const poseSpecification = {
  verb: 'pose',
  summary: 'How the mended scan stands by its landmarks.',
  inputs: ['SCAN'],
  makes: 'nothing',
  parameters: z.object({ landmarks: landmarksSchema, region: standingSchema.default('head') }),
  figures: standFigures,
} as const satisfies OperationSpecification;

export const sizeSpecification = {
  verb: 'size',
  summary: 'The true size by the readings, each drawn on the scan, and what each contributes.',
  inputs: ['SCAN'],
  makes: 'nothing',
  parameters: z.object({
    measures: z.array(
      z.object({
        name: z.string(),
        kind: z.enum(['span', 'girth', 'arc']),
        /** In the scan file's coordinates: two for a span, three of its plane for a girth, an arc's in turn. */
        points: z.array(pointSchema).max(20),
        /** A girth told by a height or as an extreme instead: it needs `standing`. */
        level: levelPlaceSchema.optional(),
        /** Of an arc: pulled taut. Of a girth: how far off the skin the tape lay. */
        taut: z.boolean().optional(),
        hairMm: z.number().min(0).max(60).optional(),
        role: z.enum(['use', 'hold', 'leave']),
        measured: z.number().positive().optional(),
        u: z.number().positive().optional(),
      }),
    ),
    /** From the mesh's coordinates to the view's. */
    toView: matrix,
    /** The landmarks that stand the body up, in the scan file's coordinates; without them levels are left out. */
    standing: z.object({ landmarks: landmarksSchema, region: standingSchema }).optional(),
  }),
  figures: z.object({
    fit: trueFigures.nullable(),
    missing: z.string().nullable(),
    drawn: z.array(
      z.object({ name: z.string(), kind: z.enum(['span', 'girth', 'arc']), points: float32, onScan: z.number() }),
    ),
    without: z.array(
      z.object({ name: z.string(), factor: z.number(), changePercent: z.number(), expandedPercent: z.number() }),
    ),
  }),
} as const satisfies OperationSpecification;

export const deviationSpecification = {
  verb: 'deviation',
  summary: 'How far the scan lies from each vertex of the form.',
  inputs: ['FORM', 'SCAN'],
  makes: 'nothing',
  parameters: z.object({
    /** From the scan mesh's coordinates to the form's. */
    toForm: matrix,
    /** Cut faces, in the form's coordinates: nothing is measured on them. */
    planes: z.array(z.tuple([z.number(), z.number(), z.number(), z.number(), z.number(), z.number()])),
  }),
  figures: z.object({ perVertexMm: float32, maxMm: z.number(), meanMm: z.number() }),
} as const satisfies OperationSpecification;

export const proposeSpecification = {
  verb: 'propose',
  summary: 'The landmarks the program finds by itself.',
  inputs: ['SCAN'],
  makes: 'nothing',
  parameters: z.object({
    toView: matrix,
    region: z.enum(REGION_NAMES).default('head'),
    side: z.enum(['left', 'right']).default('right'),
  }),
  figures: z.object({
    landmarks: z.array(
      z.object({
        name: z.string(),
        /** In the scan file's coordinates. */
        point: z.tuple([z.number(), z.number(), z.number()]),
        confidence: z.number(),
      }),
    ),
  }),
} as const satisfies OperationSpecification;
