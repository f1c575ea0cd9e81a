/** Words in a JSON file that nothing reads: the misspelt are refused with the word that was meant, others are told. */
import { describe, expect, it } from 'vitest';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { findOperation } from '../../electron/operations/index.ts';
import { troubleWithWords, unreadWords } from '../../electron/hosts/cli/unread-words.ts';
import { recipeSchema } from '../../shared-types/recipe.ts';

const span = { name: 'bitragion breadth', from: [0, 70, 0], to: [0, -70, 0], measured: 142.5, u: 0.5 };

function said(verb: string, field: string, value: unknown): string {
  const operation = findOperation(verb);
  if (operation === undefined) throw new Error(verb);
  const outcome = troubleWithWords(operation.specification, field, 'file.json', value);
  return outcome.ok ? outcome.warnings.map(({ sentence }) => sentence).join(' ') : faultSentence(outcome.fault);
}

describe('a recipe', () => {
  it('as the design writes it has no word that is not read', () => {
    const recipe = {
      trim: [[0, 0, -80, 0, 0, 1]],
      landmarks: { 'tragion-left': [0, 70, 0], anything: [1, 2, 3] },
      spans: [{ ...span, hold: true }],
      girths: [{ name: 'girth', through: [span.from, span.to, span.from], measured: 574, u: 2, hairMm: 1 }],
      levels: [{ name: 'wrist', at: 'stylion', aboveMm: 5, measured: 170 }],
      faces: 9500,
    };
    expect(unreadWords(recipeSchema, recipe)).toEqual([]);
  });

  it.each([
    [{ landmark: {} }, '"landmark"', '"landmarks"'],
    [{ Faces: 5000 }, '"Faces"', '"faces"'],
    [{ spans: [span, { ...span, measurd: 3 }] }, '"measurd"', ''],
    [{ spans: [{ name: 'a', from: span.from, to: span.to, mesured: 142 }] }, '"mesured"', '"measured"'],
    [{ girths: [{ ...span, hairMn: 3 }] }, '"hairMn"', '"hairMm"'],
    [{ levels: [{ name: 'wrist', at: 'stylion', aboveMn: 5, measured: 170 }] }, '"aboveMn"', '"aboveMm"'],
  ])('%j names the word, and the one that was meant', (recipe, word, meant) => {
    const sentence = said('form', 'recipe', recipe);
    expect(sentence).toContain(word);
    expect(sentence).toContain(meant);
    expect(sentence).toContain('file.json');
  });

  it('with a remark of its own is read, and the remark told', () => {
    expect(said('form', 'recipe', { spans: [], remark: 'second visit' })).toBe(
      'file.json: nothing reads "remark"; it changes nothing.',
    );
  });
});

it.each([
  ['true', 'spans', { girts: [] }, '"girths"'],
  ['true', 'spans', [{ ...span, hodl: true }], '"hold"'],
  ['measure', 'spans', { spans: [{ name: 'a', form: span.from, to: span.to }] }, '"from"'],
  ['line', 'opening', { curves: [{ points: [], awai: [0, 0, 0] }] }, '"away"'],
  ['pad', 'stock', { stock: [{ nominalM: 5 }] }, '"nominalMm"'],
])('%s --%s: %j names %s', (verb, field, value, meant) => {
  expect(said(verb, field, value)).toContain(`did you mean ${meant}?`);
});

it('what fit printed may be given for a place whole', () => {
  expect(said('fit', 'place', { placement: Array(16).fill(0), leastEaseMm: 3, scale: 1 })).toBe('');
});
