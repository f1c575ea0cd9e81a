/**
 * Pieces laid on sheets, low and left first: outlines as filled cells of a raster, each widened by half the gap, the
 * largest piece first, each at the lowest and then leftmost place where it fits, in the turns allowed (bottom-left fill;
 * Baker, Coffman and Rivest 1980). Not the least sheet there could be: that has no quick method.
 */
import { inside, nearest, turned } from './offset-polygon.ts';

export interface NestPiece {
  /** Closed outline, xy pairs, mm. */
  readonly outline: readonly number[];
}

export interface NestOptions {
  readonly widthMm: number;
  readonly heightMm: number;
  /** Between pieces, and to the sheet's edge. */
  readonly gapMm: number;
  /** Turns allowed, in quarters: [0, 2] keeps the grain. */
  readonly quarters: readonly number[];
}

export interface Placed {
  readonly piece: number;
  readonly sheet: number;
  readonly quarters: number;
  /** Added to the turned outline. */
  readonly shift: readonly [number, number];
}

export interface Nested {
  readonly placed: readonly Placed[];
  readonly sheets: number;
  /** Pieces larger than a sheet in every turn allowed. */
  readonly tooLarge: readonly number[];
  /** Area of the pieces over that of the sheets up to the highest piece of the last one. */
  readonly use: number;
}

/** Side of a raster cell: a piece is placed to this. */
const CELL_MM = 2;

interface Mask {
  /** Cells covered, x and y alternating, and how many cells it is wide and high. */
  readonly cells: Int32Array;
  readonly wide: number;
  readonly high: number;
  /** Lower left corner of its cell 0, 0. */
  readonly left: number;
  readonly low: number;
}

/** Deterministic. O(pieces · places · cells of a border). */
export function nest(pieces: readonly NestPiece[], options: NestOptions, tick: () => void): Nested {
  const wide = Math.floor(options.widthMm / CELL_MM),
    high = Math.floor(options.heightMm / CELL_MM);
  const areas = pieces.map((piece) => Math.abs(areaOf(piece.outline)));
  const order = pieces.map((_, i) => i).sort((a, b) => areas[b] - areas[a] || a - b);
  const sheets: Uint8Array[] = [];
  const placed: Placed[] = [];
  const tooLarge: number[] = [];
  let top = 0;
  for (const piece of order) {
    const masks = options.quarters.map((quarters) => ({
      quarters,
      mask: maskOf(turned(pieces[piece].outline, quarters), options.gapMm / 2, tick),
    }));
    const fitting = masks.filter(({ mask }) => mask.wide <= wide && mask.high <= high);
    if (fitting.length === 0) {
      tooLarge.push(piece);
      continue;
    }
    for (let sheet = 0; ; sheet++) {
      if (sheet === sheets.length) {
        sheets.push(new Uint8Array(wide * high));
        top = 0;
      }
      let best: { x: number; y: number; quarters: number; mask: Mask } | undefined;
      for (const { quarters, mask } of fitting) {
        const place = lowestPlace(sheets[sheet], wide, high, mask, best?.y ?? high, tick);
        if (place === undefined) continue;
        const reach = place[1] + mask.high;
        if (best === undefined || reach < best.y + best.mask.high) best = { x: place[0], y: place[1], quarters, mask };
      }
      if (best === undefined) continue;
      const { x, y, quarters, mask } = best;
      for (let i = 0; i < mask.cells.length; i += 2)
        sheets[sheet][(y + mask.cells[i + 1]) * wide + x + mask.cells[i]] = 1;
      placed.push({ piece, sheet, quarters, shift: [x * CELL_MM - mask.left, y * CELL_MM - mask.low] });
      if (sheet === sheets.length - 1) top = Math.max(top, (y + mask.high) * CELL_MM);
      break;
    }
  }
  placed.sort((a, b) => a.piece - b.piece);
  const covered = placed.reduce((sum, one) => sum + areas[one.piece], 0);
  const used = (Math.max(0, sheets.length - 1) * options.heightMm + top) * options.widthMm;
  return { placed, sheets: sheets.length, tooLarge, use: used > 0 ? covered / used : 0 };
}

function areaOf(outline: readonly number[]): number {
  let twice = 0;
  for (let i = 0; i < outline.length; i += 2) {
    const j = (i + 2) % outline.length;
    twice += outline[i] * outline[j + 1] - outline[i + 1] * outline[j];
  }
  return twice / 2;
}

/** Every cell that comes within `margin` of the outline or lies inside it. */
function maskOf(outline: readonly number[], margin: number, tick: () => void): Mask {
  let [left, low, right, top] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < outline.length; i += 2) {
    left = Math.min(left, outline[i]);
    right = Math.max(right, outline[i]);
    low = Math.min(low, outline[i + 1]);
    top = Math.max(top, outline[i + 1]);
  }
  [left, low] = [left - margin, low - margin];
  const wide = Math.ceil((right + margin - left) / CELL_MM),
    high = Math.ceil((top + margin - low) / CELL_MM);
  const reach = margin + CELL_MM * Math.SQRT1_2;
  const border: number[] = [];
  const rest: number[] = [];
  for (let y = 0; y < high; y++) {
    tick();
    for (let x = 0; x < wide; x++) {
      const [cx, cy] = [left + (x + 0.5) * CELL_MM, low + (y + 0.5) * CELL_MM];
      if (nearest(outline, cx, cy) < reach) border.push(x, y);
      else if (inside(outline, cx, cy)) rest.push(x, y);
    }
  }
  // Its border first: that is where it meets others, and most places are told unfit by a few cells.
  return { cells: Int32Array.from([...border, ...rest]), wide, high, left, low };
}

function lowestPlace(
  sheet: Uint8Array,
  wide: number,
  high: number,
  { cells, wide: w, high: h }: Mask,
  below: number,
  tick: () => void,
): readonly [number, number] | undefined {
  for (let y = 0; y <= Math.min(high - h, below); y++) {
    tick();
    for (let x = 0; x <= wide - w; x++) {
      let free = true;
      for (let i = 0; i < cells.length; i += 2) {
        if (sheet[(y + cells[i + 1]) * wide + x + cells[i]] === 0) continue;
        free = false;
        break;
      }
      if (free) return [x, y];
    }
  }
  return undefined;
}
