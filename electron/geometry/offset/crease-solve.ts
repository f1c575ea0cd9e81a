/**
 * Where several sheets of an offset surface meet.
 *
 * Near a point the offset surface is the envelope of the offsets of a few faces of the form. Each face's own offset
 * is replaced by its tangent plane at the foot of the point, and the planes are solved together in the least-squares
 * sense with a small pull to where the point is (a quadric error function, as in Ju, Losasso, Schaefer and Warren
 * 2002, "Dual contouring of Hermite data"), renewed as the point moves. One face gives a point of the smooth offset,
 * two a point of a crease, three a corner.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';

/** Most faces taken together. */
export const MOST_SHEETS = 16;
/** Pull to the present place, as a share of the weight of all planes. */
const PULL = 1 / 256;
const ROUNDS = 4;
/** Below this distance a foot gives no direction. */
const LEAST_DISTANCE_MM = 2 ** -20;

/** Place solved for; read and written by `solveSheets`. */
export const place = new Float64Array(3);

/** Foot of the last `footOn`. */
const foot = new Float64Array(3);

/** Distance from a point to a face of the mesh; the foot goes to `foot`. */
function footOn(mesh: Mesh, face: number, x: number, y: number, z: number): number {
  const { positions: p, triangles: t } = mesh;
  const a = t[face * 3] * 3,
    b = t[face * 3 + 1] * 3,
    c = t[face * 3 + 2] * 3;
  const d2 = nearestOnFace(p, a, b, c, x, y, z);
  const u = faceWeights[0],
    v = faceWeights[1],
    w = faceWeights[2];
  foot[0] = u * p[a] + v * p[b] + w * p[c];
  foot[1] = u * p[a + 1] + v * p[b + 1] + w * p[c + 1];
  foot[2] = u * p[a + 2] + v * p[b + 2] + w * p[c + 2];
  return Math.sqrt(d2);
}

/** Least distance from a point to the listed faces. O(count). */
export function nearestOfSheets(
  mesh: Mesh,
  sheets: Int32Array,
  count: number,
  x: number,
  y: number,
  z: number,
): number {
  const { positions: p, triangles: t } = mesh;
  let best = Infinity;
  for (let i = 0; i < count; i++) {
    const f = sheets[i] * 3;
    const d2 = nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z);
    if (d2 < best) best = d2;
  }
  return Math.sqrt(best);
}

/**
 * Move `place` to where its distance to every listed face is |offset|, as nearly as can be, on the side of the form
 * `side` says (1 outside, -1 inside); at most `reach` from where it was. Gives the least cosine between the directions
 * in which the first and another face were last seen: near 1 when they are one smooth sheet. O(count).
 */
export function solveSheets(
  mesh: Mesh,
  sheets: Int32Array,
  count: number,
  offset: number,
  side: number,
  reach: number,
): number {
  let cosine = 1;
  const x0 = place[0],
    y0 = place[1],
    z0 = place[2];
  let x = x0,
    y = y0,
    z = z0;
  for (let round = 0; round < ROUNDS; round++) {
    const pull = PULL * count;
    let a = pull,
      b = 0,
      c = 0,
      d = pull,
      e = 0,
      f = pull,
      r0 = 0,
      r1 = 0,
      r2 = 0;
    let worst = 0;
    for (let i = 0; i < count; i++) {
      const distance = footOn(mesh, sheets[i], x, y, z);
      if (distance < LEAST_DISTANCE_MM) continue;
      const s = side / distance;
      if (i === 0) {
        cosine = 1;
        first[0] = (x - foot[0]) * s;
        first[1] = (y - foot[1]) * s;
        first[2] = (z - foot[2]) * s;
      } else {
        const along = (first[0] * (x - foot[0]) + first[1] * (y - foot[1]) + first[2] * (z - foot[2])) * s;
        if (along < cosine) cosine = along;
      }
      const nx = (x - foot[0]) * s,
        ny = (y - foot[1]) * s,
        nz = (z - foot[2]) * s;
      const miss = offset - side * distance;
      if (Math.abs(miss) > worst) worst = Math.abs(miss);
      a += nx * nx;
      b += nx * ny;
      c += nx * nz;
      d += ny * ny;
      e += ny * nz;
      f += nz * nz;
      r0 += miss * nx;
      r1 += miss * ny;
      r2 += miss * nz;
    }
    if (worst < LEAST_DISTANCE_MM) break;
    if (!solve(a, b, c, d, e, f, r0, r1, r2)) break;
    x += step[0];
    y += step[1];
    z += step[2];
    const moved = Math.hypot(x - x0, y - y0, z - z0);
    if (moved > reach) {
      const back = reach / moved;
      x = x0 + (x - x0) * back;
      y = y0 + (y - y0) * back;
      z = z0 + (z - z0) * back;
    }
  }
  place[0] = x;
  place[1] = y;
  place[2] = z;
  return cosine;
}

const first = new Float64Array(3);

/** Step found by the last `solve`. */
const step = new Float64Array(3);

/** Solve [a b c; b d e; c e f] step = r by cofactors; false where it is singular (a pull keeps it regular). */
function solve(
  a: number,
  b: number,
  c: number,
  d: number,
  e: number,
  f: number,
  r0: number,
  r1: number,
  r2: number,
): boolean {
  const m00 = d * f - e * e,
    m01 = c * e - b * f,
    m02 = b * e - c * d;
  const m11 = a * f - c * c,
    m12 = b * c - a * e,
    m22 = a * d - b * b;
  const det = a * m00 + b * m01 + c * m02;
  if (!(det > 0)) return false;
  step[0] = (m00 * r0 + m01 * r1 + m02 * r2) / det;
  step[1] = (m01 * r0 + m11 * r1 + m12 * r2) / det;
  step[2] = (m02 * r0 + m12 * r1 + m22 * r2) / det;
  return true;
}

/** Tangent planes gathered by `addPlane`, relative to a centre: xyz of the normal and the distance along it. */
const planes = new Float64Array(4 * 8);
let planeCount = 0;

export function clearPlanes(): void {
  planeCount = 0;
}

/** Take a plane through (px, py, pz) with unit normal n into the next `meetPlanes`; at most 8. */
export function addPlane(px: number, py: number, pz: number, nx: number, ny: number, nz: number): void {
  const at = planeCount++ * 4;
  planes[at] = nx;
  planes[at + 1] = ny;
  planes[at + 2] = nz;
  planes[at + 3] = px * nx + py * ny + pz * nz;
}

/** Move `place` to where the gathered planes meet, in the least-squares sense with a small pull to where it is. */
export function meetPlanes(): void {
  const pull = PULL * 4 * planeCount;
  let a = pull,
    b = 0,
    c = 0,
    d = pull,
    e = 0,
    f = pull,
    r0 = 0,
    r1 = 0,
    r2 = 0;
  for (let at = 0; at < planeCount * 4; at += 4) {
    const nx = planes[at],
      ny = planes[at + 1],
      nz = planes[at + 2];
    const miss = planes[at + 3] - place[0] * nx - place[1] * ny - place[2] * nz;
    a += nx * nx;
    b += nx * ny;
    c += nx * nz;
    d += ny * ny;
    e += ny * nz;
    f += nz * nz;
    r0 += miss * nx;
    r1 += miss * ny;
    r2 += miss * nz;
  }
  if (!solve(a, b, c, d, e, f, r0, r1, r2)) return;
  place[0] += step[0];
  place[1] += step[1];
  place[2] += step[2];
}
