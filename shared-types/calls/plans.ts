/** What is thought over on the desks before something is made, kept as it grows. Points in the coordinates of the body. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import { surveyChoiceSchema } from '../operations/block.ts';
import { ZONE_NAMES } from '../operations/zone-place.ts';
import { PLAN_KINDS, planSubjectSchema } from '../records/plan.ts';

const name = z.string().max(200);
/** A length that cannot be read at the moment is absent. */
const length = z.number().min(0).max(10_000).optional();
const point = z.tuple([z.number(), z.number(), z.number()]).readonly();
const points = z.array(point).max(500).readonly();
const paper = z.enum(['a4', 'a3', 'letter']);
const list = <S extends z.ZodType>(one: S) => z.array(one).max(100).readonly();

/** A flat cut; the normal points to the side that stays, where one does. */
const cutSchema = z.object({ point, normal: point });
export type PlannedCut = z.infer<typeof cutSchema>;

/** Of each closed line, whether the larger of its two sides is cut out; absent: the smaller, as before there was a choice. */
const largerGoes = list(z.boolean()).optional();

/** A place with a foam of its own: painted on the form, or one of the usual places of a head. */
const zoneSchema = z.object({
  id: z.string(),
  name,
  foamMm: length,
  /** Share by which the foam is pressed together when worn. */
  compression: z.number().min(0).max(0.9),
  region: z.enum(ZONE_NAMES).optional(),
  /** Where the brush touched, and how far it reaches. */
  dabs: z.array(point).max(10_000).readonly(),
  brushMm: z.number().min(1).max(500),
});

const keepOutSchema = z.object({
  id: z.string(),
  name,
  kind: z.enum(['ball', 'box']),
  centre: point,
  /** Radius of a ball, half of each edge of a box without `halvesMm`. */
  reachMm: z.number().min(0).max(1000),
  /** Half of a box's edges, forward, left and up. */
  halvesMm: point.optional(),
  clearanceMm: z.number().min(0).max(1000),
});

export const linerPlanSchema = z.object({
  foamMm: length,
  hasBridge: z.boolean(),
  bridgeMm: length,
  hasWall: z.boolean(),
  wallMm: length,
  opening: cutSchema.optional(),
  /** A second flat one, at the other end: of a bracer, a breastplate. */
  farOpening: cutSchema.optional(),
  /** Only that half of a torso: parted upright, so far forward of the form's origin. */
  half: z.object({ side: z.enum(['front', 'back']), atMm: z.number().min(-1000).max(1000) }).optional(),
  /** Closed lines drawn on the form, in the order of their clicks. */
  curves: list(points),
  largerGoes,
  zones: list(zoneSchema),
  wayIn: z.enum(['none', 'down', 'back', 'forward', 'up', 'right', 'left']),
  giveMm: length,
  /** It may be tipped on its way in. */
  isTipped: z.boolean(),
  isCleared: z.boolean(),
  keepOuts: list(keepOutSchema),
  /** The project it is made for. */
  projectId: idSchema.optional(),
});

/** Foams of the stock it may be made of; any of them when none is named. */
const foams = z.array(idSchema).max(24).readonly();

export const padsPlanSchema = z.object({
  leastMm: length,
  mostMm: length,
  isMirrored: z.boolean(),
  paper,
  /** The usual places that get a pad. */
  usual: list(z.object({ zone: z.enum(ZONE_NAMES), foams })),
  /** Pads within closed lines drawn on the body. */
  drawn: list(
    z.object({
      id: z.string(),
      name,
      curve: points,
      /** The same on the other side of the body too. */
      isMirrored: z.boolean(),
      foams,
    }),
  ),
});

export const patternPlanSchema = z.object({
  /** One of the usual places of a head, or within the line drawn. */
  zone: z.enum(ZONE_NAMES).optional(),
  curve: points,
  foamMm: length,
  /** As typed, percent. */
  stretch: z.string().max(20),
  allowanceMm: length,
  paper,
  /** Lines drawn across it along which it is parted. */
  seams: list(z.object({ id: z.string(), name, points })),
});

const side = z.number().min(0).max(10_000).nullable();
export const piecesPlanSchema = z.object({
  /** A side that cannot be read at the moment is null. */
  bedMm: z.tuple([side, side, side]).readonly(),
  joint: z.enum(['dowel', 'peg', 'none']),
  pinMm: length,
  clearanceMm: length,
  isNumbered: z.boolean(),
  /** Cuts of the maker's own, which come first. */
  cuts: list(cutSchema.extend({ id: z.string() })),
});

export const gaugePlanSchema = z.object({ levels: z.string().max(200), bandMm: length, words: z.string().max(200) });

/** A solid part made hollow: flat openings, and closed lines drawn on it. */
export const shellPlanSchema = z.object({
  wallMm: length,
  cuts: list(cutSchema.extend({ id: z.string() })),
  curves: list(points),
  largerGoes,
});

/** What of a form is to be filled by the likely body. */
export const fillPlanSchema = z.object({
  regions: z.array(z.enum(ZONE_NAMES)).max(20).readonly(),
  dabs: z.array(point).max(10_000).readonly(),
  brushMm: z.number().min(1).max(500),
  blendMm: length,
  survey: surveyChoiceSchema,
  isMirrored: z.boolean(),
});

export const PLAN_DRAFTS = {
  liner: linerPlanSchema,
  pads: padsPlanSchema,
  pattern: patternPlanSchema,
  pieces: piecesPlanSchema,
  gauge: gaugePlanSchema,
  shell: shellPlanSchema,
  fill: fillPlanSchema,
} as const;
export type PlanKind = keyof typeof PLAN_DRAFTS;
export type PlanDraft<K extends PlanKind> = z.infer<(typeof PLAN_DRAFTS)[K]>;

const planned = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('liner'), draft: linerPlanSchema }),
  z.object({ kind: z.literal('pads'), draft: padsPlanSchema }),
  z.object({ kind: z.literal('pattern'), draft: patternPlanSchema }),
  z.object({ kind: z.literal('pieces'), draft: piecesPlanSchema }),
  z.object({ kind: z.literal('gauge'), draft: gaugePlanSchema }),
  z.object({ kind: z.literal('shell'), draft: shellPlanSchema }),
  z.object({ kind: z.literal('fill'), draft: fillPlanSchema }),
]);
export type Planned = z.infer<typeof planned>;

const subject = planSubjectSchema.refine((ids) => Object.values(ids).filter((id) => id !== undefined).length === 1, {
  message: 'a plan is about one form, liner, part or fitting',
});

export const PLAN_CALLS = {
  /** Absent while nothing has been planned. */
  'plan.show': {
    input: z.object({ kind: z.enum(PLAN_KINDS), subject }),
    output: z.object({ planned: planned.optional() }),
  },
  /** `label` says in words what undo would take back. */
  'plan.keep': {
    input: z.object({ subject, label: z.string().trim().min(1).max(200), planned }),
    output: z.object({}),
  },
} as const;
