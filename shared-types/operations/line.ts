import { z } from 'zod';
import { planeSchema, pointSchema } from '../recipe.ts';
import { LINER_TOLERANCE_MM } from '../tolerances.ts';
import { described, type OperationSpecification } from './specification.ts';
import { inOnePlace, ZONE_NAMES, zonePlace } from './zone-place.ts';

const curveSchema = z
  .object({
    points: z.array(pointSchema).min(3).max(2000),
    /** A point of what is cut away. */
    away: pointSchema.optional(),
    /** Which side is cut away, by area, where no point says it. */
    goes: z.enum(['smaller', 'larger']).optional(),
  })
  .refine(({ away, goes }) => away === undefined || goes === undefined, {
    message: 'a line needs "away" or "goes", not both',
  });

export const openingSchema = z.union([
  z.object({ plane: planeSchema }).strict(),
  z.array(z.object({ plane: planeSchema }).strict()).min(1),
  z
    .object({ planes: z.array(planeSchema).max(20).default([]), curves: z.array(curveSchema).max(20).default([]) })
    .strict(),
]);

const keepOutSchema = z
  .object({
    name: z.string().min(1).max(200).optional(),
    /** Room between it and the liner. */
    clearanceMm: z.number().min(0).max(60).default(2),
    ball: z.object({ centre: pointSchema, radiusMm: z.number().min(0.5).max(300) }).optional(),
    capsule: z.object({ from: pointSchema, to: pointSchema, radiusMm: z.number().min(0.5).max(300) }).optional(),
    box: z.object({ min: pointSchema, max: pointSchema }).optional(),
    /** Closed and outward: coordinates in threes, and corner numbers in threes. */
    mesh: z
      .object({ positions: z.array(z.number()).max(3_000_000), triangles: z.array(z.number().int()).max(6_000_000) })
      .optional(),
  })
  .strict()
  .refine(
    ({ ball, capsule, box, mesh }) => [ball, capsule, box, mesh].filter((one) => one !== undefined).length === 1,
    {
      message: 'a volume needs exactly one of "ball", "capsule", "box" and "mesh"',
    },
  )
  .refine(({ box }) => box === undefined || box.min.every((low, k) => low < box.max[k]), {
    message: 'each "min" of a box must be below its "max"',
  });

const zoneSchema = inOnePlace(
  'zone',
  z.strictObject({
    name: z.string().min(1).optional(),
    foamMm: z.number().min(0.5).max(60),
    /** Share by which the foam is pressed together when worn. */
    compression: z.number().min(0).max(0.9).default(0),
    blendMm: z.number().min(2).max(200).default(20),
    ...zonePlace,
  }),
);

export const lineParameters = z.object({
  foamMm: described(z.number().min(0.5).max(60), {
    help: 'Thickness of the foam: every point of the liner lies this far from the form.',
    unit: 'mm',
    flag: 'foam',
  }),
  toleranceMm: described(z.number().min(0.01).max(2).default(LINER_TOLERANCE_MM), {
    help: 'How far the liner may lie from that thickness; smaller makes more faces.',
    unit: 'mm',
    flag: 'tolerance',
  }),
  bridgeMm: described(z.number().min(1).max(60).optional(), {
    help: 'Bridge hollows that a ball of this radius cannot enter, such as the folds of an ear.',
    unit: 'mm',
    flag: 'bridge',
  }),
  wallMm: described(z.number().min(0.4).max(30).optional(), {
    help: 'Make a printable shell: the liner is its inner side, this thick outward; without it the padded body, solid.',
    unit: 'mm',
    flag: 'wall',
  }),
  zones: described(z.object({ zones: z.array(zoneSchema).min(1).max(100) }).optional(), {
    help: `JSON file {"zones":[...]}, each {"foamMm", "compression" (share), "blendMm"} and one of "region" (${ZONE_NAMES.join(', ')}; upright head form), "points" (file coordinates) with "radiusMm", "box" {"min","max"}.`,
    placeholder: 'FILE',
    jsonFile: true,
  }),
  donning: described(z.array(z.number()).length(3).optional(), {
    help: 'Direction in which the part is put on, x,y,z in file coordinates: tells where the body does not pass the liner. Needs an opening.',
    placeholder: 'X,Y,Z',
  }),
  giveMm: described(z.number().min(0).max(60).default(2), {
    help: 'How much the foam may give on the way, for --donning.',
    unit: 'mm',
    flag: 'give',
  }),
  opening: described(openingSchema.optional(), {
    help: 'JSON file {"plane":[px,py,pz,nx,ny,nz]} or a list of such: what the normal points away from is cut off, flat. Or {"planes":[[...]],"curves":[{"points":[[x,y,z],...],"away":[x,y,z]}]}: closed lines drawn on the form; what lies at "away", or on the smaller side ("goes":"larger": on the larger), is cut out.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  keepOut: described(z.object({ keepOut: z.array(keepOutSchema).min(1).max(100) }).optional(), {
    help: 'JSON file {"keepOut":[...]}: volumes that stay free (spectacles, a fan), each {"name", "clearanceMm"} and one of "ball" {"centre","radiusMm"}, "capsule" {"from","to","radiusMm"}, "box" {"min","max"}, "mesh" {"positions","triangles"}.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  tiltDegrees: described(z.number().min(0).max(60).default(0), {
    help: 'How far the part may be tipped on its way in: where it does not go on straight, a way with one tilt is looked for.',
    unit: 'degrees',
    flag: 'tilt',
  }),
  clear: described(z.boolean().default(false), {
    help: 'Take the undercuts along --donning out of the liner, but for what the foam gives, so that it slides on.',
  }),
});

