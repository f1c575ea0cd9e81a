/** Forms from readings alone, for a wearer of whom there is no scan. */
import { z } from 'zod';
import { idSchema } from '../ids.ts';
import { foreseenMeasureSchema, surveyChoiceSchema } from '../operations/block.ts';

/** What the sheet says of a head and what would be guessed, before any form is made. */
export const foreseenSchema = z.object({
  source: z.string(),
  measures: z.array(foreseenMeasureSchema),
  outliers: z.array(z.string()),
  orElse: z.array(z.string()),
  notUsed: z.array(z.string()),
  /** How far off the skin may be, one standard deviation, mm: by the survey alone, and with the readings. */
  skinSpreadMm: z.object({ unread: z.number(), now: z.number() }),
  /** Which further reading would help, the best first. */
  next: z.array(z.object({ name: z.string(), gainMm: z.number() })),
});
export type Foreseen = z.infer<typeof foreseenSchema>;

export const BLOCK_CALLS = {
  'block.foresee': { input: z.object({ wearerId: idSchema, survey: surveyChoiceSchema }), output: foreseenSchema },
  /** Make the form as a job; of the same name it is made again. */
  'block.make': {
    input: z.object({ wearerId: idSchema, name: z.string().trim().min(1).max(200), survey: surveyChoiceSchema }),
    output: z.object({ jobId: z.string() }),
  },
} as const;
