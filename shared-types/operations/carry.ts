import { z } from 'zod';
import { foundPointSchema, matrixSchema, recipeSchema } from '../recipe.ts';
import { described, type OperationSpecification } from './specification.ts';

export const carryParameters = z.object({
  recipe: described(recipeSchema, {
    help: 'JSON file of the recipe the form was made by, its points in the older scan.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
  way: described(z.union([z.object({ matrix: matrixSchema }).transform((file) => file.matrix), matrixSchema]), {
    help: 'JSON file with the "matrix" that the making of the form reported: from the older scan to the form.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const carryFigures = z.object({
  /** The recipe for the newer scan: points in its file's own coordinates. */
  recipe: recipeSchema,
  points: z.array(
    z.object({
      name: z.string(),
      point: foundPointSchema,
      /** Standard uncertainty of the carrying, mm. */
      uMm: z.number(),
      offSurfaceMm: z.number(),
      ownMoveMm: z.number(),
    }),
  ),
  /** How the form lay on the newer scan: root mean square of the nearer four fifths, mm. */
  rmsMm: z.number(),
  /** Millimetres in one unit of the newer scan, by the form's size. */
  mmPerUnit: z.number(),
});

export const carrySpecification = {
  verb: 'carry',
  summary: "A recipe's points carried from the scan its form was made of to a newer scan of the same body.",
  inputs: ['FORM', 'SCAN'],
  makes: 'nothing',
  parameters: carryParameters,
  figures: carryFigures,
} as const satisfies OperationSpecification;
