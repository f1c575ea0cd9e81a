/** The cross product of two edges of a face: its direction is the normal, its length twice the area. */

/** Filled by `faceCross`. */
export const faceCrossOut = new Float64Array(3);

/**
 * Twice the area of the face whose corners are t[f], t[f + 1], t[f + 2] (`f` is three times its number), in
 * the square of the positions' unit; leaves the cross product itself, outward for faces that run counter-clockwise,
 * in `faceCrossOut`. O(1).
 */
export function faceCross(p: Float64Array, t: Uint32Array | Int32Array, f: number): number {
  return cornersCross(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3);
}

/** The same of three corners given by their first coordinates. */
export function cornersCross(p: Float64Array, a: number, b: number, c: number): number {
  const ux = p[b] - p[a],
    uy = p[b + 1] - p[a + 1],
    uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a],
    vy = p[c + 1] - p[a + 1],
    vz = p[c + 2] - p[a + 2];
  const x = uy * vz - uz * vy,
    y = uz * vx - ux * vz,
    z = ux * vy - uy * vx;
  faceCrossOut[0] = x;
  faceCrossOut[1] = y;
  faceCrossOut[2] = z;
  return Math.sqrt(x * x + y * y + z * z);
}
