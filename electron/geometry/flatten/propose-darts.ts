/** Where darts help: from the border where the flat piece is longest for what it covers, towards the middle. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { shortestPath } from '../measure/shortest-path.ts';

export interface DartPlace {
  /** Border vertex it starts from. */
  readonly from: number;
  /** Its point, on the surface. */
  readonly tip: Vec3;
}

interface Piece {
  readonly mesh: Mesh;
  readonly flat: Float64Array;
  readonly loop: readonly number[];
  readonly label: Int32Array;
}

/** Share of the way to the middle that a dart goes (common practice, no source: short of it, so that no hole is left). */
const DART_SHARE = 0.75;
/** Stretch of border looked at together, as a share of its length. */
const WINDOW_SHARE = 1 / 12;

/**
 * `count` darts shared out along the free border by how much longer the flat is there than the surface, the first where
 * that is most; none when the piece wants more sheet at its border, not less. O(count · ways + faces).
 */
export function proposeDarts(piece: Piece, count: number, tick: () => void): readonly DartPlace[] {
  const { mesh, loop } = piece;
  const excess = borderExcess(piece);
  const total = excess.reduce((sum, one) => sum + one, 0);
  if (!(total > 0)) return [];
  let first = 0;
  for (let i = 1; i < loop.length; i++) if (excess[i] > excess[first]) first = i;
  const middle = deepest(mesh, loop);
  const places: DartPlace[] = [];
  let passed = 0;
  for (let i = 0; i < loop.length && places.length < count; i++) {
    const at = (first + i) % loop.length;
    if (excess[at] > 0 && passed >= (places.length * total) / count) {
      const tip = tipOf(mesh, loop[at], middle, tick);
      if (tip === undefined) return [];
      places.push({ from: loop[at], tip });
    }
    passed += excess[at];
  }
  return places;
}

/** At each place of the border, over a window around it: flat length less length on the surface, not below 0. */
function borderExcess({ mesh, flat, loop, label }: Piece): Float64Array {
  const p = mesh.positions;
  const count = loop.length;
  const more = new Float64Array(count);
  const real = new Float64Array(count);
  let round = 0;
  for (let i = 0; i < count; i++) {
    const a = loop[i],
      b = loop[(i + 1) % count];
    real[i] = Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);
    more[i] = Math.hypot(flat[a * 2] - flat[b * 2], flat[a * 2 + 1] - flat[b * 2 + 1]) - real[i];
    round += real[i];
  }
  const excess = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const before = (i + count - 1) % count;
    // A dart from a line would meet whatever is joined there.
    if (label[i] >= 0 || label[before] >= 0) continue;
    let sum = 0;
    for (const way of [1, -1]) {
      let gone = 0;
      for (let k = 0; gone < (round * WINDOW_SHARE) / 2 && k < count; k++) {
        const edge = way > 0 ? (i + k) % count : (i - 1 - k + 2 * count) % count;
        if (label[edge] >= 0) break;
        gone += real[edge];
        sum += more[edge];
      }
    }
    excess[i] = Math.max(0, sum) * (real[i] + real[before]);
  }
  return excess;
}

function tipOf(mesh: Mesh, from: number, middle: number, tick: () => void): Vec3 | undefined {
  const path = shortestPath(mesh, pointOf(mesh.positions, from), pointOf(mesh.positions, middle), tick);
  if (path === undefined) return undefined;
  let left = DART_SHARE * path.length;
  const q = path.points;
  for (let i = 3; i < q.length; i += 3) {
    const step = Math.hypot(q[i] - q[i - 3], q[i + 1] - q[i - 2], q[i + 2] - q[i - 1]);
    if (step >= left) {
      const share = step > 0 ? left / step : 0;
      return [0, 1, 2].map((k) => q[i - 3 + k] + share * (q[i + k] - q[i - 3 + k])) as unknown as Vec3;
    }
    left -= step;
  }
  return undefined;
}

function pointOf(p: Float64Array, v: number): Vec3 {
  return [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
}

/** The vertex farthest from the border, along edges. */
function deepest({ positions, triangles }: Mesh, loop: readonly number[]): number {
  const count = positions.length / 3;
  const far = new Float64Array(count).fill(Infinity);
  for (const v of loop) far[v] = 0;
  // Relaxed until nothing changes: a patch is a few dozen edges deep.
  for (let changed = true; changed; ) {
    changed = false;
    for (let h = 0; h < triangles.length; h++) {
      const a = triangles[h],
        b = triangles[h % 3 === 2 ? h - 2 : h + 1];
      const edge = Math.hypot(
        positions[a * 3] - positions[b * 3],
        positions[a * 3 + 1] - positions[b * 3 + 1],
        positions[a * 3 + 2] - positions[b * 3 + 2],
      );
      if (far[a] + edge < far[b]) [far[b], changed] = [far[a] + edge, true];
      if (far[b] + edge < far[a]) [far[a], changed] = [far[b] + edge, true];
    }
  }
  let best = 0;
  for (let v = 1; v < count; v++) if (far[v] > far[best] && far[v] < Infinity) best = v;
  return best;
}
