import { describe, expect, it } from 'vitest';
import { cutFlat } from '../../electron/geometry/offset/cut-flat.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { box, cylinder, ellipsoid, torus } from '../support/solids.ts';

/** Sum over the vertices of what their angles lack of a whole turn. */
function defects({ positions: p, triangles: t }: Mesh): number {
  const used = new Set(t);
  let sum = 2 * Math.PI * used.size;
  for (let f = 0; f < t.length; f += 3) {
    for (let k = 0; k < 3; k++) {
      const [a, b, c] = [t[f + k] * 3, t[f + ((k + 1) % 3)] * 3, t[f + ((k + 2) % 3)] * 3];
      const u = [0, 1, 2].map((i) => p[b + i] - p[a + i]),
        v = [0, 1, 2].map((i) => p[c + i] - p[a + i]);
      const dot = u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
      const across = Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]);
      sum -= Math.atan2(across, dot);
    }
  }
  return sum;
}

/** Gauss-Bonnet for closed polyhedra (Descartes): the sum is 4 pi (1 - genus), for each separate body. */
describe('Gauss-Bonnet', () => {
  it.each<[string, Mesh, number]>([
    ['ellipsoid', ellipsoid(100, 77, 90, 4), 1],
    ['box', box(200, 150, 100), 1],
    ['torus', torus(60, 25, 72, 36), 0],
  ])('%s', (_name, body, bodies) => {
    expect(defects(body) / (4 * Math.PI)).toBeCloseTo(bodies, 9);
  });

  it('what a cut leaves has the genus it must have: a bar is a ball, a ring sliced level is a ring', () => {
    const ring = torus(60, 25, 72, 36);
    const left = (point: [number, number, number], normal: [number, number, number]): number =>
      defects(cutFlat(ring, { point, normal }).mesh) / (4 * Math.PI);
    // across the ring: one bent bar with two caps
    expect(left([7, 3, 0], [1, 0.2, 0.1])).toBeCloseTo(1, 6);
    // level: still a ring, its cap has a hole
    expect(left([0, 0, 3], [0, 0, 1])).toBeCloseTo(0, 6);
    // through the hole, off the middle, keeping the larger side: one bar
    expect(left([-20, 0, 0], [1, 0, 0])).toBeCloseTo(1, 6);
    expect(
      defects(cutFlat(cylinder(40, 120, 48, 3), { point: [0, 0, 10], normal: [0.3, 0.2, 1] }).mesh) / (4 * Math.PI),
    ).toBeCloseTo(1, 6);
  });
});
