/** A flat piece made ready to cut: turned by its grain, with allowance, notches, letters and words. */
import type { DrawingShape } from '../../shared-types/drawing.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { directionInFlat } from '../geometry/flatten/grain.ts';
import { giveOf } from '../geometry/flatten/flat-frame.ts';
import type { FlatPiece } from '../geometry/flatten/lay-flat.ts';
import { polygonArea } from '../geometry/flatten/outline.ts';
import type { SeamMarks } from '../geometry/flatten/seam-marks.ts';
import { inside, nearest, offsetPolygon, turned } from '../geometry/nest/offset-polygon.ts';

/** Where each point of a flat piece lies on the body, and what the sheet gives there. */
export interface OnBody {
  /** xy pairs as in the piece's outline, mm. */
  readonly flat: readonly number[];
  /** xyz triples of the same vertices where the sheet's middle lies, mesh coordinates. */
  readonly body: readonly number[];
  readonly triangles: readonly number[];
  /** Of each face, percent. */
  readonly givePercent: readonly number[];
}

export interface CutPiece {
  readonly number: number;
  readonly name: string;
  readonly mirrored: boolean;
  /** Where it is cut, xy pairs in mm, y up, counter-clockwise, lower left corner of its bounds at 0, 0. */
  readonly outline: readonly number[];
  readonly widthMm: number;
  readonly heightMm: number;
  /** Area of what is covered on the body: without the allowance. */
  readonly areaMm2: number;
  /** Everything drawn on it, the outline too. */
  readonly shapes: readonly DrawingShape[];
  readonly onBody: OnBody;
}

export interface PieceWords {
  readonly number: number;
  readonly name: string;
  /** Lines under the name: how often, of what. */
  readonly lines: readonly string[];
}

type Point = readonly [number, number];

const UP: Vec3 = [0, 0, 1];
const FORWARD: Vec3 = [1, 0, 0];
/** A direction that stands off the surface more than this on the mean does not tell how a piece lies. */
const CLEAR_DIRECTION = 0.35;
/** How often a piece is cut, as written on it. */
export const CUT_ONCE = 'cut 1';
export const CUT_BOTH = 'cut 1, and 1 mirrored';
const NOTCH_MM = 4;
const LETTERS_MM = { name: 6, words: 3.2, marks: 2.6 };
const ARROW_MM = { most: 60, head: 2.5 };

/** Letters of lines: A to Z, then AA, AB... */
export function letterOf(line: number): string {
  const rest = Math.floor(line / 26);
  return (rest > 0 ? letterOf(rest - 1) : '') + String.fromCharCode(65 + (line % 26));
}

export function makeCutPiece(
  piece: FlatPiece,
  at: number,
  marks: SeamMarks,
  words: PieceWords,
  allowanceMm: number,
  grain: Vec3 | undefined,
): CutPiece {
  const turn = grainTurn(piece, grain);
  const border = piece.loop.flatMap((v) => turn([piece.flat[v * 2], piece.flat[v * 2 + 1]]));
  const cut = offsetPolygon(border, allowanceMm);
  const [left, low, right, top] = boundsOfOutline(cut);
  const move = ([x, y]: Point): Point => [x - left, y - low];
  const outline = pairs(cut).flatMap(move);
  const seam = pairs(border).flatMap(move);
  const shapes: DrawingShape[] = [{ kind: 'path', layer: 'cut', points: outline, closed: true }];
  if (allowanceMm > 0) shapes.push({ kind: 'path', layer: 'seam', points: seam, closed: true });
  for (const notch of marks.notches.filter((one) => one.piece === at)) {
    const [x, y] = move(turn(notch.at));
    const [ox, oy] = turn(notch.out);
    const [from, to] = allowanceMm > 0 ? [allowanceMm, 0] : [0, -NOTCH_MM];
    shapes.push({
      kind: 'path',
      layer: 'notch',
      points: [x + from * ox, y + from * oy, x + to * ox, y + to * oy],
      closed: false,
    });
    shapes.push(text(String(notch.number), [x + (to - 3) * ox, y + (to - 3) * oy], LETTERS_MM.marks));
  }
  for (const side of marks.sides.filter((one) => one.piece === at)) {
    const [x, y] = move(turn(side.middle));
    const [ox, oy] = turn(side.out);
    shapes.push(text(letterOf(side.line), [x - 9 * ox, y - 9 * oy], LETTERS_MM.words));
  }
  shapes.push(...label(outline, words));
  return {
    number: words.number,
    name: words.name,
    mirrored: false,
    outline,
    widthMm: right - left,
    heightMm: top - low,
    areaMm2: polygonArea(border),
    shapes,
    onBody: {
      flat: pairs(piece.flat).flatMap((point) => move(turn(point))),
      body: Array.from(piece.mesh.positions),
      triangles: Array.from(piece.mesh.triangles),
      givePercent: Array.from(piece.strain.larger, (larger, face) => 100 * giveOf(larger, piece.strain.smaller[face])),
    },
  };
}

