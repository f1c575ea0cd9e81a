/** JSON files a person wrote by hand: read, with the place of the first mistake. */
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { readBytes } from '../../jobs/read-input.ts';

export function readJson(path: string): Outcome<unknown> {
  const bytes = readBytes(path);
  if (!bytes.ok) return bytes;
  const text = new TextDecoder().decode(bytes.value);
  try {
    return done(JSON.parse(text) as unknown);
  } catch {
    const trouble = troubleInJson(text);
    const before = text.slice(0, trouble.at).split('\n');
    const column = (before.at(-1)?.length ?? 0) + 1;
    return failed(fault('job.bad-json', { column, reason: trouble.reason }, { file: path, line: before.length }));
  }
}

const SPACE = /[ \t\n\r]*/y;
const PLAIN = /(?:true|false|null|-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?)(?![\w.+-])/y;
// eslint-disable-next-line no-control-regex -- control characters are what JSON forbids inside strings
const STRING = /"(?:[^"\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/y;

type Wanted =
  | 'a value'
  | 'a value or ]'
  | 'a name in quotes'
  | 'a name in quotes or }'
  | ':'
  | ', or the end'
  | 'nothing more';

/**
 * Where text stops being JSON, and what was wanted there. The language's own parser does not always say where.
 * By the grammar of RFC 8259, with a stack instead of recursion.
 */
export function troubleInJson(text: string): { readonly at: number; readonly reason: string } {
  const open: string[] = [];
  let at = 0;
  let wanted: Wanted = 'a value';
  const match = (pattern: RegExp): boolean => {
    pattern.lastIndex = at;
    if (!pattern.test(text)) return false;
    at = pattern.lastIndex;
    return true;
  };
  const afterValue = (): Wanted => (open.length === 0 ? 'nothing more' : ', or the end');
  for (;;) {
    match(SPACE);
    const letter = text[at];
    if (letter === undefined) {
      return {
        at,
        reason: wanted === 'nothing more' ? 'it is whole' : `it ends where ${spoken(wanted, open)} belongs`,
      };
    }
    const here = at;
    let good = false;
    switch (wanted) {
      case 'a value':
      case 'a value or ]':
        good = true;
        if (letter === '{' || letter === '[') {
          open.push(letter === '{' ? '}' : ']');
          wanted = letter === '{' ? 'a name in quotes or }' : 'a value or ]';
          at++;
        } else if (letter === ']' && wanted === 'a value or ]') {
          open.pop();
          wanted = afterValue();
          at++;
        } else if (match(PLAIN) || match(STRING)) wanted = afterValue();
        else good = false;
        break;
      case 'a name in quotes':
      case 'a name in quotes or }':
        good = true;
        if (letter === '}' && wanted === 'a name in quotes or }') {
          open.pop();
          wanted = afterValue();
          at++;
        } else if (match(STRING)) wanted = ':';
        else good = false;
        break;
      case ':':
        good = letter === ':';
        wanted = good ? 'a value' : wanted;
        at++;
        break;
      case ', or the end':
        good = letter === ',' || letter === open.at(-1);
        if (letter === ',') wanted = open.at(-1) === '}' ? 'a name in quotes' : 'a value';
        else if (good) {
          open.pop();
          wanted = afterValue();
        }
        at++;
        break;
      case 'nothing more':
        break;
    }
    if (!good) return { at: here, reason: `"${letter}" stands where ${spoken(wanted, open)} belongs` };
  }
}

const spoken = (wanted: Wanted, open: readonly string[]): string =>
  wanted === ', or the end' ? `a comma or ${open.at(-1) ?? 'the end'}` : wanted;
