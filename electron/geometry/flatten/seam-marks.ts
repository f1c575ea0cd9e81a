/** Where pieces meet: the same places marked on both sides of each line, and how well the two sides agree. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import type { FlatPiece, PatternLine } from './lay-flat.ts';
import { borderRuns } from './outline.ts';

export interface Notch {
  readonly piece: number;
  readonly line: number;
  /** Number along the line, from 1; the same on both sides. */
  readonly number: number;
  /** Where, and straight out of the piece, in its uv, mm and unit length. */
  readonly at: readonly [number, number];
  readonly out: readonly [number, number];
  /** Share of the line's length. */
  readonly share: number;
}

/** One side of a line: a stretch of a piece's border. */
export interface SeamSide {
  readonly piece: number;
  readonly line: number;
  /** Part of the line it covers, mm from the line's start, and its length in the flat. */
  readonly fromMm: number;
  readonly toMm: number;
  readonly flatMm: number;
  /** Middle of the stretch in the flat, for its label, and straight out of the piece there. */
  readonly middle: readonly [number, number];
  readonly out: readonly [number, number];
}

export interface SeamMarks {
  readonly notches: readonly Notch[];
  readonly sides: readonly SeamSide[];
  /** Largest difference, over all notches, of the flat lengths to it from where the two sides begin together, mm. */
  readonly notchMismatchMm: number;
  /** Per line: mean angle between the surfaces on its two sides, degrees, positive for a ridge; null on a free side. */
  readonly foldDeg: readonly (number | null)[];
}

/** Notches stand about this far apart, mm; a line shorter than this has none (common practice, no source). */
const NOTCH_EVERY_MM = 60;
const LEAST_LINE_MM = 20;
/** The only notch of a line stands off its middle, so that a piece cannot be joined the wrong way round. */
const LONE_SHARE = 0.4;

interface Walk {
  readonly piece: number;
  readonly line: number;
  /** Along the run, from its lower end on the line: place on the line, length in the flat, uv, and out of the piece. */
  readonly s: Float64Array;
  readonly flat: Float64Array;
  readonly uv: Float64Array;
  /** Face normals of the run's edges, xyz triples, in the same order. */
  readonly normals: Float64Array;
  readonly middles: Float64Array;
  /** +1 when the run goes up the line, -1 when down. */
  readonly way: number;
}

/** O(border · points of the lines). */
export function markSeams(pieces: readonly FlatPiece[], lines: readonly PatternLine[]): SeamMarks {
  const walks = pieces.flatMap((piece, number) => walksOf(piece, number, lines));
  const notches: Notch[] = [];
  const sides: SeamSide[] = [];
  for (const walk of walks) {
    const last = walk.s.length - 1;
    const [from, to] = [walk.s[0], walk.s[last]];
    const middle = placeAt(walk, (from + to) / 2);
    sides.push({
      piece: walk.piece,
      line: walk.line,
      fromMm: from,
      toMm: to,
      flatMm: walk.flat[last],
      middle: middle.at,
      out: middle.out,
    });
    for (const [i, share] of notchShares(lines[walk.line].lengthMm).entries()) {
      const s = share * lines[walk.line].lengthMm;
      if (s <= from || s >= to) continue;
      const { at, out } = placeAt(walk, s);
      notches.push({ piece: walk.piece, line: walk.line, number: i + 1, at, out, share });
    }
  }
  let notchMismatchMm = 0;
  const foldDeg: (number | null)[] = lines.map(() => null);
  for (let line = 0; line < lines.length; line++) {
    const ofLine = walks.filter((walk) => walk.line === line);
    let turned = 0,
      weight = 0;
    for (const [i, a] of ofLine.entries()) {
      for (const b of ofLine.slice(i + 1)) {
        const low = Math.max(a.s[0], b.s[0]);
        const high = Math.min(a.s[a.s.length - 1], b.s[b.s.length - 1]);
        if (!(high > low)) continue;
        for (const share of notchShares(lines[line].lengthMm)) {
          const s = share * lines[line].lengthMm;
          if (s <= low || s >= high) continue;
          const off = flatAt(a, s) - flatAt(a, low) - (flatAt(b, s) - flatAt(b, low));
          notchMismatchMm = Math.max(notchMismatchMm, Math.abs(off));
        }
        const fold = foldBetween(a, b, low, high);
        turned += fold * (high - low);
        weight += high - low;
      }
    }
    if (weight > 0) foldDeg[line] = turned / weight;
  }
  return { notches, sides, notchMismatchMm, foldDeg };
}

function notchShares(lengthMm: number): readonly number[] {
  if (lengthMm < LEAST_LINE_MM) return [];
  const count = Math.max(1, Math.round(lengthMm / NOTCH_EVERY_MM));
  return count === 1 ? [LONE_SHARE] : Array.from({ length: count }, (_, k) => (k + 0.5) / count);
}

