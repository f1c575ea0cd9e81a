import { z } from 'zod';
import type { Stock } from '../records/making.ts';
import { matrixSchema } from '../recipe.ts';
import { ZONE_NAMES } from './zone-place.ts';
import { cutPieceSchema, paperParameters, patchSchema } from './pattern.ts';
import { described, type OperationSpecification } from './specification.ts';

export const stockSheetSchema = z
  .object({
    material: z.string().trim().min(1).max(200),
    /** Thickness as sold, and as measured. */
    nominalMm: z.number().positive().max(200),
    measuredMm: z.number().positive().max(200).optional(),
    /** Share of its thickness that it gives under wear. */
    compression: z.number().min(0).max(0.95),
    /** Pressure at which it has given a quarter of its thickness, kPa, from its data sheet. */
    kPaAt25: z.number().positive().max(5000).optional(),
    sheetWidthMm: z.number().positive().max(10_000).optional(),
    sheetHeightMm: z.number().positive().max(10_000).optional(),
  })
  .strict();

/** A foam of the maker's stock as the verb takes it; a sheet's size counts only when both its sides are known. */
export const sheetOfStock = ({
  material,
  nominalMm,
  measuredMm,
  compression,
  sheetWidthMm,
  sheetHeightMm,
}: Stock): z.output<typeof stockSheetSchema> => ({
  material,
  nominalMm,
  compression,
  ...(measuredMm === undefined ? {} : { measuredMm }),
  ...(sheetWidthMm === undefined || sheetHeightMm === undefined ? {} : { sheetWidthMm, sheetHeightMm }),
});

/** A placement as a file has it, that of the verb fit too: 16 numbers, alone or under "placement" or "matrix". */
const placeSchema = z.union([
  matrixSchema.transform((matrix) => ({ matrix })),
  z.object({ placement: matrixSchema }).transform(({ placement }) => ({ matrix: placement })),
  z.object({ matrix: matrixSchema }).transform(({ matrix }) => ({ matrix })),
]);

export const padParameters = z.object({
  stock: described(z.object({ stock: z.array(stockSheetSchema).min(1).max(24) }), {
    help: 'JSON file {"stock":[{"material","nominalMm","measuredMm","compression" (share),"kPaAt25","sheetWidthMm","sheetHeightMm"}]}: the foam there is.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  place: described(placeSchema.optional(), {
    help: 'JSON file {"matrix":[16 numbers, by rows]}, or what fit prints with --json: from the coordinates of the part\'s file to those of the form\'s; without it the part lies as its file says.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  pads: described(
    z
      .object({
        /** Two of one name that end in "left" and "right" are a pair. */
        patches: z.array(patchSchema).max(40).default([]),
        usual: z.array(z.enum(ZONE_NAMES)).max(ZONE_NAMES.length).default([]),
        /** Numbers of the stock's sheets, from 0, a pad may be made of: by the name of the patch, pair or usual place. */
        foams: z.record(z.string(), z.array(z.number().int().min(0)).min(1)).default({}),
      })
      .strict()
      .refine(({ patches, usual }) => patches.length + usual.length > 0, {
        message: 'expected "patches", "usual" or both',
      })
      .optional(),
    {
      help: 'JSON file {"patches":[...] as of the verb pattern, "usual":[names of usual places], "foams":{name:[numbers of stock sheets, from 0]}}: pads drawn by hand and usual places beside them; without it, all usual places.',
      placeholder: 'FILE',
      jsonFile: true,
    },
  ),
  leastMm: described(z.number().min(0).max(60).default(2), {
    help: 'Where there is less room than this, no pad is put.',
    unit: 'mm',
    flag: 'least',
  }),
  mostMm: described(z.number().min(1).max(100).default(30), {
    help: 'Where there is more room than this, no pad is put.',
    unit: 'mm',
    flag: 'most',
  }),
  insetMm: described(z.number().min(0).max(40).default(6), {
    help: 'How far a proposed pad stays within its place, so that neighbours do not meet.',
    unit: 'mm',
    flag: 'inset',
  }),
  limitKPa: described(z.number().min(0.1).max(50).default(4), {
    help: 'Pressure over which a pad is called too hard; a usual bound for long wear is 4 kPa.',
    unit: 'kPa',
    flag: 'limit-kpa',
  }),
  stepped: described(z.boolean().default(false), {
    help: 'Where the room varies, put upper layers only where there is room for them, so that the pad touches evenly.',
  }),
  mirror: described(z.boolean().default(false), {
    help: 'Pads that come in pairs are cut alike: the left one, and the same mirrored.',
  }),
  stretchPercent: described(z.number().min(0.1).max(50).default(6), {
    help: 'How much foam may be stretched or pressed together along itself; beyond it darts or seams are put.',
    unit: '%',
    flag: 'stretch',
    placeholder: '%',
  }),
  smoothMm: described(z.number().min(0).max(100).default(30), {
    help: 'Shapes of the form narrower than this are passed over, as foam does.',
    unit: 'mm',
    flag: 'smooth',
  }),
  paper: paperParameters.paper,
  gapMm: paperParameters.gapMm,
  keepGrain: paperParameters.keepGrain,
});

export const padFigures = z.object({
  pads: z.array(
    z.object({
      name: z.string(),
      areaMm2: z.number(),
      /** Room between form and part over the pad, before padding. */
      gap: z.object({
        meanMm: z.number(),
        leastMm: z.number(),
        p10Mm: z.number(),
        p90Mm: z.number(),
        mostMm: z.number(),
      }),
      /** From the body outward. */
      stack: z.array(
        z.object({ material: z.string(), nominalMm: z.number(), thicknessMm: z.number(), coversMm2: z.number() }),
      ),
      freeMm: z.number(),
      wornMm: z.number(),
      /** Room left on the mean between stack and part, where it does not touch. */
      easeMm: z.number(),
      contactPercent: z.number(),
      /** How much the stack gives: on the mean, and passed by a tenth of the pad. */
      givesPercent: z.number(),
      givesP90Percent: z.number(),
      pressureKPa: z.number().nullable(),
      pressureP90KPa: z.number().nullable(),
      pieces: z.array(z.number().int()),
    }),
  ),
  pieces: z.array(cutPieceSchema),
  shopping: z.array(
    z.object({
      material: z.string(),
      nominalMm: z.number(),
      sheets: z.number().int(),
      sheetWidthMm: z.number(),
      sheetHeightMm: z.number(),
      usePercent: z.number(),
    }),
  ),
  /** Pads that hardly touch or press too hard, and what to do. */
  doubts: z.array(z.string()).default([]),
  /** What the pressures rest on. */
  assumptions: z.array(z.string()),
  pages: z.number().int(),
  files: z.array(z.string()),
});

export type PadFigures = z.infer<typeof padFigures>;

export const padSpecification = {
  verb: 'pad',
  summary: 'Pads between part and form: where, of which foam, how hard they press, and their patterns.',
  inputs: ['PART', 'FORM'],
  makes: 'folder',
  parameters: padParameters,
  figures: padFigures,
} as const satisfies OperationSpecification;
