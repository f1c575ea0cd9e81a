/** What the front and the other pages of a pattern are composed of. */
import type { DrawingShape } from '../../shared-types/drawing.ts';
import type { PaperItem, PaperSize } from '../../shared-types/paper.ts';
import type { CutPiece } from './pattern-piece.ts';

export interface PatternPaper {
  readonly title: string;
  /** Sentences under the title. */
  readonly facts: readonly string[];
  readonly cutList: readonly string[];
  readonly cautions: readonly string[];
  readonly pieces: readonly CutPiece[];
  readonly paper: PaperSize;
  /** What the sheet may give along itself: black on the picture of strain. */
  readonly stretchPercent: number;
}

/** Edges of a page that printers leave out (common practice, no source), with room for the head of each page. */
export const MARGIN_MM = 12;
export const HEAD_MM = 12;
/** Strip that two neighbouring pages both show. */
export const OVERLAP_MM = 12;
export const CHECK_SQUARE_MM = 50;

/** Pieces together on a stretch of paper, divided into pages. */
export interface Canvas {
  readonly columns: number;
  readonly rows: number;
  readonly shapes: readonly DrawingShape[];
  readonly outlines: readonly (readonly number[])[];
  readonly names: string;
  /** Number of its first page in the document. */
  firstPage: number;
}

export function words(
  text: string,
  at: readonly [number, number],
  sizeMm: number,
  more: Partial<Pick<Extract<PaperItem, { kind: 'text' }>, 'style' | 'align' | 'grey' | 'turnDeg'>> = {},
): PaperItem {
  return { kind: 'text', text, at, sizeMm, ...more };
}
