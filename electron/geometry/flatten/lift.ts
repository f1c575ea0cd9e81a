/** A surface moved outward along its vertex normals: where the middle of a sheet lies that is laid on it. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { vertexNormals } from '../mesh/quantities.ts';

export interface Lifted {
  readonly mesh: Mesh;
  /** Share of the faces that were turned over: in hollows narrower than the lift. */
  readonly turnedShare: number;
}

/** O(faces). A negative height goes inward. */
export function liftSurface(mesh: Mesh, heightMm: number): Lifted {
  if (heightMm === 0) return { mesh, turnedShare: 0 };
  return liftAlong(mesh, vertexNormals(mesh), heightMm);
}

/** The same along given unit normals, xyz triples. */
export function liftAlong(mesh: Mesh, normals: Float64Array, heightMm: number): Lifted {
  const positions = mesh.positions.map((value, i) => value + heightMm * normals[i]);
  const lifted: Mesh = { positions, triangles: mesh.triangles };
  const { positions: p, triangles: t } = mesh;
  let turned = 0;
  for (let f = 0; f < t.length; f += 3) {
    // A hollow turns edges round, whether across one of its directions or both.
    const round = [0, 1, 2].some((k) => {
      const a = t[f + k] * 3,
        b = t[f + ((k + 1) % 3)] * 3;
      let along = 0;
      for (let i = 0; i < 3; i++) along += (p[b + i] - p[a + i]) * (positions[b + i] - positions[a + i]);
      return along <= 0;
    });
    if (round) turned++;
  }
  return { mesh: lifted, turnedShare: t.length === 0 ? 0 : (3 * turned) / t.length };
}
