/** The band of faces between two closed lines, of least area (Fuchs, Kedem and Uselton 1977, "Optimal surface reconstruction from planar contours"). */

import { cornersCross } from '../mesh/face-cross.ts';

/** Rows of the table of costs between two looks for a stop. */
const TICK_ROWS = 16;

/**
 * Faces between two rims that run opposite ways round, as corner triples that keep each rim's own order (its edges run
 * as given). The first face begins at the two vertices nearest to one another. O(vertices of one · of the other).
 */
export function ringBetween(
  positions: Float64Array,
  one: readonly number[],
  other: readonly number[],
  tick?: () => void,
): number[] {
  const back = other.toReversed();
  const p = positions;
  const far = (v: number, w: number): number => {
    const x = p[v] - p[w],
      y = p[v + 1] - p[w + 1],
      z = p[v + 2] - p[w + 2];
    return x * x + y * y + z * z;
  };
  let [start, partner, least] = [0, 0, Infinity];
  for (let i = 0; i < one.length; i++) {
    for (let j = 0; j < back.length; j++) {
      const d = far(one[i] * 3, back[j] * 3);
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
    if (i % TICK_ROWS === 0) tick?.();
    for (let j = 0; j < m; j++) {
      const at = i * m + j;
      if (i > 0) {
        const c = cost[at - m] + cornersCross(p, a[i - 1] * 3, a[i] * 3, b[j] * 3);
        if (c < cost[at]) {
          cost[at] = c;
          fromOne[at] = 1;
        }
      }
      if (j > 0) {
        const c = cost[at - 1] + cornersCross(p, b[j - 1] * 3, b[j] * 3, a[i] * 3);
        if (c < cost[at]) {
          cost[at] = c;
          fromOne[at] = 0;
        }
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
