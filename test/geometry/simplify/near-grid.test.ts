import { describe, expect, it } from 'vitest';
import { buildBvh, findNearest, nearestSlot } from '../../../electron/geometry/spatial/bvh.ts';
import { NearGrid } from '../../../electron/geometry/spatial/near-grid.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';
import { box, ellipsoid, sphere } from '../../support/solids.ts';

/** Both meshes as one. */
function beside(a: Mesh, b: Mesh): Mesh {
  const shift = a.positions.length / 3;
  return {
    positions: Float64Array.from([...a.positions, ...b.positions]),
    triangles: Uint32Array.from([...a.triangles, ...[...b.triangles].map((v) => v + shift)]),
  };
}

describe('the grid of a dense mesh', () => {
  it('finds the distance a tree finds, near and far, with small faces and large ones side by side', () => {
    const seed = 2024;
    console.info(`seed ${seed}`);
    const random = seeded(seed);
    const bodies = [ellipsoid(97, 76, 112, 5), beside(sphere(40, 5), box(300, 200, 2)), box(10, 20, 30)];
    for (const mesh of bodies) {
      const grid = new NearGrid(mesh);
      const tree = buildBvh(mesh);
      const [one, two] = [nearestSlot(), nearestSlot()];
      const count = mesh.positions.length / 3;
      for (let i = 0; i < 3000; i++) {
        const v = Math.floor(random() * count) * 3;
        const away = [0.1, 3, 60][i % 3];
        const [x, y, z] = [0, 1, 2].map((k) => mesh.positions[v + k] + (random() - 0.5) * away);
        const limit = i % 2 === 0 ? Infinity : away / 4;
        const found = grid.find(x, y, z, one, limit);
        expect(found).toBe(findNearest(tree, x, y, z, two, limit));
        expect(grid.within(x, y, z, away / 4)).toBe(findNearest(tree, x, y, z, nearestSlot(), away / 4));
        if (!found) continue;
        expect(one.distance).toBeCloseTo(two.distance, 9);
        expect(Math.hypot(x - one.x, y - one.y, z - one.z)).toBeCloseTo(one.distance, 9);
      }
    }
  });

  it('of a sphere of 100 mm gives | |p| - 100 |, but for the sag of its faces', () => {
    const grid = new NearGrid(sphere(100, 6));
    const slot = nearestSlot();
    // Faces of an icosahedron divided in four six times: edges at most 2.1 mm, sag e²/6R at their middles below 0.0075 mm.
    for (const radius of [0, 98.5, 100, 103, 180]) {
      grid.find(radius * 0.36, radius * 0.48, radius * 0.8, slot);
      expect(Math.abs(slot.distance - Math.abs(radius - 100))).toBeLessThan(0.0075);
    }
  });
});
