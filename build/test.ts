/**
 * Runs the tests and closes with the plain line that runs are judged by: `N passed, N failed[, N skipped]`, counted
 * from the run itself. Extra words are passed to the runner (a file name, say).
 */
import { startVitest } from 'vitest/node';

const vitest = await startVitest('test', process.argv.slice(2), { watch: false, reporters: ['default'] });
const count = { passed: 0, failed: 0, skipped: 0 };
for (const module of vitest.state.getTestModules()) {
  for (const test of module.children.allTests()) {
    const { state } = test.result();
    if (state === 'passed') count.passed++;
    else if (state === 'skipped') count.skipped++;
    else count.failed++;
  }
  // A file that could not even be loaded holds no tests, and must not pass for want of them.
  if (module.errors().length > 0) count.failed++;
}
count.failed += vitest.state.getUnhandledErrors().length;
await vitest.close();
console.log(`${count.passed} passed, ${count.failed} failed${count.skipped > 0 ? `, ${count.skipped} skipped` : ''}`);
process.exit(count.failed > 0 || count.passed === 0 ? 1 : 0);
