/**
 * What a bench task is, and how one is measured.
 *
 * A file `test/bench/<name>.bench.ts` exports `tasks: readonly BenchTask[]` (make each with `benchTask`,
 * which checks that what `prepare` returns is what `run` takes). Sizes are faces unless the task says
 * otherwise. Each task and size is measured in a process of its own, so that neither memory nor compiled
 * code is shared: CPU seconds are those of the whole process (all threads, garbage collection included),
 * the median of the runs; `firstCpuSeconds` is the first run, which a person on the command line sees;
 * memory is the highest resident size while `run` was at work, and what of it was there before.
 */

/** Extra figures of a run, such as a deviation in mm or queries per second; shown beside the times. */
export type BenchFigures = Readonly<Record<string, number>>;

/** What a figure has to reach; of those measured beside a task's own: cpuSeconds, wallSeconds, peakRssMb. */
export interface Bar {
  readonly figure: string;
  readonly most: number;
}

/** Bars of a size, as the design (section 7) or an issue sets them: the most each figure may be. */
export const most = (figures: Readonly<Record<string, number>>): readonly Bar[] =>
  Object.entries(figures).map(([figure, value]) => ({ figure, most: value }));

export interface BenchTask<Input = unknown> {
  /** Kebab-case, unique: 'lighten-to-10000'. */
  readonly name: string;
  /** Sizes to sweep, usually faces: [10_000, 100_000, 1_000_000]. */
  readonly sizes: readonly number[];
  /** By size. */
  readonly bars?: Readonly<Record<number, readonly Bar[]>>;
  /** Make the input; not measured. */
  prepare(size: number): Input | Promise<Input>;
  /** The work measured. It must leave its input unchanged: it is called several times. */
  run(input: Input): BenchFigures | void | Promise<BenchFigures | void>;
}

/** Identity that ties the input of `run` to the output of `prepare`. */
export function benchTask<Input>(task: BenchTask<Input>): BenchTask {
  return task as BenchTask;
}

export interface Measured {
  readonly name: string;
  readonly size: number;
  readonly runs: number;
  /** Median over the runs. */
  readonly cpuSeconds: number;
  readonly firstCpuSeconds: number;
  /** Median over the runs. */
  readonly wallSeconds: number;
  readonly peakRssMb: number;
  readonly rssBeforeMb: number;
  readonly figures: BenchFigures;
  /** Where there are bars: each with what was reached (NaN where that was not told), and whether all of them are met. */
  readonly bars?: readonly (Bar & { readonly reached: number })[];
  readonly met?: boolean;
}

/** What was measured, held against the bars. */
export function judged(measured: Measured, bars: readonly Bar[] | undefined): Measured {
  if (bars === undefined) return measured;
  const told: Readonly<Record<string, unknown>> = { ...measured, ...measured.figures };
  const held = bars.map((bar) => ({ ...bar, reached: Number(told[bar.figure] ?? NaN) }));
  return { ...measured, bars: held, met: held.every((bar) => bar.reached <= bar.most) };
}

/** The plain lines at the end: the rows that do not meet their bars, each with what it misses and by what. */
export function verdictOf(results: readonly Measured[]): string[] {
  const barred = results.filter(({ met }) => met !== undefined);
  const failing = barred.filter(({ met }) => met === false);
  const short = (value: number): string => String(Number(value.toPrecision(3)));
  if (barred.length === 0) return [];
  return [
    `${barred.length - failing.length} of ${barred.length} rows with a bar meet it${failing.length === 0 ? '.' : '; not met:'}`,
    ...failing.map(({ name, size, bars = [] }) => {
      const missed = bars.filter((bar) => !(bar.reached <= bar.most));
      return `  ${name} at ${size}: ${missed.map((bar) => `${bar.figure} ${short(bar.reached)}, bar ${short(bar.most)}`).join('; ')}`;
    }),
  ];
}

/** Least and most runs, and the CPU seconds after which no further run is begun. */
const LEAST_RUNS = 3;
const MOST_RUNS = 7;
const ENOUGH_CPU_SECONDS = 12;

const median = (values: readonly number[]): number => {
  const sorted = values.toSorted((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
};

/** Reads and resets the peak of resident memory, MB; passed in because only some systems can reset it. */
export interface MemoryMeter {
  reset(): void;
  peakMb(): number;
}

/** Measure one task at one size in this process. */
export async function measureTask(task: BenchTask, size: number, memory: MemoryMeter): Promise<Measured> {
  const input = await task.prepare(size);
  const cpu: number[] = [];
  const wall: number[] = [];
  let spent = 0;
  let figures: BenchFigures = {};
  memory.reset();
  const rssBeforeMb = memory.peakMb();
  while (cpu.length < MOST_RUNS && (cpu.length < LEAST_RUNS || spent < ENOUGH_CPU_SECONDS)) {
    const cpuStart = process.cpuUsage();
    const wallStart = performance.now();
    figures = (await task.run(input)) ?? figures;
    const used = process.cpuUsage(cpuStart);
    const seconds = (used.user + used.system) / 1e6;
    cpu.push(seconds);
    wall.push((performance.now() - wallStart) / 1e3);
    spent += seconds;
  }
  const measured: Measured = {
    name: task.name,
    size,
    runs: cpu.length,
    cpuSeconds: median(cpu),
    firstCpuSeconds: cpu[0],
    wallSeconds: median(wall),
    peakRssMb: memory.peakMb(),
    rssBeforeMb,
    figures,
  };
  return judged(measured, task.bars?.[size]);
}
