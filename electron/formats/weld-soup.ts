import type { Mesh } from '../../shared-types/mesh.ts';

/**
 * Give every corner of a triangle soup its vertex: corners with the same coordinates, bit for bit (0 and -0
 * alike), become one. Open addressing on the bits of the doubles. O(corners).
 */
export function weldSoup(corners: Float64Array): Mesh {
  const count = corners.length / 3;
  let size = 16;
  while (size < count * 2) size *= 2;
  const table = new Int32Array(size).fill(-1);
  const bits = new Uint32Array(corners.buffer, corners.byteOffset, corners.length * 2);
  const positions = new Float64Array(corners.length);
  const triangles = new Uint32Array(count);
  let vertices = 0;
  for (let i = 0; i < count; i++) {
    const c = i * 3;
    const x = corners[c] + 0,
      y = corners[c + 1] + 0,
      z = corners[c + 2] + 0;
    corners[c] = x;
    corners[c + 1] = y;
    corners[c + 2] = z;
    let hash = 0;
    for (let k = c * 2; k < c * 2 + 6; k++) hash = Math.imul(hash ^ bits[k], 0x9e3779b1) ^ (hash >>> 15);
    hash ^= hash >>> 13;
    let slot = hash & (size - 1);
    for (;;) {
      const vertex = table[slot];
      if (vertex < 0) {
        table[slot] = vertices;
        positions[vertices * 3] = x;
        positions[vertices * 3 + 1] = y;
        positions[vertices * 3 + 2] = z;
        triangles[i] = vertices++;
        break;
      }
      if (positions[vertex * 3] === x && positions[vertex * 3 + 1] === y && positions[vertex * 3 + 2] === z) {
        triangles[i] = vertex;
        break;
      }
      slot = (slot + 1) & (size - 1);
    }
  }
  return { positions: positions.slice(0, vertices * 3), triangles };
}
