/**
 * Small numbers decide what counts as equal, so each of them has a name and a reason: in geometry, a literal below
 * 1e-2 may stand only in the definition of an UPPER_CASE constant (the shared ones are in shared-types/tolerances.ts).
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { codeOf, sourceFiles } from './layer-check.ts';

const SMALL = 1e-2;
const LITERAL = /(?<![\w.$])(\d+\.?\d*(?:e[-+]?\d+)?|\.\d+(?:e[-+]?\d+)?)(?![\w.])/gi;
/** A definition may go over several lines, up to its semicolon. */
const DEFINITION = /(?:^|\n)\s*(?:export )?const [A-Z][A-Z0-9_]*\b[^;]*;/g;

/** Complaints about one file's text. */
export function checkLiterals(path: string, text: string): string[] {
  if (!path.startsWith('electron/geometry/')) return [];
  const rest = codeOf(text).replace(DEFINITION, '\n');
  return [...rest.matchAll(LITERAL)]
    .filter(([, number]) => Number(number) > 0 && Number(number) < SMALL)
    .map(([, number]) => `${path}: ${number} needs a name and a reason: const UPPER_CASE = ${number};`);
}

export function checkSmallLiterals(root: string): string[] {
  return sourceFiles(root).flatMap((path) => checkLiterals(path, readFileSync(join(root, path), 'utf8')));
}
