/** Words on the command line to a verb's inputs and parameters, by the verb's own schema. */
import { z } from 'zod';
import type { OperationSpecification, ParameterMeta } from '../../../shared-types/operations/specification.ts';

export interface Flag {
  readonly field: string;
  readonly flag: string;
  readonly kind: 'number' | 'text' | 'switch' | 'json' | 'numbers';
  readonly repeatable: boolean;
  readonly meta: ParameterMeta;
  readonly required: boolean;
  readonly defaultText: string;
  readonly rangeText: string;
}

export interface Parsed {
  readonly inputs: string[];
  readonly output?: string;
  readonly json: boolean;
  readonly progress: boolean;
  readonly help: boolean;
  /** Values still to be validated by the schema; JSON files are named here and read later. */
  readonly values: Record<string, unknown>;
  readonly jsonFiles: Record<string, string>;
}

export class UsageError extends Error {}

const kebab = (name: string): string => name.replace(/[A-Z]/g, (c) => `-${c.toLowerCase()}`);

interface SchemaInner {
  readonly type: string;
  readonly minimum?: number;
  readonly maximum?: number;
}

/** The flags of an operation, read from its zod schema. */
export function flagsOf(specification: OperationSpecification): Flag[] {
  return Object.entries(specification.parameters.shape).map(([field, schema]) => {
    const type = schema as z.ZodType;
    const meta = (type.meta() ?? { help: '' }) as unknown as ParameterMeta;
    const json = (meta.jsonFile === true
      ? { type: 'object' }
      : z.toJSONSchema(type, { io: 'input', unrepresentable: 'any' })) as unknown as SchemaInner & {
      default?: unknown;
    };
    const required = !type.safeParse(undefined).success;
    const kind =
      meta.jsonFile === true
        ? 'json'
        : json.type === 'boolean'
          ? 'switch'
          : json.type === 'array'
            ? 'numbers'
            : json.type === 'number' || json.type === 'integer'
              ? 'number'
              : 'text';
    const range =
      kind === 'number' &&
      json.minimum !== undefined &&
      json.maximum !== undefined &&
      json.maximum < Number.MAX_SAFE_INTEGER
        ? `${json.minimum} to ${json.maximum}${meta.unit === undefined ? '' : ` ${meta.unit}`}`
        : '';
    return {
      field,
      flag: `--${meta.flag ?? kebab(field)}`,
      kind,
      repeatable: meta.repeatable === true,
      meta,
      required,
      defaultText: json.default === undefined || json.default === false ? '' : String(json.default),
      rangeText: range,
    };
  });
}

/** Fewest single-letter changes between two words (Levenshtein). */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++)
      next[j] = Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
    row = next;
  }
  return row[b.length];
}

/** The known word nearest to a mistyped one, when it is near enough to be meant. */
export function nearestWord(word: string, known: readonly string[]): string | undefined {
  const best = known.map((one) => ({ one, d: distance(word, one) })).sort((a, b) => a.d - b.d)[0];
  return best !== undefined && best.d <= Math.max(2, Math.floor(word.length / 3)) ? best.one : undefined;
}

function numberOf(text: string, flag: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new UsageError(`${flag}: "${text}" is not a number.`);
  return value;
}

