/** The last look at what a reader found: indices, numbers, at least one face. */
import type { Mesh } from '../../shared-types/mesh.ts';
import { give } from './trouble.ts';

/**
 * Check a parsed mesh: every index names a vertex, every coordinate is a number, there is a face.
 * `placeOfVertex` tells line or byte for the sentence. O(vertices + faces).
 */
export function finish(mesh: Mesh, placeOfVertex?: (vertex: number) => { line?: number; byte?: number }): Mesh {
  const count = mesh.positions.length / 3;
  for (let i = 0; i < mesh.positions.length; i++) {
    if (!Number.isFinite(mesh.positions[i])) {
      const vertex = Math.floor(i / 3);
      give('file.not-finite', { vertex: vertex + 1 }, placeOfVertex?.(vertex));
    }
  }
  for (let i = 0; i < mesh.triangles.length; i++) {
    if (mesh.triangles[i] >= count) {
      give('file.bad-index', { index: mesh.triangles[i] + 1, count }, { face: Math.floor(i / 3) + 1 });
    }
  }
  if (mesh.triangles.length === 0) give('mesh.no-faces', {});
  return mesh;
}
