/**
 * Runs the checks and the tests, all of both whatever fails, and closes with the plain line that runs are judged by:
 * `N passed, N failed[, N skipped]`, counted from the run itself, each check as one. Extra words are passed to the test
 * runner (a file name, say).
 */
import { startVitest } from 'vitest/node';
import { runChecks } from './check.ts';

const count = { ...runChecks(), skipped: 0 };
const vitest = await startVitest('test', process.argv.slice(2), { watch: false, reporters: ['default'] });
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
console.log(`${count.passed} passed, ${count.failed} failed${count.skipped > 0 ? `, ${count.skipped} skipped` : ''}`);
process.exit(count.failed > 0 ? 1 : 0);
