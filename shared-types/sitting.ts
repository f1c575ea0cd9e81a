/** When readings belong to one body as it was, and when it has had time to change. Pure. */
import type { Reading } from './records/reading.ts';

/** Readings longer before others tell of an earlier body, days. Own judgement, no source. */
const SITTING_DAYS = 183;
const DAY_MS = 86_400_000;

/** Day of a reading, YYYY-MM-DD. */
export const dayOfReading = ({ takenOn, createdAt }: Pick<Reading, 'takenOn' | 'createdAt'>): string =>
  takenOn ?? createdAt.slice(0, 10);

/** Whether a body had time to change from one day to another, both YYYY-MM-DD. */
export const isLongBefore = (day: string, later: string): boolean =>
  Date.parse(later) - Date.parse(day) > SITTING_DAYS * DAY_MS;
