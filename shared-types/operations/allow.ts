import { z } from 'zod';
import { healthFigures } from './health.ts';
import { described, type OperationSpecification } from './specification.ts';
import { inOnePlace, ZONE_NAMES, zonePlace } from './zone-place.ts';

const allowanceZoneSchema = inOnePlace(
  'zone',
  z.strictObject({
    name: z.string().min(1).max(100).optional(),
    /** Outward for hair, a wig or clothing; below zero where soft tissue gives way. */
    growMm: z.number().min(-20).max(60),
    blendMm: z.number().min(2).max(200).default(20),
    ...zonePlace,
  }),
);

export const allowParameters = z.object({
  zones: described(z.object({ zones: z.array(allowanceZoneSchema).min(1).max(100) }), {
    help: `JSON file {"zones":[...]}, each {"name", "growMm" (below 0 shrinks), "blendMm"} and one of "region" (${ZONE_NAMES.join(', ')}; upright head form), "points" (file coordinates) with "radiusMm", "box" {"min","max"}.`,
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const allowFigures = z.object({
  /** What each zone reached where it counts fully: distance from the true form, signed. */
  zones: z.array(
    z.object({
      name: z.string(),
      growMm: z.number(),
      samples: z.number().int(),
      minMm: z.number(),
      maxMm: z.number(),
      meanMm: z.number(),
    }),
  ),
  movedVertices: z.number().int(),
  volumeMm3: z.number(),
  /** Volume of the true form, which stays as it is. */
  formVolumeMm3: z.number(),
  health: healthFigures,
});

export const allowSpecification = {
  verb: 'allow',
  summary:
    'A second form with allowances by zone: grown for hair, a wig or clothing, shrunk for soft tissue; the true form stays.',
  inputs: ['FORM'],
  makes: 'mesh',
  parameters: allowParameters,
  figures: allowFigures,
} as const satisfies OperationSpecification;
