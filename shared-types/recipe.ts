/**
 * The recipe: what was decided about a scan, so that the same form can be made again from it, or from the next scan.
 * Points are in the scan file's own frame and unit; measured values and their standard uncertainties `u` are mm.
 */
import { z } from 'zod';

const finite = z.number('expected a number');
/** Beyond any scan in any unit; squares of larger numbers would leave nothing of a millimetre. */
const MOST_COORDINATE = 1e7;
const coordinate = finite
  .min(-MOST_COORDINATE, `a coordinate under -${MOST_COORDINATE} is no place on a body`)
  .max(MOST_COORDINATE, `a coordinate over ${MOST_COORDINATE} is no place on a body`);
export const pointSchema = z.tuple([coordinate, coordinate, coordinate], 'expected three numbers [x, y, z]');
/** A point as figures tell it: wherever it came out. */
export const foundPointSchema = z.tuple([finite, finite, finite]);
/** A way from coordinates to coordinates, 16 numbers by rows. */
export const matrixSchema = z.array(coordinate).length(16, 'expected 16 numbers');
/** px, py, pz, nx, ny, nz: a point of the plane and the normal, which points to the side that is kept. */
export const planeSchema = z.tuple(
  [coordinate, coordinate, coordinate, finite, finite, finite],
  'expected six numbers [px,py,pz,nx,ny,nz]',
);

const reading = {
  name: z.string().min(1, 'a reading needs a name').max(200),
  /** What the calliper or tape read on the person, mm. */
  measured: finite,
  /** Standard uncertainty of that, mm. */
  u: z.number().positive('the uncertainty u must be more than 0').max(1000).optional(),
  /** Held back: not used for the size, but compared with it. */
  hold: z.boolean().optional(),
};

export const spanSchema = z.object({ ...reading, from: pointSchema, to: pointSchema });
export const girthSchema = z.object({
  ...reading,
  through: z.tuple([pointSchema, pointSchema, pointSchema]),
  /** How far off the skin the tape lay, as over hair under a cap, mm: the girth of the skin is 2 pi times that less. */
  hairMm: z.number().min(0, 'hairMm cannot be less than 0').max(60, 'hairMm of more than 60 is no tape').optional(),
});

const landmarkName = z.string().min(1).max(60);

/** How far above a landmark (below zero: under it), in mm of the standing body. */
export const heightSchema = z.object({ at: landmarkName, aboveMm: finite.min(-2000).max(2000) });
/** Where the body is thickest or thinnest between two landmarks, as a tape finds it that is moved up and down. */
export const extremeSchema = z.object({
  most: z.enum(['thickest', 'thinnest']),
  between: z
    .tuple([landmarkName, landmarkName])
    .refine(([from, to]) => from !== to, 'a stretch lies between two different landmarks'),
});
export const levelPlaceSchema = z.union([heightSchema, extremeSchema]);
export type LevelPlace = z.output<typeof levelPlaceSchema>;

/** The landmarks by which a level is told. */
export const landmarksOf = (place: LevelPlace): readonly string[] => ('at' in place ? [place.at] : place.between);

/** A girth level in the standing body, told by its place. */
const levelReading = { ...reading, hairMm: girthSchema.shape.hairMm };
export const levelSchema = z.union(
  [heightSchema.extend(levelReading), extremeSchema.extend(levelReading)],
  'a level needs "name", "measured" and either "at" and "aboveMm" or "most" and "between"',
);
export type Level = z.output<typeof levelSchema>;

/** A tape through these points in turn, the shortest way from each to the next: along the skin, or outside the body. */
export const arcSchema = z.object({
  ...reading,
  along: z.array(pointSchema).min(2, 'an arc needs two points').max(20),
  /** Pulled taut: straight over hollows instead of following the skin into them. */
  taut: z.boolean().optional(),
});

/** What a mesh is of, as far as standing it up goes. */
export const standingSchema = z.enum(['head', 'limb', 'torso', 'part']);
export type Standing = z.output<typeof standingSchema>;

export const landmarksSchema = z.record(z.string().min(1).max(60), pointSchema);

/** A spans file: a list of spans, or an object with all kinds of readings, and the landmarks that levels are told by. */
export const readingsSchema = z.union([
  z.array(spanSchema).transform((spans) => ({
    spans,
    girths: [] as z.output<typeof girthSchema>[],
    arcs: undefined as z.output<typeof arcSchema>[] | undefined,
    levels: undefined as z.output<typeof levelSchema>[] | undefined,
    region: undefined as Standing | undefined,
    landmarks: undefined as z.output<typeof landmarksSchema> | undefined,
  })),
  z.object({
    spans: z.array(spanSchema).default([]),
    girths: z.array(girthSchema).default([]),
    arcs: z.array(arcSchema).optional(),
    levels: z.array(levelSchema).optional(),
    region: standingSchema.optional(),
    landmarks: landmarksSchema.optional(),
  }),
]);

/** A landmarks file: names to points, alone or under "landmarks". */
export const landmarksFileSchema = z.union([
  z.object({ landmarks: landmarksSchema }).transform((file) => file.landmarks),
  landmarksSchema,
]);

export const recipeSchema = z.object({
  /** Absent: a head. */
  region: standingSchema.optional(),
  trim: z.array(planeSchema).default([]),
  landmarks: landmarksSchema.default({}),
  spans: z.array(spanSchema).default([]),
  girths: z.array(girthSchema).default([]),
  arcs: z.array(arcSchema).optional(),
  levels: z.array(levelSchema).optional(),
  faces: z.number().int().min(4).max(20_000_000).default(9_500),
  keep: z.enum(['largest', 'all']).default('largest'),
});

export type Span = z.output<typeof spanSchema>;
export type Girth = z.output<typeof girthSchema>;
export type Arc = z.output<typeof arcSchema>;
export type Readings = z.output<typeof readingsSchema>;
export type Landmarks = z.output<typeof landmarksSchema>;
export type Recipe = z.output<typeof recipeSchema>;
