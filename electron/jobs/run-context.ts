/** The far end of a RunContext: reads the shared cancel flag, and lets progress through once in a while. */
import type { RunHooks } from '../../shared-types/progress.ts';

/** Often enough for a smooth bar, rare enough to cost nothing. */
export const PROGRESS_EVERY_MS = 50;

/**
 * Hooks that read `flag` (a busy thread never sees a message, but it does see shared memory) and pass progress to
 * `report`, at most once per PROGRESS_EVERY_MS; the final 1 is always passed.
 */
export function hooksFor(
  flag: Int32Array<SharedArrayBuffer>,
  report: (fraction: number, phase: string) => void,
  now: () => number = () => performance.now(),
): Required<RunHooks> {
  let last = -Infinity;
  let best = 0;
  return {
    cancelled: () => Atomics.load(flag, 0) !== 0,
    progress: (fraction, phase) => {
      best = Math.max(best, fraction);
      const time = now();
      if (time - last < PROGRESS_EVERY_MS && fraction < 1) return;
      last = time;
      report(best, phase);
    },
  };
}

/** The part of a whole from `from` to `to` as hooks of its own. */
export function portion(hooks: Required<RunHooks>, from: number, to: number): Required<RunHooks> {
  return {
    cancelled: hooks.cancelled,
    progress: (fraction, phase) => hooks.progress(from + (to - from) * fraction, phase),
  };
}
