/** Work that was cut off after something of it was kept says so: its trouble does not claim that nothing was changed. */
import { failed, type Outcome } from '../../shared-types/outcome.ts';

const CUT_OFF: readonly string[] = ['job.cancelled', 'job.internal', 'job.out-of-memory'];

/** The outcome, its trouble told with what is `kept` of the work all the same, in words: "3 tried pairs are". */
export function tellingKept<T>(outcome: Outcome<T>, kept: string | undefined): Outcome<T> {
  if (outcome.ok || kept === undefined || !CUT_OFF.includes(outcome.fault.code)) return outcome;
  return failed({ ...outcome.fault, facts: { ...outcome.fault.facts, kept } });
}
