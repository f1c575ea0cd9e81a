/**
 * The flat face a cut has left: its outline, and the same face with bores sunk into it or pegs standing on it. A bore
 * is a hole in the outline and a wall of revolution hung into it, so no solid is ever cut by another and the surface
 * stays closed by construction.
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { dropUnusedVertices } from '../mesh/compact.ts';
import { fillRims } from '../offset/cut-flat.ts';
import { unit } from '../mesh/vector.ts';

/** Corners of the flat face lie at most this far from the plane, mm: a few roundings to single precision. */
const ON_CAP_MM = 2 ** -10;
/** Least cosine between the flat face and the plane. */
const SAME_WAY = 0.999;

export interface Cap {
  /** 1 for each face of the mesh that belongs to the flat face. */
  readonly faces: Uint8Array;
  /** Closed runs of vertices, the flat face on their left: outer outlines and holes. */
  readonly rims: readonly (readonly number[])[];
}

/**
 * The flat face of a mesh cut by `cutFlat` with this plane (what stays lies where the normal points). Rims that meet in
 * one vertex are followed as one. O(faces).
 */
export function findCap(mesh: Mesh, plane: Plane): Cap {
  const { positions: p, triangles: t } = mesh;
  const n = unit(plane.normal);
  const height = (v: number): number =>
    (p[v * 3] - plane.point[0]) * n[0] +
    (p[v * 3 + 1] - plane.point[1]) * n[1] +
    (p[v * 3 + 2] - plane.point[2]) * n[2];
  const liesOn = (v: number): boolean => Math.abs(height(v)) < ON_CAP_MM;
  const faces = new Uint8Array(t.length / 3);
  const count = p.length / 3;
  const edges = new Set<number>();
  const take = (f: number): void => {
    faces[f / 3] = 1;
    for (let k = 0; k < 3; k++) edges.add(t[f + k] * count + t[f + ((k + 1) % 3)]);
  };
  let slivers: { f: number; across: number }[] = [];
  for (let f = 0; f < t.length; f += 3) {
    if (!(liesOn(t[f]) && liesOn(t[f + 1]) && liesOn(t[f + 2]))) continue;
    const size = faceCross(p, t, f);
    const along = faceCrossOut[0] * n[0] + faceCrossOut[1] * n[1] + faceCrossOut[2] * n[2];
    if (along < -SAME_WAY * size) take(f);
    else slivers.push({ f, across: acrossLongest(p, t, f) });
  }
  // Where a rim runs straight, rounding gives thin faces that look anywhere: each goes with the face on its long side.
  for (let before = Infinity; slivers.length < before; ) {
    before = slivers.length;
    slivers = slivers.filter(({ f, across }) => {
      if (!edges.has(across)) return true;
      take(f);
      return false;
    });
  }
  const next = new Map<number, number>();
  for (const edge of edges) {
    const a = Math.floor(edge / count),
      b = edge % count;
    if (!edges.has(b * count + a)) next.set(a, b);
  }
  const rims: number[][] = [];
  for (const start of next.keys()) {
    const rim: number[] = [];
    for (let v = start; next.has(v); ) {
      rim.push(v);
      const to = next.get(v) as number;
      next.delete(v);
      v = to;
    }
    if (rim.length > 2) rims.push(rim);
  }
  return { faces, rims };
}

/** The longest side of a face, as the neighbour there runs along it: one vertex times the vertex count plus the other. */
function acrossLongest(p: Float64Array, t: Uint32Array, f: number): number {
  let [longest, key] = [-1, 0];
  for (let k = 0; k < 3; k++) {
    const a = t[f + k],
      b = t[f + ((k + 1) % 3)];
    const length = Math.hypot(p[3 * a] - p[3 * b], p[3 * a + 1] - p[3 * b + 1], p[3 * a + 2] - p[3 * b + 2]);
    if (length > longest) [longest, key] = [length, b * (p.length / 3) + a];
  }
  return key;
}

/** A turned hole or peg on a flat face. */
export interface Bore {
  /** On the plane. */
  readonly centre: Vec3;
  /** Radius and depth of each ring from the flat face inward, mm; the first depth is 0, depths of a peg are negative. */
  readonly rings: readonly (readonly [radiusMm: number, depthMm: number])[];
}

/** Corners of a bore's ring: at this many a printed hole of a few millimetres is round enough. */
export const BORE_SIDES = 24;

/** Two axes of the plane so that u × v looks against the normal. */
export function axesOf(n: Vec3): { u: Vec3; v: Vec3 } {
  const axis =
    Math.abs(n[0]) <= Math.abs(n[1]) && Math.abs(n[0]) <= Math.abs(n[2]) ? 0 : Math.abs(n[1]) <= Math.abs(n[2]) ? 1 : 2;
  const e = [0, 0, 0];
  e[axis] = 1;
  const v = unit([n[1] * e[2] - n[2] * e[1], n[2] * e[0] - n[0] * e[2], n[0] * e[1] - n[1] * e[0]]);
  const u: Vec3 = [n[1] * v[2] - n[2] * v[1], n[2] * v[0] - n[0] * v[2], n[0] * v[1] - n[1] * v[0]];
  return { u, v };
}

/**
 * The mesh with its flat face made anew around bores, which must lie inside it and clear of one another and of the
 * rest of the surface (`findJoints` sees to that). New vertices are single precision. O(faces + rim²).
 */
export function boreCap(mesh: Mesh, plane: Plane, bores: readonly Bore[], tick?: () => void): Mesh {
  if (bores.length === 0) return mesh;
  const n = unit(plane.normal);
  const { u, v } = axesOf(n);
  tick?.();
  const cap = findCap(mesh, plane);
  tick?.();
  const rims = cap.rims.map((rim) => [...rim]);
  const positions = Array.from(mesh.positions);
  const triangles: number[] = [];
  for (let f = 0; f < cap.faces.length; f++) {
    if (cap.faces[f]) continue;
    for (let k = 0; k < 3; k++) triangles.push(mesh.triangles[3 * f + k]);
  }
  const put = (centre: Vec3, radius: number, angle: number, depth: number): number => {
    const [c, s] = [radius * Math.cos(angle), radius * Math.sin(angle)];
    for (let k = 0; k < 3; k++) positions.push(Math.fround(centre[k] + c * u[k] + s * v[k] + depth * n[k]));
    return positions.length / 3 - 1;
  };
  for (const { centre, rings } of bores) {
    // Clockwise seen as the flat face is: a hole in it.
    const loops = rings.map(([radius, depth]) =>
      Array.from({ length: BORE_SIDES }, (_, i) => put(centre, radius, (-2 * Math.PI * i) / BORE_SIDES, depth)),
    );
    rims.push(loops[0]);
    for (let ring = 1; ring < loops.length; ring++) {
      const [from, to] = [loops[ring - 1], loops[ring]];
      for (let i = 0; i < BORE_SIDES; i++) {
        const j = (i + 1) % BORE_SIDES;
        triangles.push(from[j], from[i], to[i], from[j], to[i], to[j]);
      }
    }
    const end = loops[loops.length - 1];
    const middle = put(centre, 0, 0, rings[rings.length - 1][1]);
    for (let i = 0; i < BORE_SIDES; i++) triangles.push(end[(i + 1) % BORE_SIDES], end[i], middle);
  }
  const flat = Float64Array.from(positions);
  tick?.();
  fillRims(rims, flat, n, triangles);
  return dropUnusedVertices({ positions: flat, triangles: Uint32Array.from(triangles) });
}
