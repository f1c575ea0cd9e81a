/**
 * The random tests at full size: more sets, bodies and faces than continuous integration has time for. Runs the test
 * files that read one of these variables; what is set already stays as it is.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { close, runTests } from './run-tests.ts';

const FULL: Readonly<Record<string, string>> = {
  BLOCK_SETS: '50',
  BLOCK_HEADS: '40',
  FUZZ_COUNT: '20000',
  LIGHTEN_FACES: '120000',
  MEND_BODIES: '60',
};
const LONGEST_MS = 3_600_000;

for (const [name, value] of Object.entries(FULL)) process.env[name] ??= value;
const folder = join(import.meta.dirname, '..', 'test');
const files = readdirSync(folder, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.test.ts'))
  .map((name) => join(folder, name))
  .filter((path) => {
    const text = readFileSync(path, 'utf8');
    return Object.keys(FULL).some((name) => text.includes(`process.env['${name}']`));
  });
close(await runTests(files, { testTimeout: LONGEST_MS }));
