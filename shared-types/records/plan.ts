import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';

export const PLAN_KINDS = ['liner', 'pads', 'pattern', 'pieces', 'gauge', 'shell', 'fill'] as const;

/** What a plan is about: exactly one of these. */
export const planSubjectSchema = z
  .object({ formId: idSchema, linerId: idSchema, partId: idSchema, fittingId: idSchema })
  .partial();

/** What is thought over before something is made; `draft` is read by the plan's own schema (calls/plans.ts). */
export const planSchema = z.object({
  id: idSchema,
  kind: z.enum(PLAN_KINDS),
  ...planSubjectSchema.shape,
  draft: z.record(z.string(), z.unknown()),
  createdAt: momentSchema,
});
export type Plan = z.infer<typeof planSchema>;
export type PlanSubject = z.infer<typeof planSubjectSchema>;
