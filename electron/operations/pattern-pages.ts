/**
 * Cut pieces on paper at their true size: a front page with the check square, the cut list, a map of the pages and
 * cautions, then the pieces, those larger than a page over several that overlap and are glued together by their marks.
 */
import type { DrawingLayer, DrawingShape } from '../../shared-types/drawing.ts';
import { PAPER_SIZES_MM, type PaperDocument, type PaperItem, type PaperPage } from '../../shared-types/paper.ts';
import { nest } from '../geometry/nest/nest.ts';
import {
  CHECK_SQUARE_MM,
  HEAD_MM,
  MARGIN_MM,
  OVERLAP_MM,
  words,
  type Canvas,
  type PatternPaper,
} from './pattern-canvas.ts';
import { frontPages } from './pattern-front.ts';
import { placedShapes, type CutPiece } from './pattern-piece.ts';

const GAP_MM = 5;

type Point = readonly [number, number];
type Pen = Pick<Extract<PaperItem, { kind: 'line' }>, 'penMm' | 'dashMm' | 'grey'>;

const PENS: Readonly<Record<DrawingLayer, Pen>> = {
  cut: { penMm: 0.4 },
  seam: { penMm: 0.25, dashMm: [3, 2] },
  notch: { penMm: 0.4 },
  grain: { penMm: 0.3, grey: 0.3 },
  text: { penMm: 0.2 },
  sheet: { penMm: 0.2, grey: 0.6 },
};

export function composePatternPaper(paper: PatternPaper, tick: () => void): PaperDocument {
  const [widthMm, heightMm] = PAPER_SIZES_MM[paper.paper];
  const wide = widthMm - 2 * MARGIN_MM;
  const high = heightMm - 2 * MARGIN_MM - HEAD_MM;
  const canvases = spread(paper.pieces, wide, high, tick);
  // The front may itself take more than one page, and the map on it tells page numbers: made twice, counted once.
  const fronts = frontPages(paper, canvases, widthMm, heightMm).length;
  let next = fronts + 1;
  for (const canvas of canvases) {
    canvas.firstPage = next;
    next += canvas.columns * canvas.rows;
  }
  const pages: PaperPage[] = frontPages(paper, canvases, widthMm, heightMm);
  for (const canvas of canvases) {
    for (let row = 0; row < canvas.rows; row++) {
      for (let column = 0; column < canvas.columns; column++) {
        tick();
        pages.push(tile(paper.title, canvas, column, row, { widthMm, heightMm, wide, high }, next - 1));
      }
    }
  }
  return { title: paper.title, language: 'en', pages };
}

/** Small pieces share pages, each larger one has a canvas of its own. */
function spread(pieces: readonly CutPiece[], wide: number, high: number, tick: () => void): Canvas[] {
  const canvases: Canvas[] = [];
  const nested = nest(pieces, { widthMm: wide, heightMm: high, gapMm: GAP_MM, quarters: [0, 1, 2, 3] }, tick);
  const number = ({ number: n, mirrored }: CutPiece): string => (mirrored ? `${n} mirrored` : `${n}`);
  for (const at of nested.tooLarge) {
    const piece = pieces[at];
    const across = (length: number, page: number): number =>
      Math.max(1, Math.ceil((length - OVERLAP_MM) / (page - OVERLAP_MM)));
    const upright = across(piece.widthMm, wide) * across(piece.heightMm, high);
    const lying = across(piece.heightMm, wide) * across(piece.widthMm, high);
    const quarters = lying < upright ? 1 : 0;
    const shift: Point = quarters === 1 ? [piece.heightMm, 0] : [0, 0];
    const shapes = placedShapes(piece.shapes, quarters, shift);
    const [width, height] = quarters === 1 ? [piece.heightMm, piece.widthMm] : [piece.widthMm, piece.heightMm];
    canvases.push({
      columns: across(width, wide),
      rows: across(height, high),
      shapes,
      outlines: outlinesOf(shapes),
      names: `piece ${number(piece)}`,
      firstPage: 0,
    });
  }
  for (let sheet = 0; sheet < nested.sheets; sheet++) {
    const here = nested.placed.filter((one) => one.sheet === sheet);
    const shapes = here.flatMap((one) => placedShapes(pieces[one.piece].shapes, one.quarters, one.shift));
    const names = here.map((one) => number(pieces[one.piece])).join(', ');
    canvases.push({
      columns: 1,
      rows: 1,
      shapes,
      outlines: outlinesOf(shapes),
      names: `piece${here.length > 1 ? 's' : ''} ${names}`,
      firstPage: 0,
    });
  }
  return canvases;
}

const outlinesOf = (shapes: readonly DrawingShape[]): (readonly number[])[] =>
  shapes.flatMap((shape) => (shape.kind === 'path' && shape.layer === 'cut' ? [shape.points] : []));

interface Sizes {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly wide: number;
  readonly high: number;
}

