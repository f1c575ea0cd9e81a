/** The part of a surface on which a path of limited length between two points can run, the points made vertices of it. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceWeights, nearestOnFace } from './point-triangle.ts';

export interface SurfacePatch {
  /** xyz triples. */
  readonly positions: readonly number[];
  /** Vertex triples, as oriented in the mesh. */
  readonly triangles: readonly number[];
  readonly from: number;
  readonly to: number;
}

/** Faces gone through between two ticks: a few milliseconds. */
const TICK_FACES = 12_288;
/** A weight of the nearest point below this puts it on the edge or corner. */
const ON_EDGE = 2 ** -30;

/**
 * The faces that reach into the ellipsoid of the points x with |x - from| + |x - to| up to `longest`: a path of that
 * length leaves it nowhere. `from` and `to` are put on the nearest face and made vertices; the surface stays the same.
 * O(faces).
 */
export function patchBetween(mesh: Mesh, from: Vec3, to: Vec3, longest: number, tick?: () => void): SurfacePatch {
  const { positions: p, triangles: t } = mesh;
  const count = p.length / 3;
  // How much longer than `longest` the way over each vertex is at least; below zero it is inside.
  const over = new Float64Array(count);
  for (let v = 0; v < count; v++) {
    if (v % TICK_FACES === 0) tick?.();
    const x = p[v * 3],
      y = p[v * 3 + 1],
      z = p[v * 3 + 2];
    over[v] =
      Math.sqrt((x - from[0]) ** 2 + (y - from[1]) ** 2 + (z - from[2]) ** 2) +
      Math.sqrt((x - to[0]) ** 2 + (y - to[1]) ** 2 + (z - to[2]) ** 2) -
      longest;
  }
  const renumber = new Map<number, number>();
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_FACES) === 0) tick?.();
    const a = t[f],
      b = t[f + 1],
      c = t[f + 2];
    // Along an edge of length e the way over a point is at most 2 e shorter than over its end; over a face, too.
    const least = Math.min(over[a], over[b], over[c]);
    if (least > 0 && least > 2 * longestEdge(p, a, b, c)) continue;
    for (const v of [a, b, c]) {
      let number = renumber.get(v);
      if (number === undefined) {
        number = positions.length / 3;
        renumber.set(v, number);
        positions.push(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
      }
      triangles.push(number);
    }
  }
  const start = insertPoint(positions, triangles, from);
  return { positions, triangles, from: start, to: insertPoint(positions, triangles, to) };
}

function longestEdge(p: Float64Array, a: number, b: number, c: number): number {
  const square = (i: number, j: number): number =>
    (p[i * 3] - p[j * 3]) ** 2 + (p[i * 3 + 1] - p[j * 3 + 1]) ** 2 + (p[i * 3 + 2] - p[j * 3 + 2]) ** 2;
  return Math.sqrt(Math.max(square(a, b), square(b, c), square(c, a)));
}

/** The vertex at the place of the surface nearest to `point`, made there if need be; -1 when there are no faces. */
function insertPoint(positions: number[], triangles: number[], point: Vec3): number {
  const p = Float64Array.from(positions);
  let best = Infinity;
  let face = -1;
  let weights: readonly number[] = [];
  for (let f = 0; f < triangles.length; f += 3) {
    const square = nearestOnFace(
      p,
      triangles[f] * 3,
      triangles[f + 1] * 3,
      triangles[f + 2] * 3,
      point[0],
      point[1],
      point[2],
    );
    if (square < best) {
      best = square;
      face = f;
      weights = Array.from(faceWeights);
    }
  }
  if (face < 0) return -1;
  const corners = triangles.slice(face, face + 3);
  const inside = [0, 1, 2].filter((k) => weights[k] > ON_EDGE);
  if (inside.length === 1) return corners[inside[0]];
  const made = positions.length / 3;
  for (let k = 0; k < 3; k++)
    positions.push(corners.reduce((sum, v, corner) => sum + weights[corner] * positions[v * 3 + k], 0));
  const [a, b, c] = corners;
  if (inside.length === 3) {
    triangles.splice(face, 3, a, b, made, b, c, made, c, a, made);
    return made;
  }
  // On an edge: every face of it is split in two.
  const ends = inside.map((k) => corners[k]);
  for (let f = triangles.length - 3; f >= 0; f -= 3) {
    for (let k = 0; k < 3; k++) {
      const u = triangles[f + k],
        v = triangles[f + ((k + 1) % 3)],
        apex = triangles[f + ((k + 2) % 3)];
      if (!ends.includes(u) || !ends.includes(v)) continue;
      triangles.splice(f, 3, u, made, apex, made, v, apex);
      break;
    }
  }
  return made;
}
