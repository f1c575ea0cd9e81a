/**
 * What a person writes for a length, in millimetres: "181", "172+3", "7 1/8 in", 5' 7", "18 cm", "(300 - 24) / 2",
 * decimals with a point or a comma. Pure.
 *
 * A number without a unit takes the unit written at the end of the sum, or the field's own if there is none at all;
 * one that follows a unit with none of its own is refused, because both guesses are as likely.
 */
import { MM_PER_UNIT } from '../../shared-types/units.ts';

export type LengthUnit = 'mm' | 'in';
export type ReadLength = { readonly ok: true; readonly mm: number } | { readonly ok: false; readonly sentence: string };

const UNITS: Readonly<Record<string, number>> = {
  mm: MM_PER_UNIT.millimetre,
  millimetre: MM_PER_UNIT.millimetre,
  millimetres: MM_PER_UNIT.millimetre,
  millimeters: MM_PER_UNIT.millimetre,
  cm: MM_PER_UNIT.centimetre,
  centimetres: MM_PER_UNIT.centimetre,
  centimeters: MM_PER_UNIT.centimetre,
  m: MM_PER_UNIT.metre,
  in: MM_PER_UNIT.inch,
  inch: MM_PER_UNIT.inch,
  inches: MM_PER_UNIT.inch,
  '"': MM_PER_UNIT.inch,
  ft: MM_PER_UNIT.foot,
  foot: MM_PER_UNIT.foot,
  feet: MM_PER_UNIT.foot,
  "'": MM_PER_UNIT.foot,
};
const FRACTIONS: Readonly<Record<string, string>> = {
  '¼': '1/4',
  '½': '1/2',
  '¾': '3/4',
  '⅛': '1/8',
  '⅜': '3/8',
  '⅝': '5/8',
  '⅞': '7/8',
};
const LONGEST_MM = 5000;
const LONGEST_TEXT = 120;

type Token =
  | { readonly kind: 'number'; readonly value: number; readonly text: string }
  | { readonly kind: 'unit'; readonly mm: number; readonly text: string }
  | { readonly kind: 'sign'; readonly text: '+' | '-' | '*' | '/' | '(' | ')' };

/** Thrown and caught in this file only: the sentence of what cannot be read. */
class Unread extends Error {}

