import type { Mesh } from '../../../shared-types/mesh.ts';

/**
 * The mesh of the faces for which `keep[face]` is not 0, without the vertices nobody uses. Order of
 * faces and vertices is kept. O(faces + vertices).
 */
export function keepFaces(mesh: Mesh, keep: Uint8Array): Mesh {
  const { triangles } = mesh;
  let kept = 0;
  for (let face = 0; face < keep.length; face++) if (keep[face]) kept++;
  const chosen = new Uint32Array(kept * 3);
  let at = 0;
  for (let face = 0; face < keep.length; face++) {
    if (!keep[face]) continue;
    chosen[at++] = triangles[face * 3];
    chosen[at++] = triangles[face * 3 + 1];
    chosen[at++] = triangles[face * 3 + 2];
  }
  return dropUnusedVertices({ ...mesh, triangles: chosen });
}

/** The mesh without vertices that no face uses; order is kept. */
export function dropUnusedVertices(mesh: Mesh): Mesh {
  const vertexCount = mesh.positions.length / 3;
  const used = new Uint8Array(vertexCount);
  for (const vertex of mesh.triangles) used[vertex] = 1;
  const renumber = new Uint32Array(vertexCount);
  let count = 0;
  for (let vertex = 0; vertex < vertexCount; vertex++) if (used[vertex]) renumber[vertex] = count++;
  if (count === vertexCount) return mesh;
  const positions = new Float64Array(count * 3);
  const colours = mesh.colours === undefined ? undefined : new Uint8Array(count * 3);
  for (let vertex = 0; vertex < vertexCount; vertex++) {
    if (!used[vertex]) continue;
    const to = renumber[vertex] * 3;
    for (let k = 0; k < 3; k++) {
      positions[to + k] = mesh.positions[vertex * 3 + k];
      if (colours !== undefined) colours[to + k] = (mesh.colours as Uint8Array)[vertex * 3 + k];
    }
  }
  const triangles = mesh.triangles.map((vertex) => renumber[vertex]);
  return colours === undefined ? { positions, triangles } : { positions, triangles, colours };
}
