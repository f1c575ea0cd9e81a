/** A surface moved outward along its vertex normals: where the middle of a sheet lies that is laid on it. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { faceNormals, vertexNormals } from '../mesh/quantities.ts';

export interface Lifted {
  readonly mesh: Mesh;
  /** Share of the area that was turned over: hollows narrower than the lift. */
  readonly turnedShare: number;
}

/** O(faces). A negative height goes inward. */
export function liftSurface(mesh: Mesh, heightMm: number): Lifted {
  if (heightMm === 0) return { mesh, turnedShare: 0 };
  const normals = vertexNormals(mesh);
  const positions = mesh.positions.map((value, i) => value + heightMm * normals[i]);
  const lifted: Mesh = { positions, triangles: mesh.triangles };
  const before = faceNormals(mesh);
  const after = faceNormals(lifted);
  let turned = 0;
  for (let f = 0; f < before.length; f += 3) {
    if (before[f] * after[f] + before[f + 1] * after[f + 1] + before[f + 2] * after[f + 2] <= 0) turned++;
  }
  return { mesh: lifted, turnedShare: before.length === 0 ? 0 : (3 * turned) / before.length };
}
