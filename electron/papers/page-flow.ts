/**
 * Composes a paper from top to bottom: what does not fit goes to the next page, headings stay with what they head,
 * tables say their head again. Every page ends with its number and 50 mm of tape, to see that it was printed true to
 * size. Lengths in mm from the top left corner, y downward.
 */
import { PAPER_SIZES_MM, type PaperDocument, type PaperItem, type PaperSize } from '../../shared-types/paper.ts';
import { LINE_FACTOR, linesOf, textWidthMm } from './typeface.ts';

const MARGIN_MM = 16;
const FOOT_MM = 9;
export const TEXT_MM = 3.4;
export const SMALL_MM = 2.8;
export const FAINT = 0.35;
export const HAIRLINE_MM = 0.18;
const HEAD_RULE_MM = 0.35;
const CELL_PADDING_MM = 1.4;
/** The base line stands so much of the letters' body above the foot of its line. */
const BASE_LINE = 0.3;
const CHECK_TAPE_MM = 50;

export interface Column {
  readonly head: string;
  /** Share of the width. */
  readonly share: number;
  readonly align?: 'left' | 'right';
}

type Text = Extract<PaperItem, { kind: 'text' }>;
type TextStyle = Partial<Pick<Text, 'sizeMm' | 'style' | 'grey'>>;

export const rectangle = (x: number, y: number, width: number, height: number): number[] => [
  x,
  y,
  x + width,
  y,
  x + width,
  y + height,
  x,
  y + height,
];

/** A tape from left to right in true size: a line with a tick at each millimetre, longer at 5 and 10. */
export function tapeItems(x: number, y: number, lengthMm: number, tickMm = 1.1): PaperItem[] {
  const items: PaperItem[] = [{ kind: 'line', points: [x, y, x + lengthMm, y], penMm: HAIRLINE_MM }];
  for (let mm = 0; mm <= lengthMm; mm++) {
    const height = tickMm * (mm % 10 === 0 ? 2 : mm % 5 === 0 ? 1.5 : 1);
    items.push({ kind: 'line', points: [x + mm, y, x + mm, y - height], penMm: mm % 10 === 0 ? HAIRLINE_MM : 0.1 });
  }
  return items;
}

interface Cell {
  readonly widthMm: number;
  readonly align: 'left' | 'right';
}

function rowHeightMm(cells: readonly Cell[], words: readonly string[], sizeMm: number): number {
  const counts = cells.map(
    ({ widthMm }, index) => linesOf(words[index] ?? '', widthMm - CELL_PADDING_MM, sizeMm).length,
  );
  return Math.max(...counts) * sizeMm * LINE_FACTOR + CELL_PADDING_MM * 1.7;
}

export class PageFlow {
  readonly widthMm: number;
  readonly heightMm: number;
  /** Where the next thing goes. */
  y = MARGIN_MM;
  readonly #title: string;
  readonly #foot: string;
  readonly #pages: PaperItem[][] = [[]];

  /** `foot` stands at the foot of every page, left. */
  constructor(title: string, size: PaperSize, foot: string) {
    const [widthMm, heightMm] = PAPER_SIZES_MM[size];
    this.widthMm = widthMm;
    this.heightMm = heightMm;
    this.#title = title;
    this.#foot = foot;
  }

  get left(): number {
    return MARGIN_MM;
  }
  get innerMm(): number {
    return this.widthMm - 2 * MARGIN_MM;
  }
  get bottomMm(): number {
    return this.heightMm - MARGIN_MM - FOOT_MM;
  }

  newPage(): void {
    this.#pages.push([]);
    this.y = MARGIN_MM;
  }

