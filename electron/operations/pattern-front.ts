/** The front of a pattern: check square, cut list, map of the pages, pictures of strain, cautions. */
import type { PaperItem, PaperPage } from '../../shared-types/paper.ts';
import {
  CHECK_SQUARE_MM,
  HEAD_MM,
  MARGIN_MM,
  OVERLAP_MM,
  words,
  type Canvas,
  type PatternPaper,
} from './pattern-canvas.ts';
import type { CutPiece } from './pattern-piece.ts';

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

/** As many pages as it takes; the map tells the page numbers the canvases have. */
export function frontPages(
  paper: PatternPaper,
  canvases: readonly Canvas[],
  widthMm: number,
  heightMm: number,
): PaperPage[] {
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
