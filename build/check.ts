/**
 * Everything that can be known without running the program: types, lint, layers, file sizes, formatting.
 * Runs all, prints what failed, exits 1 if anything did.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { checkFileBudget } from './file-budget.ts';
import { checkLayers } from './layer-check.ts';
import { checkSmallLiterals } from './literal-check.ts';

const root = join(import.meta.dirname, '..');
let failures = 0;

function tool(name: string, words: readonly string[]): void {
  const done = spawnSync(process.execPath, words, { cwd: root, encoding: 'utf8', maxBuffer: 1 << 26 });
  if (done.status === 0) {
    console.log(`${name}: good`);
    return;
  }
  failures++;
  console.log(`${name}: failed\n${done.stdout}${done.stderr}`);
}

function report(name: string, complaints: readonly string[]): void {
  if (complaints.length === 0) {
    console.log(`${name}: good`);
    return;
  }
  failures++;
  console.log(`${name}: failed\n${complaints.join('\n')}`);
}

const tsc = 'node_modules/typescript/bin/tsc';
tool('types', [tsc, '--noEmit']);
tool('types of electron/geometry (language library only)', [tsc, '--noEmit', '-p', 'electron/geometry/tsconfig.json']);
tool('types of renderer (browser)', [tsc, '--noEmit', '-p', 'renderer/tsconfig.json']);
tool('lint', [
  'node_modules/oxlint/bin/oxlint',
  '--type-aware',
  '--deny-warnings',
  'shared-types',
  'electron',
  'renderer',
  'test',
  'build',
]);
report('layers', checkLayers(root));
report('small numbers in geometry', checkSmallLiterals(root));
const { complaints, warnings } = checkFileBudget(root);
for (const warning of warnings) console.log(`note: ${warning}`);
report('file sizes', complaints);
tool('formatting', ['node_modules/prettier/bin/prettier.cjs', '--check', '--log-level', 'warn', '.']);
process.exit(failures > 0 ? 1 : 0);
