/** The nearest point that half-spaces allow, against its definition: allowed, and nothing that is allowed is nearer. */
import { describe, expect, it } from 'vitest';
import { nearestAllowed, noneBinds, type HalfSpaces } from '../../../electron/geometry/offset/nearest-allowed.ts';
import { seeded } from '../../support/random.ts';

describe('the nearest point allowed', () => {
  const random = seeded(11);
  const within = (size: number): number => size * (2 * random() - 1);

  it('is allowed and the nearest of 300 seeded ones, and the same whatever bound last, in 60 walks of 5 steps', () => {
    const binding = noneBinds();
    let bound = 0;
    for (let walk = 0; walk < 60; walk++) {
      // Half-spaces that all hold a ball of 1 about the origin, so that there always is an answer.
      const count = 1 + (walk % 8);
      const normals = Float64Array.from({ length: count * 3 }, () => within(1));
      for (let i = 0; i < normals.length; i += 3) {
        const size = Math.hypot(normals[i], normals[i + 1], normals[i + 2]);
        for (let k = 0; k < 3; k++) normals[i + k] /= size;
      }
      const heights = Float64Array.from({ length: count }, () => -1 - 2 * random());
      const spaces: HalfSpaces = { normals, heights, count, binding };
      const lackOf = (x: number, y: number, z: number): number =>
        Math.max(...heights.map((h, i) => h - normals[i * 3] * x - normals[i * 3 + 1] * y - normals[i * 3 + 2] * z));
      const start = [within(9), within(9), within(9)];
      for (let step = 0; step < 5; step++) {
        const [x, y, z] = start.map((c) => c + within(0.3));
        const [a, b, c] = nearestAllowed(spaces, x, y, z) ?? [];
        const [d, e, f] = nearestAllowed({ ...spaces, binding: noneBinds() }, x, y, z) ?? [];
        expect(Math.hypot(a - d, b - e, c - f)).toBeLessThan(1e-6);
        expect(lackOf(a, b, c)).toBeLessThan(1e-5);
        const way = Math.hypot(a - x, b - y, c - z);
        if (way > 0) bound++;
        for (let n = 0; n < 300; n++) {
          const [p, q, r] = [a + within(2), b + within(2), c + within(2)];
          if (lackOf(p, q, r) <= 0) expect(Math.hypot(p - x, q - y, r - z)).toBeGreaterThan(way - 1e-5);
        }
      }
    }
    expect(bound).toBeGreaterThan(150);
  });

  it('is none where half-spaces exclude each other', () => {
    const spaces = { normals: Float64Array.of(1, 0, 0, -1, 0, 0), heights: Float64Array.of(1, 1), count: 2 };
    expect(nearestAllowed({ ...spaces, binding: noneBinds() }, 0, 0, 0)).toBeUndefined();
  });
});
