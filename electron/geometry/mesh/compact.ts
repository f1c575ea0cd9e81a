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
  const { positions: p, triangles: t, colours: c } = mesh;
  const vertexCount = p.length / 3;
  const renumber = new Uint32Array(vertexCount);
  for (let h = 0; h < t.length; h++) renumber[t[h]] = 1;
  let count = 0;
  for (let vertex = 0; vertex < vertexCount; vertex++) count += renumber[vertex];
  if (count === vertexCount) return mesh;
  const positions = new Float64Array(count * 3);
  const colours = c === undefined ? undefined : new Uint8Array(count * 3);
  let to = 0;
  for (let vertex = 0; vertex < vertexCount; vertex++) {
    if (renumber[vertex] === 0) continue;
    renumber[vertex] = to / 3;
    for (let k = vertex * 3; k < vertex * 3 + 3; k++, to++) {
      positions[to] = p[k];
      if (c !== undefined && colours !== undefined) colours[to] = c[k];
    }
  }
  const triangles = new Uint32Array(t.length);
  for (let h = 0; h < t.length; h++) triangles[h] = renumber[t[h]];
  return colours === undefined ? { positions, triangles } : { positions, triangles, colours };
}
