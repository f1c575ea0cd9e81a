import { z } from 'zod';
import { idSchema, momentSchema, sha256Schema } from '../ids.ts';

export const formSchema = z.object({
  id: idSchema,
  wearerId: idSchema,
  name: z.string().min(1).max(200),
  createdAt: momentSchema,
});
export type Form = z.infer<typeof formSchema>;

/** One step of a recipe as it was run, with the figures that show what it did. */
export const ticketStepSchema = z.object({
  verb: z.string().min(1),
  parameters: z.record(z.string(), z.unknown()),
  figures: z.record(z.string(), z.unknown()),
});
export type TicketStep = z.infer<typeof ticketStepSchema>;

/** One making of a form. Numbered upward per form; never overwritten. */
export const formRevisionSchema = z.object({
  id: idSchema,
  formId: idSchema,
  revision: z.int().min(1),
  scanId: idSchema,
  recipe: z.record(z.string(), z.unknown()),
  steps: z.array(ticketStepSchema),
  programVersion: z.string().min(1).max(50),
  meshSha256: sha256Schema,
  faceCount: z.int().min(1),
  createdAt: momentSchema,
});
export type FormRevision = z.infer<typeof formRevisionSchema>;
