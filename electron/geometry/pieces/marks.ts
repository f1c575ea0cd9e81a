/** A short mark raised on a piece, on the side toward a given point, where the surface is flattest. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { faceNormals, boundsOf } from '../mesh/quantities.ts';
import { buildBvh, visitBox, type Bvh } from '../spatial/bvh.ts';
import { emboss, type OnSheet } from './emboss.ts';
import { findCap } from './cap.ts';
import { unit } from '../mesh/vector.ts';
import { write } from './stroke-letters.ts';

export interface MarkSize {
  /** Height of a capital, mm. */
  readonly letterMm: number;
  readonly strokeMm: number;
  readonly heightMm: number;
}

export interface Marked {
  readonly mesh: Mesh;
  /** Middle of the mark; undefined where no place was flat enough, and the mesh is as it was. */
  readonly at?: Vec3;
}

/** Slope beside a stroke and longest edge under it, as shares of the stroke's width. */
const FLANK = 1 / 3;
const EDGE = 1 / 2;
/** Faces that may carry the mark look at most this far (as a cosine) away from its middle. */
const FLAT_ENOUGH = 0.85;
/** Faces tried as the middle, evenly over all. */
const TRIALS = 400;

/**
 * Raise `text` on the mesh where it looks toward `toward` and is flat over the whole mark, but not on the flat faces of
 * the planes `bare` (normals into the mesh), which have to meet others. The mark stands upright: its top is up (z), or
 * forward where the surface lies level. O(faces log faces + trials · faces nearby).
 */
export function markPiece(
  mesh: Mesh,
  text: string,
  toward: Vec3,
  size: MarkSize,
  bare: readonly Plane[],
  tick?: () => void,
): Marked {
  const writing = write(text, size.letterMm);
  const { positions: p, triangles: t } = mesh;
  const normals = faceNormals(mesh);
  const tree = buildBvh(mesh, tick);
  const bareFaces = bare.map((plane) => {
    tick?.();
    return findCap(mesh, plane).faces;
  });
  const radius = Math.hypot(writing.widthMm, size.letterMm) / 2 + 2 * size.strokeMm;
  const middle = (f: number): Vec3 =>
    [0, 1, 2].map((k) => (p[3 * t[f] + k] + p[3 * t[f + 1] + k] + p[3 * t[f + 2] + k]) / 3) as unknown as Vec3;
  const faces = t.length / 3;
  const step = Math.max(1, Math.floor(faces / TRIALS));
  const { min, max } = boundsOf(p);
  const centre = [0, 1, 2].map((k) => (min[k] + max[k]) / 2);
  let best: { at: Vec3; normal: Vec3; score: number } | undefined;
  for (let face = 0; face < faces; face += step) {
    if (bareFaces.some((faces) => faces[face])) continue;
    const f = 3 * face;
    const normal: Vec3 = [normals[f], normals[f + 1], normals[f + 2]];
    const at = middle(f);
    const away = [0, 1, 2].map((k) => toward[k] - at[k]);
    if (normal[0] * away[0] + normal[1] * away[1] + normal[2] * away[2] <= 0) continue;
    tick?.();
    const flatness = leastAlong(tree, normals, at, normal, radius);
    if (flatness < FLAT_ENOUGH) continue;
    const off = Math.hypot(at[0] - centre[0], at[1] - centre[1], at[2] - centre[2]);
    // Flat first, then near the middle of the piece.
    const score = flatness - off / 2000;
    if (best === undefined || score > best.score) best = { at, normal, score };
  }
  if (best === undefined) return { mesh };
  const { at, normal } = best;
  const up: Vec3 = Math.abs(normal[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0];
  const right = unit([
    up[1] * normal[2] - up[2] * normal[1],
    up[2] * normal[0] - up[0] * normal[2],
    up[0] * normal[1] - up[1] * normal[0],
  ]);
  const top = [
    normal[1] * right[2] - normal[2] * right[1],
    normal[2] * right[0] - normal[0] * right[2],
    normal[0] * right[1] - normal[1] * right[0],
  ];
  const strokes = writing.strokes.map((line) =>
    line.map((c, i) => c - (i % 2 === 0 ? writing.widthMm : size.letterMm) / 2),
  );
  const relief = {
    strokes,
    strokeMm: size.strokeMm,
    heightMm: size.heightMm,
    flankMm: FLANK * size.strokeMm,
  };
  const place = (point: Vec3, n: Vec3): OnSheet | undefined => {
    if (n[0] * normal[0] + n[1] * normal[1] + n[2] * normal[2] < 1 / 2) return undefined;
    const d = [0, 1, 2].map((k) => point[k] - at[k]);
    // A face behind or in front that looks the same way is not the one that carries the mark.
    if (Math.abs(d[0] * normal[0] + d[1] * normal[1] + d[2] * normal[2]) > radius / 2) return undefined;
    return {
      x: d[0] * right[0] + d[1] * right[1] + d[2] * right[2],
      y: d[0] * top[0] + d[1] * top[1] + d[2] * top[2],
      out: normal,
    };
  };
  return { mesh: emboss(mesh, place, relief, EDGE * size.strokeMm, tick), at };
}

/** Least cosine to `normal` among the faces whose boxes reach into the one about `at`. */
function leastAlong(tree: Bvh, normals: Float64Array, at: Vec3, normal: Vec3, radius: number): number {
  let least = 1;
  const low = at.map((x) => x - radius) as unknown as Vec3;
  const high = at.map((x) => x + radius) as unknown as Vec3;
  visitBox(tree, low, high, (face) => {
    const f = 3 * face;
    const along = normals[f] * normal[0] + normals[f + 1] * normal[1] + normals[f + 2] * normal[2];
    // The other side of a thin wall lies in the box too: it looks away and does not count.
    if (along > -1 / 2) least = Math.min(least, along);
    return least >= FLAT_ENOUGH;
  });
  return least;
}
