/**
 * Point to triangle, in mesh arrays. Ericson, Real-Time Collision Detection, 2005, 5.1.5.
 *
 * It stands again in spatial/on-triangle.ts, for a tree's packed corners and giving the point itself: with this one in its
 * place nearest-surface queries took a quarter more time (a number given back by a function not inlined is put on the heap).
 */

/** Filled by `nearestOnFace`: where on the face, as weights of its three corners. */
export const faceWeights = new Float64Array(3);

/**
 * Squared distance from (x, y, z) to the triangle with corners at offsets a, b, c (already times 3) of
 * `p`; leaves the corner weights of the nearest point in `faceWeights`. A face without area counts as
 * its corner a. O(1).
 */
export function nearestOnFace(
  p: Float64Array,
  a: number,
  b: number,
  c: number,
  x: number,
  y: number,
  z: number,
): number {
  const ax = p[a],
    ay = p[a + 1],
    az = p[a + 2];
  const abx = p[b] - ax,
    aby = p[b + 1] - ay,
    abz = p[b + 2] - az;
  const acx = p[c] - ax,
    acy = p[c + 1] - ay,
    acz = p[c + 2] - az;
  const apx = x - ax,
    apy = y - ay,
    apz = z - az;
  const d1 = abx * apx + aby * apy + abz * apz;
  const d2 = acx * apx + acy * apy + acz * apz;
  let u = 0,
    v = 0;
  if (d1 > 0 || d2 > 0) {
    const bpx = apx - abx,
      bpy = apy - aby,
      bpz = apz - abz;
    const d3 = abx * bpx + aby * bpy + abz * bpz;
    const d4 = acx * bpx + acy * bpy + acz * bpz;
    if (d3 >= 0 && d4 <= d3) {
      u = 1;
    } else {
      const vc = d1 * d4 - d3 * d2;
      if (vc <= 0 && d1 >= 0 && d3 <= 0) {
        u = d1 / (d1 - d3);
      } else {
        const cpx = apx - acx,
          cpy = apy - acy,
          cpz = apz - acz;
        const d5 = abx * cpx + aby * cpy + abz * cpz;
        const d6 = acx * cpx + acy * cpy + acz * cpz;
        if (d6 >= 0 && d5 <= d6) {
          v = 1;
        } else {
          const vb = d5 * d2 - d1 * d6;
          const va = d3 * d6 - d5 * d4;
          if (vb <= 0 && d2 >= 0 && d6 <= 0) {
            v = d2 / (d2 - d6);
          } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
            v = (d4 - d3) / (d4 - d3 + (d5 - d6));
            u = 1 - v;
          } else {
            const sum = va + vb + vc;
            if (sum > 0) {
              u = vb / sum;
              v = vc / sum;
            }
          }
        }
      }
    }
  }
  const dx = apx - u * abx - v * acx,
    dy = apy - u * aby - v * acy,
    dz = apz - u * abz - v * acz;
  faceWeights[0] = 1 - u - v;
  faceWeights[1] = u;
  faceWeights[2] = v;
  return dx * dx + dy * dy + dz * dz;
}