/** What an opening is like, of the largest of its rims: round the inner side, and the rim's faces (mean width, with a wall). */
export const openingEvidenceSchema = z.object({
  kind: z.enum(['plane', 'curve']),
  rimLengthMm: z.number(),
  leastWidthMm: z.number(),
  mostWidthMm: z.number(),
  areaMm2: z.number(),
  rimAreaMm2: z.number(),
  rimMm: z.number().nullable(),
  /** How far the rim of a drawn line strays from where the liner meets the band ruled from it; null where flat. */
  offLineMm: z.number().nullable(),
});

/** How far a surface made at a distance lies from its place: sampled on it, and the other way, from its true place to it. */
export const missShape = {
  maxAbsErrorMm: z.number(),
  /** Where it misses most, in file coordinates; absent in what was made before that was kept. */
  maxAbsErrorAt: z.array(z.number()).length(3).optional(),
  meanAbsErrorMm: z.number(),
  p99AbsErrorMm: z.number(),
  samples: z.number().int(),
  missingMaxMm: z.number(),
  missingSamples: z.number().int(),
  /** Where what is left out is widest, in file coordinates, and how wide, a gap or a hollow; null where nothing narrow is. */
  missingAt: z.array(z.number()).length(3).nullable(),
  missingGapMm: z.number().nullable(),
};

const acrossSchema = z.object({ sideMm: z.number(), frontMm: z.number() });

export const lineFigures = z.object({
  faces: z.number().int(),
  vertices: z.number().int(),
  /** Least, largest and mean distance of the liner surface from the form, sampled; before an opening is cut. */
  minMm: z.number(),
  maxMm: z.number(),
  meanMm: z.number(),
  /** Of the thickness (of the bridged target when hollows are bridged). */
  ...missShape,
  /** Side of the square each sample stands for. */
  sampleSpacingMm: z.number(),
  watertight: z.boolean(),
  selfIntersections: z.number().int(),
  pieces: z.number().int(),
  pocketsDropped: z.number().int(),
  volumeMm3: z.number(),
  areaMm2: z.number(),
  /** Between form and liner, before an opening is cut. */
  foamVolumeMm3: z.number(),
  /** Of the wall itself, between its two surfaces, before openings; null without a wall. */
  wallMinMm: z.number().nullable(),
  wallMaxMm: z.number().nullable(),
  wallMeanMm: z.number().nullable(),
  wallSamples: z.number().int().nullable(),
  /** Where it is least and where it stands thickest, in file coordinates. */
  wallMinAt: z.array(z.number()).length(3).nullable(),
  wallMaxAt: z.array(z.number()).length(3).nullable(),
  /** Where each zone counts fully: distance of the liner from the form; before bridging and openings. */
  zones: z.array(
    z.object({
      name: z.string(),
      thicknessMm: z.number(),
      samples: z.number().int(),
      minMm: z.number(),
      maxMm: z.number(),
      meanMm: z.number(),
      areaMm2: z.number(),
      /** Foam there as worn, and as bought (before it is pressed together). */
      volumeMm3: z.number(),
      boughtVolumeMm3: z.number(),
    }),
  ),
  /** Each opening, planes before curves. */
  openings: z.array(openingEvidenceSchema),
  /**
   * The narrowest of the liner between its flat opening (the one the body comes in by) and the level where the body is largest, against that
   * largest section, from side to side and front to back; null without a flat opening.
   */
  leastOpening: z.object({ liner: acrossSchema, body: acrossSchema, shortMm: z.number() }).nullable(),
  /** Where the liner stands off the body beyond its foam, for the way in (ease lost to --clear) and for volumes left free. */
  standsOff: z.array(
    z.object({
      /** Null for the way in. */
      keepOut: z.string().nullable(),
      addedMaxMm: z.number(),
      addedMeanMm: z.number(),
      areaMm2: z.number(),
      addedVolumeMm3: z.number(),
    }),
  ),
  /** Where the body does not pass: what would help, each by itself; null otherwise. Normals in file coordinates. */
  waysIn: z
    .object({
      /** Move the flat opening so far along its normal; the share of the liner's points left. */
      widen: z.object({ raiseMm: z.number(), leftShare: z.number() }),
      /** Two halves, parted at the middle across this normal, put on from either side. */
      split: z.object({ normal: z.array(z.number()).length(3), deepestMm: z.number(), passes: z.boolean() }),
      /** Let out by so much from the opening up to this height over it: what --clear does. */
      flare: z.object({ upToMm: z.number(), byMm: z.number() }),
    })
    .nullable(),
  /** Where the body does not pass along the donning direction, deepest first, `where` in file coordinates; null when not asked. */
  donning: z
    .object({
      undercuts: z.array(
        z.object({
          depthMm: z.number(),
          where: z.array(z.number()).length(3),
          areaMm2: z.number(),
          passes: z.boolean(),
        }),
      ),
      deepestMm: z.number(),
      giveMm: z.number(),
      passes: z.boolean(),
      samples: z.number().int(),
      /** With --tilt: tipped about this axis through this point (file coordinates, right-hand rule), come straight, righted. */
      tilted: z
        .object({
          axis: z.array(z.number()).length(3),
          pivot: z.array(z.number()).length(3),
          degrees: z.number(),
          deepestMm: z.number(),
          passes: z.boolean(),
        })
        .nullable(),
    })
    .nullable(),
  /** Faces made by the openings. */
  rimAreaMm2: z.number(),
  /** Grid cell the surface was followed with. */
  cellMm: z.number(),
});

export const lineSpecification = {
  verb: 'line',
  summary: 'The liner: the surface at foam thickness from the form, as a sound solid.',
  inputs: ['FORM'],
  makes: 'mesh',
  parameters: lineParameters,
  figures: lineFigures,
} as const satisfies OperationSpecification;
