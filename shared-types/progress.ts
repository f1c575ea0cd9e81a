/**
 * Progress and cancellation, with no platform in it.
 *
 * An operation declares its phases as weights that sum to 1. Kernels receive a RunContext and call
 * `step` at least every 20 ms of work (every few hundred elements); `step` is also where a cancel
 * takes effect: it throws `Cancelled`, which only `runOperation` catches. That is the one exception
 * used for control flow here: a kernel deep in a loop must not be able to forget to pass a stop on.
 */
export type Phases = Readonly<Record<string, number>>;

export interface RunContext {
  /** True once the user asked to stop. */
  cancelled(): boolean;
  /** Credit `done` of `total` of a phase. Throws `Cancelled` once the user asked to stop. */
  step(phase: string, done: number, total: number): void;
  /** A context whose own phases together fill the one named phase of this one. */
  within(phase: string, phases: Phases): RunContext;
}

/** Thrown by `step` when the user asked to stop; not an error. */
export class Cancelled extends Error {
  constructor() {
    super('cancelled');
    this.name = 'Cancelled';
  }
}

export interface RunHooks {
  /** Read inside busy loops; must be cheap (a shared flag). */
  readonly cancelled?: () => boolean;
  /** Receives 0..1, never falling, and the phase now under way. */
  readonly progress?: (fraction: number, phase: string) => void;
}

/**
 * Make a run context for the given phases.
 * A phase that was not declared is a bug and throws.
 */
export function createRun(phases: Phases, hooks: RunHooks = {}): RunContext {
  const cancelled = hooks.cancelled ?? (() => false);
  const report = hooks.progress;
  const credit = new Map<string, number>();
  let best = 0;
  const step = (phase: string, done: number, total: number): void => {
    if (cancelled()) throw new Cancelled();
    if (!(phase in phases)) throw new Error(`phase "${phase}" was not declared`);
    const share = total > 0 ? Math.min(1, Math.max(0, done / total)) : 1;
    credit.set(phase, Math.max(credit.get(phase) ?? 0, share));
    if (report === undefined) return;
    let sum = 0;
    for (const [name, part] of credit) sum += part * (phases[name] as number);
    best = Math.max(best, Math.min(1, sum));
    report(best, phase);
  };
  return {
    cancelled,
    step,
    within: (phase, inner) => createRun(inner, { cancelled, progress: (fraction) => step(phase, fraction, 1) }),
  };
}

/** A run nobody watches and nobody can stop: for tests and small helpers. */
export const QUIET_RUN: RunContext = {
  cancelled: () => false,
  step: () => {},
  within: () => QUIET_RUN,
};

/** A run for work within a moment of another: each of its steps is a `tick` of that one, whatever its own phases. */
export function tickingRun(tick: () => void): RunContext {
  const run: RunContext = { cancelled: () => false, step: () => tick(), within: () => run };
  return run;
}
