/** What readings are worth where nobody said, as set for this library. */
import { z } from 'zod';
import { SURE_KINDS, sureMmSchema } from '../usual-uncertainty.ts';

const nothing = z.object({});
/** Standard uncertainty of one reading, mm, for every kind. */
export const usualUncertaintySchema = z.record(z.enum(SURE_KINDS), z.number().positive());

export const USUAL_CALLS = {
  'usual.show': { input: nothing, output: z.object({ usual: usualUncertaintySchema }) },
  /** The kinds named; the program's own value takes a kind back to that. */
  'usual.set': { input: z.object({ usual: z.partialRecord(z.enum(SURE_KINDS), sureMmSchema) }), output: nothing },
  /** All kinds back to the program's own. */
  'usual.reset': { input: nothing, output: nothing },
} as const;
