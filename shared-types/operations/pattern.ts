import { z } from 'zod';
import { planeSchema, pointSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';
import { withWholeSpots, ZONE_NAMES } from './zone-place.ts';

export const seamSchema = z
  .object({
    name: z.string().min(1).max(60).optional(),
    points: z.array(pointSchema).min(2).max(500).optional(),
    plane: planeSchema.optional(),
  })
  .strict()
  .refine((seam) => (seam.points === undefined) !== (seam.plane === undefined), {
    message: 'a seam needs either "points" or "plane"',
  });

/** How a maker points out a patch of a surface; points in the file's own coordinates. */
export const patchSchema = withWholeSpots(
  z
    .object({
      name: z.string().min(1).max(60).optional(),
      zone: z.enum(ZONE_NAMES).optional(),
      faces: z.array(z.number().int().nonnegative()).min(1).optional(),
      curve: z.array(pointSchema).min(3).max(500).optional(),
      inside: pointSchema.optional(),
      points: z.array(pointSchema).min(1).max(500).optional(),
      radiusMm: z.number().min(1).max(500).optional(),
      box: z.object({ min: pointSchema, max: pointSchema }).optional(),
      whole: z.literal(true).optional(),
      seams: z.array(seamSchema).max(40).default([]),
      /** Direction on the body that runs up the pattern. */
      grain: pointSchema.optional(),
    })
    .strict()
    .refine(
      (patch) =>
        [patch.zone, patch.faces, patch.curve, patch.points, patch.box, patch.whole].filter((one) => one !== undefined)
          .length === 1,
      { message: 'a patch needs exactly one of "zone", "faces", "curve", "points", "box" and "whole"' },
    ),
);

export const paperParameters = {
  paper: described(z.enum(['a4', 'a3', 'letter']).default('a4'), {
    help: 'Paper the pattern is printed on, at its true size over as many pages as it takes.',
  }),
  sheetMm: described(z.array(z.number().min(50).max(5000)).length(2).default([1000, 500]), {
    help: 'Width and height of the stock sheets the pieces are laid on.',
    unit: 'mm',
    flag: 'sheet',
    placeholder: 'W,H',
  }),
  gapMm: described(z.number().min(0).max(50).default(4), {
    help: 'Room between pieces on a sheet.',
    unit: 'mm',
    flag: 'gap',
  }),
  keepGrain: described(z.boolean().default(false), {
    help: 'Lay pieces only along the grain, for cloth and ribbed foam; else they may lie across it.',
  }),
};

export const patternParameters = z.object({
  foamMm: described(z.number().min(0).max(60), {
    help: 'Thickness of the foam or cloth; the pattern is made for its middle.',
    unit: 'mm',
    flag: 'foam',
  }),
  patch: described(
    z.union([patchSchema, z.object({ patches: z.array(patchSchema).min(1).max(40) }).strict()]).optional(),
    {
      help: `JSON file {"name", "seams", "grain"} with one of "zone", "curve" (points, with "inside"), "faces", "points" with "radiusMm", "box" {"min","max"}, "whole": true; or {"patches":[...]}. Seams are {"name"} with "points" or "plane".`,
      placeholder: 'FILE',
      jsonFile: true,
    },
  ),
  zone: described(z.enum(ZONE_NAMES).optional(), {
    help: 'One of the usual places of an upright head form, instead of a patch file.',
  }),
  stretchPercent: described(z.number().min(0.1).max(50).default(5), {
    help: 'How much the sheet may be stretched or pressed together along itself; beyond it darts or seams are put.',
    unit: '%',
    flag: 'stretch',
    placeholder: '%',
  }),
  relief: described(z.enum(['darts', 'seams', 'none']).default('darts'), {
    help: 'What is put where the strain is too much: darts and, where they do not help, seams; seams only; nothing.',
  }),
  allowanceMm: described(z.number().min(0).max(50).default(0), {
    help: 'Seam allowance all round; 0 for foam that is glued edge to edge.',
    unit: 'mm',
    flag: 'allowance',
  }),
  smoothMm: described(z.number().min(0).max(100).default(30), {
    help: 'Shapes narrower than this are passed over, as a sheet does; 0 follows every face, for creased props.',
    unit: 'mm',
    flag: 'smooth',
  }),
  inward: described(z.boolean().default(false), {
    help: 'The sheet lies on the inner side of the surface (a lining of a part).',
  }),
  mirror: described(z.boolean().default(false), {
    help: 'Cut every piece once more, mirrored, for the other side.',
  }),
  ...paperParameters,
});

/** One pattern piece in the figures. */
export const cutPieceSchema = z.object({
  number: z.number().int(),
  name: z.string(),
  count: z.number().int(),
  mirrored: z.number().int(),
  widthMm: z.number(),
  heightMm: z.number(),
  areaMm2: z.number(),
  darts: z.number().int(),
  /** What the sheet must give along itself: at most, in all but 1 % of the area, and on the mean; percent. */
  strainMaxPercent: z.number(),
  strainP99Percent: z.number(),
  strainMeanPercent: z.number(),
  withinStretch: z.boolean(),
});

export const patternLineSchema = z.object({
  letter: z.string(),
  name: z.string(),
  kind: z.enum(['given', 'dart', 'seam', 'opening']),
  lengthMm: z.number(),
  /** Pieces on its two sides and their length in the flat. */
  sides: z.array(z.object({ piece: z.number().int(), flatMm: z.number() })),
  /** To cut each edge off square by, degrees; positive where the outer side is the longer; null where it is joined to nothing. */
  bevelDeg: z.number().nullable(),
});

export const patternFigures = z.object({
  pieces: z.array(cutPieceSchema),
  lines: z.array(patternLineSchema),
  /** Largest difference of the lengths to a notch on the two sides of a seam. */
  notchMismatchMm: z.number(),
  /** Height over the surface for which the pattern was made. */
  middleMm: z.number(),
  /** How far the sheet passes over what is narrower than it follows, on the whole surface. */
  movedMaxMm: z.number(),
  movedMeanMm: z.number(),
  sheets: z.number().int(),
  /** Area of the pieces over the area of the sheets they take. */
  sheetUsePercent: z.number(),
  pages: z.number().int(),
  files: z.array(z.string()),
});

export type PatternFigures = z.infer<typeof patternFigures>;

export const patternSpecification = {
  verb: 'pattern',
  summary: 'A skin or pad of foam laid flat, to cut at true size: pages, SVG, DXF and cut list.',
  inputs: ['SURFACE'],
  makes: 'folder',
  parameters: patternParameters,
  figures: patternFigures,
} as const satisfies OperationSpecification;

const numbers = z.array(z.number());

/** The file on-body.json beside a pattern: where each point of each flat piece lies on the body. */
export const onBodySchema = z.object({
  pieces: z.array(
    z.object({
      number: z.number().int(),
      name: z.string(),
      /** x, y of the line that is cut, mm. */
      outline: numbers,
      /** x, y of each point, mm, and x, y, z of the same point on the body. */
      flat: numbers,
      body: numbers,
      triangles: numbers,
      /** What the sheet must give in each triangle, percent. */
      givePercent: numbers,
    }),
  ),
});
export type FlatPiece = z.infer<typeof onBodySchema>['pieces'][number];
