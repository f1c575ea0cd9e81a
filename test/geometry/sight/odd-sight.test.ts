import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { enclosedAir, openBefore } from '../../../electron/geometry/sight/breath.ts';
import { fieldOfView } from '../../../electron/geometry/sight/field.ts';
import { findRoom, middleStepMm, regionOf } from '../../../electron/geometry/sight/room.ts';
import { buildBvh } from '../../../electron/geometry/spatial/bvh.ts';
import { buildWinding } from '../../../electron/geometry/spatial/winding.ts';
import { join } from '../../support/meshes.ts';
import { inward, sphere } from '../../support/solids.ts';

const wornOf = (mesh: Mesh) => {
  const tree = buildBvh(mesh);
  return { mesh, tree, winding: buildWinding(mesh, tree) };
};

describe('a part of thick material', () => {
  const body = wornOf(sphere(50, 4));
  // Ten millimetres of air, then sixty of material.
  const thick = wornOf(join(sphere(120, 4), inward(sphere(60, 4))));

  it('has room in its hollow only, not in the material', () => {
    expect(findRoom([20, 20, 20], regionOf(thick.mesh), thick, body, 1)).toBeUndefined();
    // The same place without material around it would do.
    expect(findRoom([20, 20, 20], regionOf(thick.mesh), { tree: thick.tree }, body, 1)).toBeDefined();
  });
});

describe('a part of absurd size', () => {
  const body = wornOf(sphere(50, 2));
  const huge = wornOf(sphere(50_000, 2));

  it('is asked at a bounded number of places', () => {
    let ticks = 0;
    const tick = (): void => void ticks++;
    const region = regionOf(huge.mesh);
    const step = middleStepMm(region);
    expect((2 * 50_000) / step).toBeLessThan(60);
    findRoom([60, 60, 60], region, { tree: huge.tree }, body, 5, tick);
    enclosedAir({ mesh: huge.mesh, tree: huge.tree }, body, 20, tick);
    expect(ticks).toBeGreaterThan(1000);
    expect(ticks).toBeLessThan(500_000);
  });
});

describe('a part that hides everything', () => {
  it('leaves no sight and no way for breath', () => {
    const tree = buildBvh(sphere(300, 3));
    const { limitsDeg, eitherShare, bothShare } = fieldOfView(tree, {
      left: [90, 31, 17],
      right: [90, -31, 17],
      guessed: false,
    });
    expect({ limitsDeg, eitherShare, bothShare }).toEqual({
      limitsDeg: { left: 0, right: 0, up: 0, down: 0 },
      eitherShare: 0,
      bothShare: 0,
    });
    expect(openBefore(tree, [100, 0, -55])).toEqual({ share: 0, areaMm2: 0 });
  });
});
