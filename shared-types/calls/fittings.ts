/** Parts on the shelf, parts tried on forms, and the table of a whole company. */
import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';
import { fitFigures, PART_UNITS } from '../operations/fit.ts';
import { partFigures } from '../operations/part.ts';
import { sightFigures, sightParameters } from '../operations/sight.ts';
import { spanSchema } from '../recipe.ts';
import { fittingSchema } from '../records/making.ts';
import { partSchema } from '../records/project.ts';

const nothing = z.object({});
const jobStarted = z.object({ jobId: z.string() });
const matrix = z.array(z.number()).length(16);
const name = z.string().trim().min(1).max(200);
const float32 = z.custom<Float32Array<ArrayBuffer>>((value) => value instanceof Float32Array, 'expected 32-bit floats');
const uint32 = z.custom<Uint32Array<ArrayBuffer>>((value) => value instanceof Uint32Array, 'expected 32-bit integers');

/** A fitting's decisions. The placement leads from the part as it lies ready (true mm) to the form. */
export const fittingDraftSchema = z.object({
  placement: matrix.optional(),
  /** The place found last, and where it was looked for from: looking again begins there, or a part climbs at each press. */
  found: z.object({ from: matrix.optional(), to: matrix }).optional(),
  foamMm: z.number().min(0).max(100).default(6),
  compression: z.number().min(0).max(0.95).default(0.2),
  /** Ease that must be left on top of the pressed foam. */
  leastMm: z.number().min(-50).max(200).default(2),
  even: z.boolean().default(false),
  snap: z.boolean().default(false),
  free: z.boolean().default(false),
  mirror: z.enum(['x', 'y', 'z']).optional(),
  limitTiltDegrees: z.number().min(0).max(180).optional(),
  limitShiftMm: z.number().min(0).max(2000).optional(),
  /** Only this patch of the part counts while its place is looked for: points of the part as it lies ready. */
  patch: z
    .object({
      points: z
        .array(z.tuple([z.number(), z.number(), z.number()]).readonly())
        .min(1)
        .max(10_000)
        .readonly(),
      radiusMm: z.number().min(1).max(1000),
    })
    .optional(),
});
export type FittingDraft = z.infer<typeof fittingDraftSchema>;

/** A part in place as it was tried, with what was found. */
export const triedSchema = z.object({
  trialId: idSchema,
  on: momentSchema,
  placement: matrix,
  fit: fitFigures.optional(),
  sight: sightFigures.optional(),
  /** The form was made again, or the part sized again, since: try once more. */
  outdated: z.boolean(),
});
export type Tried = z.infer<typeof triedSchema>;

const shownFitting = z.object({
  fitting: fittingSchema,
  draft: fittingDraftSchema,
  formName: z.string(),
  wearerName: z.string(),
  wearerId: idSchema,
  /** Newest making of the form. */
  revisionId: idSchema.optional(),
  /** Of the body, as the form's recipe names it; none is a head. */
  region: z.string().optional(),
  partName: z.string().optional(),
  /** Newest trial of this part on this form. */
  tried: triedSchema.optional(),
});

/** How a part goes on a wearer, as the company's table shows it. */
export const companyCellSchema = z.object({
  partId: idSchema,
  formId: idSchema,
  /** Absent: not tried yet, or outdated. */
  trialId: idSchema.optional(),
  /** Tried once, but part, form, the way it is worn or the room wanted have changed since. */
  outdated: z.boolean().optional(),
  leastEaseMm: z.number().optional(),
  meanEaseMm: z.number().optional(),
  /** The wanted room is there everywhere. */
  goesOn: z.boolean().optional(),
  /** Even padding that the least ease leaves room for, mm; 0 where there is none. */
  paddingMm: z.number().optional(),
  /** Scale at which the wanted room would be there; 1 where it is already. */
  scale: z.number().optional(),
  sentence: z.string().optional(),
});
export type CompanyCell = z.infer<typeof companyCellSchema>;

/**
 * How far the company's trials turn and shift a part from the way it is worn; farther, a helmet would only be lifted off.
 * Own judgement. A fitting sets its own.
 */
export const COMPANY_LIMITS = { limitTiltDegrees: 10, limitShiftMm: 15 } as const;

