/** A surface made finer along a line on it, so that a cut there is no coarser than it has to be. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { findTwins } from '../mesh/twins.ts';
import { roomFor } from './cell-map.ts';
import { cutFaces, FaceList } from './footed-surface.ts';

const ROUNDS = 3;

/**
 * The faces within `nearMm` of where the heights pass 0 split at the middles of their edges until none is longer than
 * `edgeMm` or three rounds are over. Closed and manifold as before, the surface itself where it was; heights of new
 * vertices are the means of their edges' ends. O(faces) a round.
 */
export function finerNear(mesh: Mesh, heightMm: Float64Array, nearMm: number, edgeMm: number, tick?: () => void): Mesh {
  let t = mesh.triangles;
  let p = mesh.positions;
  let heights = heightMm;
  let count = p.length / 3;
  for (let round = 0; round < ROUNDS; round++) {
    const near = (a: number, b: number): number =>
      Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);
    tick?.();
    const { twin } = findTwins(t, count);
    tick?.();
    const middle = new Int32Array(t.length).fill(-1);
    let cuts = 0;
    for (let h = 0; h < t.length; h++) {
      if (middle[h] >= 0 || twin[h] < 0) continue;
      const a = t[h],
        b = t[h - (h % 3) + ((h + 1) % 3)];
      const isNear = Math.min(Math.abs(heights[a]), Math.abs(heights[b])) < nearMm || heights[a] > 0 !== heights[b] > 0;
      if (!isNear || near(a, b) <= edgeMm) continue;
      const m = count++;
      p = roomFor(p, count * 3);
      heights = roomFor(heights, count);
      for (let k = 0; k < 3; k++) p[m * 3 + k] = (p[a * 3 + k] + p[b * 3 + k]) / 2;
      heights[m] = (heights[a] + heights[b]) / 2;
      middle[h] = middle[twin[h]] = m;
      cuts++;
    }
    if (cuts === 0) break;
    tick?.();
    const next = new FaceList(t.length / 3 + 2 * cuts);
    const put = (a: number, b: number, c: number): void => next.put(a, b, c);
    cutFaces({ t, near }, middle, put, (f) => put(t[f * 3], t[f * 3 + 1], t[f * 3 + 2]));
    t = next.triangles();
  }
  return { positions: p.slice(0, count * 3), triangles: t };
}
