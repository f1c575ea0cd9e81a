import type { Mesh } from '../../../shared-types/mesh.ts';

/** The solid between two closed surfaces: the inner one turned inside out. O(faces). */
export function nested(outer: Mesh, inner: Mesh): Mesh {
  const positions = new Float64Array(outer.positions.length + inner.positions.length);
  positions.set(outer.positions);
  positions.set(inner.positions, outer.positions.length);
  const triangles = new Uint32Array(outer.triangles.length + inner.triangles.length);
  triangles.set(outer.triangles);
  const first = outer.positions.length / 3;
  const base = outer.triangles.length;
  for (let f = 0; f < inner.triangles.length; f += 3) {
    triangles[base + f] = first + inner.triangles[f];
    triangles[base + f + 1] = first + inner.triangles[f + 2];
    triangles[base + f + 2] = first + inner.triangles[f + 1];
  }
  return { positions, triangles };
}
