/**
 * The command line of an operation, made from its schema: which flags there are, what each takes, and the sentence
 * when something does not fit. Knows no particular operation.
 */
import { z } from 'zod';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { complaintOf, placeOf } from '../../../shared-types/operations/complaint.ts';
import type { Makes, OperationSpecification, ParameterMeta } from '../../../shared-types/operations/specification.ts';

/** What a flag's words become. */
type Kind = 'number' | 'switch' | 'word' | 'numbers' | 'lists' | 'json';

export interface Flag {
  readonly flag: string;
  /** Field of the parameters; undefined for the flags every verb has. */
  readonly field?: string;
  readonly kind: Kind;
  readonly placeholder: string;
  readonly help: string;
  readonly required: boolean;
  readonly choices?: readonly string[];
  /** "0.5 to 60 mm; 8 unless given". */
  readonly range: string;
}

export interface Parsed {
  readonly inputs: readonly string[];
  readonly out?: string;
  readonly json: boolean;
  readonly progress: boolean;
  readonly help: boolean;
  /** Raw parameters by field, for the operation's schema. */
  readonly parameters: Readonly<Record<string, unknown>>;
  /** Fields whose value is the contents of the named JSON file. */
  readonly jsonFiles: ReadonlyMap<string, string>;
  /** Values of the host's own flags, by flag. */
  readonly extra: ReadonlyMap<string, string>;
}

/** What a host adds to an operation's own words. */
export interface HostWords {
  /** Flags with one word after them. */
  readonly flags: readonly Flag[];
  /** Needed flags may be left out: the host may know their values itself, or asks with `neededFlag`. */
  readonly lenient: boolean;
}

interface JsonSchema {
  readonly type?: string;
  readonly enum?: readonly unknown[];
  readonly items?: JsonSchema;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly exclusiveMaximum?: number;
  readonly default?: unknown;
}

const kebab = (name: string): string => name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);

/** The flags of an operation, in the order of its schema. */
export function flagsOf(specification: OperationSpecification): readonly Flag[] {
  const whole = z.toJSONSchema(specification.parameters, { io: 'input', unrepresentable: 'any' });
  const properties = (whole.properties ?? {}) as Record<string, JsonSchema>;
  const required = new Set(whole.required ?? []);
  return Object.entries(specification.parameters.shape).map(([field, schema]) => {
    const meta = ((schema as z.ZodType).meta() ?? {}) as Partial<ParameterMeta>;
    const shape = properties[field] ?? {};
    const kind = kindOf(shape, meta);
    const choices = shape.enum?.map(String);
    return {
      flag: meta.flag ?? kebab(field),
      field,
      kind,
      placeholder: kind === 'switch' ? '' : (meta.placeholder ?? placeholderOf(kind, meta, choices)),
      help: meta.help ?? '',
      required: required.has(field),
      range: kind === 'json' ? '' : rangeOf(shape, meta),
      ...(choices === undefined ? {} : { choices }),
    };
  });
}

function kindOf(shape: JsonSchema, meta: Partial<ParameterMeta>): Kind {
  if (meta.jsonFile === true) return 'json';
  if (shape.type === 'array') return shape.items?.type === 'array' || meta.repeatable === true ? 'lists' : 'numbers';
  if (shape.type === 'boolean') return 'switch';
  return shape.type === 'number' || shape.type === 'integer' ? 'number' : 'word';
}

function placeholderOf(kind: Kind, meta: Partial<ParameterMeta>, choices: readonly string[] | undefined): string {
  if (kind === 'json') return 'FILE';
  if (choices !== undefined) return choices.join('|');
  if (kind === 'number') return meta.unit === 'mm' ? 'MM' : 'N';
  return kind === 'word' ? 'WORD' : 'x,y,...';
}

/** JSON Schema states the safe integers as bounds; to a person those are no bounds at all. */
const stated = (bound: number | undefined): number | undefined =>
  bound === undefined || Math.abs(bound) >= Number.MAX_SAFE_INTEGER ? undefined : bound;