function walksOf(piece: FlatPiece, number: number, lines: readonly PatternLine[]): Walk[] {
  const { mesh, loop, label, flat } = piece;
  const p = mesh.positions;
  const count = loop.length;
  const point = (v: number): Vec3 => [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
  const tip = (i: number): boolean => {
    const a = loop[(i + count - 1) % count] * 3,
      b = loop[(i + 1) % count] * 3;
    return p[a] === p[b] && p[a + 1] === p[b + 1] && p[a + 2] === p[b + 2];
  };
  const faceOfEdge = new Map<string, number>();
  for (let h = 0; h < mesh.triangles.length; h++) {
    const to = mesh.triangles[h % 3 === 2 ? h - 2 : h + 1];
    faceOfEdge.set(`${mesh.triangles[h]},${to}`, h - (h % 3));
  }
  const walks: Walk[] = [];
  for (const run of borderRuns(label, tip)) {
    if (run.line < 0) continue;
    let vertices = run.at.map((i) => loop[i]);
    // Where on the line the first edge lies, and which way it goes.
    const [a, b] = [point(vertices[0]), point(vertices[1])];
    const part = (share: number): Vec3 => [0, 1, 2].map((k) => a[k] + share * (b[k] - a[k])) as unknown as Vec3;
    const quarter = alongLine(lines[run.line].points, part(1 / 4));
    const way = alongLine(lines[run.line].points, part(3 / 4)) > quarter ? 1 : -1;
    const edges = vertices.length - 1;
    const s = new Float64Array(edges + 1);
    const lying = new Float64Array(edges + 1);
    const uv = new Float64Array((edges + 1) * 2);
    const normals = new Float64Array(edges * 3);
    const middles = new Float64Array(edges * 3);
    const lengths = vertices.slice(1).map((v, i) => distance(point(vertices[i]), point(v)));
    const first = quarter - (way * lengths[0]) / 4;
    const end = first + way * lengths.reduce((sum, one) => sum + one, 0);
    if (way < 0) {
      vertices = vertices.toReversed();
      lengths.reverse();
    }
    s[0] = Math.max(0, way > 0 ? first : end);
    for (let i = 0; i <= edges; i++) {
      const v = vertices[i];
      uv[i * 2] = flat[v * 2];
      uv[i * 2 + 1] = flat[v * 2 + 1];
      if (i === 0) continue;
      const before = vertices[i - 1];
      s[i] = s[i - 1] + lengths[i - 1];
      lying[i] = lying[i - 1] + Math.hypot(uv[i * 2] - uv[i * 2 - 2], uv[i * 2 + 1] - uv[i * 2 - 1]);
      const face = (way > 0 ? faceOfEdge.get(`${before},${v}`) : faceOfEdge.get(`${v},${before}`)) ?? 0;
      const size = faceCross(p, mesh.triangles, face);
      for (let k = 0; k < 3; k++) {
        normals[i * 3 - 3 + k] = size > 0 ? faceCrossOut[k] / size : 0;
        middles[i * 3 - 3 + k] = [0, 1, 2].reduce((sum, c) => sum + p[mesh.triangles[face + c] * 3 + k] / 3, 0);
      }
    }
    walks.push({ piece: number, line: run.line, s, flat: lying, uv, normals, middles, way });
  }
  return walks;
}

const distance = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** Length along a line to the place on it nearest to a point. */
function alongLine(points: Float64Array, [x, y, z]: Vec3): number {
  let best = Infinity,
    found = 0,
    gone = 0;
  for (let i = 3; i < points.length; i += 3) {
    const ux = points[i] - points[i - 3],
      uy = points[i + 1] - points[i - 2],
      uz = points[i + 2] - points[i - 1];
    const length = Math.hypot(ux, uy, uz);
    const vx = x - points[i - 3],
      vy = y - points[i - 2],
      vz = z - points[i - 1];
    const share = length > 0 ? Math.min(1, Math.max(0, (ux * vx + uy * vy + uz * vz) / (length * length))) : 0;
    const far = Math.hypot(vx - share * ux, vy - share * uy, vz - share * uz);
    if (far < best) [best, found] = [far, gone + share * length];
    gone += length;
  }
  return found;
}

function edgeAt(walk: Walk, s: number): number {
  let i = 1;
  while (i < walk.s.length - 1 && walk.s[i] < s) i++;
  return i;
}

function placeAt(walk: Walk, s: number): { at: [number, number]; out: [number, number] } {
  const i = edgeAt(walk, s);
  const length = walk.s[i] - walk.s[i - 1];
  const share = length > 0 ? (s - walk.s[i - 1]) / length : 0;
  const { uv } = walk;
  const du = uv[i * 2] - uv[i * 2 - 2],
    dv = uv[i * 2 + 1] - uv[i * 2 - 1];
  const size = Math.hypot(du, dv) || 1;
  // The border runs counter-clockwise, so out is to its right.
  return {
    at: [uv[i * 2 - 2] + share * du, uv[i * 2 - 1] + share * dv],
    out: [(walk.way * dv) / size, (-walk.way * du) / size],
  };
}

function flatAt(walk: Walk, s: number): number {
  const i = edgeAt(walk, s);
  const length = walk.s[i] - walk.s[i - 1];
  return walk.flat[i - 1] + (length > 0 ? ((s - walk.s[i - 1]) / length) * (walk.flat[i] - walk.flat[i - 1]) : 0);
}

/** Places looked at along a stretch for its fold. */
const FOLD_PLACES = 24;

function foldBetween(a: Walk, b: Walk, low: number, high: number): number {
  let sum = 0;
  for (let k = 0; k < FOLD_PLACES; k++) {
    const s = low + ((k + 0.5) / FOLD_PLACES) * (high - low);
    const i = (edgeAt(a, s) - 1) * 3,
      j = (edgeAt(b, s) - 1) * 3;
    let dot = 0,
      ridge = 0;
    for (let c = 0; c < 3; c++) {
      dot += a.normals[i + c] * b.normals[j + c];
      ridge += (b.middles[j + c] - a.middles[i + c]) * (b.normals[j + c] - a.normals[i + c]);
    }
    sum += Math.sign(ridge) * Math.acos(Math.min(1, Math.max(-1, dot)));
  }
  return ((sum / FOLD_PLACES) * 180) / Math.PI;
}
