/**
 * Cut pieces on paper at their true size: a front page with the check square, the cut list, a map of the pages and
 * cautions, then the pieces, those larger than a page over several that overlap and are glued together by their marks.
 */
import type { DrawingLayer, DrawingShape } from '../../shared-types/drawing.ts';
import {
  PAPER_SIZES_MM,
  type PaperDocument,
  type PaperItem,
  type PaperPage,
  type PaperSize,
} from '../../shared-types/paper.ts';
import { nest } from '../geometry/nest/nest.ts';
import { placedShapes, type CutPiece } from './pattern-piece.ts';

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
const MARGIN_MM = 12;
const HEAD_MM = 12;
/** Strip that two neighbouring pages both show. */
const OVERLAP_MM = 12;
export const CHECK_SQUARE_MM = 50;
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

/** Pieces together on a stretch of paper, divided into pages. */
interface Canvas {
  readonly columns: number;
  readonly rows: number;
  readonly shapes: readonly DrawingShape[];
  readonly outlines: readonly (readonly number[])[];
  readonly names: string;
  /** Number of its first page in the document. */
  firstPage: number;
}

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

function words(
  text: string,
  at: Point,
  sizeMm: number,
  more: Partial<Pick<Extract<PaperItem, { kind: 'text' }>, 'style' | 'align' | 'grey' | 'turnDeg'>> = {},
): PaperItem {
  return { kind: 'text', text, at, sizeMm, ...more };
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

/** Width of a letter over its height, taken a little too wide. */
const LETTER_SHARE = 0.48;

/** Words broken into lines that surely fit: no letter is measured. */
function wrapped(text: string, widthMm: number, sizeMm: number): string[] {
  const most = Math.max(8, Math.floor(widthMm / (sizeMm * LETTER_SHARE)));
  const lines = [''];
  for (const word of text.split(' ')) {
    const last = lines[lines.length - 1];
    if (last !== '' && last.length + 1 + word.length > most) lines.push(word);
    else lines[lines.length - 1] = last === '' ? word : `${last} ${word}`;
  }
  return lines;
}

function frontPages(paper: PatternPaper, canvases: readonly Canvas[], widthMm: number, heightMm: number): PaperPage[] {
  const pages: PaperItem[][] = [[]];
  const wide = widthMm - 2 * MARGIN_MM;
  let y = MARGIN_MM + 8;
  const room = (height: number): void => {
    if (y + height <= heightMm - MARGIN_MM) return;
    pages.push([]);
    y = MARGIN_MM + 6;
  };
  const put = (...items: PaperItem[]): void => void pages[pages.length - 1].push(...items);
  const sentences = (lines: readonly string[], sizeMm: number): void => {
    for (const line of lines) {
      for (const row of wrapped(line, wide, sizeMm)) {
        room(sizeMm * 1.4);
        put(words(row, [MARGIN_MM, y], sizeMm));
        y += sizeMm * 1.4;
      }
      y += sizeMm * 0.3;
    }
  };
  const head = (text: string): void => {
    room(20);
    y += 4;
    put(words(text, [MARGIN_MM, y], 4.4, { style: 'title' }));
    y += 6;
  };
  put(words(paper.title, [MARGIN_MM, y], 8, { style: 'title' }));
  y += 8;
  sentences(paper.facts, 3.6);
  y += 3;
  put({
    kind: 'line',
    points: [
      MARGIN_MM,
      y,
      MARGIN_MM + CHECK_SQUARE_MM,
      y,
      MARGIN_MM + CHECK_SQUARE_MM,
      y + CHECK_SQUARE_MM,
      MARGIN_MM,
      y + CHECK_SQUARE_MM,
    ],
    closed: true,
    penMm: 0.3,
  });
  put(
    words(`${CHECK_SQUARE_MM} mm`, [MARGIN_MM + CHECK_SQUARE_MM / 2, y + CHECK_SQUARE_MM / 2 + 1], 4, {
      align: 'middle',
    }),
  );
  const beside = [
    `Measure this square before you cut: it must be ${CHECK_SQUARE_MM} mm wide and high. If it is not, print again at 100 %, without fitting to the page.`,
    'Solid lines are cut, dashed lines are sewn. Marks with the same letter and number meet. The printed side is the outer side; the arrow runs up the body.',
    'Where pages carry dashed edges, lay one over the other until the crosses meet, and tape them.',
  ];
  let line = y + 4;
  for (const sentence of beside) {
    for (const row of wrapped(sentence, wide - CHECK_SQUARE_MM - 6, 3.4)) {
      put(words(row, [MARGIN_MM + CHECK_SQUARE_MM + 6, line], 3.4));
      line += 4.8;
    }
    line += 1.6;
  }
  y = Math.max(y + CHECK_SQUARE_MM, line) + 4;
  head('Cut list');
  sentences(paper.cutList, 3.4);
  head('Pages');
  for (const canvas of canvases) {
    const height = mapHeight(canvas);
    room(height + 8);
    put(...pageMap(canvas, MARGIN_MM, y, widthMm, heightMm));
    put(
      words(`${canvas.names}: ${pagesOf(canvas)}`, [MARGIN_MM + 4 + mapWidth(canvas, widthMm, heightMm), y + 4], 3.4),
    );
    y += height + 4;
  }
  head('Strain');
  sentences(
    [
      `Where a piece is white the sheet gives nothing along itself, where it is black ${paper.stretchPercent} % or more.`,
    ],
    3.4,
  );
  for (const row of strainPictures(paper, wide)) {
    room(row.heightMm + 4);
    put(...row.items.map((item) => shifted(item, MARGIN_MM, y)));
    y += row.heightMm + 2;
  }
  head('Take care');
  sentences(paper.cautions, 3.4);
  return pages.map((items) => ({ widthMm, heightMm, items }));
}

/** Largest side of a piece on the picture of strain, mm. */
const PICTURE_MM = 34;

/** Small pictures of the pieces, the darker the more the sheet gives there, in rows as wide as the page. */
function strainPictures(paper: PatternPaper, wide: number): { items: PaperItem[]; heightMm: number }[] {
  const pieces = paper.pieces.filter((piece) => !piece.mirrored);
  const scale = PICTURE_MM / Math.max(...pieces.flatMap((piece) => [piece.widthMm, piece.heightMm]));
  const each = PICTURE_MM + 6;
  const abreast = Math.max(1, Math.floor((wide + 6) / each));
  return Array.from({ length: Math.ceil(pieces.length / abreast) }, (_, row) => {
    const here = pieces.slice(row * abreast, (row + 1) * abreast);
    const foot = scale * Math.max(...here.map((piece) => piece.heightMm));
    const items = here.flatMap((piece, i) => strainPicture(piece, paper.stretchPercent, scale, i * each, foot));
    return { items, heightMm: foot + 5 };
  });
}

function strainPicture(piece: CutPiece, blackPercent: number, scale: number, left: number, foot: number): PaperItem[] {
  const { flat, triangles, givePercent } = piece.onBody;
  const place = (value: number, i: number): number => (i % 2 === 0 ? left + scale * value : foot - scale * value);
  const items = givePercent.map((give, face): PaperItem => {
    const corners = triangles.slice(face * 3, face * 3 + 3).flatMap((v) => [flat[v * 2], flat[v * 2 + 1]]);
    return { kind: 'line', points: corners.map(place), closed: true, penMm: 0, fillGrey: greyOf(give / blackPercent) };
  });
  items.push({ kind: 'line', points: piece.outline.map(place), closed: true, penMm: 0.15 });
  items.push(words(`${piece.number}: up to ${Math.max(...givePercent).toFixed(1)} %`, [left, foot + 4], 2.8));
  return items;
}

/** In steps, so that a glance tells one from another: nothing white, the allowed and beyond black. */
const greyOf = (share: number): number => 1 - Math.min(1, Math.floor(share * 5) / 5);

function shifted(item: PaperItem, x: number, y: number): PaperItem {
  if (item.kind === 'line') return { ...item, points: item.points.map((value, i) => value + (i % 2 === 0 ? x : y)) };
  return { ...item, at: [item.at[0] + x, item.at[1] + y] };
}

/** Height of one page on the map. */
const MAP_PAGE_MM = 14;
/** Width of the map at most. */
const MAP_WIDEST_MM = 90;

const mapHeight = (canvas: Canvas): number => canvas.rows * MAP_PAGE_MM + 2;

function pagesOf({ columns, rows, firstPage }: Canvas): string {
  const last = firstPage + columns * rows - 1;
  return last === firstPage ? `page ${firstPage}` : `pages ${firstPage} to ${last}, ${columns} across and ${rows} down`;
}

/** What of a page is new on it, and how small it is on the map. */
function mapScale(canvas: Canvas, widthMm: number, heightMm: number): readonly [number, number, number] {
  const wide = widthMm - 2 * MARGIN_MM - OVERLAP_MM;
  const high = heightMm - 2 * MARGIN_MM - HEAD_MM - OVERLAP_MM;
  return [wide, high, Math.min(MAP_PAGE_MM / high, MAP_WIDEST_MM / (canvas.columns * wide))];
}

function mapWidth(canvas: Canvas, widthMm: number, heightMm: number): number {
  const [wide, , scale] = mapScale(canvas, widthMm, heightMm);
  return canvas.columns * wide * scale;
}

function pageMap(canvas: Canvas, left: number, top: number, widthMm: number, heightMm: number): PaperItem[] {
  const [wide, high, scale] = mapScale(canvas, widthMm, heightMm);
  const items: PaperItem[] = [];
  const foot = top + canvas.rows * high * scale;
  for (let row = 0; row < canvas.rows; row++) {
    for (let column = 0; column < canvas.columns; column++) {
      const [x, y] = [left + column * wide * scale, top + row * high * scale];
      const [w, h] = [wide * scale, high * scale];
      items.push({
        kind: 'line',
        points: [x, y, x + w, y, x + w, y + h, x, y + h],
        closed: true,
        penMm: 0.15,
        grey: 0.5,
      });
      const page = String(canvas.firstPage + row * canvas.columns + column);
      items.push(words(page, [x + w / 2, y + h / 2 + 1], 2.6, { align: 'middle' }));
    }
  }
  for (const outline of canvas.outlines) {
    const points = outline.map((value, i) => (i % 2 === 0 ? left + value * scale : foot - value * scale));
    items.push({ kind: 'line', points, closed: true, penMm: 0.2 });
  }
  return items;
}