export const companyWishSchema = z.object({
  /** Room wanted everywhere, pressed foam and ease together, mm; the usual is thin padding and some ease (own judgement). */
  roomMm: z
    .number()
    .min(0, 'the room wanted cannot be less than 0 mm')
    .max(100, 'the room wanted is 100 mm at most')
    .default(6),
});

export const FITTING_CALLS = {
  /** Keep a received file as a part. */
  'part.keep': {
    input: z.object({
      upload: z.string().min(1).max(100),
      fileName: z.string().min(1).max(500),
      name,
      projectId: idSchema.optional(),
    }),
    output: z.object({ id: idSchema }),
  },
  'part.list': {
    input: nothing,
    output: z.object({
      parts: z.array(
        partSchema.pick({ id: true, name: true, fileName: true, projectId: true, createdAt: true }).extend({
          /** In true size. */
          ready: z.boolean(),
          fittings: z.number().int(),
        }),
      ),
    }),
  },
  'part.show': {
    input: z.object({ id: idSchema }),
    output: z.object({
      part: partSchema,
      fittings: z.array(fittingSchema),
      /** What made it, where it is a solid made hollow. */
      madeBy: z.object({ id: idSchema, name: z.string(), isOutdated: z.boolean() }).optional(),
    }),
  },
  'part.mesh': {
    input: z.object({ id: idSchema, which: z.enum(['file', 'ready']) }),
    output: z.object({ positions: float32, triangles: uint32, toFile: matrix }),
  },
  'part.edit': {
    input: z.object({ id: idSchema, name: name.optional(), projectId: idSchema.optional() }),
    output: nothing,
  },
  /** Give it its true size: by known dimensions (points in the part file), or by the file's unit. */
  'part.size': {
    input: z.object({
      id: idSchema,
      known: z.object({ spans: z.array(spanSchema).min(1).max(50) }).optional(),
      unit: z.enum(PART_UNITS).optional(),
    }),
    output: partFigures,
  },

  'fitting.start': {
    input: z.object({ name, formId: idSchema, partId: idSchema, projectId: idSchema.optional() }),
    output: z.object({ id: idSchema }),
  },
  'fitting.list': {
    input: z.object({ formId: idSchema, partId: idSchema, projectId: idSchema }).partial(),
    output: z.object({ fittings: z.array(shownFitting) }),
  },
  'fitting.show': { input: z.object({ id: idSchema }), output: shownFitting },
  'fitting.edit': {
    input: z.object({ id: idSchema, label: name, draft: fittingDraftSchema.optional(), name: name.optional() }),
    output: nothing,
  },
  /** Try the part on: where it lies, or solved for; with the way on and off, and sight, when asked. */
  'fitting.try': {
    input: z.object({
      id: idSchema,
      solve: z.enum(['place', 'scale']).optional(),
      donning: z.boolean().default(false),
      sight: z.boolean().default(false),
      /** With sight: room to be found inside for a thing of this size. */
      thing: z
        .object({
          sizeMm: sightParameters.shape.thing.unwrap(),
          within: sightParameters.shape.within,
          clearanceMm: sightParameters.shape.clearanceMm,
        })
        .optional(),
    }),
    output: jobStarted,
  },
  /** The gap at each vertex of the part as it was tried last, and over the form. */
  'fitting.ease': {
    input: z.object({ id: idSchema }),
    output: z.object({ partMm: float32, bodyMm: float32, leastEaseMm: z.number() }),
  },

  /** Every part of a project, or of the shelf, against every form of it. */
  'company.show': {
    input: z.object({ projectId: idSchema.optional(), wish: companyWishSchema }),
    output: z.object({
      forms: z.array(z.object({ id: idSchema, name: z.string(), wearerName: z.string(), revisionId: idSchema })),
      parts: z.array(z.object({ id: idSchema, name: z.string() })),
      cells: z.array(companyCellSchema),
    }),
  },
  /** Try what has not been tried yet. */
  'company.run': { input: z.object({ projectId: idSchema.optional(), wish: companyWishSchema }), output: jobStarted },
  'company.export': {
    input: z.object({ projectId: idSchema.optional(), wish: companyWishSchema }),
    output: z.object({ csv: z.string() }),
  },
} as const;
