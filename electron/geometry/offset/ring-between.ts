/** The band of faces between two closed lines, of least area (Fuchs, Kedem and Uselton 1977, "Optimal surface reconstruction from planar contours"). */

/**
 * Faces between two rims that run opposite ways round, as corner triples that keep each rim's own order (its edges run
 * as given). The first face begins at the two vertices nearest to one another. O(vertices of one · of the other).
 */
export function ringBetween(positions: Float64Array, one: readonly number[], other: readonly number[]): number[] {
  const back = other.toReversed();
  const far = (v: number, w: number): number => {
    const [x, y, z] = [0, 1, 2].map((k) => positions[v * 3 + k] - positions[w * 3 + k]);
    return x * x + y * y + z * z;
  };
  let [start, partner, least] = [0, 0, Infinity];
  for (let i = 0; i < one.length; i++) {
    for (let j = 0; j < back.length; j++) {
      const d = far(one[i], back[j]);
      if (d < least) [start, partner, least] = [i, j, d];
    }
  }
  const a = [...one.slice(start), ...one.slice(0, start + 1)];
  const b = [...back.slice(partner), ...back.slice(0, partner + 1)];
  const [n, m] = [a.length, b.length];
  const cost = new Float64Array(n * m).fill(Infinity);
  const fromOne = new Uint8Array(n * m);
  cost[0] = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < m; j++) {
      const at = i * m + j;
      if (i > 0) {
        const c = cost[at - m] + areaOf(positions, a[i - 1], a[i], b[j]);
        if (c < cost[at]) [cost[at], fromOne[at]] = [c, 1];
      }
      if (j > 0) {
        const c = cost[at - 1] + areaOf(positions, b[j - 1], b[j], a[i]);
        if (c < cost[at]) [cost[at], fromOne[at]] = [c, 0];
      }
    }
  }
  const faces: number[] = [];
  for (let i = n - 1, j = m - 1; i > 0 || j > 0; ) {
    if (fromOne[i * m + j] === 1) {
      faces.push(a[i - 1], a[i], b[j]);
      i--;
    } else {
      faces.push(b[j], b[j - 1], a[i]);
      j--;
    }
  }
  return faces;
}

function areaOf(p: Float64Array, a: number, b: number, c: number): number {
  const [ux, uy, uz] = [p[b * 3] - p[a * 3], p[b * 3 + 1] - p[a * 3 + 1], p[b * 3 + 2] - p[a * 3 + 2]];
  const [vx, vy, vz] = [p[c * 3] - p[a * 3], p[c * 3 + 1] - p[a * 3 + 1], p[c * 3 + 2] - p[a * 3 + 2]];
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
}
