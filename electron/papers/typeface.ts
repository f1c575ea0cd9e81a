/**
 * The letters of all papers: DejaVu (a free licence that allows embedding), whose Latin, Greek, Cyrillic, Armenian and
 * Georgian cover every script of Europe. Nobody's system needs to have it: the files come with the program.
 */
import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';
import type { PaperStyle } from '../../shared-types/paper.ts';

const FILES: Readonly<Record<PaperStyle, string>> = {
  regular: 'DejaVuSansCondensed.ttf',
  bold: 'DejaVuSansCondensed-Bold.ttf',
  title: 'DejaVuSerifCondensed-Bold.ttf',
};
export const TYPEFACE_PACKAGE = 'dejavu-fonts-ttf';
/** Within the package. */
export const TYPEFACE_FILES: readonly string[] = Object.values(FILES).map((name) => `ttf/${name}`);

/** Height of the letters' body that a line of text takes, as a multiple. */
export const LINE_FACTOR = 1.32;

/** Where the file of a style lies. */
export const typefacePath = (style: PaperStyle): string =>
  createRequire(import.meta.url).resolve(`${TYPEFACE_PACKAGE}/ttf/${FILES[style]}`);

/**
 * Composed letters, and no signs that print as nothing. Georgian capitals, which the typeface lacks, become the letters
 * that Georgian is commonly written with.
 */
export const plain = (text: string): string =>
  text
    .normalize('NFC')
    .replace(/[\p{Cc}\u2028\u2029]/gu, ' ')
    .replace(/[\u1c90-\u1cbf]/gu, (capital) => capital.toLowerCase());

/** What of the library is not in its types. */
interface Measuring {
  readonly _font: { readonly font: { hasGlyphForCodePoint(code: number): boolean } };
}

/** Only measures; nothing is ever written with it. */
let measuring: PDFKit.PDFDocument | undefined;

function measuringIn(style: PaperStyle): PDFKit.PDFDocument {
  measuring ??= new PDFDocument({ autoFirstPage: false, font: typefacePath('regular') });
  return measuring.font(typefacePath(style));
}

/** Letters of the text that a style lacks, each once. O(letters). */
export function lettersMissing(text: string, style: PaperStyle = 'regular'): string[] {
  const { font } = (measuringIn(style) as unknown as Measuring)._font;
  return [...new Set(text)].filter((letter) => !font.hasGlyphForCodePoint(letter.codePointAt(0) ?? 0));
}

/** The style that a text is set in: the letters with serifs are fewer, and a title beyond them is set in bold ones. */
export function styleOf(text: string, style: PaperStyle = 'regular'): PaperStyle {
  if (style !== 'title' || lettersMissing(text, style).length === 0) return style;
  return lettersMissing(text, 'bold').length === 0 ? 'bold' : style;
}

/** Width of one line of text, mm, with the typeface's own kerning. O(letters). */
export function textWidthMm(text: string, sizeMm: number, style: PaperStyle = 'regular'): number {
  return measuringIn(styleOf(text, style)).fontSize(sizeMm).widthOfString(text);
}

/** The gap at a number's thousands: no line ends there. */
const WITHIN_NUMBER = /(?<=\d) (?=\d{3}\b)/g;

/**
 * The plain text broken into lines of at most `wrapMm`, at its spaces and line ends; a word too long for a line is broken
 * within. At least one line. O(letters) measurings.
 */
export function linesOf(text: string, wrapMm: number, sizeMm: number, style: PaperStyle = 'regular'): string[] {
  const fits = (line: string): boolean => textWidthMm(line, sizeMm, style) <= wrapMm;
  return text.split('\n').flatMap((paragraph) => {
    const lines: string[] = [];
    let line = '';
    for (const word of plain(paragraph).replace(WITHIN_NUMBER, '\u00a0').split(/ +/)) {
      const longer = line === '' ? word : `${line} ${word}`;
      if (fits(longer)) {
        line = longer;
        continue;
      }
      if (line !== '') lines.push(line);
      line = '';
      for (const letter of word) {
        if (line !== '' && !fits(line + letter)) {
          lines.push(line);
          line = '';
        }
        line += letter;
      }
    }
    return [...lines, line];
  });
}
