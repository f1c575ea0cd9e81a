/** The cut and print lists of a fitting sheet, from the figures of what was made. Pure. */
import { figureNumber, figureRows } from '../../shared-types/step-evidence.ts';
import type { SheetTable } from './fitting-sheet.ts';

type Figures = Readonly<Record<string, unknown>>;

const fixed = (row: Figures, name: string, digits = 0): string => figureNumber(row, name)?.toFixed(digits) ?? '';
const word = (row: Figures, name: string): string => (typeof row[name] === 'string' ? row[name] : '');
const hours = (row: Figures): string => {
  const minutes = Math.round(60 * (figureNumber(row, 'hours') ?? Number.NaN));
  return Number.isNaN(minutes) ? '' : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')}`;
};
const number = (head: string, share: number) => ({ head, share, align: 'right' as const });

/** Pieces laid flat, pieces to print or gauge bands; undefined when the figures list none of these. O(rows). */
export function cutListOf(figures: Figures): SheetTable | undefined {
  const bands = figureRows(figures, 'bands');
  if (bands.length > 0) {
    return {
      columns: [
        { head: 'Band', share: 4 },
        number('Level, mm', 2),
        number('Inside round, mm', 2.6),
        number('Outside round, mm', 2.6),
        number('g', 1.2),
        number('Printing', 2),
      ],
      rows: bands.map((band) => [
        word(band, 'file'),
        fixed(band, 'levelMm', 1),
        fixed(band, 'insideMm', 1),
        fixed(band, 'outsideMm', 1),
        fixed(band, 'massG'),
        hours(band),
      ]),
    };
  }
  const pieces = figureRows(figures, 'pieces');
  if (pieces.some((piece) => Array.isArray(piece['sizeMm']))) {
    return {
      columns: [
        number('No.', 1),
        { head: '', share: 0.4 },
        { head: 'Piece', share: 5 },
        number('Size on the bed, mm', 4),
        number('g', 1.4),
        number('Printing', 2),
      ],
      rows: pieces.map((piece) => [
        fixed(piece, 'number'),
        '',
        word(piece, 'file'),
        (piece['sizeMm'] as number[]).map((mm) => mm.toFixed(0)).join(' × ') +
          (piece['fits'] === false ? ', too large' : ''),
        fixed(piece, 'massG'),
        hours(piece),
      ]),
    };
  }
  if (pieces.some((piece) => figureNumber(piece, 'widthMm') !== undefined)) {
    return {
      columns: [
        number('No.', 1),
        { head: '', share: 0.4 },
        { head: 'Piece', share: 5 },
        number('Cut', 1.4),
        number('Mirrored', 1.8),
        number('Size, mm', 2.6),
        number('Most strain', 2.2),
      ],
      rows: pieces.map((piece) => [
        fixed(piece, 'number'),
        '',
        word(piece, 'name'),
        fixed(piece, 'count'),
        fixed(piece, 'mirrored'),
        `${fixed(piece, 'widthMm')} × ${fixed(piece, 'heightMm')}`,
        `${fixed(piece, 'strainMaxPercent', 1)} %`,
      ]),
    };
  }
  return undefined;
}
