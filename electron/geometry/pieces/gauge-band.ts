/** A thin ring of a shell at one level, with words raised on its outside: printed in minutes to try the size. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { cutFlat } from '../offset/cut-flat.ts';
import { volumeOf } from '../mesh/quantities.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findCap } from './cap.ts';
import { unit } from '../mesh/vector.ts';
import { bodiesOf } from './cut-apart.ts';
import { emboss, type OnSheet } from './emboss.ts';
import { write } from './stroke-letters.ts';

export interface GaugeBand {
  readonly mesh: Mesh;
  /** A bow is a ring left open, as at an opening of the shell; a disc has no hollow. */
  readonly form: 'ring' | 'bow' | 'disc';
  /** Way round the hollow at the lower edge, mm; 0 where the band is no ring. */
  readonly insideMm: number;
  /** Way round the outside there; of a bow, as a tape lies round it, across its opening. */
  readonly outsideMm: number;
  /** Characters that could not be raised. */
  readonly missing: readonly string[];
  /** False when the words were too long for the way round, or the band too low for letters. */
  readonly written: boolean;
}

/** Letters take this share of the band's height, but never more than this height, mm. */
const LETTER_SHARE = 0.55;
const TALLEST_MM = 10;
/** Smallest letter a nozzle of 0.4 mm draws legibly, mm: common practice, no source. */
const LEAST_LETTER_MM = 4;
const STROKE = 0.16;
const RAISED_MM = 0.6;
/** Words take at most this share of the way round. */
const MOST_OF_ROUND = 0.8;

/**
 * The ring of an upright shell between `levelMm - heightMm / 2` and `levelMm + heightMm / 2` (z), with `text` raised on
 * the outside at the back (-x), read from outside. Gives nothing when the shell does not reach through the whole band.
 * The largest body is taken where the band falls into several. O(faces + new faces · outline).
 */
export function gaugeBand(
  shell: Mesh,
  levelMm: number,
  heightMm: number,
  text: string,
  tick?: () => void,
): GaugeBand | undefined {
  const below: Plane = { point: [0, 0, levelMm - heightMm / 2], normal: [0, 0, 1] };
  const above: Plane = { point: [0, 0, levelMm + heightMm / 2], normal: [0, 0, -1] };
  const upper = cutFlat(roundToSingle(shell), below, tick);
  const slab = cutFlat(upper.mesh, above, tick);
  if (upper.loops === 0 || slab.loops === 0) return undefined;
  const [ring] = bodiesOf(slab.mesh, tick).toSorted((a, b) => volumeOf(b) - volumeOf(a));
  if (ring === undefined) return undefined;
  const rims = findCap(ring, below).rims.map((rim) => contourOf(ring, rim));
  const [outer, hollow] = rims.toSorted((a, b) => b.length - a.length);
  if (outer === undefined) return undefined;
  const taut = tautAround(outer);
  const isFilled = Math.abs(outer.areaMm2) > FILLED * taut.areaMm2;
  const form = !isFilled ? 'bow' : hollow !== undefined && isRound(hollow, outer) ? 'ring' : 'disc';
  const outsideMm = form === 'bow' ? taut.length : outer.length;
  const letterMm = Math.min(TALLEST_MM, LETTER_SHARE * heightMm);
  const writing = write(text, letterMm);
  const sizes = { form, outsideMm, insideMm: form === 'ring' ? hollow.length : 0 } as const;
  const fits =
    letterMm >= LEAST_LETTER_MM && writing.widthMm < MOST_OF_ROUND * (form === 'bow' ? outer.length / 2 : outer.length);
  if (!fits || writing.strokes.length === 0) {
    return { mesh: ring, ...sizes, missing: writing.missing, written: writing.strokes.length === 0 };
  }
  const middle = alongOf(outer, leastX(outer));
  const strokes = writing.strokes.map((line) => line.map((c, i) => c - (i % 2 === 0 ? writing.widthMm : letterMm) / 2));
  const strokeMm = STROKE * letterMm;
  const [cx, cy] = middleOf(outer);
  const place = (point: Vec3, normal: Vec3): OnSheet | undefined => {
    if (Math.abs(normal[2]) > LEVEL) return undefined;
    const near = nearestOn(outer, point[0], point[1]);
    if (normal[0] * near.outX + normal[1] * near.outY < 1 / 2) return undefined;
    let along = near.along - middle;
    if (along > outer.length / 2) along -= outer.length;
    if (along < -outer.length / 2) along += outer.length;
    return { x: along, y: point[2] - levelMm, out: unit([point[0] - cx, point[1] - cy, 0]) };
  };
  const relief = { strokes, strokeMm, heightMm: RAISED_MM, flankMm: strokeMm / 3 };
  return { mesh: emboss(ring, place, relief, strokeMm / 2, tick), ...sizes, missing: writing.missing, written: true };
}

