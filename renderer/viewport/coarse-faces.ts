/**
 * A coarse stand-in for a heavy mesh while it is being turned: vertices are gathered in cells of a grid and each cell
 * is represented by one of its own vertices, so the stand-in is only a shorter list of faces over the same vertices.
 * Faces that fall into fewer than three cells vanish. Vertex clustering after Rossignac and Borrel (1993), with the
 * first vertex met as the representative. Holes may close and thin walls may merge: for looking at in motion only.
 *
 * O(vertices + faces), with a hash table of the occupied cells.
 */
export function coarseFaces(
  positions: Float32Array,
  triangles: Uint32Array,
  wantedFaces: number,
): Uint32Array<ArrayBuffer> {
  const vertexCount = positions.length / 3;
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < positions.length; at++) {
    const value = positions[at];
    const axis = at % 3;
    if (value < low[axis]) low[axis] = value;
    if (value > high[axis]) high[axis] = value;
  }
  const size = low.map((value, axis) => Math.max(high[axis] - value, 0));
  const largest = Math.max(...size);
  if (!(largest > 0) || !Number.isFinite(largest)) return triangles.slice(0, 0);
  // a surface of the box's area, two faces a cell
  const area = 2 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0]);
  const cell = Math.max(Math.sqrt((2 * area) / wantedFaces), largest / 1000);
  const across = size.map((value) => Math.floor(value / cell) + 1);
  const capacity = 1 << Math.ceil(Math.log2(Math.max(16, Math.min(vertexCount, wantedFaces * 4) * 2)));
  const keys = new Float64Array(capacity).fill(-1);
  const firsts = new Uint32Array(capacity);
  const stands = new Uint32Array(vertexCount);
  let used = 0;
  for (let vertex = 0, at = 0; vertex < vertexCount; vertex++, at += 3) {
    const key =
      Math.floor((positions[at] - low[0]) / cell) +
      across[0] *
        (Math.floor((positions[at + 1] - low[1]) / cell) + across[1] * Math.floor((positions[at + 2] - low[2]) / cell));
    let slot = (Math.imul(key | 0, 0x9e3779b1) >>> 0) & (capacity - 1);
    while (keys[slot] !== key && keys[slot] >= 0) slot = (slot + 1) & (capacity - 1);
    if (keys[slot] < 0) {
      // a table that fills up would never end its search: such a mesh is not worth a stand-in
      if (++used > capacity * 0.7) return triangles.slice(0, 0);
      keys[slot] = key;
      firsts[slot] = vertex;
    }
    stands[vertex] = firsts[slot];
  }
  const faces = new Uint32Array(triangles.length);
  let count = 0;
  for (let corner = 0; corner < triangles.length; corner += 3) {
    const a = stands[triangles[corner]];
    const b = stands[triangles[corner + 1]];
    const c = stands[triangles[corner + 2]];
    if (a === b || b === c || c === a) continue;
    faces[count++] = a;
    faces[count++] = b;
    faces[count++] = c;
  }
  return faces.slice(0, count);
}
