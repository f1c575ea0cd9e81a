/**
 * Numbers and words out of ASCII bytes without making strings. Decimal numbers of up to 15 digits with a small
 * exponent are exact by one division or multiplication (W. D. Clinger 1990, the fast case); longer ones go to the
 * language's own correctly rounded parser.
 */
import { give } from './trouble.ts';

const POWERS = Array.from({ length: 23 }, (_, k) => 10 ** k);
const SPACE = 32,
  TAB = 9,
  NEWLINE = 10,
  RETURN = 13,
  MINUS = 45,
  PLUS = 43,
  DOT = 46,
  ZERO = 48,
  NINE = 57,
  BACKSLASH = 92;
/** Characters; the longest exact double has fewer than 800, and nobody writes that. */
const LONGEST_NUMBER = 1000;

export class TextScanner {
  readonly bytes: Uint8Array;
  readonly end: number;
  at: number;
  /** NaN where lines are not counted and places are told by byte. */
  line = 1;

  constructor(bytes: Uint8Array, at = 0, end = bytes.length) {
    this.bytes = bytes;
    this.at = at;
    this.end = end;
  }

  /** Skip blanks within the line (and a backslash that continues it). */
  skipBlanks(): void {
    const { bytes, end } = this;
    let at = this.at;
    for (;;) {
      const c = bytes[at];
      if (at < end && (c === SPACE || c === TAB)) {
        at++;
      } else if (
        c === BACKSLASH &&
        at + 1 < end &&
        (bytes[at + 1] === NEWLINE || (bytes[at + 1] === RETURN && bytes[at + 2] === NEWLINE))
      ) {
        at += bytes[at + 1] === NEWLINE ? 2 : 3;
        this.line++;
      } else break;
    }
    this.at = at;
  }

  /** Skip blanks and line ends. */
  skipSpace(): void {
    const { bytes, end } = this;
    let at = this.at;
    while (at < end) {
      const c = bytes[at];
      if (c === NEWLINE) this.line++;
      else if (c !== SPACE && c !== TAB && c !== RETURN) break;
      at++;
    }
    this.at = at;
  }

  /** Go to the start of the next line. */
  nextLine(): void {
    const { bytes, end } = this;
    let at = this.at;
    while (at < end && bytes[at] !== NEWLINE) at++;
    if (at < end) {
      at++;
      this.line++;
    }
    this.at = at;
  }

  get atLineEnd(): boolean {
    const c = this.bytes[this.at];
    return this.at >= this.end || c === NEWLINE || c === RETURN;
  }

  get atEnd(): boolean {
    return this.at >= this.end;
  }

  /** The word here, without moving past it more than its own length. */
  word(): string {
    const { bytes, end } = this;
    const start = this.at;
    let at = start;
    while (at < end && bytes[at] > SPACE) at++;
    this.at = at;
    return new TextDecoder('latin1').decode(bytes.subarray(start, Math.min(at, start + 200)));
  }

  /** If the word here is `word` (lower case; the file's may be either), move past it. */
  take(word: string): boolean {
    const { bytes, end } = this;
    const after = this.at + word.length;
    if (after > end || (after < end && bytes[after] > SPACE)) return false;
    for (let k = 0; k < word.length; k++) if ((bytes[this.at + k] | 32) !== word.charCodeAt(k)) return false;
    this.at = after;
    return true;
  }

  /** The rest of the line, trimmed. */
  rest(): string {
    const start = this.at;
    let at = start;
    while (at < this.end && this.bytes[at] !== NEWLINE && this.bytes[at] !== RETURN) at++;
    this.at = at;
    return new TextDecoder().decode(this.bytes.subarray(start, Math.min(at, start + 1000))).trim();
  }

  /** A whole number, optionally signed; faults where there is none. */
  integer(): number {
    const { bytes, end } = this;
    const start = this.at;
    let at = start;
    const negative = bytes[at] === MINUS;
    if (negative || bytes[at] === PLUS) at++;
    const digits = at;
    let value = 0;
    while (at < end) {
      const c = bytes[at];
      if (c < ZERO || c > NINE) break;
      value = value * 10 + (c - ZERO);
      at++;
    }
    if (at === digits) this.badNumber();
    this.at = at;
    return negative ? -value : value;
  }

  /** A decimal number; faults where there is none. `nan` and `inf` come back as such. */
  number(): number {
    const { bytes, end } = this;
    const start = this.at;
    let at = start;
    const negative = bytes[at] === MINUS;
    if (negative || bytes[at] === PLUS) at++;
    let mantissa = 0;
    let digits = 0;
    let scale = 0;
    let any = false;
    for (; at < end; at++) {
      const c = bytes[at];
      if (c < ZERO || c > NINE) break;
      any = true;
      if (digits > 0 || c !== ZERO) digits++;
      mantissa = mantissa * 10 + (c - ZERO);
    }
    if (bytes[at] === DOT && at < end) {
      at++;
      for (; at < end; at++) {
        const c = bytes[at];
        if (c < ZERO || c > NINE) break;
        any = true;
        if (digits > 0 || c !== ZERO) digits++;
        mantissa = mantissa * 10 + (c - ZERO);
        scale--;
      }
    }
    if (!any) return this.#oddNumber(start);
    if ((bytes[at] | 32) === 101 && at < end) {
      let k = at + 1;
      const down = bytes[k] === MINUS;
      if (down || bytes[k] === PLUS) k++;
      let exponent = 0;
      const first = k;
      while (k < end && bytes[k] >= ZERO && bytes[k] <= NINE && exponent < 1e6)
        exponent = exponent * 10 + (bytes[k++] - ZERO);
      if (k > first) {
        scale += down ? -exponent : exponent;
        at = k;
      }
    }
    this.at = at;
    if (digits <= 15 && scale >= -22 && scale <= 22) {
      const value = scale < 0 ? mantissa / POWERS[-scale] : mantissa * POWERS[scale];
      return negative ? -value : value;
    }
    if (at - start > LONGEST_NUMBER) {
      this.at = start;
      return this.badNumber();
    }
    return Number(new TextDecoder('latin1').decode(bytes.subarray(start, at)));
  }

  #oddNumber(start: number): number {
    this.at = start;
    const text = this.word().toLowerCase();
    if (/^[+-]?(nan|inf|infinity)/.test(text)) return text.includes('nan') ? NaN : Infinity;
    this.at = start;
    return this.badNumber();
  }

  badNumber(): never {
    const text = this.atLineEnd ? '(nothing)' : this.word().slice(0, 24);
    return give('file.bad-number', { text }, Number.isNaN(this.line) ? { byte: this.at } : { line: this.line });
  }
}