function rangeOf(shape: JsonSchema, meta: Partial<ParameterMeta>): string {
  const unit = meta.unit === undefined ? '' : ` ${meta.unit}`;
  const [least, most] = [stated(shape.minimum), stated(shape.maximum)];
  const [above, below] = [stated(shape.exclusiveMinimum), stated(shape.exclusiveMaximum)];
  const words: string[] = [];
  if (least !== undefined && most !== undefined) words.push(`${least} to ${most}${unit}`);
  else {
    if (least !== undefined) words.push(`at least ${least}${unit}`);
    if (above !== undefined) words.push(`over ${above}${unit}`);
    if (most !== undefined) words.push(`at most ${most}${unit}`);
    if (below !== undefined) words.push(`under ${below}${unit}`);
  }
  if (shape.default !== undefined && shape.type !== 'boolean')
    words.push(`${JSON.stringify(shape.default).replaceAll('"', '')} unless given`);
  return words.join('; ');
}

/** The flags of every verb. */
export function commonFlags(makes: Makes, outOptional = false): readonly Flag[] {
  const common = (flag: string, kind: Kind, placeholder: string, help: string): Flag => ({
    flag,
    kind,
    placeholder,
    help,
    required: flag === 'out' && !outOptional,
    range: '',
  });
  const outs = {
    mesh: [common('out', 'word', 'FILE', 'Where the result goes: .stl, .obj, .ply, .glb or .3mf.')],
    folder: [common('out', 'word', 'FOLDER', 'Where the results go; made if it is not there.')],
    nothing: [],
  };
  return [
    ...outs[makes],
    common('json', 'switch', '', 'Print the figures as one JSON object.'),
    common('progress', 'switch', '', 'Tell the progress on standard error even when it is not a terminal.'),
    common('help', 'switch', '', 'Show this.'),
  ];
}

const SHORT: Readonly<Record<string, string>> = { '-o': 'out', '-h': 'help' };

const usage = <T>(verb: string, reason: string): Outcome<T> =>
  failed(fault('job.usage', { reason: `${verb}: ${reason}` }));

/** Read the words after the verb. Numbers are read here; ranges are left to the schema. */
export function parseArguments(
  specification: OperationSpecification,
  words: readonly string[],
  host: HostWords = { flags: [], lenient: false },
): Outcome<Parsed> {
  const { verb } = specification;
  const flags = [
    ...flagsOf(specification),
    ...commonFlags(specification.makes, specification.outOptional),
    ...host.flags,
  ];
  const extra = new Map<string, string>();
  const inputs: string[] = [];
  const parameters: Record<string, unknown> = {};
  const jsonFiles = new Map<string, string>();
  const common: { out?: string; json: boolean; progress: boolean; help: boolean } = {
    json: false,
    progress: false,
    help: false,
  };
  const seen = new Set<string>();
  for (let at = 0; at < words.length; at++) {
    const word = words[at];
    if (word === '--') {
      inputs.push(...words.slice(at + 1));
      break;
    }
    const short = SHORT[word];
    if (short === undefined && !word.startsWith('--')) {
      if (word.startsWith('-') && word.length > 1)
        return usage(verb, `there is no ${word}; flags begin with two dashes.`);
      inputs.push(word);
      continue;
    }
    const [name, attached] = short === undefined ? split(word.slice(2)) : [short, undefined];
    const flag = flags.find((one) => one.flag === name);
    if (flag === undefined) {
      const near = nearest(
        name,
        flags.map((one) => one.flag),
      );
      return usage(verb, `there is no --${name}${near === undefined ? '' : `; did you mean --${near}?`}`);
    }
    if (seen.has(name) && flag.kind !== 'lists') return usage(verb, `--${name} is given twice.`);
    seen.add(name);
    if (flag.kind === 'switch') {
      if (attached !== undefined) return usage(verb, `--${name} takes no value.`);
      if (flag.field !== undefined) parameters[flag.field] = true;
      else if (name === 'json' || name === 'progress' || name === 'help') common[name] = true;
      continue;
    }
    const value = attached ?? words[++at];
    // A value may begin with a minus sign, but not with two: that is the next flag.
    if (value === undefined || value === '' || (attached === undefined && /^--[a-z]/.test(value))) {
      return usage(verb, `--${name} needs ${flag.placeholder} after it.`);
    }
    if (flag.field === undefined) {
      if (flag.flag === 'out') common.out = value;
      else extra.set(flag.flag, value);
      continue;
    }
    const read = readValue(flag, value);
    if (read === undefined) return usage(verb, `--${name} takes ${expectation(flag)}; "${value}" is not that.`);
    if (flag.kind === 'json') jsonFiles.set(flag.field, value);
    else if (flag.kind === 'lists') parameters[flag.field] = [...((parameters[flag.field] as unknown[]) ?? []), read];
    else parameters[flag.field] = read;
  }
  if (!common.help) {
    const trouble = missing(specification, host.lenient ? [] : flags, seen, inputs);
    if (trouble !== undefined) return usage(verb, trouble);
  }
  return done({ inputs, parameters, jsonFiles, extra, ...common });
}

