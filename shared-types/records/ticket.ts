/**
 * A form's ticket while it is being made: what has been decided so far about one scan. Points are in the scan file's
 * own coordinates, so a change of one step leaves the others standing. Making the form turns it into a recipe.
 */
import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';
import { REGION_NAMES, REGIONS, sidedName, type RegionName, type Side } from '../measures/index.ts';
import { extremeSchema, heightSchema, planeSchema, pointSchema, type LevelPlace } from '../recipe.ts';

const nameSchema = z.string().min(1).max(100);

export const ticketLandmarkSchema = z.object({
  point: pointSchema,
  origin: z.enum(['hand', 'guess', 'carried']),
});

const measureFields = z.object({
  /** Name of the readings on the wearer's sheet, and of the measure in the catalogue if it is there. */
  name: nameSchema,
  kind: z.enum(['span', 'girth', 'arc']),
  /** Landmarks it runs between or through; of a level those by which it is told. */
  landmarks: z.array(nameSchema).min(1).max(8),
  /** Does it give the size, is it only compared with it, or is it set aside? */
  role: z.enum(['use', 'hold', 'leave']),
  /** Of an arc: pulled taut over hollows, as a tape is, unless this is false. */
  taut: z.boolean().optional(),
  /** Of a girth: how far off the skin the tape lay, over hair, mm. */
  hairMm: z.number().min(0).max(60).optional(),
  /**
   * Of a girth that is not laid through landmarks: so far above its one landmark (below zero: under it), or where the
   * body is thickest or thinnest between its two.
   */
  level: z.union([heightSchema.pick({ aboveMm: true }), extremeSchema.pick({ most: true })]).optional(),
});

export const ticketMeasureSchema = measureFields
  .refine(({ kind, level }) => level === undefined || kind === 'girth', 'only a girth lies at a level')
  .refine(
    ({ landmarks, level }) => landmarks.length > 1 || (level !== undefined && 'aboveMm' in level),
    'only a girth at a height is told by one landmark',
  );

/** The level of a ticket's measure as a recipe tells it; undefined for one laid through its landmarks. */
export function levelPlaceOf({ level, landmarks }: TicketMeasure): LevelPlace | undefined {
  if (level === undefined) return undefined;
  const [first, second = first] = landmarks;
  return 'most' in level ? { ...level, between: [first, second] } : { ...level, at: first };
}

export const ticketDraftSchema = z.object({
  /** What the scan is of; absent in older tickets: a head. */
  region: z.enum(REGION_NAMES).optional(),
  /** Of a limb: the wearer's own. */
  side: z.enum(['left', 'right']).optional(),
  keep: z.enum(['largest', 'all']),
  trim: z.array(planeSchema).max(12),
  landmarks: z.record(nameSchema, ticketLandmarkSchema),
  measures: z.array(ticketMeasureSchema).max(60),
  faces: z.number().int().min(200).max(2_000_000),
});

export const ticketSchema = z.object({
  id: idSchema,
  wearerId: idSchema,
  scanId: idSchema,
  /** The form it makes, once it has made one; making it again adds a revision. */
  formId: idSchema.optional(),
  name: z.string().min(1).max(200),
  draft: ticketDraftSchema,
  createdAt: momentSchema,
});

export type TicketMeasure = z.infer<typeof ticketMeasureSchema>;
export type TicketDraft = z.infer<typeof ticketDraftSchema>;
export type Ticket = z.infer<typeof ticketSchema>;

/**
 * Every measure of a region, each taking part in the size as soon as it has landmarks and a value. A girth that lies at
 * the thickest or thinnest place is sought there.
 */
export const ticketMeasures = (region: RegionName, side: Side | undefined): TicketMeasure[] =>
  REGIONS[region].measures.map(({ name, kind, landmarks, stretch }) => ({
    name: sidedName(name, side),
    kind,
    ...(stretch === undefined
      ? { landmarks: [...landmarks] }
      : { landmarks: [...stretch.between], level: { most: stretch.most } }),
    role: 'use',
  }));

/** As on an earlier ticket of the same body: where its tapes lay, and the girths that were added to it. */
export function measuresAsBefore(fresh: readonly TicketMeasure[], before: readonly TicketMeasure[]): TicketMeasure[] {
  const isSame = (a: TicketMeasure) => (b: TicketMeasure) => a.name === b.name && a.kind === b.kind;
  const added = before.filter((one) => one.level !== undefined && !fresh.some(isSame(one)));
  return [
    ...fresh.map((one) => {
      const was = before.find(isSame(one));
      return was === undefined ? one : { ...one, landmarks: was.landmarks, level: was.level };
    }),
    ...added.map((one) => ({ ...one, role: 'use' as const })),
  ];
}
