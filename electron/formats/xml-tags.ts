/**
 * The tags of an XML text, one at a time. No entities are defined (a DOCTYPE is refused), so nothing can expand; text
 * between tags is passed over. Long rows of alike tags with numbers are read without making strings: general reading
 * takes 3 s for a million triangles, this 0.5 s.
 */
import { TextScanner } from './text-scanner.ts';
import { give } from './trouble.ts';

const LESS = 60,
  MORE = 62,
  SLASH = 47,
  EQUALS = 61,
  DOUBLE_QUOTE = 34,
  SINGLE_QUOTE = 39;
/** Bytes; a tag of the formats read here has a few hundred. */
const LONGEST_TAG = 1 << 20;

export interface Tag {
  /** Without prefix. */
  readonly name: string;
  /** By the name as written, with its prefix. */
  readonly attributes: ReadonlyMap<string, string>;
  /** 1 opens, -1 closes, 0 both. */
  readonly kind: 1 | -1 | 0;
}

export class XmlTags {
  readonly #xml: Uint8Array;
  readonly #numbers: TextScanner;
  readonly #decoder = new TextDecoder();
  /** Of the next byte to look at. */
  at = 0;

  constructor(xml: Uint8Array) {
    this.#xml = xml;
    this.#numbers = new TextScanner(xml);
    this.#numbers.line = NaN;
  }

  /** The next tag, or undefined at the end. */
  next(): Tag | undefined {
    const xml = this.#xml;
    for (;;) {
      this.#toTag();
      if (this.at >= xml.length) return undefined;
      const start = this.at + 1;
      if (xml[start] === 33) {
        this.#skipMark(start);
        continue;
      }
      const end = this.#endOfTag(start);
      this.at = end + 1;
      if (xml[start] === 63) continue;
      const text = this.#decoder.decode(xml.subarray(start, end));
      const closing = text.startsWith('/');
      const name = /^\/?(?:[\w.-]+:)?([\w.-]+)/.exec(text)?.[1];
      if (name === undefined) give('file.malformed', { reason: 'a tag without a name' }, { byte: start });
      const attributes = new Map<string, string>();
      if (!closing) {
        for (const m of text.matchAll(/([\w.:-]+)\s*=\s*(?:"([^"]*)"|'([^']*)')/g))
          attributes.set(m[1], m[2] ?? m[3] ?? '');
      }
      return { name, attributes, kind: closing ? -1 : text.endsWith('/') ? 0 : 1 };
    }
  }

  /**
   * If the next tag is `<name .../>` and its attributes `keys` are plain numbers, put them into `out` and move past
   * it. Otherwise nothing moves and `next` may look at it.
   */
  row(name: string, keys: readonly string[], out: Float64Array): boolean {
    const xml = this.#xml;
    this.#toTag();
    const s = this.#numbers;
    s.at = this.at + 1;
    if (!this.#isHere(name, s.at) || xml[s.at + name.length] > 32) return false;
    s.at += name.length;
    let found = 0;
    for (;;) {
      s.skipSpace();
      if (xml[s.at] === SLASH && xml[s.at + 1] === MORE) break;
      const from = s.at;
      while (s.at < xml.length && xml[s.at] !== EQUALS && xml[s.at] > 32) s.at++;
      const quote = xml[s.at + 1];
      if (xml[s.at] !== EQUALS || (quote !== DOUBLE_QUOTE && quote !== SINGLE_QUOTE)) return false;
      const key = this.#keyAt(keys, from, s.at - from);
      s.at += 2;
      if (key < 0) {
        while (s.at < xml.length && xml[s.at] !== quote) s.at++;
      } else {
        const first = xml[s.at] === 45 || xml[s.at] === 43 ? xml[s.at + 1] : xml[s.at];
        if (!(first >= 48 && first <= 57)) return false;
        out[key] = s.number();
        found |= 1 << key;
      }
      if (xml[s.at] !== quote) return false;
      s.at++;
    }
    if (found !== (1 << keys.length) - 1) return false;
    this.at = s.at + 2;
    return true;
  }

  #toTag(): void {
    const xml = this.#xml;
    let at = this.at;
    while (at < xml.length && xml[at] !== LESS) at++;
    this.at = at;
  }

  #isHere(word: string, at: number): boolean {
    for (let k = 0; k < word.length; k++) if (this.#xml[at + k] !== word.charCodeAt(k)) return false;
    return true;
  }

  #keyAt(keys: readonly string[], from: number, length: number): number {
    for (let key = 0; key < keys.length; key++)
      if (keys[key].length === length && this.#isHere(keys[key], from)) return key;
    return -1;
  }

  #endOfTag(start: number): number {
    const xml = this.#xml;
    let quote = 0;
    let at = start;
    for (; at < xml.length && (quote !== 0 || xml[at] !== MORE); at++) {
      if (at - start > LONGEST_TAG) give('file.malformed', { reason: 'a tag without an end' }, { byte: start });
      if (quote !== 0) {
        if (xml[at] === quote) quote = 0;
      } else if (xml[at] === DOUBLE_QUOTE || xml[at] === SINGLE_QUOTE) quote = xml[at];
    }
    if (at >= xml.length) give('file.truncated', { what: 'a tag' }, { byte: start });
    return at;
  }

  /** Past a comment or a run of plain text; whatever else begins with "<!" is refused. */
  #skipMark(start: number): void {
    const comment = this.#isHere('!--', start);
    if (!comment && !this.#isHere('![CDATA[', start))
      give('file.unsupported', { what: 'an XML document type', remedy: 'export the model again' }, { byte: start });
    const close = comment ? '-->' : ']]>';
    let at = start + 3;
    while (at < this.#xml.length && !this.#isHere(close, at)) at++;
    if (at >= this.#xml.length) give('file.truncated', { what: 'a comment' }, { byte: start });
    this.at = at + 3;
  }
}
