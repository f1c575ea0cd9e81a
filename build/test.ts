/**
 * Runs the checks and the tests, all of both whatever fails, and closes with the plain line that runs are judged by:
 * `N passed, N failed[, N skipped]`, counted from the run itself, each check as one. Extra words are passed to the test
 * runner (a file name, say).
 */
import { runChecks } from './check.ts';
import { close, runTests } from './run-tests.ts';
import { readyScreens } from './screens.ts';

const checks = await runChecks();
// Once, before two files want them at the same time. What cannot be built is told by the tests that need it.
await readyScreens().catch(() => false);
const tests = await runTests(process.argv.slice(2));
close({ passed: checks.passed + tests.passed, failed: checks.failed + tests.failed, skipped: tests.skipped });
