import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';
import { LongestFirst } from './build/longest-first.ts';

/** Each worker may hold a gigabyte and a browser. */
const MOST_WORKERS = 4;

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts'],
    pool: 'forks',
    isolate: false,
    // Without a word the runner leaves one processor free: on two that is half of them.
    maxWorkers: Math.min(MOST_WORKERS, availableParallelism()),
    sequence: { sequencer: LongestFirst },
    testTimeout: 240_000,
    hookTimeout: 240_000,
  },
});
