/** Nearest-surface queries answered from cells, against the walk through the tree. */
import { describe, expect, it } from 'vitest';
import { NearCells } from '../../../electron/geometry/offset/near-cells.ts';
import { buildBvh, findNearest, nearestSlot } from '../../../electron/geometry/spatial/bvh.ts';
import { seeded } from '../../../electron/invented/seeded.ts';
import { torus } from '../../support/solids.ts';

describe('cells that keep the faces near them', () => {
  it('give the distance the tree gives, wherever in the cell and however far from the form', () => {
    const tree = buildBvh(torus(40, 12, 90, 40));
    const cells = new NearCells(tree);
    const random = seeded(7);
    const [one, other] = [nearestSlot(), nearestSlot()];
    let answered = 0;
    for (let n = 0; n < 400; n++) {
      const at = [0, 1, 2].map(() => random.between(-60, 60));
      for (let k = 0; k < 12; k++) {
        const [x, y, z] = at.map((c) => Math.floor(c) + random.next());
        findNearest(tree, x, y, z, other);
        if (!cells.find(x, y, z, one)) continue;
        answered++;
        expect(one.distance).toBe(other.distance);
        expect(Math.hypot(one.x - x, one.y - y, one.z - z)).toBeCloseTo(other.distance, 9);
      }
    }
    // All but the first few of each cell, and of those with too many faces about as near (the ring's middle).
    expect(answered).toBeGreaterThan(3500);
  });

  it('leave places beyond their keys to the tree', () => {
    const cells = new NearCells(buildBvh(torus(40, 12, 30, 20)));
    const slot = nearestSlot();
    for (let k = 0; k < 9; k++) expect(cells.find(1e9, 0, 0, slot)).toBe(false);
    for (let k = 0; k < 9; k++) expect(cells.find(NaN, 0, 0, slot)).toBe(false);
  });
});
