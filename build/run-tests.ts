/** Runs tests and counts them, for the tasks that end with a plain line. */
import { startVitest } from 'vitest/node';

export interface Count {
  readonly passed: number;
  readonly failed: number;
  readonly skipped: number;
}

/** `words` are passed to the test runner (a file name, say). */
export async function runTests(words: readonly string[], options: { testTimeout?: number } = {}): Promise<Count> {
  const vitest = await startVitest('test', [...words], { watch: false, reporters: ['default'], ...options });
  const count = { passed: 0, failed: 0, skipped: 0 };
  let tests = 0;
  for (const module of vitest.state.getTestModules()) {
    for (const test of module.children.allTests()) {
      const { state } = test.result();
      if (state === 'passed') count.passed++;
      else if (state === 'skipped') count.skipped++;
      else count.failed++;
      tests++;
    }
    // A file that could not even be loaded holds no tests, and must not pass for want of them.
    if (module.errors().length > 0) count.failed++;
  }
  count.failed += vitest.state.getUnhandledErrors().length;
  // Neither must a run in which nothing was found to test.
  if (tests === 0) count.failed++;
  await vitest.close();
  return count;
}

/** The line that runs are judged by, the last that is written; ends the process. */
export function close({ passed, failed, skipped }: Count): never {
  console.log(`${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`);
  process.exit(failed > 0 ? 1 : 0);
}
