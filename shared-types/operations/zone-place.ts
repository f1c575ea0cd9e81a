/** Where on a form a zone lies: a named region of a head, spots with a radius, or a box; in the file's own coordinates. */
import { z } from 'zod';
import { pointSchema } from '../recipe.ts';

export const ZONE_NAMES = ['brow', 'crown', 'temples', 'back of head', 'nape', 'cheeks'] as const;

/** The fields that tell a place, for a schema given to `inOnePlace`. */
export const zonePlace = {
  region: z.enum(ZONE_NAMES).optional(),
  points: z.array(pointSchema).min(1).max(10_000).optional(),
  radiusMm: z.number().min(1).max(500).optional(),
  box: z.object({ min: pointSchema, max: pointSchema }).optional(),
};

interface Spots {
  readonly points?: readonly unknown[] | undefined;
  readonly radiusMm?: number | undefined;
}

interface Place extends Spots {
  readonly region?: string | undefined;
  readonly box?: object | undefined;
}

/** Spots are refused without a radius, and a radius without spots. */
export const withWholeSpots = <S extends z.ZodType<Spots>>(schema: S): S =>
  schema.refine(({ points, radiusMm }) => (points === undefined) === (radiusMm === undefined), {
    message: '"points" and "radiusMm" go together',
  });

/** And what lies in no place or in several. */
export const inOnePlace = <S extends z.ZodType<Place>>(what: string, schema: S): S =>
  withWholeSpots(
    schema.refine(({ region, points, box }) => [region, points, box].filter((one) => one !== undefined).length === 1, {
      message: `a ${what} needs exactly one of "region", "points" and "box"`,
    }),
  );