function tile(title: string, canvas: Canvas, column: number, row: number, sizes: Sizes, pageCount: number): PaperPage {
  const { widthMm, heightMm, wide, high } = sizes;
  const [left, top] = [MARGIN_MM, MARGIN_MM + HEAD_MM];
  // Rows count from the top of the paper, the drawing from its foot.
  const x0 = column * (wide - OVERLAP_MM);
  const y0 = (canvas.rows - 1 - row) * (high - OVERLAP_MM);
  const onPage = ([x, y]: Point): Point => [left + x - x0, top + high - (y - y0)];
  const items: PaperItem[] = [];
  const page = canvas.firstPage + row * canvas.columns + column;
  const whole = canvas.columns * canvas.rows > 1;
  const part = whole ? `, part ${gridName(column, row)} of ${canvas.columns * canvas.rows}` : '';
  items.push(words(title, [left, MARGIN_MM + 2], 4, { style: 'bold' }));
  items.push(words(`${canvas.names}${part}`, [left, MARGIN_MM + 7.5], 3.4));
  items.push(words(`page ${page} of ${pageCount}`, [widthMm - MARGIN_MM, MARGIN_MM + 2], 3.4, { align: 'right' }));
  items.push(...checkBar(widthMm - MARGIN_MM - CHECK_SQUARE_MM, MARGIN_MM + 7));
  items.push({
    kind: 'line',
    points: [left, top, left + wide, top, left + wide, top + high, left, top + high],
    closed: true,
    penMm: 0.1,
    grey: 0.75,
  });
  items.push(...overlaps(canvas, column, row, left, top, wide, high));
  for (const shape of canvas.shapes) {
    if (shape.kind === 'text') {
      const at = onPage(shape.at);
      const within = at[0] >= left && at[0] <= left + wide && at[1] >= top && at[1] <= top + high;
      if (within) items.push(words(shape.text, at, shape.sizeMm, { align: 'middle' }));
      continue;
    }
    const points = shape.closed ? [...shape.points, shape.points[0], shape.points[1]] : shape.points;
    for (const chain of clipped(points, x0, y0, x0 + wide, y0 + high)) {
      const drawn: number[] = [];
      for (let i = 0; i < chain.length; i += 2) drawn.push(...onPage([chain[i], chain[i + 1]]));
      items.push({ kind: 'line', points: drawn, ...PENS[shape.layer] });
    }
  }
  return { widthMm, heightMm, items };
}

/** Column as a letter, row as a number: B2. */
const gridName = (column: number, row: number): string => `${String.fromCharCode(65 + column)}${row + 1}`;

/** Where the next page is laid over this one, its name, and two marks that must come to lie on one another. */
function overlaps(
  canvas: Canvas,
  column: number,
  row: number,
  left: number,
  top: number,
  wide: number,
  high: number,
): PaperItem[] {
  const items: PaperItem[] = [];
  const cross = (x: number, y: number): void => {
    items.push({ kind: 'line', points: [x - 3, y, x + 3, y], penMm: 0.2 });
    items.push({ kind: 'line', points: [x, y - 3, x, y + 3], penMm: 0.2 });
    items.push({ kind: 'line', points: [x - 1.5, y, x, y - 1.5, x + 1.5, y, x, y + 1.5], closed: true, penMm: 0.2 });
  };
  const neighbours = [
    {
      there: column + 1 < canvas.columns,
      name: gridName(column + 1, row),
      x: left + wide - OVERLAP_MM,
      upright: true,
      out: 1,
    },
    { there: column > 0, name: gridName(column - 1, row), x: left + OVERLAP_MM, upright: true, out: -1 },
    { there: row > 0, name: gridName(column, row - 1), x: top + OVERLAP_MM, upright: false, out: -1 },
    {
      there: row + 1 < canvas.rows,
      name: gridName(column, row + 1),
      x: top + high - OVERLAP_MM,
      upright: false,
      out: 1,
    },
  ];
  for (const { there, name, x, upright, out } of neighbours) {
    if (!there) continue;
    const middle = x + (out * OVERLAP_MM) / 2;
    const dash = { penMm: 0.15, dashMm: [2, 2], grey: 0.4 } as const;
    if (upright) {
      items.push({ kind: 'line', points: [x, top, x, top + high], ...dash });
      for (const share of [1 / 4, 3 / 4]) cross(middle, top + share * high);
      items.push(words(`joins ${name}`, [middle, top + high / 2], 2.8, { turnDeg: 90, align: 'middle', grey: 0.3 }));
    } else {
      items.push({ kind: 'line', points: [left, x, left + wide, x], ...dash });
      for (const share of [1 / 4, 3 / 4]) cross(left + share * wide, middle);
      items.push(words(`joins ${name}`, [left + wide / 2, middle + 1], 2.8, { align: 'middle', grey: 0.3 }));
    }
  }
  return items;
}

function checkBar(x: number, y: number): PaperItem[] {
  return [
    { kind: 'line', points: [x, y, x + CHECK_SQUARE_MM, y], penMm: 0.25 },
    { kind: 'line', points: [x, y - 1.5, x, y + 1.5], penMm: 0.25 },
    { kind: 'line', points: [x + CHECK_SQUARE_MM, y - 1.5, x + CHECK_SQUARE_MM, y + 1.5], penMm: 0.25 },
    words(`${CHECK_SQUARE_MM} mm`, [x + CHECK_SQUARE_MM / 2, y + 3.4], 2.6, { align: 'middle' }),
  ];
}

/** The parts of a chain of points inside a box (Liang and Barsky 1984, edge by edge). */
export function clipped(points: readonly number[], left: number, low: number, right: number, top: number): number[][] {
  const chains: number[][] = [];
  let open: number[] | undefined;
  for (let i = 2; i < points.length; i += 2) {
    const [ax, ay] = [points[i - 2], points[i - 1]];
    const [dx, dy] = [points[i] - ax, points[i + 1] - ay];
    let [from, to] = [0, 1];
    for (const [p, q] of [
      [-dx, ax - left],
      [dx, right - ax],
      [-dy, ay - low],
      [dy, top - ay],
    ]) {
      if (p === 0) {
        if (q < 0) [from, to] = [1, 0];
      } else if (p < 0) from = Math.max(from, q / p);
      else to = Math.min(to, q / p);
    }
    if (from > to) {
      open = undefined;
      continue;
    }
    if (open === undefined || from > 0) {
      open = [ax + from * dx, ay + from * dy];
      chains.push(open);
    }
    open.push(ax + to * dx, ay + to * dy);
    if (to < 1) open = undefined;
  }
  return chains;
}
