/**
 * Everything that can be known without running the program: types, lint, layers, small numbers, file sizes, formatting.
 * All are run; what failed is printed.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { checkFileBudget } from './file-budget.ts';
import { checkKernel } from './kernel.ts';
import { checkLayers } from './layer-check.ts';
import { checkSmallLiterals } from './literal-check.ts';

const root = join(import.meta.dirname, '..');
const TSC = 'node_modules/typescript/bin/tsc';
const CODE = ['shared-types', 'electron', 'renderer', 'test', 'build'];

/** Runs every check; answers with how many passed and failed. */
export async function runChecks(): Promise<{ readonly passed: number; readonly failed: number }> {
  let passed = 0;
  let failed = 0;
  const count = (name: string, trouble: string | undefined): void => {
    if (trouble === undefined) passed++;
    else failed++;
    console.log(trouble === undefined ? `${name}: good` : `${name}: failed\n${trouble}`);
  };
  const tool = (name: string, words: readonly string[]): void => {
    const done = spawnSync(process.execPath, words, { cwd: root, encoding: 'utf8', maxBuffer: 1 << 26 });
    count(name, done.status === 0 ? undefined : `${done.stdout}${done.stderr}`);
  };
  const list = (name: string, complaints: readonly string[]): void =>
    count(name, complaints.length === 0 ? undefined : complaints.join('\n'));
  tool('types', [TSC, '--noEmit']);
  tool('types of electron/geometry (language library only)', [
    TSC,
    '--noEmit',
    '-p',
    'electron/geometry/tsconfig.json',
  ]);
  tool('types of renderer (browser)', [TSC, '--noEmit', '-p', 'renderer/tsconfig.json']);
  tool('lint', ['node_modules/oxlint/bin/oxlint', '--type-aware', '--deny-warnings', ...CODE]);
  count('geometry kernel', await checkKernel());
  list('layers', checkLayers(root));
  list('small numbers in geometry', checkSmallLiterals(root));
  const { complaints, warnings } = checkFileBudget(root);
  for (const warning of warnings) console.log(`note: ${warning}`);
  list('file sizes', complaints);
  tool('formatting', ['node_modules/prettier/bin/prettier.cjs', '--check', '--log-level', 'warn', '.']);
  return { passed, failed };
}

if (import.meta.main) process.exitCode = (await runChecks()).failed > 0 ? 1 : 0;
