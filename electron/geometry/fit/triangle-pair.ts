/**
 * The least distance between triangles, with where it is taken. Apart, it is taken between a corner and a face or
 * between two edges (Larsen, Gottschalk, Lin and Manocha 1999, "Fast proximity queries with swept sphere volumes");
 * an edge that crosses the other face makes it nothing. The nearest points of two edges: Ericson, Real-Time Collision
 * Detection, 2005, 5.1.9.
 */
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import type { Bvh } from '../spatial/bvh.ts';

/** Where two triangles come nearest, a on the asked one, b on the other; reuse one object over many queries. */
export interface TrianglePair {
  /** 0 when they meet. */
  distance: number;
  ax: number;
  ay: number;
  az: number;
  bx: number;
  by: number;
  bz: number;
  /** Face of the tree, -1 when nothing lay within the limit. */
  face: number;
}

export function pairSlot(): TrianglePair {
  return { distance: Infinity, ax: 0, ay: 0, az: 0, bx: 0, by: 0, bz: 0, face: -1 };
}

/** Corners of the asked triangle at 0, of the other at 9. */
const c = new Float64Array(18);
/** Squared distance, point on the asked triangle, point on the other. */
const found = new Float64Array(7);

function take(distance2: number, fromAsked: boolean, at: number, x: number, y: number, z: number): void {
  found[0] = distance2;
  const own = fromAsked ? 1 : 4,
    other = fromAsked ? 4 : 1;
  found[own] = x;
  found[own + 1] = y;
  found[own + 2] = z;
  const [u, v, w] = faceWeights;
  for (let k = 0; k < 3; k++) found[other + k] = u * c[at + k] + v * c[at + 3 + k] + w * c[at + 6 + k];
}

/** Corners of the triangle at `from` against the triangle at `to`. */
function cornersTo(from: number, to: number, fromAsked: boolean): void {
  for (let i = from; i < from + 9; i += 3) {
    const d = nearestOnFace(c, to, to + 3, to + 6, c[i], c[i + 1], c[i + 2]);
    if (d < found[0]) take(d, fromAsked, to, c[i], c[i + 1], c[i + 2]);
  }
}

/** Edge from corner offset p to q against edge from r to s. */
function edges(p: number, q: number, r: number, s: number): void {
  const ux = c[q] - c[p],
    uy = c[q + 1] - c[p + 1],
    uz = c[q + 2] - c[p + 2];
  const vx = c[s] - c[r],
    vy = c[s + 1] - c[r + 1],
    vz = c[s + 2] - c[r + 2];
  const wx = c[p] - c[r],
    wy = c[p + 1] - c[r + 1],
    wz = c[p + 2] - c[r + 2];
  const uu = ux * ux + uy * uy + uz * uz,
    vv = vx * vx + vy * vy + vz * vz,
    uv = ux * vx + uy * vy + uz * vz,
    uw = ux * wx + uy * wy + uz * wz,
    vw = vx * wx + vy * wy + vz * wz;
  // Where an end of an edge is nearest, or the edges are parallel, corners against faces have found it.
  const det = uu * vv - uv * uv;
  if (!(det > 0)) return;
  const i = (uv * vw - vv * uw) / det,
    j = (uu * vw - uv * uw) / det;
  if (!(i > 0 && i < 1)) return;
  if (!(j > 0 && j < 1)) return;
  const ax = c[p] + i * ux,
    ay = c[p + 1] + i * uy,
    az = c[p + 2] + i * uz;
  const bx = c[r] + j * vx,
    by = c[r + 1] + j * vy,
    bz = c[r + 2] + j * vz;
  const d = (ax - bx) ** 2 + (ay - by) ** 2 + (az - bz) ** 2;
  if (d >= found[0]) return;
  found[0] = d;
  found[1] = ax;
  found[2] = ay;
  found[3] = az;
  found[4] = bx;
  found[5] = by;
  found[6] = bz;
}