/** Surfaces that look more up or down than this (as a cosine) are the band's edges. */
const LEVEL = 0.75;

interface Contour {
  /** x, y of its corners; the material is on the left. */
  readonly points: Float64Array;
  /** Way from the first corner to each, and round. */
  readonly until: Float64Array;
  readonly length: number;
  /** Positive when it runs counter-clockwise seen from above. */
  readonly areaMm2: number;
  readonly turn: number;
}

/** An outline that fills less than this share of what a taut tape encloses is a bow. */
const FILLED = 0.5;
/** A hole that is smaller than this share of the outline is no hollow for a body: a bolt's, for example. */
const HOLLOW = 0.25;

const isRound = (hollow: Contour, outer: Contour): boolean =>
  Math.abs(hollow.areaMm2) > HOLLOW * Math.abs(outer.areaMm2);

/** What a tape drawn taut around an outline takes: its convex hull (Andrew's monotone chain, 1979). O(n log n). */
function tautAround({ points }: Contour): { length: number; areaMm2: number } {
  const corners = Array.from({ length: points.length / 2 }, (_, i) => [points[2 * i], points[2 * i + 1]] as const);
  corners.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const chain = (ordered: readonly (readonly [number, number])[]): (readonly [number, number])[] => {
    const kept: (readonly [number, number])[] = [];
    for (const [x, y] of ordered) {
      for (let k = kept.length; k >= 2; k--) {
        const [[ax, ay], [bx, by]] = [kept[k - 2], kept[k - 1]];
        if ((bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0) break;
        kept.pop();
      }
      kept.push([x, y]);
    }
    return kept.slice(0, -1);
  };
  const hull = [...chain(corners), ...chain(corners.toReversed())];
  let [length, twice] = [0, 0];
  for (const [i, [x, y]] of hull.entries()) {
    const [nx, ny] = hull[(i + 1) % hull.length];
    length += Math.hypot(nx - x, ny - y);
    twice += x * ny - nx * y;
  }
  return { length, areaMm2: twice / 2 };
}

function contourOf(mesh: Mesh, rim: readonly number[]): Contour {
  const points = new Float64Array(2 * rim.length);
  for (const [i, v] of rim.entries()) points.set(mesh.positions.subarray(3 * v, 3 * v + 2), 2 * i);
  const until = new Float64Array(rim.length);
  let [length, twice] = [0, 0];
  for (let i = 0; i < rim.length; i++) {
    const j = (i + 1) % rim.length;
    const [x, y, nx, ny] = [points[2 * i], points[2 * i + 1], points[2 * j], points[2 * j + 1]];
    until[i] = length;
    length += Math.hypot(nx - x, ny - y);
    twice += x * ny - nx * y;
  }
  return { points, until, length, areaMm2: twice / 2, turn: Math.sign(twice) };
}

function middleOf({ points }: Contour): [number, number] {
  let [x, y] = [0, 0];
  for (let i = 0; i < points.length; i += 2) [x, y] = [x + points[i], y + points[i + 1]];
  return [(2 * x) / points.length, (2 * y) / points.length];
}

/** Corner farthest back. */
function leastX({ points }: Contour): number {
  let best = 0;
  for (let i = 0; i < points.length / 2; i++) if (points[2 * i] < points[2 * best]) best = i;
  return best;
}

/** Way to a corner, counted counter-clockwise. */
const alongOf = ({ until, length, turn }: Contour, corner: number): number =>
  turn > 0 ? until[corner] : length - until[corner];

function nearestOn(contour: Contour, x: number, y: number): { along: number; outX: number; outY: number } {
  const { points, until, length, turn } = contour;
  const count = points.length / 2;
  let best = { square: Infinity, along: 0, outX: 0, outY: 0 };
  for (let i = 0; i < count; i++) {
    const j = (i + 1) % count;
    const ex = points[2 * j] - points[2 * i],
      ey = points[2 * j + 1] - points[2 * i + 1];
    const size = Math.hypot(ex, ey);
    if (size === 0) continue;
    const share = ((x - points[2 * i]) * ex + (y - points[2 * i + 1]) * ey) / (size * size);
    const held = Math.min(1, Math.max(0, share));
    const dx = x - points[2 * i] - held * ex,
      dy = y - points[2 * i + 1] - held * ey;
    const square = dx * dx + dy * dy;
    if (square >= best.square) continue;
    const way = until[i] + held * size;
    best = {
      square,
      along: turn > 0 ? way : length - way,
      outX: (turn * ey) / size,
      outY: (-turn * ex) / size,
    };
  }
  return best;
}
