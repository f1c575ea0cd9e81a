/** Defects that once defeated the mender, each found by breaking bodies at random. */
import { describe, expect, it } from 'vitest';
import { mend } from '../../../electron/geometry/mend/mend.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { box, sphere } from '../../support/solids.ts';
import { seeded } from '../../support/random.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';

const SOUND = { watertight: true, selfIntersections: 0, degenerateFaces: 0, duplicateFaces: 0, nonManifoldEdges: 0 };

describe('mend', () => {
  const seed = 21;
  it(`takes needles and caps away without a new skin (seed ${seed})`, () => {
    const body = sphere(90, 4);
    const random = seeded(seed);
    const positions = [...body.positions];
    const triangles = [...body.triangles];
    for (let k = 0; k < 40; k++) {
      // a vertex beside the middle of an edge: one face becomes two, its neighbour does not know
      const f = Math.floor((random() * triangles.length) / 3) * 3;
      const [a, c, d] = [triangles[f], triangles[f + 1], triangles[f + 2]];
      const m = positions.length / 3;
      const share = random();
      for (let axis = 0; axis < 3; axis++)
        positions.push(
          positions[a * 3 + axis] * share + positions[c * 3 + axis] * (1 - share) + (random() - 0.5) * 1e-6,
        );
      triangles[f + 1] = m;
      triangles.push(m, c, d);
    }
    const broken: Mesh = { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
    const { after, report, left, mesh } = mend(broken, { keep: 'largest' });
    expect(left).toBe(0);
    expect(after).toMatchObject(SOUND);
    expect(report.reskinned).toBeUndefined();
    expect(Math.abs(volumeOf(mesh) / volumeOf(body) - 1)).toBeLessThan(0.001);
  });

  it('takes fins off a box and leaves the box', () => {
    const body = box(120, 90, 150);
    const positions = [...body.positions];
    const triangles = [...body.triangles];
    for (let face = 0; face < 6; face++) {
      const tip = positions.length / 3;
      for (let axis = 0; axis < 3; axis++)
        positions.push(body.positions[body.triangles[face * 3] * 3 + axis] * 1.7 + face);
      triangles.push(body.triangles[face * 3], body.triangles[face * 3 + 1], tip);
    }
    const { after, report, mesh } = mend(
      { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) },
      { keep: 'largest' },
    );
    expect(after).toMatchObject(SOUND);
    expect(report.fins).toBe(6);
    expect(volumeOf(mesh)).toBeCloseTo(120 * 90 * 150, 3);
  });

  it('parts two balls joined along one edge', () => {
    const one = sphere(50, 2);
    const count = one.positions.length / 3;
    const { positions: p, triangles: t } = one;
    const [a, b] = [t[0], t[1]];
    // a half-turn about the edge ab brings the second ball beside the first, on the same edge
    const e = [0, 1, 2].map((k) => p[b * 3 + k] - p[a * 3 + k]);
    const length = Math.hypot(...e);
    const u = e.map((x) => x / length);
    const turned = new Float64Array(p.length);
    for (let i = 0; i < p.length; i += 3) {
      const d = [0, 1, 2].map((k) => p[i + k] - p[a * 3 + k]);
      const along = d[0] * u[0] + d[1] * u[1] + d[2] * u[2];
      for (let k = 0; k < 3; k++) turned[i + k] = p[a * 3 + k] + 2 * along * u[k] - d[k];
    }
    const name = (v: number): number => (v === a ? a : v === b ? b : v + count);
    const two: Mesh = {
      positions: Float64Array.from([...p, ...turned]),
      triangles: Uint32Array.from([...t, ...t.map(name)]),
    };
    const { after, left } = mend(two, { keep: 'all' });
    expect(left).toBe(0);
    expect(after).toMatchObject(SOUND);
    expect(Math.abs((after?.volume ?? 0) / (2 * volumeOf(one)) - 1)).toBeLessThan(0.02);
  });

  it('says that a flat sheet encloses nothing, and does not invent a body', () => {
    const sheet: Mesh = {
      positions: Float64Array.of(0, 0, 0, 100, 0, 0, 100, 100, 0, 0, 100, 0),
      triangles: Uint32Array.of(0, 1, 2, 0, 2, 3),
    };
    expect(mend(sheet, { keep: 'largest' }).left).toBeGreaterThan(0);
  });
});
