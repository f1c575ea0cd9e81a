/** How thick a shell really is: from each of its two surfaces straight to the other, at every vertex and face middle. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';

export const WALL_PHASE = 'wall-measure';
const STRIDE = 1023;

export interface WallEvidence {
  /** Least distance between the two surfaces, seen from either. */
  readonly minMm: number;
  /** Where that is, on the surface it is seen from. */
  readonly minAt: Vec3;
  /** Largest distance from the outer surface to the inner: where the wall stands thickest outward. */
  readonly maxMm: number;
  readonly maxAt: Vec3;
  readonly meanMm: number;
  readonly samples: number;
}

/** Per vertex of either surface, 1 where it is measured: what openings leave. */
export interface WallKept {
  readonly inner: Uint8Array;
  readonly outer: Uint8Array;
}

/**
 * Measure the wall between two surfaces, mm, from all of them or from what is `kept`; not signed: that they do not cross is proven elsewhere. At a hollow crease
 * of the inner surface the way from inside out is longer than the wall and counts for `minMm` only.
 * O(faces log n).
 */
export function measureWall(inner: Mesh, outer: Mesh, run: RunContext, kept?: WallKept): WallEvidence {
  const slot = nearestSlot();
  const total = (inner.positions.length + outer.positions.length + inner.triangles.length + outer.triangles.length) / 3;
  let done = 0;
  let minMm = Infinity,
    maxMm = 0,
    minAt: Vec3 = [0, 0, 0],
    maxAt: Vec3 = [0, 0, 0],
    sum = 0,
    fromOutside = 0;
  for (const [from, to, isKept] of [
    [outer, inner, kept?.outer],
    [inner, outer, kept?.inner],
  ] as const) {
    const tree = buildBvh(to, () => run.step(WALL_PHASE, done, total));
    const { positions: p, triangles: t } = from;
    const take = (x: number, y: number, z: number): void => {
      if ((done++ & STRIDE) === 0) run.step(WALL_PHASE, done, total);
      findNearest(tree, x, y, z, slot);
      if (slot.distance < minMm) [minMm, minAt] = [slot.distance, [x, y, z]];
      if (from !== outer) return;
      if (slot.distance > maxMm) [maxMm, maxAt] = [slot.distance, [x, y, z]];
      sum += slot.distance;
      fromOutside++;
    };
    for (let v = 0; v < p.length; v += 3) if (isKept?.[v / 3] !== 0) take(p[v], p[v + 1], p[v + 2]);
    for (let h = 0; h < t.length; h += 3) {
      if (isKept !== undefined && isKept[t[h]] + isKept[t[h + 1]] + isKept[t[h + 2]] < 3) continue;
      const a = t[h] * 3,
        b = t[h + 1] * 3,
        c = t[h + 2] * 3;
      take((p[a] + p[b] + p[c]) / 3, (p[a + 1] + p[b + 1] + p[c + 1]) / 3, (p[a + 2] + p[b + 2] + p[c + 2]) / 3);
    }
  }
  return { minMm, minAt, maxMm, maxAt, meanMm: sum / fromOutside, samples: done };
}
