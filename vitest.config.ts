import { defineConfig } from 'vitest/config';
import { LongestFirst } from './build/longest-first.ts';

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts'],
    pool: 'forks',
    isolate: false,
    // Without a word the runner leaves one processor free: on two that is half of them.
    maxWorkers: '100%',
    sequence: { sequencer: LongestFirst },
    testTimeout: 240_000,
  },
});
