/**
 * The nearest point of one triangle, for the inner loops of nearest-surface queries. It stands once more in
 * kernel/nearest.ts, which another compiler reads; near-kernel.test.ts holds the two against one another.
 */

/** Of the last `nearestOnTriangle`: squared distance, x, y, z, feature. */
export const triangleHit = new Float64Array(5);

/**
 * Nearest point of one triangle, its corners' coordinates from c[at] on, to (x, y, z): Ericson, Real-Time Collision Detection, 2005, 5.1.5.
 * Writes squared distance, point and feature into `triangleHit`.
 */
export function nearestOnTriangle(c: Float64Array, at: number, x: number, y: number, z: number): void {
  const ax = c[at],
    ay = c[at + 1],
    az = c[at + 2];
  const abx = c[at + 3] - ax,
    aby = c[at + 4] - ay,
    abz = c[at + 5] - az;
  const acx = c[at + 6] - ax,
    acy = c[at + 7] - ay,
    acz = c[at + 8] - az;
  const apx = x - ax,
    apy = y - ay,
    apz = z - az;
  const d1 = abx * apx + aby * apy + abz * apz;
  const d2 = acx * apx + acy * apy + acz * apz;
  let u = 0,
    v = 0,
    feature = 0;
  if (d1 <= 0 && d2 <= 0) {
    feature = 4;
  } else {
    const bpx = apx - abx,
      bpy = apy - aby,
      bpz = apz - abz;
    const d3 = abx * bpx + aby * bpy + abz * bpz;
    const d4 = acx * bpx + acy * bpy + acz * bpz;
    if (d3 >= 0 && d4 <= d3) {
      u = 1;
      feature = 5;
    } else {
      const vc = d1 * d4 - d3 * d2;
      if (vc <= 0 && d1 >= 0 && d3 <= 0) {
        u = d1 / (d1 - d3);
        feature = 3;
      } else {
        const cpx = apx - acx,
          cpy = apy - acy,
          cpz = apz - acz;
        const d5 = abx * cpx + aby * cpy + abz * cpz;
        const d6 = acx * cpx + acy * cpy + acz * cpz;
        if (d6 >= 0 && d5 <= d6) {
          v = 1;
          feature = 6;
        } else {
          const vb = d5 * d2 - d1 * d6;
          const va = d3 * d6 - d5 * d4;
          if (vb <= 0 && d2 >= 0 && d6 <= 0) {
            v = d2 / (d2 - d6);
            feature = 2;
          } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
            v = (d4 - d3) / (d4 - d3 + (d5 - d6));
            u = 1 - v;
            feature = 1;
          } else {
            const sum = va + vb + vc;
            if (sum > 0) {
              u = vb / sum;
              v = vc / sum;
            } else {
              feature = 4; // degenerate to a point
            }
          }
        }
      }
    }
  }
  const px = ax + u * abx + v * acx,
    py = ay + u * aby + v * acy,
    pz = az + u * abz + v * acz;
  const dx = x - px,
    dy = y - py,
    dz = z - pz;
  triangleHit[0] = dx * dx + dy * dy + dz * dz;
  triangleHit[1] = px;
  triangleHit[2] = py;
  triangleHit[3] = pz;
  triangleHit[4] = feature;
}
