import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';

/** A person. Biometric data hangs on this record, so it says whether and when they agreed to that. */
export const wearerSchema = z.object({
  id: idSchema,
  name: z.string().min(1).max(200),
  note: z.string().max(20_000).optional(),
  consentNote: z.string().max(20_000).optional(),
  /** Day of the consent, YYYY-MM-DD. */
  consentDate: z.iso.date().optional(),
  createdAt: momentSchema,
});
export type Wearer = z.infer<typeof wearerSchema>;
