import { faceCross, faceCrossOut } from './face-cross.ts';
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';

export interface Bounds {
  readonly min: Vec3;
  readonly max: Vec3;
}

/** The box that holds one and, widened by so much to all sides, the other. O(1). */
export function boxOver(one: Bounds, other: Bounds, widerMm: number): Bounds {
  const low = (k: number): number => Math.min(one.min[k], other.min[k] - widerMm);
  const high = (k: number): number => Math.max(one.max[k], other.max[k] + widerMm);
  return { min: [low(0), low(1), low(2)], max: [high(0), high(1), high(2)] };
}

/** Axis-aligned bounds of all vertices; of no vertices, +Infinity to -Infinity. */
export function boundsOf(positions: Float64Array): Bounds {
  let ax = Infinity,
    ay = Infinity,
    az = Infinity,
    bx = -Infinity,
    by = -Infinity,
    bz = -Infinity;
  for (let i = 0; i < positions.length; i += 3) {
    const x = positions[i],
      y = positions[i + 1],
      z = positions[i + 2];
    if (x < ax) ax = x;
    if (x > bx) bx = x;
    if (y < ay) ay = y;
    if (y > by) by = y;
    if (z < az) az = z;
    if (z > bz) bz = z;
  }
  return { min: [ax, ay, az], max: [bx, by, bz] };
}

/** Bounds of all vertices once moved by `matrix` (affine, row-major), without moving them: O(n), nothing is copied. */
export function boundsMoved(positions: Float32Array | Float64Array, matrix: Matrix4): Bounds {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < positions.length; i += 3) {
    for (let k = 0; k < 3; k++) {
      const row = k * 4;
      const at =
        matrix[row] * positions[i] +
        matrix[row + 1] * positions[i + 1] +
        matrix[row + 2] * positions[i + 2] +
        matrix[row + 3];
      if (at < min[k]) min[k] = at;
      if (at > max[k]) max[k] = at;
    }
  }
  return { min: [min[0], min[1], min[2]], max: [max[0], max[1], max[2]] };
}

/** Length of the bounds' diagonal. */
export function diagonalOf(positions: Float64Array): number {
  const { min, max } = boundsOf(positions);
  return Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
}

/** Total area of the faces, mm². O(faces). */
export function areaOf(mesh: Mesh): number {
  const { positions: p, triangles: t } = mesh;
  let twice = 0;
  for (let f = 0; f < t.length; f += 3) twice += faceCross(p, t, f);
  return twice / 2;
}

/**
 * Signed volume of each of `count` pieces, mm³, as `volumeOf` gives it: below 0 where a piece looks inward. `pieceOfFace`
 * as of `findPieces`. O(faces).
 */
export function pieceVolumes(mesh: Mesh, pieceOfFace: ArrayLike<number>, count: number): Float64Array {
  const { positions, triangles } = mesh;
  const next = new Uint32Array(count + 1);
  for (let f = 0; f < triangles.length / 3; f++) next[pieceOfFace[f] + 1] += 3;
  for (let piece = 0; piece < count; piece++) next[piece + 1] += next[piece];
  const first = next.slice();
  const sorted = new Uint32Array(triangles.length);
  for (let h = 0; h < triangles.length; h++) sorted[next[pieceOfFace[(h / 3) | 0]]++] = triangles[h];
  return Float64Array.from({ length: count }, (_, piece) =>
    volumeOf({ positions, triangles: sorted.subarray(first[piece], first[piece + 1]) }),
  );
}

/**
 * Signed volume inside a closed mesh, mm³, by the divergence theorem; positive when the faces run
 * counter-clockwise seen from outside. Taken about the first vertex so that a mesh far from the origin
 * loses no digits. Means nothing on an open mesh. O(faces).
 */
export function volumeOf(mesh: Mesh): number {
  const { positions: p, triangles: t } = mesh;
  if (t.length === 0) return 0;
  const ox = p[t[0] * 3],
    oy = p[t[0] * 3 + 1],
    oz = p[t[0] * 3 + 2];
  let six = 0;
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const ax = p[a] - ox,
      ay = p[a + 1] - oy,
      az = p[a + 2] - oz;
    const bx = p[b] - ox,
      by = p[b + 1] - oy,
      bz = p[b + 2] - oz;
    const cx = p[c] - ox,
      cy = p[c + 1] - oy,
      cz = p[c + 2] - oz;
    six += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
  }
  return six / 6;
}

/** Unit normals of the faces, xyz triples; zero for a degenerate face. O(faces). */
export function faceNormals(mesh: Mesh): Float64Array {
  const { positions: p, triangles: t } = mesh;
  const normals = new Float64Array(t.length);
  for (let f = 0; f < t.length; f += 3) {
    const length = faceCross(p, t, f);
    if (length > 0) for (let k = 0; k < 3; k++) normals[f + k] = faceCrossOut[k] / length;
  }
  return normals;
}

/** Unit vertex normals, each face weighted by its angle at the vertex (Baerentzen and Aanaes 2005). */
export function vertexNormals(mesh: Mesh): Float64Array {
  const { positions: p, triangles: t } = mesh;
  const faces = faceNormals(mesh);
  const normals = new Float64Array(p.length);
  for (let f = 0; f < t.length; f += 3) {
    for (let corner = 0; corner < 3; corner++) {
      const a = t[f + corner] * 3,
        b = t[f + ((corner + 1) % 3)] * 3,
        c = t[f + ((corner + 2) % 3)] * 3;
      const ux = p[b] - p[a],
        uy = p[b + 1] - p[a + 1],
        uz = p[b + 2] - p[a + 2];
      const vx = p[c] - p[a],
        vy = p[c + 1] - p[a + 1],
        vz = p[c + 2] - p[a + 2];
      const cross = Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
      const angle = Math.atan2(cross, ux * vx + uy * vy + uz * vz);
      normals[a] += angle * faces[f];
      normals[a + 1] += angle * faces[f + 1];
      normals[a + 2] += angle * faces[f + 2];
    }
  }
  for (let i = 0; i < normals.length; i += 3) {
    const length = Math.hypot(normals[i], normals[i + 1], normals[i + 2]);
    if (length > 0) {
      normals[i] /= length;
      normals[i + 1] /= length;
      normals[i + 2] /= length;
    }
  }
  return normals;
}
