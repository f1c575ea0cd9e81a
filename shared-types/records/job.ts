import { z } from 'zod';
import { idSchema, momentSchema } from '../ids.ts';

export const jobStates = ['running', 'done', 'failed', 'cancelled', 'interrupted'] as const;

/** One heavy piece of work. `interrupted` means the program ended while it ran; it can be run again as it stands. */
export const jobSchema = z.object({
  id: idSchema,
  wearerId: idSchema.optional(),
  verb: z.string().min(1),
  request: z.record(z.string(), z.unknown()),
  state: z.enum(jobStates),
  /** Process that runs it, to tell a crash from work under way. */
  processId: z.int(),
  sentence: z.string().optional(),
  startedAt: momentSchema,
  endedAt: momentSchema.optional(),
});
export type Job = z.infer<typeof jobSchema>;