function tokensOf(text: string): Token[] {
  const plain = text
    .replace(/[¼½¾⅛⅜⅝⅞]/g, (sign) => ` ${FRACTIONS[sign] ?? ''}`)
    .replace(/[’′]/g, "'")
    .replace(/''|[”″“]/g, '"')
    .replace(/[−–]/g, '-')
    .replace(/[×·]/g, '*')
    .replace(/÷/g, '/');
  // Some write 7-1/8 for seven and an eighth, others for a difference.
  if (/\d-\d+\/\d/.test(plain)) {
    throw new Unread(
      'Write a whole and a fraction with a space, as in 7 1/8, or a difference with spaces, as in 7 - 1/8.',
    );
  }
  const tokens: Token[] = [];
  const pattern = /\s*(?:(\d[\d.,]*|[.,]\d+)|([a-zA-Z]+|["'])|([-+*/()])|(\S))/y;
  for (let match = pattern.exec(plain); match !== null; match = pattern.exec(plain)) {
    const [, number, word, sign, other] = match;
    if (number !== undefined) tokens.push({ kind: 'number', value: numberOf(number), text: number });
    else if (word !== undefined) {
      const mm = UNITS[word.toLowerCase()];
      if (mm !== undefined) tokens.push({ kind: 'unit', mm, text: word });
      else if (word.toLowerCase() === 'x') tokens.push({ kind: 'sign', text: '*' });
      else throw new Unread(`“${word}” is not a unit known here; use mm, cm, m, in or ft.`);
    } else if (sign !== undefined) tokens.push({ kind: 'sign', text: sign as '+' });
    else throw new Unread(`“${other ?? ''}” cannot be read in a length.`);
  }
  return tokens;
}

function numberOf(text: string): number {
  const commas = text.split(',').length - 1;
  const points = text.split('.').length - 1;
  if (commas + points > 1) throw new Unread(`Write “${text}” with one decimal sign and no thousands signs.`);
  const [whole, decimals] = text.split(',');
  if (commas === 1 && decimals?.length === 3 && /^[1-9]\d{0,2}$/.test(whole ?? '')) {
    throw new Unread(
      `“${text}” may mean ${whole}${decimals} or ${whole}.${decimals}; write it without the comma or with a point.`,
    );
  }
  return Number(text.replace(',', '.'));
}

/** A value, in mm if it has a unit; `bare` are the numbers still without one. */
interface Amount {
  readonly value: number;
  readonly hasUnit: boolean;
}

class Reader {
  private at = 0;
  private readonly tokens: readonly Token[];
  /** Unit for numbers without one. */
  private readonly bareMm: number;

  constructor(tokens: readonly Token[], bareMm: number) {
    this.tokens = tokens;
    this.bareMm = bareMm;
  }

  whole(): number {
    const amount = this.sum();
    const left = this.tokens[this.at];
    if (left !== undefined) throw new Unread(`“${left.text}” does not belong there.`);
    return amount.hasUnit ? amount.value : amount.value * this.bareMm;
  }

  private sign(...wanted: string[]): string | undefined {
    const token = this.tokens[this.at];
    if (token?.kind !== 'sign' || !wanted.includes(token.text)) return undefined;
    this.at++;
    return token.text;
  }

  private sum(): Amount {
    let total = this.product();
    for (let sign = this.sign('+', '-'); sign !== undefined; sign = this.sign('+', '-')) {
      const next = this.product();
      total = this.plus(total, next, sign === '+' ? 1 : -1);
    }
    return total;
  }

  private plus(a: Amount, b: Amount, sign: number): Amount {
    if (a.hasUnit === b.hasUnit) return { value: a.value + sign * b.value, hasUnit: a.hasUnit };
    if (a.hasUnit) throw new Unread(`Say the unit of ${round(b.value)} too.`);
    return { value: a.value * this.bareMm + sign * b.value, hasUnit: true };
  }

  private product(): Amount {
    let total = this.factor();
    for (let sign = this.sign('*', '/'); sign !== undefined; sign = this.sign('*', '/')) {
      const next = this.factor();
      if (sign === '/') {
        if (next.hasUnit && !total.hasUnit) throw new Unread('A number divided by a length is no length.');
        if (next.hasUnit) throw new Unread('A length divided by a length is no length.');
        total = { value: divided(total.value, next.value), hasUnit: total.hasUnit };
      } else {
        if (next.hasUnit && total.hasUnit) throw new Unread('A length times a length is an area, not a length.');
        total = { value: total.value * next.value, hasUnit: total.hasUnit || next.hasUnit };
      }
    }
    return total;
  }

  private unitBehind(amount: Amount): Amount {
    const token = this.tokens[this.at];
    if (token?.kind !== 'unit') return amount;
    if (amount.hasUnit) throw new Unread(`“${token.text}” is one unit too many.`);
    this.at++;
    return { value: amount.value * token.mm, hasUnit: true };
  }

  private factor(): Amount {
    if (this.sign('-') !== undefined) {
      const inner = this.factor();
      return { value: -inner.value, hasUnit: inner.hasUnit };
    }
    if (this.sign('(') !== undefined) {
      const inner = this.sum();
      if (this.sign(')') === undefined) throw new Unread('A bracket is not closed.');
      return this.unitBehind(inner);
    }
    const token = this.tokens[this.at];
    if (token === undefined) throw new Unread('Something is missing at the end.');
    if (token.kind !== 'number') throw new Unread(`A number is missing before “${token.text}”.`);
    this.at++;
    let amount = this.unitBehind({ value: this.fractionOf(token.value), hasUnit: false });
    // 5 ft 7 in: lengths written side by side add up, each with its own unit.
    while (amount.hasUnit && this.tokens[this.at]?.kind === 'number') {
      const next = this.tokens[this.at] as Token & { kind: 'number' };
      this.at++;
      const smaller = this.unitBehind({ value: this.fractionOf(next.value), hasUnit: false });
      if (!smaller.hasUnit) throw new Unread(`Say the unit of ${next.text} too.`);
      amount = { value: amount.value + smaller.value, hasUnit: true };
    }
    return amount;
  }

  /** After a number: the 1/8 of "7 1/8" is added to it; the "/8" of "1/8 in" divides it, the unit being of both. */
  private fractionOf(first: number): number {
    const [a, b, c] = this.tokens.slice(this.at, this.at + 3);
    if (a?.kind === 'number' && b?.text === '/' && c?.kind === 'number') {
      this.at += 3;
      return first + divided(a.value, c.value);
    }
    if (a?.text === '/' && b?.kind === 'number' && c?.kind === 'unit') {
      this.at += 2;
      return divided(first, b.value);
    }
    return first;
  }
}

function divided(top: number, bottom: number): number {
  if (bottom === 0) throw new Unread('Nothing can be divided by 0.');
  return top / bottom;
}

const round = (value: number): number => Number(value.toPrecision(6));

/**
 * Reads a length; `unit` is what a number without any unit is in. A length is more than 0, unless `leastMm` says that
 * it may be nothing or less; how much less is for the caller to judge.
 */
export function parseLength(text: string, unit: LengthUnit = 'mm', leastMm?: number): ReadLength {
  if (text.trim() === '') return { ok: false, sentence: 'Write a length, such as 181 or 7 1/8 in.' };
  if (text.length > LONGEST_TEXT) return { ok: false, sentence: 'That is too long for one length.' };
  try {
    const tokens = tokensOf(text);
    const last = tokens.at(-1);
    const own = unit === 'in' ? MM_PER_UNIT.inch : MM_PER_UNIT.millimetre;
    const mm = new Reader(tokens, last?.kind === 'unit' ? last.mm : own).whole();
    const mayBeNothing = leastMm !== undefined && leastMm <= 0 && Number.isFinite(mm);
    if (!(mm > 0) && !mayBeNothing) {
      return { ok: false, sentence: `That makes ${round(mm)} mm; a length is more than 0.` };
    }
    if (mm > LONGEST_MM) {
      return { ok: false, sentence: `That makes ${round(mm)} mm; nothing on a body is longer than ${LONGEST_MM} mm.` };
    }
    return { ok: true, mm };
  } catch (trouble) {
    if (trouble instanceof Unread) return { ok: false, sentence: trouble.message };
    throw trouble;
  }
}

/** A length for reading, in the unit preferred. One decimal of a millimetre is what a calliper shows. */
export function lengthText(mm: number, unit: LengthUnit = 'mm', digits = 1): string {
  return `${lengthNumber(mm, unit, digits)} ${unit}`;
}

/** The same without the unit. An inch gets one digit more, to be about as fine. */
export function lengthNumber(mm: number, unit: LengthUnit = 'mm', digits = 1): string {
  const value = unit === 'in' ? mm / MM_PER_UNIT.inch : mm;
  const text = value.toFixed(unit === 'in' ? digits + 1 : digits);
  // No minus before a zero.
  return text.replace('-', Number(text) === 0 ? '' : '−');
}