/** Sort the words after the verb. Throws `UsageError` with one sentence. */
export function parseWords(specification: OperationSpecification, words: readonly string[]): Parsed {
  const flags = flagsOf(specification);
  const inputs: string[] = [];
  const values: Record<string, unknown> = {};
  const jsonFiles: Record<string, string> = {};
  let output: string | undefined;
  let json = false;
  let progress = false;
  let help = false;
  for (let i = 0; i < words.length; i++) {
    let word = words[i];
    let attached: string | undefined;
    if (word.startsWith('--') && word.includes('=')) {
      attached = word.slice(word.indexOf('=') + 1);
      word = word.slice(0, word.indexOf('='));
    }
    const next = (): string => {
      const value = attached ?? words[++i];
      if (value === undefined) throw new UsageError(`${word} needs a value after it.`);
      return value;
    };
    if (word === '--help' || word === '-h') help = true;
    else if (word === '--json') json = true;
    else if (word === '--progress') progress = true;
    else if (word === '-o' || word === '--output') output = next();
    else if (word.startsWith('-') && word !== '-') {
      const flag = flags.find((one) => one.flag === word);
      if (flag === undefined) {
        const near = nearestWord(word, [...flags.map((one) => one.flag), '--json', '--help', '--output', '--progress']);
        throw new UsageError(
          `${specification.verb} has no option ${word}${near === undefined ? '' : `; did you mean ${near}?`}`,
        );
      }
      if (flag.kind === 'switch') values[flag.field] = attached === undefined ? true : attached === 'true';
      else if (flag.kind === 'json') jsonFiles[flag.field] = next();
      else if (flag.kind === 'number') values[flag.field] = numberOf(next(), word);
      else if (flag.kind === 'numbers') {
        const numbers = next()
          .split(',')
          .map((text) => numberOf(text, word));
        if (flag.repeatable) values[flag.field] = [...((values[flag.field] as number[][] | undefined) ?? []), numbers];
        else values[flag.field] = numbers;
      } else values[flag.field] = next();
    } else inputs.push(word);
  }
  const parsed = { inputs, json, progress, help, values, jsonFiles };
  return output === undefined ? parsed : { ...parsed, output };
}

/** What the schema refuses, in one sentence that names the flag. */
export function explainIssue(
  specification: OperationSpecification,
  error: z.ZodError,
  files: Record<string, string>,
): string {
  const issue = error.issues[0];
  const field = String(issue?.path[0] ?? '');
  const flag = flagsOf(specification).find((one) => one.field === field);
  const deep = innermost(issue as unknown as Issue);
  const path = deep.path
    .slice(field === '' ? 0 : 1)
    .map(String)
    .join('.');
  const file = files[field];
  const where = file !== undefined ? `${file}${path === '' ? '' : `, ${path}`}` : (flag?.flag ?? field);
  if (
    flag?.required === true &&
    issue?.code === 'invalid_type' &&
    issue.path.length === 1 &&
    file === undefined &&
    /undefined/.test(issue.message)
  ) {
    return `${specification.verb} needs ${flag.flag}: ${flag.meta.help}`;
  }
  return `${where}: ${deep.message}.`;
}

interface Issue {
  readonly message: string;
  readonly path: readonly PropertyKey[];
  readonly errors?: readonly (readonly Issue[])[];
}

/** Of a union's failures, the one that got furthest. */
function innermost(issue: Issue): Issue {
  const options = (issue.errors ?? []).flatMap((list) => list.slice(0, 1)).map(innermost);
  const best = options.sort((a, b) => b.path.length - a.path.length)[0];
  return best === undefined ? issue : { ...best, path: [...issue.path, ...best.path] };
}

/** Help of one verb. */
export function helpOf(specification: OperationSpecification): string {
  const flags = flagsOf(specification);
  const usage = [
    `wearwright ${specification.verb}`,
    ...specification.inputs,
    ...(specification.makesMesh ? ['-o OUT'] : []),
    ...flags
      .filter((flag) => flag.required)
      .map((flag) => `${flag.flag} ${flag.meta.placeholder ?? flag.meta.unit ?? 'VALUE'}`),
  ].join(' ');
  const rows = flags.map((flag) => {
    const value =
      flag.kind === 'switch' ? '' : ` ${flag.meta.placeholder ?? (flag.meta.unit ?? 'VALUE').toUpperCase()}`;
    const notes = [
      flag.rangeText,
      flag.defaultText === '' ? '' : `default ${flag.defaultText}`,
      flag.required ? 'needed' : '',
    ].filter((note) => note !== '');
    return `  ${flag.flag}${value}\n      ${flag.meta.help}${notes.length === 0 ? '' : ` (${notes.join('; ')})`}`;
  });
  const common = [
    ...(specification.makesMesh ? ['  -o OUT\n      File to write: .stl, .obj, .ply, .glb or .3mf (needed)'] : []),
    '  --json\n      Print the figures as one JSON object on standard output',
    '  --progress\n      Show progress on standard error even when that is not a terminal',
  ];
  return [specification.summary, '', `usage: ${usage}`, '', ...rows, ...common, ''].join('\n');
}
