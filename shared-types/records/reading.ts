import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';

/**
 * One taking of a span, girth or arc on a wearer. Rows are never edited: a correction is a new row that replaces the
 * old one, a withdrawal a new row marked so. `revision` counts a wearer's sheet upward, so every state of it remains.
 */
export const readingSchema = z.object({
  id: idSchema,
  wearerId: idSchema,
  revision: z.int().min(1),
  kind: z.enum(['span', 'girth', 'arc']),
  name: z.string().min(1).max(200),
  valueMm: z.number().positive().max(5000),
  /** Standard uncertainty. */
  uncertaintyMm: z.number().positive().max(500).optional(),
  instrument: z.string().max(200).optional(),
  takenBy: z.string().max(200).optional(),
  /** Day of the reading, YYYY-MM-DD. */
  takenOn: z.iso.date().optional(),
  replacesId: idSchema.optional(),
  withdrawn: z.boolean(),
  createdAt: momentSchema,
});
export type Reading = z.infer<typeof readingSchema>;
