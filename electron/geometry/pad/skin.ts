/** A body's skin that tells which way is out at any place on it, smoothly: at the border of a patch as within. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import { vertexNormals } from '../mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';

export class Skin {
  readonly mesh: Mesh;
  readonly #tree: Bvh;
  readonly #normals: Float64Array;

  constructor(mesh: Mesh, tick: () => void) {
    this.mesh = mesh;
    this.#tree = buildBvh(mesh, tick);
    this.#normals = vertexNormals(mesh);
  }

  /** Unit normals, xyz triples, at the vertices of a patch cut from this skin. O(vertices log faces). */
  normalsOf(patch: Mesh): Float64Array {
    const { positions: p, triangles: t } = this.mesh;
    const q = patch.positions;
    const normals = new Float64Array(q.length);
    const near = nearestSlot();
    for (let i = 0; i < q.length; i += 3) {
      findNearest(this.#tree, q[i], q[i + 1], q[i + 2], near);
      const f = near.face * 3;
      nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, q[i], q[i + 1], q[i + 2]);
      for (let k = 0; k < 3; k++) {
        for (let c = 0; c < 3; c++) normals[i + k] += faceWeights[c] * this.#normals[t[f + c] * 3 + k];
      }
      const size = Math.hypot(normals[i], normals[i + 1], normals[i + 2]);
      if (size > 0) for (let k = 0; k < 3; k++) normals[i + k] /= size;
    }
    return normals;
  }
}
