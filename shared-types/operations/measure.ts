import { z } from 'zod';
import { AGREEMENT_CLASSES } from '../agreement.ts';
import {
  arcSchema,
  extremeSchema,
  girthSchema,
  heightSchema,
  landmarksSchema,
  planeSchema,
  pointSchema,
  spanSchema,
  standingSchema,
} from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

/** A thing to measure need not have been read on the person. */
const wanted = {
  name: z.string().min(1).max(200),
  measured: z.number().positive().optional(),
  /** How closely a length of this kind is asked to agree, shared-types/agreement.ts. */
  class: z.enum(AGREEMENT_CLASSES).optional(),
};
const directionSchema = pointSchema.refine((way) => Math.hypot(...way) > 0, 'a direction cannot be [0,0,0]');
const wantedSpan = spanSchema.partial({ measured: true }).extend({ class: wanted.class });
const wantedGirth = girthSchema.partial({ measured: true }).extend({ class: wanted.class });
const wantedArc = arcSchema.partial({ measured: true }).extend({ class: wanted.class });
const levelWish = { ...wanted, hairMm: girthSchema.shape.hairMm };
const wantedLevel = z.union([heightSchema.extend(levelWish), extremeSchema.extend(levelWish)]);
/** Between parallel jaws along `direction`, of the part above all of the planes. */
const wantedBreadth = z.object({
  ...wanted,
  direction: directionSchema,
  above: z.array(planeSchema).max(12).default([]),
});
/** At a plane; of several parts the one nearest to `near`; width along `across`, else where it is narrowest. */
const wantedSection = z.object({
  name: wanted.name,
  plane: planeSchema,
  near: pointSchema.optional(),
  across: directionSchema.optional(),
});
const wantedVolume = z.object({ name: wanted.name, above: planeSchema.optional() });

const wantedFile = z.object({
  spans: z.array(wantedSpan).default([]),
  girths: z.array(wantedGirth).default([]),
  arcs: z.array(wantedArc).default([]),
  breadths: z.array(wantedBreadth).max(200).default([]),
  sections: z.array(wantedSection).max(200).default([]),
  volumes: z.array(wantedVolume).max(50).default([]),
  /** Girths told by landmarks of the standing body; the landmarks are in the file's own coordinates. */
  levels: z.array(wantedLevel).max(200).default([]),
  landmarks: landmarksSchema.optional(),
  region: standingSchema.optional(),
});
const wantedSchema = z.union([z.array(wantedSpan).transform((spans) => wantedFile.parse({ spans })), wantedFile]);

export const measureParameters = z.object({
  spans: described(wantedSchema, {
    help: 'JSON file of what to take: {"spans":[{"name","from","to"}],"girths":[{"name","through"}],"arcs":[{"name","along","taut"}],"breadths":[{"name","direction","above":[plane]}],"sections":[{"name","plane","near","across"}],"volumes":[{"name","above":plane}],"levels":[{"name","at","aboveMm"},{"name","most","between"}],"landmarks":{...},"region"}; "most" is "thickest" or "thinnest".',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  pickMm: described(z.number().min(0).max(20).default(1), {
    help: 'How far a point picked on the skin lies from where it should, one standard deviation.',
    unit: 'mm',
    flag: 'pick',
  }),
});

const uMm = z.number();
/** Standard uncertainty that picking its points gives it, each off by `pickMm`. */
const pickUMm = z.number();
const point = z.array(z.number()).length(3);
/** Against what was read on the person, and against the band of the class asked for; null without a reading. */
const agreement = z
  .object({ differenceMm: z.number(), bandMm: z.number().nullable(), isWithinBand: z.boolean().nullable() })
  .nullable();
/** `measuredMm`: as read on the person, of a girth less what hair under the tape made it longer. */
const taken = { name: z.string(), lengthMm: z.number(), measuredMm: z.number().nullable(), agreement };

export const measureFigures = z.object({
  spans: z.array(
    z.object({
      ...taken,
      /** Standard uncertainty that the mesh's own fineness and roughness at the ends give it. */
      meshUMm: uMm,
      pickUMm,
      offSurfaceMm: z.number(),
    }),
  ),
  girths: z.array(
    z.object({
      ...taken,
      sectionMm: z.number(),
      offSurfaceMm: z.number(),
      /** By how much roughness makes the length longer: noise of the scan, or the body's own. */
      roughnessMm: z.number(),
      meshUMm: uMm,
      pickUMm,
    }),
  ),
  /** Through the points in turn; `straightMm` is the sum of the straight lines between them. */
  arcs: z.array(
    z.object({
      ...taken,
      taut: z.boolean(),
      straightMm: z.number(),
      offSurfaceMm: z.number(),
      roughnessMm: z.number(),
      meshUMm: uMm,
      pickUMm,
      /** Along the skin no way is shorter that stays so near to this one; null when all were compared, or taut. */
      withinMm: z.number().nullable(),
    }),
  ),
  breadths: z.array(
    z.object({
      ...taken,
      /** Where the jaws touch, in the file's coordinates. */
      from: point,
      to: point,
      roughnessMm: z.number(),
      meshUMm: uMm,
    }),
  ),
  sections: z.array(
    z.object({
      name: z.string(),
      perimeterMm: z.number(),
      girthMm: z.number(),
      widthMm: z.number(),
      depthMm: z.number(),
      /** Null where the outline does not close. */
      areaMm2: z.number().nullable(),
      areaUMm2: z.number(),
      roughnessMm: z.number(),
      girthUMm: uMm,
      parts: z.number().int(),
    }),
  ),
  volumes: z.array(
    z.object({
      name: z.string(),
      areaMm2: z.number(),
      /** By how much roughness makes the area larger. */
      areaRoughnessMm2: z.number(),
      /** Null where the surface is open. */
      volumeMm3: z.number().nullable(),
      volumeUMm3: z.number(),
    }),
  ),
});

export const measureSpecification = {
  verb: 'measure',
  summary:
    'Spans as a calliper takes them, girths as a taut tape does, arcs, breadths between jaws, sections, areas and volumes, on the mesh.',
  inputs: ['MESH'],
  makes: 'nothing',
  parameters: measureParameters,
  figures: measureFigures,
} as const satisfies OperationSpecification;
