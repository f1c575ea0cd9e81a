/**
 * Vertex normals for shading, weighted by face area, packed into four 16-bit numbers a vertex: a third less memory than
 * floats and aligned. Straight loops, because a scan of a million faces waits for them. O(faces).
 */
export function packedNormals(positions: Float32Array, triangles: Uint32Array): Int16Array<ArrayBuffer> {
  const sums = new Float32Array(positions.length);
  for (let corner = 0; corner < triangles.length; corner += 3) {
    const a = triangles[corner] * 3,
      b = triangles[corner + 1] * 3,
      c = triangles[corner + 2] * 3;
    const ax = positions[a],
      ay = positions[a + 1],
      az = positions[a + 2];
    const ux = positions[b] - ax,
      uy = positions[b + 1] - ay,
      uz = positions[b + 2] - az;
    const vx = positions[c] - ax,
      vy = positions[c + 1] - ay,
      vz = positions[c + 2] - az;
    const nx = uy * vz - uz * vy,
      ny = uz * vx - ux * vz,
      nz = ux * vy - uy * vx;
    sums[a] += nx;
    sums[a + 1] += ny;
    sums[a + 2] += nz;
    sums[b] += nx;
    sums[b + 1] += ny;
    sums[b + 2] += nz;
    sums[c] += nx;
    sums[c + 1] += ny;
    sums[c + 2] += nz;
  }
  const packed = new Int16Array((positions.length / 3) * 4);
  for (let vertex = 0, from = 0; from < sums.length; vertex += 4, from += 3) {
    const x = sums[from],
      y = sums[from + 1],
      z = sums[from + 2];
    const length = Math.sqrt(x * x + y * y + z * z);
    if (!(length > 0)) continue;
    const by = 32767 / length;
    packed[vertex] = x * by;
    packed[vertex + 1] = y * by;
    packed[vertex + 2] = z * by;
  }
  return packed;
}

/** Each edge once, as vertex index pairs; of a border edge run against the order of its indices, none. */
export function edgePairs(triangles: Uint32Array): Uint32Array<ArrayBuffer> {
  const pairs = new Uint32Array(triangles.length * 2);
  let count = 0;
  for (let corner = 0; corner < triangles.length; corner += 3) {
    for (let k = 0; k < 3; k++) {
      const a = triangles[corner + k];
      const b = triangles[corner + ((k + 1) % 3)];
      if (a < b) {
        pairs[count++] = a;
        pairs[count++] = b;
      }
    }
  }
  return pairs.slice(0, count);
}
