import { describe, expect, it } from 'vitest';
import { deviationOneSided, measureDeviation } from '../../electron/geometry/measure/deviation.ts';
import { transformMesh, translation } from '../../electron/geometry/mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../../electron/geometry/spatial/bvh.ts';
import { createRun } from '../../shared-types/progress.ts';
import { seeded } from '../support/random.ts';
import { box, ellipsoid, icosahedron, sphere, subdivide, torus } from '../support/solids.ts';

/** The distance function of Metro (Cignoni, Rocchini, Scopigno 1998) on bodies whose answer is known in closed form. */
describe('deviation', () => {
  it('sphere R = 100 to its inscribed icosahedron: 20.534553 mm (reference-values.md section 3.8)', () => {
    const round = sphere(100, 6); // facets lie up to 0.008 mm inside the sphere
    const found = measureDeviation(round, icosahedron(100), { samples: 20_000 });
    expect(found.maxMm).toBeGreaterThan(20.534553 - 0.02);
    expect(found.maxMm).toBeLessThan(20.534553 + 1e-5);
    expect(found.maxBoundMm).toBeGreaterThanOrEqual(found.maxMm);
    expect(found.maxBoundMm).toBeLessThan(found.maxMm * 1.0101);
    expect(found.there.maxMm).toBe(found.maxMm);
    // It is met over the middle of a face: on the sphere, and 79.465447 from the centre on the icosahedron.
    expect(Math.hypot(...found.atMm)).toBeCloseTo(100, 1);
    expect(Math.hypot(...found.nearestMm)).toBeCloseTo(100 - 20.534553, 1);
  });

  it('sphere R = 100 to its inscribed cube: 42.264973 mm (reference-values.md section 3.8)', () => {
    const edge = 200 / Math.sqrt(3);
    const found = measureDeviation(sphere(100, 6), box(edge, edge, edge), { samples: 20_000 });
    expect(found.maxMm).toBeGreaterThan(42.264973 - 0.02);
    expect(found.maxMm).toBeLessThan(42.264973 + 1e-5);
  });

  it('finds a maximum in the middle of a large face, where no vertex lies', () => {
    // From the cube's side: the middle of a face is 42.264973 from the sphere; corners and vertices are on it.
    const edge = 200 / Math.sqrt(3);
    const found = deviationOneSided(box(edge, edge, edge), sphere(100, 5), { samples: 10 });
    expect(Math.max(...found.perVertexMm)).toBeLessThan(1);
    expect(found.maxMm).toBeGreaterThan(42.264973 * 0.989);
    expect(found.maxMm).toBeLessThan(42.264973 + 1e-5);
    expect(found.maxBoundMm).toBeGreaterThanOrEqual(42.26);
  });

  it('two parallel squares lie their distance apart, everywhere', () => {
    const flat = subdivide(
      {
        positions: Float64Array.of(0, 0, 0, 60, 0, 0, 60, 60, 0, 0, 60, 0),
        triangles: Uint32Array.of(0, 1, 2, 0, 2, 3),
      },
      3,
      (...at) => at,
    );
    const found = measureDeviation(flat, transformMesh(translation([0, 0, 1.25]), flat), { samples: 5000 });
    for (const value of [found.maxMm, found.meanMm, found.rmsMm, found.p99Mm]) expect(value).toBeCloseTo(1.25, 3);
  });

  it('the two ways differ: half a square against the whole (closed form: mean 1/8 of the side, max 1/2)', () => {
    const quad = (x: number): Parameters<typeof deviationOneSided>[0] => ({
      positions: Float64Array.of(0, 0, 0, x, 0, 0, x, 80, 0, 0, 80, 0),
      triangles: Uint32Array.of(0, 1, 2, 0, 2, 3),
    });
    const found = measureDeviation(quad(80), quad(40), { samples: 40_000 });
    expect(found.there.maxMm).toBeCloseTo(40, 9);
    expect(found.back.maxMm).toBeLessThan(1e-12);
    expect(found.there.meanMm).toBeCloseTo(10, 2); // 0 over half, evenly 0..40 over the other half
    expect(found.there.rmsMm).toBeCloseTo(Math.sqrt(1600 / 6), 2);
    expect(found.there.p99Mm).toBeCloseTo(39.2, 1); // the 2 % furthest of the far half begin at 39.2
  });

  it('sampling at the vertices and sampling by area agree', () => {
    const dense = ellipsoid(97, 76, 112, 6);
    const coarse = ellipsoid(97, 76, 112, 3);
    const byVertex = deviationOneSided(dense, coarse, { samples: 1000 });
    const byArea = deviationOneSided(dense, coarse, { samples: 300_000 });
    // Vertices lie on the ellipsoid, faces inside it by 1/64 of the coarse mesh's own sag: up to 2 % apart.
    for (const key of ['meanMm', 'p99Mm', 'maxMm'] as const) {
      expect(Math.abs(byVertex[key] / byArea[key] - 1)).toBeLessThan(0.02);
    }
  });

  it('no random point lies beyond the proven bound', () => {
    const seed = 411;
    console.info(`seed ${seed}`);
    const random = seeded(seed);
    for (const [a, b] of [
      [torus(60, 20, 40, 16), torus(60, 20, 17, 9)],
      [box(90, 50, 70), ellipsoid(50, 30, 40, 2)],
    ]) {
      const found = deviationOneSided(a, b, { samples: 2000 });
      const tree = buildBvh(b);
      const out = nearestSlot();
      let largest = 0;
      for (let q = 0; q < 60_000; q++) {
        const f = Math.floor(random() * (a.triangles.length / 3)) * 3;
        const u = random(),
          v = random() * (1 - u);
        const [x, y, z] = [0, 1, 2].map(
          (k) =>
            a.positions[a.triangles[f] * 3 + k] * (1 - u - v) +
            a.positions[a.triangles[f + 1] * 3 + k] * u +
            a.positions[a.triangles[f + 2] * 3 + k] * v,
        );
        findNearest(tree, x, y, z, out);
        largest = Math.max(largest, out.distance);
      }
      expect(largest).toBeLessThanOrEqual(found.maxBoundMm);
      expect(found.maxMm).toBeGreaterThanOrEqual(largest * 0.98);
    }
  });

  it('gives the same figures each time, and its progress ends at 1', () => {
    const a = ellipsoid(97, 76, 112, 4);
    const b = ellipsoid(97, 76, 112, 2);
    const seen: number[] = [];
    const run = createRun({ measure: 1 }, { progress: (fraction) => seen.push(fraction) });
    const first = measureDeviation(a, b, { samples: 20_000, run });
    expect(measureDeviation(a, b, { samples: 20_000 })).toEqual(first);
    expect(seen.at(-1)).toBeCloseTo(1, 9);
    expect(seen.every((fraction, i) => i === 0 || fraction >= seen[i - 1])).toBe(true);
  });
});
