/**
 * `npm run bench -- [--json] [--only NAME] [--up-to SIZE] [--against FILE] [--list]`
 *
 * Runs every task of test/bench/*.bench.ts, each size in a process of its own, one after the other.
 * The table goes to standard error as it grows; --json puts the whole on standard output, to be kept and
 * given to a later run by --against, which then shows the ratio new to old. A row with a bar says whether it is met
 * (`met` in the JSON); the last lines name those that do not.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, totalmem } from 'node:os';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { measureTask, verdictOf, type BenchTask, type Measured, type MemoryMeter } from './harness.ts';

const HERE = new URL('./', import.meta.url);

interface Report {
  readonly node: string;
  readonly machine: { readonly cpu: string; readonly cores: number; readonly memoryGb: number };
  readonly results: readonly Measured[];
  readonly failures: readonly { readonly name: string; readonly size: number; readonly reason: string }[];
}

async function tasksOf(file: string): Promise<readonly BenchTask[]> {
  const found = (await import(new URL(file, HERE).href)) as { tasks?: readonly BenchTask[] };
  return found.tasks ?? [];
}

/** Linux can reset the high-water mark, so that making the input does not count; elsewhere it counts. */
const memoryMeter: MemoryMeter = {
  reset: () => {
    try {
      writeFileSync('/proc/self/clear_refs', '5');
    } catch {
      // No such file: the peak then includes making the input.
    }
  },
  peakMb: () => {
    try {
      const line = /VmHWM:\s+(\d+) kB/.exec(readFileSync('/proc/self/status', 'utf8'));
      if (line !== null) return Math.round(Number(line[1]) / 1024);
    } catch {
      // No such file: ask Node.
    }
    return Math.round(process.resourceUsage().maxRSS / 1024);
  },
};

async function child(file: string, name: string, size: number): Promise<void> {
  const task = (await tasksOf(file)).find((candidate) => candidate.name === name);
  if (task === undefined) throw new Error(`no bench task ${name} in ${file}`);
  const told = JSON.stringify(await measureTask(task, size, memoryMeter));
  // What a task opened (a browser, a thread) would keep this process alive.
  process.stdout.write(told, () => process.exit(0));
}

function row(measured: Measured, before: Measured | undefined): string {
  const ratio = before === undefined ? '' : `  x${(measured.cpuSeconds / before.cpuSeconds).toFixed(2)}`;
  const figures = Object.entries(measured.figures)
    .map(([key, value]) => `${key} ${Number(value.toPrecision(4))}`)
    .join(', ');
  return [
    measured.name.padEnd(28),
    String(measured.size).padStart(9),
    `${measured.cpuSeconds.toFixed(3)} s`.padStart(10),
    `${measured.firstCpuSeconds.toFixed(3)} s`.padStart(10),
    `${measured.peakRssMb} MB`.padStart(9),
    `${ratio}  ${figures}${measured.met === undefined ? '' : measured.met ? '  (bar met)' : '  (bar NOT met)'}`,
  ].join(' ');
}

async function main(): Promise<number> {
  const { values } = parseArgs({
    options: {
      json: { type: 'boolean', default: false },
      only: { type: 'string', multiple: true, default: [] },
      'up-to': { type: 'string' },
      against: { type: 'string' },
      list: { type: 'boolean', default: false },
      child: { type: 'string', multiple: true, default: [] },
    },
  });
  if (values.child.length === 3) {
    await child(values.child[0], values.child[1], Number(values.child[2]));
    return 0;
  }
  const limit = values['up-to'] === undefined ? Infinity : Number(values['up-to']);
  if (Number.isNaN(limit)) {
    console.error('--up-to takes a number of faces, such as 100000.');
    return 2;
  }
  let earlier: Report | undefined;
  if (values.against !== undefined) {
    try {
      earlier = JSON.parse(readFileSync(values.against, 'utf8')) as Report;
    } catch {
      console.error(`--against: ${values.against} cannot be read as the JSON of an earlier bench.`);
      return 2;
    }
  }
  const chosen = (name: string): boolean => values.only.length === 0 || values.only.some((part) => name.includes(part));
  const files = readdirSync(HERE)
    .filter((name) => name.endsWith('.bench.ts'))
    .toSorted();
  const results: Measured[] = [];
  const failures: { name: string; size: number; reason: string }[] = [];
  if (!values.list) {
    console.error(
      `${'task'.padEnd(28)} ${'size'.padStart(9)} ${'CPU'.padStart(10)} ${'first'.padStart(10)} ${'peak'.padStart(9)}`,
    );
  }
  for (const file of files) {
    for (const task of await tasksOf(file)) {
      if (!chosen(task.name)) continue;
      const sizes = task.sizes.filter((size) => size <= limit);
      if (values.list) {
        console.error(`${task.name}: ${sizes.join(', ')}`);
        continue;
      }
      for (const size of sizes) {
        const run = spawnSync(
          process.execPath,
          [fileURLToPath(import.meta.url), '--child', file, '--child', task.name, '--child', String(size)],
          { encoding: 'utf8', maxBuffer: 1 << 26 },
        );
        if (run.status !== 0) {
          const reason = run.stderr.trim().split('\n').slice(-6).join(' | ');
          failures.push({ name: task.name, size, reason });
          console.error(`${task.name.padEnd(28)} ${String(size).padStart(9)}  failed: ${reason}`);
          continue;
        }
        const measured = JSON.parse(run.stdout) as Measured;
        results.push(measured);
        console.error(
          row(
            measured,
            earlier?.results.find((one) => one.name === task.name && one.size === size),
          ),
        );
      }
    }
  }
  for (const line of verdictOf(results)) console.error(line);
  if (values.json) {
    const report: Report = {
      node: process.version,
      machine: {
        cpu: cpus()[0]?.model ?? 'unknown',
        cores: availableParallelism(),
        memoryGb: Math.round(totalmem() / 2 ** 30),
      },
      results,
      failures,
    };
    process.stdout.write(`${JSON.stringify(report, null, 1)}\n`);
  }
  return failures.length === 0 ? 0 : 1;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  process.exitCode = await main();
}