  /** Start a new page unless this one has so much left. */
  need(heightMm: number): void {
    if (this.y + heightMm > this.bottomMm && this.#pages.at(-1)?.length !== 0) this.newPage();
  }

  place(...items: readonly PaperItem[]): void {
    this.#pages.at(-1)?.push(...items);
  }

  space(heightMm: number): void {
    this.y += heightMm;
  }

  /** Text on this page; does not move `y`. */
  text(
    text: string,
    at: readonly [number, number],
    style: Omit<Text, 'kind' | 'text' | 'at' | 'sizeMm'> & TextStyle = {},
  ) {
    if (text !== '') this.place({ kind: 'text', text, at, sizeMm: TEXT_MM, ...style });
  }

  /** Name of the paper with what it is about; the tape under it spans the page. */
  head(title: string, under: string): void {
    const size = 7.4;
    for (const line of linesOf(title, this.innerMm, size, 'title')) {
      this.y += size;
      this.text(line, [this.left, this.y], { sizeMm: size, style: 'title' });
      this.y += size * 0.28;
    }
    this.space(1);
    this.paragraph(under, { grey: FAINT });
    this.space(2.4);
    this.place(...tapeItems(this.left, this.y, Math.floor(this.innerMm)));
    this.space(6);
  }

  heading(text: string, keepMm = 22): void {
    const size = 4.6;
    this.need(size * 2 + keepMm);
    this.space(2.6);
    for (const line of linesOf(text, this.innerMm, size, 'title')) {
      this.y += size;
      this.text(line, [this.left, this.y], { sizeMm: size, style: 'title' });
      this.y += size * 0.3;
    }
    this.space(1.4);
  }

  /** Wrapped text from `x`, over pages if need be; one piece of text on each, so that it is read aloud as one. */
  paragraph(text: string, style: TextStyle = {}, x = this.left, widthMm = this.left + this.innerMm - x): void {
    const { sizeMm = TEXT_MM } = style;
    const lineMm = sizeMm * LINE_FACTOR;
    const lines = linesOf(text, widthMm, sizeMm, style.style);
    while (lines.length > 0) {
      this.need(lineMm);
      const room = Math.max(1, Math.floor((this.bottomMm - this.y) / lineMm));
      const here = lines.splice(0, room);
      const at = [x, this.y + lineMm - sizeMm * BASE_LINE] as const;
      this.text(here.join('\n'), at, { ...style, sizeMm, wrapMm: widthMm });
      this.y += here.length * lineMm;
    }
  }

  /** Paragraphs behind a mark: a dash, or their number. */
  list(lines: readonly string[], numbered = false): void {
    for (const [index, line] of lines.entries()) {
      this.need(TEXT_MM * LINE_FACTOR * 2);
      const mark = numbered ? `${index + 1}.` : '–';
      this.text(mark, [this.left, this.y + TEXT_MM * (LINE_FACTOR - BASE_LINE)], {
        style: numbered ? 'bold' : 'regular',
      });
      this.paragraph(line, {}, this.left + (numbered ? 7 : 4));
      this.space(0.9);
    }
  }

  /** Label and value in two columns. */
  facts(pairs: readonly (readonly [string, string])[]): void {
    const labelMm = Math.max(30, ...pairs.map(([label]) => textWidthMm(label, TEXT_MM) + 4));
    for (const [label, value] of pairs) {
      this.need(TEXT_MM * LINE_FACTOR * 2);
      this.text(label, [this.left, this.y + TEXT_MM * (LINE_FACTOR - BASE_LINE)], { grey: FAINT });
      this.paragraph(value, {}, this.left + labelMm);
      this.space(0.5);
    }
    this.space(1);
  }

  /** Rows do not break over pages; the head is said again on each. */
  table(columns: readonly Column[], rows: readonly (readonly string[])[], sizeMm = TEXT_MM): void {
    if (rows.some((row) => row.length !== columns.length)) throw new Error('a row has not as many cells as its table');
    const shares = columns.reduce((sum, { share }) => sum + share, 0);
    const cells = columns.map(({ share, align = 'left' }) => ({
      widthMm: (share / shares) * this.innerMm,
      align,
    }));
    const head = (): void => {
      const words = columns.map((column) => column.head);
      this.#row(cells, words, { sizeMm: SMALL_MM, style: 'bold' }, { penMm: HEAD_RULE_MM });
    };
    const headMm = SMALL_MM * LINE_FACTOR * 2 + CELL_PADDING_MM * 2;
    this.need(headMm + (rows[0] === undefined ? 0 : rowHeightMm(cells, rows[0], sizeMm)));
    head();
    for (const row of rows) {
      if (this.y + rowHeightMm(cells, row, sizeMm) > this.bottomMm) {
        this.newPage();
        head();
      }
      this.#row(cells, row, { sizeMm }, { penMm: HAIRLINE_MM, grey: 0.6 });
    }
    this.space(2);
  }

  #row(
    cells: readonly Cell[],
    words: readonly string[],
    style: TextStyle,
    rule: { penMm: number; grey?: number },
  ): void {
    const { sizeMm = TEXT_MM } = style;
    let x = this.left;
    let lowest = this.y;
    for (const [index, { widthMm, align }] of cells.entries()) {
      const innerMm = widthMm - CELL_PADDING_MM;
      let y = this.y + CELL_PADDING_MM;
      for (const line of linesOf(words[index] ?? '', innerMm, sizeMm, style.style)) {
        y += sizeMm * LINE_FACTOR;
        const at = align === 'left' ? x : x + innerMm;
        this.text(line, [at, y - sizeMm * BASE_LINE], { ...style, sizeMm, align });
      }
      lowest = Math.max(lowest, y);
      x += widthMm;
    }
    this.y = lowest + CELL_PADDING_MM * 0.7;
    this.place({ kind: 'line', points: [this.left, this.y, this.left + this.innerMm, this.y], ...rule });
  }

  finish(): PaperDocument {
    const { widthMm, heightMm } = this;
    const count = this.#pages.length;
    const y = heightMm - MARGIN_MM + 2;
    const tapeX = (widthMm - CHECK_TAPE_MM) / 2;
    const faint = { kind: 'text', sizeMm: SMALL_MM, grey: FAINT } as const;
    const [first = '', second = '', ...more] = linesOf(this.#foot, tapeX - MARGIN_MM - 6, SMALL_MM);
    const foot = [first, more.length === 0 ? second : `${second}…`].filter((line) => line !== '');
    const pages = this.#pages.map((items, index) => ({
      widthMm,
      heightMm,
      items: [
        ...items,
        ...foot.map(
          (line, row): PaperItem => ({ ...faint, text: line, at: [MARGIN_MM, y + row * SMALL_MM * LINE_FACTOR] }),
        ),
        ...tapeItems(tapeX, y, CHECK_TAPE_MM),
        {
          ...faint,
          text: `${CHECK_TAPE_MM} mm if printed true to size`,
          at: [widthMm / 2, y + SMALL_MM * LINE_FACTOR] as const,
          align: 'middle' as const,
        },
        { ...faint, text: `${index + 1} of ${count}`, at: [widthMm - MARGIN_MM, y] as const, align: 'right' as const },
      ],
    }));
    return { title: this.#title, pages };
  }
}
