import { z } from 'zod';
import { recipeSchema } from '../recipe.ts';
import { healthFigures } from './health.ts';
import { lightenFigures } from './lighten.ts';
import { mendFigures } from './mend.ts';
import { described, type OperationSpecification } from './specification.ts';
import { standFigures } from './stand.ts';
import { trimFigures } from './trim.ts';
import { trueFigures } from './true.ts';

export const formParameters = z.object({
  recipe: described(recipeSchema, {
    help: 'JSON file: {"trim":[...],"landmarks":{...},"spans":[...],"girths":[...],"arcs":[...],"levels":[...],"faces":9500}, points in the scan file\'s own frame and unit.',
    placeholder: 'FILE',
    jsonFile: true,
  }),
});

export const formFigures = z.object({
  mend: mendFigures.omit({ before: true, after: true }),
  trim: trimFigures.omit({ health: true }),
  stand: standFigures,
  true: trueFigures,
  lighten: lightenFigures,
  /** Of the finished form. */
  health: healthFigures,
  /** Each span and girth taken again on the finished form. */
  checks: z.array(
    z.object({
      name: z.string(),
      kind: z.enum(['span', 'girth', 'arc']),
      role: z.enum(['used', 'left out', 'held back']),
      onFormMm: z.number(),
      measuredMm: z.number(),
      uMm: z.number(),
      /** Standard uncertainty of the difference: of the reading and of the form's size together. */
      uTogetherMm: z.number(),
      differenceMm: z.number(),
      /** Within twice its standard uncertainty, the form's own included. */
      agrees: z.boolean(),
    }),
  ),
  /** Lengths along x, y and z. */
  sizeMm: z.array(z.number()).length(3),
});

export const formSpecification = {
  verb: 'form',
  summary:
    'From a raw scan and a recipe to the form: mend, trim, stand, true and lighten in one go, with the evidence of each.',
  inputs: ['SCAN'],
  makes: 'mesh',
  parameters: formParameters,
  figures: formFigures,
} as const satisfies OperationSpecification;
