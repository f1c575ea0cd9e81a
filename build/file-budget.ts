/** Files people can read in one sitting: warn at 300 lines, fail at 500; dense numerical kernels may reach 700. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { sourceFiles } from './layer-check.ts';

const WARN = 300;
const FAIL = 500;
const FAIL_GEOMETRY = 700;

/** Longer than its budget, and why that is right. */
export const ALLOWED: Readonly<Record<string, string>> = {};

export function checkFileBudget(root: string): { complaints: string[]; warnings: string[] } {
  const complaints: string[] = [];
  const warnings: string[] = [];
  for (const path of sourceFiles(root)) {
    const lines = readFileSync(join(root, path), 'utf8').split('\n').length - 1;
    const limit = path.includes('geometry/') ? FAIL_GEOMETRY : FAIL;
    if (lines > limit && ALLOWED[path] === undefined)
      complaints.push(`${path}: ${lines} lines, the budget is ${limit}`);
    else if (lines > WARN && !path.startsWith('test/')) warnings.push(`${path} has ${lines} lines`);
  }
  return { complaints, warnings };
}
