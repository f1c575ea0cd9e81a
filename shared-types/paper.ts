export type PaperStyle = 'regular' | 'bold' | 'title';

/**
 * A paper as data: what stands where on each page, in mm from the top left corner, y downward. Operations compose it,
 * hosts have it written as PDF, and tests read it. Everything prints in grey, so that no meaning hangs on a colour.
 */
export type PaperItem =
  | {
      readonly kind: 'line';
      /** x, y pairs, mm. */
      readonly points: readonly number[];
      readonly closed?: boolean;
      /** Width of the pen, mm; 0 for a filled shape without an outline. */
      readonly penMm: number;
      /** Lengths drawn and left out, mm. */
      readonly dashMm?: readonly number[];
      /** 0 black to 1 white. */
      readonly grey?: number;
      readonly fillGrey?: number;
    }
  | {
      readonly kind: 'text';
      readonly text: string;
      /** Left end of the base line (middle or right end, by `align`), mm. */
      readonly at: readonly [number, number];
      /** Height of the letters' body, mm. */
      readonly sizeMm: number;
      /** 'title' has serifs, as the headings on screen. */
      readonly style?: PaperStyle;
      readonly align?: 'left' | 'middle' | 'right';
      readonly grey?: number;
      /** Turned clockwise about `at`, degrees. */
      readonly turnDeg?: number;
      /** Broken into lines of at most this width, mm. */
      readonly wrapMm?: number;
    }
  | {
      readonly kind: 'picture';
      readonly png: Uint8Array<ArrayBuffer>;
      readonly at: readonly [number, number];
      readonly widthMm: number;
      readonly heightMm: number;
      /** What it shows, for readers who cannot see it. */
      readonly words: string;
    };

export interface PaperPage {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly items: readonly PaperItem[];
}

export interface PaperDocument {
  readonly title: string;
  /** BCP 47; English unless told. */
  readonly language?: string;
  readonly pages: readonly PaperPage[];
}

/** Portrait sizes, mm: ISO 216 and ANSI/ASME Y14.1. */
export const PAPER_SIZES_MM = {
  a4: [210, 297],
  a3: [297, 420],
  letter: [215.9, 279.4],
} as const;
export type PaperSize = keyof typeof PAPER_SIZES_MM;
