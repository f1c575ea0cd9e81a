/** How far a few given points lie from a surface, without a search tree: for checking what a person picked. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { nearestOnFace } from './point-triangle.ts';

/** Vertices or faces gone through between two ticks: a few milliseconds. */
const TICK_ITEMS = 24_576;

/**
 * Whether a point lies farther than `limit` (mesh units) from every face. The vertices are looked at first, since one
 * of them is near almost always; the faces only when none is. `tick` is called every few milliseconds. O(vertices), at
 * worst O(faces).
 */
export function isOffSurface(mesh: Mesh, point: Vec3, limit: number, tick?: () => void): boolean {
  const { positions: p, triangles: t } = mesh;
  const [x, y, z] = point;
  const square = limit * limit;
  for (let v = 0; v < p.length; v += 3) {
    if (v % (3 * TICK_ITEMS) === 0) tick?.();
    if ((p[v] - x) ** 2 + (p[v + 1] - y) ** 2 + (p[v + 2] - z) ** 2 <= square) return false;
  }
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_ITEMS) === 0) tick?.();
    if (nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z) <= square) return false;
  }
  return true;
}