function split(word: string): [string, string | undefined] {
  const at = word.indexOf('=');
  return at < 0 ? [word, undefined] : [word.slice(0, at), word.slice(at + 1)];
}

function expectation(flag: Flag): string {
  if (flag.kind === 'number') return 'a number';
  return flag.choices === undefined ? `numbers with commas between (${flag.placeholder})` : flag.choices.join(' or ');
}

function numberOf(text: string): number | undefined {
  const value = text.trim() === '' ? NaN : Number(text);
  return Number.isFinite(value) ? value : undefined;
}

function readValue(flag: Flag, text: string): unknown {
  if (flag.kind === 'number') return numberOf(text);
  if (flag.kind === 'numbers' || flag.kind === 'lists') {
    const numbers = text.split(',').map(numberOf);
    return numbers.includes(undefined) ? undefined : numbers;
  }
  return flag.choices === undefined || flag.choices.includes(text) ? text : undefined;
}

function missing(
  { inputs: wanted }: OperationSpecification,
  flags: readonly Flag[],
  seen: ReadonlySet<string>,
  inputs: readonly string[],
): string | undefined {
  if (inputs.length < wanted.length) {
    return `give ${wanted.length === 1 ? 'a mesh file' : `${wanted.length} mesh files`} (${wanted.join(' ')}).`;
  }
  if (inputs.length > wanted.length) {
    const extra = inputs[wanted.length] ?? '';
    return `"${extra}" is one file too many; it takes ${wanted.join(' ')}, and results go after -o.`;
  }
  const flag = flags.find((one) => one.required && !seen.has(one.flag));
  return flag === undefined ? undefined : asksFor(flag);
}

/** The first needed flag of an operation that `has` does not know, as a complaint. */
export function neededFlag(specification: OperationSpecification, has: (field: string) => boolean): Outcome<void> {
  const flag = flagsOf(specification).find((one) => one.required && one.field !== undefined && !has(one.field));
  return flag === undefined ? done(undefined) : usage(specification.verb, asksFor(flag));
}

function asksFor(flag: Flag): string {
  const name = flag.flag === 'out' ? '-o' : `--${flag.flag}`;
  // A word in capitals, such as JSON, stays one.
  const help = flag.help.replace(/^[A-Z](?![A-Z])/, (letter) => letter.toLowerCase());
  return `it needs ${name} ${flag.placeholder}: ${help}`;
}

/** Check raw parameters by the schema; the first complaint, worded for the command line. */
export function troubleWithParameters(
  specification: OperationSpecification,
  raw: Readonly<Record<string, unknown>>,
  jsonFiles: ReadonlyMap<string, string>,
): Outcome<void> {
  const { error } = specification.parameters.safeParse(raw);
  if (error === undefined) return done(undefined);
  const { path, code, sentence } = complaintOf(error);
  const [field, ...inner] = path;
  const flag = flagsOf(specification).find((one) => one.field === field);
  const name = flag === undefined ? String(field ?? '') : `--${flag.flag}`;
  const file = jsonFiles.get(String(field));
  if (file !== undefined) {
    const at = inner.length === 0 ? '' : `, at ${placeOf(inner)}`;
    return usage(specification.verb, `${name} ${file}${at}: ${sentence}`);
  }
  if (flag !== undefined && flag.range !== '' && inner.length === 0 && (code === 'too_small' || code === 'too_big')) {
    return usage(
      specification.verb,
      `${name} takes ${flag.range.split(';')[0]}; ${String(raw[String(field)])} is not.`,
    );
  }
  return usage(specification.verb, `${name}: ${sentence}`);
}

/** The candidate closest in spelling, if it is close enough to have been meant. */
export function nearest(word: string, candidates: readonly string[]): string | undefined {
  let best: string | undefined;
  let least = Math.max(2, Math.floor(word.length / 3)) + 1;
  for (const candidate of candidates) {
    const distance =
      word.length >= 3 && candidate.startsWith(word) ? 1 : editDistance(word.toLowerCase(), candidate.toLowerCase());
    if (distance < least) [best, least] = [candidate, distance];
  }
  return best;
}

/** Least number of letters put in, left out or changed: the usual table, one row at a time. */
function editDistance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1)));
    }
    row = next;
  }
  return row[b.length];
}
