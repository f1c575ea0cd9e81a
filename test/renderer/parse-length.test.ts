/**
 * Lengths as people write them. The inch is 25.4 mm exactly and the foot 304.8 mm (international yard and pound
 * agreement of 1959); the sums are worked by hand.
 */
import { describe, expect, test } from 'vitest';
import { lengthNumber, lengthText, parseLength } from '../../renderer/controls/parse-length.ts';

const mm = (text: string, unit: 'mm' | 'in' = 'mm'): number => {
  const read = parseLength(text, unit);
  if (!read.ok) throw new Error(`${text}: ${read.sentence}`);
  return read.mm;
};

describe('a length is read as it is meant', () => {
  test.each([
    ['181', 181],
    ['172+3', 175],
    ['172 + 3 - 0.5', 174.5],
    ['172.5', 172.5],
    ['172,5', 172.5],
    [',5', 0.5],
    ['18 cm', 180],
    ['18cm', 180],
    ['0.181 m', 181],
    ['7 1/8 in', 7.125 * 25.4],
    ['7 1/8"', 7.125 * 25.4],
    ['7⅛″', 7.125 * 25.4],
    ['7 - 1/8 in', (7 - 1 / 8) * 25.4],
    ['1 1/2 + 1/4', 1.75],
    ['3/4', 0.75],
    ['1/8 in', 3.175],
    ['1\' 2"', 304.8 + 50.8],
    ['1 ft 2 1/2 in', 304.8 + 63.5],
    ['7 1/8 + 1/4 in', 7.375 * 25.4],
    ['7 in + 3 mm', 180.8],
    ['(300 - 24) / 2', 138],
    ['2 x 8 mm', 16],
    ['2 × 8', 16],
    ['3 * (2 cm + 5 mm)', 75],
    ['580/3.2', 181.25],
    ['17 cm 5 mm', 175],
    ['182 MM', 182],
    ['–3 + 180', 177],
  ])('%s is %d mm', (text, wanted) => {
    expect(mm(text)).toBeCloseTo(wanted, 9);
  });

  test('a bare number is in the unit of the field', () => {
    expect(mm('7 1/8', 'in')).toBeCloseTo(180.975, 9);
    expect(mm('181 mm', 'in')).toBe(181);
    expect(mm('7+1/8', 'in')).toBeCloseTo(180.975, 9);
  });
});

describe('what cannot be read is said in one sentence', () => {
  test.each([
    ['', 'Write a length'],
    ['   ', 'Write a length'],
    ['head', '“head” is not a unit'],
    ['18 cm + 3', 'Say the unit of 3'],
    ['18 cm 3', 'Say the unit of 3'],
    ['172+', 'missing at the end'],
    ['+ 3', 'A number is missing before “+”'],
    ['(172', 'bracket is not closed'],
    ['172)', '“)” does not belong'],
    ['7 in in', '“in” does not belong'],
    ['3 cm * 2 cm', 'an area'],
    ['3 cm / 2 cm', 'no length'],
    ['180/0', 'divided by 0'],
    ['7 1/0 in', 'divided by 0'],
    ['3 - 8', 'more than 0'],
    ['0', 'more than 0'],
    ['9 m', 'longer than 5000 mm'],
    ['1.234,5', 'one decimal sign'],
    ['1,234', '1234 or 1.234'],
    ['7-1/8 in', 'with a space'],
    ['18€', '“€” cannot be read'],
    ['18 18', '“18” does not belong'],
    ['1'.repeat(200), 'too long'],
    ['1e999', '“e” is not a unit'],
  ])('%j', (text, part) => {
    const read = parseLength(text);
    expect(read.ok).toBe(false);
    if (!read.ok) {
      expect(read.sentence).toContain(part);
      expect(read.sentence).toMatch(/[.]$/);
    }
  });

  test('any text gives an answer, never an exception (seed 1)', () => {
    const signs = ['1', '7', '/', ' ', '"', "'", 'in', 'cm', '+', '-', '(', ')', ',', '.', 'x', '½', '*'];
    let state = 1;
    for (let round = 0; round < 20_000; round++) {
      let text = '';
      for (let part = 0; part < 8; part++) {
        state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
        text += signs[state % signs.length];
      }
      const read = parseLength(text);
      if (read.ok) expect(Number.isFinite(read.mm) && read.mm > 0, text).toBe(true);
      else expect(read.sentence.length, text).toBeGreaterThan(5);
    }
  });
});

test('nothing, and less than nothing, is read only where it may be', () => {
  for (const text of ['0', '-2', '0 in']) expect(parseLength(text).ok).toBe(false);
  expect(parseLength('0', 'mm', 0)).toEqual({ ok: true, mm: 0 });
  expect(parseLength('-2', 'mm', -20)).toEqual({ ok: true, mm: -2 });
  expect(parseLength('−1/8 in', 'mm', -20)).toEqual({ ok: true, mm: -3.175 });
  expect(parseLength('-2', 'mm', 1).ok).toBe(false);
});

test('a length is shown in either unit, without a minus before zero', () => {
  expect(lengthText(180.975)).toBe('181.0 mm');
  expect(lengthText(180.975, 'in')).toBe('7.13 in');
  expect(lengthText(180.975, 'in', 2)).toBe('7.125 in');
  expect(lengthNumber(-0.01)).toBe('0.0');
  expect(lengthNumber(-0.26)).toBe('−0.3');
});
