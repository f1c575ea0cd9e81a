import { describe, expect, it } from 'vitest';
import { endUncertainty, surfaceNear } from '../../electron/geometry/measure/end-uncertainty.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';

const SEED = 20_261_125;

/** A plate of points a given distance apart (hexagonal packing), heights by `heightAt`. */
function plate(spacing: number, heightAt: () => number): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  const side = 21;
  for (let j = 0; j < side; j++) {
    for (let i = 0; i < side; i++)
      positions.push((i + (j % 2) / 2) * spacing, j * spacing * Math.sqrt(0.75), heightAt());
  }
  for (let j = 0; j + 1 < side; j++) {
    for (let i = 0; i + 1 < side; i++) {
      const a = j * side + i;
      triangles.push(a, a + 1, a + side, a + 1, a + side + 1, a + side);
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

describe('what a mesh lends to the end of a span', () => {
  it('flat and even: its spacing and normal come back, and half the spacing over root 3 across (JCGM 100:2008 4.3.7)', () => {
    const near = surfaceNear(
      plate(3, () => 0),
      [31.3, 26.4, 0],
    );
    if (near === undefined) throw new Error('no surface');
    expect(Math.abs(near.normal[2])).toBeCloseTo(1, 9);
    expect(near.spacing / 3).toBeGreaterThan(0.85);
    expect(near.spacing / 3).toBeLessThan(1.15);
    expect(near.roughness).toBeLessThan(1e-9);
    expect(endUncertainty(near, [1, 0, 0])).toBeCloseTo(near.spacing / 2 / Math.sqrt(3), 9);
    expect(endUncertainty(near, [0, 0, 1])).toBeLessThan(1e-9);
  });

  it(`rough: the standard deviation of the noise put on it, along the normal (mean of 40; seed ${SEED})`, () => {
    const random = seeded(SEED);
    const gauss = (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
    let sum = 0;
    for (let trial = 0; trial < 40; trial++) {
      const near = surfaceNear(
        plate(3, () => 0.3 * gauss()),
        [31.3, 26.4, 0],
      );
      if (near === undefined) throw new Error('no surface');
      sum += near.roughness ** 2;
    }
    // The variance of 40 fits with 18 degrees of freedom each is known to root(2 / 720), 5 %.
    expect(Math.sqrt(sum / 40)).toBeGreaterThan(0.27);
    expect(Math.sqrt(sum / 40)).toBeLessThan(0.33);
  });

  it('takes a vertex as known, and the other side of a thin wall not for roughness', () => {
    const one = plate(3, () => 0);
    const at = surfaceNear(one, [30, 10 * 3 * Math.sqrt(0.75), 0]);
    expect(at !== undefined && endUncertainty(at, [1, 0, 0])).toBe(0);
    const wall: Mesh = {
      positions: Float64Array.from([...one.positions, ...one.positions.map((x, i) => (i % 3 === 2 ? x - 3 : x))]),
      triangles: one.triangles,
    };
    expect(surfaceNear(wall, [31.3, 26.4, 0])?.roughness).toBe(0);
  });
});