/** The same piece for the other side of the body: turned over. */
export function mirrorPiece(piece: CutPiece): CutPiece {
  const flip = (points: readonly number[]): number[] =>
    points.map((value, i) => (i % 2 === 0 ? piece.widthMm - value : value));
  return {
    ...piece,
    mirrored: true,
    outline: pairs(flip(piece.outline)).toReversed().flat(),
    shapes: piece.shapes.map((shape) => {
      if (shape.kind === 'path') return { ...shape, points: flip(shape.points) };
      return {
        ...shape,
        text: shape.text === CUT_BOTH ? 'the mirrored one' : shape.text,
        at: [piece.widthMm - shape.at[0], shape.at[1]],
      };
    }),
  };
}

/** The shapes of a piece in their place, after quarter turns and a shift: letters stay upright. */
export function placedShapes(shapes: readonly DrawingShape[], quarters: number, shift: Point): DrawingShape[] {
  const place = (points: readonly number[]): number[] =>
    turned(points, quarters).map((value, i) => value + shift[i % 2]);
  return shapes.map((shape) => {
    if (shape.kind === 'path') return { ...shape, points: place(shape.points) };
    const [x, y] = place(shape.at);
    return { ...shape, at: [x, y - (shape.belowMm ?? 0)], belowMm: 0 };
  });
}

function text(words: string, at: Point, sizeMm: number): DrawingShape {
  // Marks stand on their place, not over it.
  return { kind: 'text', layer: 'text', text: words, at, belowMm: sizeMm * 0.35, sizeMm };
}

function grainTurn(piece: FlatPiece, grain: Vec3 | undefined): (point: Point) => Point {
  let way: Point = [0, 1];
  for (const direction of grain === undefined ? [UP, FORWARD] : [grain]) {
    const size = Math.hypot(...direction);
    const found = directionInFlat(piece, direction.map((one) => one / size) as unknown as Vec3);
    if (grain === undefined && Math.hypot(...found) < CLEAR_DIRECTION) continue;
    if (Math.hypot(...found) > 0) way = found;
    break;
  }
  const size = Math.hypot(...way);
  const [cos, sin] = [way[1] / size, way[0] / size];
  return ([x, y]) => [x * cos - y * sin, x * sin + y * cos];
}

export function pairs(points: ArrayLike<number>): Point[] {
  return Array.from({ length: points.length / 2 }, (_, i) => [points[i * 2], points[i * 2 + 1]]);
}

export function boundsOfOutline(outline: readonly number[]): readonly [number, number, number, number] {
  const xs = outline.filter((_, i) => i % 2 === 0);
  const ys = outline.filter((_, i) => i % 2 === 1);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** Name, words and grain arrow where there is most room. */
function label(outline: readonly number[], words: PieceWords): DrawingShape[] {
  const { x, y, room } = roomiest(outline);
  const lines = [`${words.number} ${words.name}`, ...words.lines];
  const longest = Math.max(
    ...lines.map((line, i) => line.length * (i === 0 ? LETTERS_MM.name : LETTERS_MM.words) * 0.55),
  );
  // Half the height and half the width of the block have to fit within the room.
  const scale = Math.min(1, (2 * room * 0.85) / Math.max(longest, lines.length * LETTERS_MM.name));
  const shapes: DrawingShape[] = [];
  let belowMm = (-scale * lines.length * LETTERS_MM.words) / 2;
  for (const [i, line] of lines.entries()) {
    const sizeMm = scale * (i === 0 ? LETTERS_MM.name : LETTERS_MM.words);
    shapes.push({ kind: 'text', layer: 'text', text: line, at: [x, y], belowMm, sizeMm });
    belowMm += scale * LETTERS_MM.words * 1.5;
  }
  const length = Math.min(ARROW_MM.most, room * 1.4);
  const beside = x - Math.min(room * 0.8, (scale * longest) / 2 + 4);
  const [low, top] = [y - length / 2, y + length / 2];
  const head = Math.min(ARROW_MM.head, length / 4);
  shapes.push({ kind: 'path', layer: 'grain', points: [beside, low, beside, top], closed: false });
  shapes.push({
    kind: 'path',
    layer: 'grain',
    points: [beside - head / 2, top - head, beside, top, beside + head / 2, top - head],
    closed: false,
  });
  return shapes;
}

/** Places tried across and up for the middle of the label. */
const PLACES = 24;

function roomiest(outline: readonly number[]): { x: number; y: number; room: number } {
  const [left, low, right, top] = boundsOfOutline(outline);
  let best = { x: (left + right) / 2, y: (low + top) / 2, room: 1 };
  for (let i = 1; i < PLACES; i++) {
    for (let j = 1; j < PLACES; j++) {
      const x = left + (i / PLACES) * (right - left),
        y = low + (j / PLACES) * (top - low);
      if (!inside(outline, x, y)) continue;
      const room = nearest(outline, x, y);
      if (room > best.room) best = { x, y, room };
    }
  }
  return best;
}