/** Whether an edge of the triangle at `from` crosses the one at `to`; the crossing goes to `found`. */
function crosses(from: number, to: number): boolean {
  const ux = c[to + 3] - c[to],
    uy = c[to + 4] - c[to + 1],
    uz = c[to + 5] - c[to + 2];
  const vx = c[to + 6] - c[to],
    vy = c[to + 7] - c[to + 1],
    vz = c[to + 8] - c[to + 2];
  const nx = uy * vz - uz * vy,
    ny = uz * vx - ux * vz,
    nz = ux * vy - uy * vx;
  const side = (i: number): number => (c[i] - c[to]) * nx + (c[i + 1] - c[to + 1]) * ny + (c[i + 2] - c[to + 2]) * nz;
  const sides = [side(from), side(from + 3), side(from + 6)];
  for (let e = 0; e < 3; e++) {
    const s = sides[e],
      t = sides[(e + 1) % 3];
    if (s * t > 0 || s === t) continue;
    const i = from + 3 * e,
      j = from + 3 * ((e + 1) % 3);
    const share = s / (s - t);
    const x = c[i] + share * (c[j] - c[i]),
      y = c[i + 1] + share * (c[j + 1] - c[i + 1]),
      z = c[i + 2] + share * (c[j + 2] - c[i + 2]);
    const px = x - c[to],
      py = y - c[to + 1],
      pz = z - c[to + 2];
    const nn = nx * nx + ny * ny + nz * nz;
    const v = (nx * (uy * pz - uz * py) + ny * (uz * px - ux * pz) + nz * (ux * py - uy * px)) / nn;
    const u = (nx * (py * vz - pz * vy) + ny * (pz * vx - px * vz) + nz * (px * vy - py * vx)) / nn;
    if (u < 0 || v < 0 || u + v > 1) continue;
    found.set([0, x, y, z, x, y, z]);
    return true;
  }
  return false;
}

/** Fills `found` where the triangles in `c` come nearer than it says already. */
function nearer(): void {
  const before = found[0];
  cornersTo(0, 9, true);
  cornersTo(9, 0, false);
  for (let i = 0; i < 9; i += 3) {
    for (let j = 9; j < 18; j += 3) edges(i, i === 6 ? 0 : i + 3, j, j === 15 ? 9 : j + 3);
  }
  if (found[0] < before && found[0] > 0 && !crosses(0, 9)) crosses(9, 0);
}

const STACK = 256;
const stackNode = new Uint32Array(STACK);
const stackDistance = new Float64Array(STACK);

/**
 * The nearest points of a triangle (nine numbers) and the faces of a tree, if nearer than `limit` (both in the mesh's
 * unit). Fills `out`; `out.face` is -1 when nothing is that near. Depth is not measured: where they meet the distance
 * is 0. Expected O(log faces) for a triangle small against its distance.
 */
export function nearestToTriangle(tree: Bvh, corners: ArrayLike<number>, out: TrianglePair, limit: number): boolean {
  out.face = -1;
  out.distance = limit;
  if (tree.nodeCount === 0) return false;
  const { bounds, right, count, faces } = tree;
  let x0 = Infinity,
    y0 = Infinity,
    z0 = Infinity,
    x1 = -Infinity,
    y1 = -Infinity,
    z1 = -Infinity;
  for (let i = 0; i < 9; i += 3) {
    const x = (c[i] = corners[i]),
      y = (c[i + 1] = corners[i + 1]),
      z = (c[i + 2] = corners[i + 2]);
    x0 = Math.min(x0, x);
    y0 = Math.min(y0, y);
    z0 = Math.min(z0, z);
    x1 = Math.max(x1, x);
    y1 = Math.max(y1, y);
    z1 = Math.max(z1, z);
  }
  const apart = (b: Float32Array, at: number): number => {
    const dx = Math.max(0, b[at] - x1, x0 - b[at + 3]);
    const dy = Math.max(0, b[at + 1] - y1, y0 - b[at + 4]);
    const dz = Math.max(0, b[at + 2] - z1, z0 - b[at + 5]);
    return dx * dx + dy * dy + dz * dz;
  };
  found[0] = limit * limit;
  let top = 1;
  stackNode[0] = 0;
  stackDistance[0] = apart(bounds, 0);
  while (top > 0) {
    const node = stackNode[--top];
    if (stackDistance[top] >= found[0]) continue;
    const n = count[node];
    if (n > 0) {
      for (let slot = right[node]; slot < right[node] + n; slot++) {
        if (apart(tree.boxes, slot * 6) >= found[0]) continue;
        for (let k = 0; k < 9; k++) c[9 + k] = tree.corners[slot * 9 + k];
        const before = found[0];
        nearer();
        if (found[0] < before) out.face = faces[slot];
      }
      continue;
    }
    const a = node + 1,
      b = right[node];
    const da = apart(bounds, a * 6),
      db = apart(bounds, b * 6);
    const [near, far, dNear, dFar] = da <= db ? [a, b, da, db] : [b, a, db, da];
    stackNode[top] = far;
    stackDistance[top++] = dFar;
    stackNode[top] = near;
    stackDistance[top++] = dNear;
  }
  if (out.face < 0) return false;
  out.distance = Math.sqrt(found[0]);
  [, out.ax, out.ay, out.az, out.bx, out.by, out.bz] = found;
  return true;
}
