/** Words in a person's JSON file that nothing reads: a misspelt one would silently be left out. */
import type { z } from 'zod';
import { fault } from '../../../shared-types/faults/index.ts';
import { placeOf } from '../../../shared-types/operations/complaint.ts';
import type { OperationSpecification } from '../../../shared-types/operations/specification.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { nearest } from './arguments.ts';

/** Files that are what another verb printed with --json: most of their words are for people. */
const PRINTED: ReadonlySet<string> = new Set(['place', 'placement', 'way']);
/** So many words that are not read are named. */
const MOST_NAMED = 3;

/**
 * Refuse a JSON file given for a parameter where a word in it looks like a misspelt one; others that are not read are told.
 * What the file must hold is checked elsewhere.
 */
export function troubleWithWords(
  { verb, parameters }: OperationSpecification,
  field: string,
  file: string,
  value: unknown,
): Outcome<void> {
  const schema = parameters.shape[field] as z.ZodType | undefined;
  const unread = schema === undefined ? [] : unreadWords(schema, value);
  const at = (path: readonly (string | number)[]): string =>
    path.length === 0 ? file : `${file}, at ${placeOf(path)}`;
  const misspelt = unread.find(({ meant }) => meant !== undefined);
  if (misspelt !== undefined) {
    const reason = `${at(misspelt.path)}: nothing reads "${misspelt.word}"; did you mean "${misspelt.meant}"?`;
    return failed(fault('job.usage', { reason: `${verb}: ${reason}` }));
  }
  if (unread.length === 0 || PRINTED.has(field)) return done(undefined);
  const words = [...new Set(unread.map(({ word }) => word))];
  const named = words.slice(0, MOST_NAMED).map((word) => `"${word}"`);
  const more = words.length > MOST_NAMED ? ` and ${words.length - MOST_NAMED} more` : '';
  const sentence = `${at(unread[0].path)}: nothing reads ${named.join(', ')}${more}; it changes nothing.`;
  return done(undefined, [{ code: 'job.unread', sentence }]);
}

export interface UnreadWord {
  readonly path: readonly (string | number)[];
  readonly word: string;
  /** The word that is read there, is not given, and was probably meant. */
  readonly meant: string | undefined;
}

/** What of a schema's definition is looked at here, whatever its kind. */
interface Definition {
  readonly type: string;
  readonly shape?: Readonly<Record<string, z.ZodType>>;
  readonly options?: readonly z.ZodType[];
  readonly items?: readonly z.ZodType[];
  readonly element?: z.ZodType;
  readonly innerType?: z.ZodType;
  readonly in?: z.ZodType;
  readonly valueType?: z.ZodType;
}

/** Shorter words are too like others. */
const LEAST_LETTERS = 4;

/**
 * The words of objects in `value` that no way of reading it by the schema knows, outermost first. Names that a person
 * gives (of landmarks, say) are all read.
 */
export function unreadWords(schema: z.ZodType, value: unknown): UnreadWord[] {
  return unread([schema], value, []);
}

function unread(schemas: readonly z.ZodType[], value: unknown, path: readonly (string | number)[]): UnreadWord[] {
  const ways = schemas.flatMap(plain);
  if (Array.isArray(value)) {
    const parts = ways.flatMap(({ type, element, items }) =>
      type === 'array' && element !== undefined
        ? [() => element]
        : items === undefined
          ? []
          : [(i: number) => items[i]],
    );
    return value.flatMap((item: unknown, i) => {
      const of = parts.flatMap((part) => part(i) ?? []);
      return of.length === 0 ? [] : unread(of, item, [...path, i]);
    });
  }
  if (typeof value !== 'object' || value === null) return [];
  const given = value as Record<string, unknown>;
  const shapes = ways.flatMap(({ shape }) => (shape === undefined ? [] : [shape]));
  const values = ways.flatMap(({ type, valueType }) =>
    type === 'record' && valueType !== undefined ? [valueType] : [],
  );
  if (shapes.length === 0 && values.length === 0) return [];
  const known = [...new Set(shapes.flatMap((shape) => Object.keys(shape)))];
  return Object.entries(given).flatMap(([word, inner]) => {
    const of = [...shapes.flatMap((shape) => (Object.hasOwn(shape, word) ? [shape[word]] : [])), ...values];
    if (of.length > 0) return unread(of, inner, [...path, word]);
    const missing = known.filter((name) => !Object.hasOwn(given, name));
    const meant =
      missing.find((name) => name.toLowerCase() === word.toLowerCase()) ??
      (word.length < LEAST_LETTERS ? undefined : nearest(word, missing));
    return [{ path, word, meant }];
  });
}

/** The ways a schema reads, without what only wraps them. */
function plain(schema: z.ZodType): Definition[] {
  const definition = schema.def as unknown as Definition;
  if (definition.options !== undefined) return definition.options.flatMap(plain);
  const inner = definition.innerType ?? definition.in;
  return inner === undefined ? [definition] : plain(inner);
}
