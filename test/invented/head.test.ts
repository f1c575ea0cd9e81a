import { describe, expect, it } from 'vitest';
import { planeThrough, tapeGirth } from '../../electron/geometry/measure/girth.ts';
import { areaOf, volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../electron/geometry/mesh/twins.ts';
import { buildBvh, findNearest, nearestSlot } from '../../electron/geometry/spatial/bvh.ts';
import { findSelfIntersections } from '../../electron/geometry/spatial/self-intersections.ts';
import { inventHead, type HeadLandmark } from '../../electron/invented/head.ts';
import { polygonise } from '../../electron/geometry/figure/polygonise.ts';
import { inventVisor } from '../../electron/invented/visor.ts';
import type { Mesh } from '../../shared-types/mesh.ts';

function expectSound(mesh: Mesh): void {
  const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
  expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
  expect(findSelfIntersections(mesh)).toEqual([]);
  expect(volumeOf(mesh)).toBeGreaterThan(0);
}

describe('polygonise', () => {
  it('meets the closed forms of a sphere, and four times as closely with four times the faces', () => {
    const radius = 90;
    // V = 4/3 pi r^3 and A = 4 pi r^2; halving the step must cut the error of the volume by about 4 (second order).
    const volume = (4 / 3) * Math.PI * radius ** 3;
    const sphere = (faces: number): Mesh => polygonise((x, y, z) => Math.hypot(x, y, z) - radius, [200, 0, 0], faces);
    const [coarse, fine] = [sphere(4000), sphere(16000)];
    expectSound(fine);
    expect(Math.abs(areaOf(fine) / (4 * Math.PI * radius ** 2) - 1)).toBeLessThan(1e-3);
    const misses = [coarse, fine].map((mesh) => 1 - volumeOf(mesh) / volume);
    expect(misses[0]).toBeGreaterThan(0);
    expect(misses[0] / misses[1]).toBeGreaterThan(3);
    expect(misses[0] / misses[1]).toBeLessThan(5);
  });
});

describe('an invented head', () => {
  const head = inventHead({ seed: 4, lengthMm: 195, breadthMm: 152, heightMm: 129 });

  it('is closed, manifold and free of self-intersection at any fineness, with about the faces asked for', () => {
    for (const faces of [5000, 20_000, 53_000]) {
      const mesh = head.mesh(faces);
      expectSound(mesh);
      expect(Math.abs(mesh.triangles.length / 3 / faces - 1)).toBeLessThan(0.06);
    }
  });

  it('has the sizes asked for, and its landmarks on its skin', () => {
    const spans = new Map(head.spans.map((span) => [span.name, span.lengthMm]));
    expect(spans.get('head length')).toBeCloseTo(195, 0);
    expect(spans.get('head breadth')).toBeCloseTo(152, 0);
    expect(head.landmarks.vertex[2]).toBeCloseTo(129, 0);
    const mesh = head.mesh(120_000);
    const tree = buildBvh(mesh);
    const slot = nearestSlot();
    for (const name of Object.keys(head.landmarks) as HeadLandmark[]) {
      const [x, y, z] = head.landmarks[name];
      expect(Math.abs(head.field(x, y, z)), name).toBeLessThan(1e-3);
      findNearest(tree, x, y, z, slot);
      // Edges of 1.7 mm cut a ridge or notch of 2 mm radius by s²/8r, up to 0.2 mm.
      expect(slot.distance, name).toBeLessThan(0.3);
    }
  });

  it('stands in the form frame: origin midway between the tragions, Frankfurt plane level (ISO 7250-1)', () => {
    const { landmarks: l } = head;
    for (let axis = 0; axis < 3; axis++) {
      expect(Math.abs(l['tragion-left'][axis] + l['tragion-right'][axis]) / 2).toBeLessThan(0.05);
    }
    expect(l['tragion-left'][1]).toBeGreaterThan(0);
    expect(l['orbitale-left'][2]).toBe(0);
    expect(l.pronasale[0]).toBeGreaterThan(l.glabella[0]);
    expect(l.vertex[2]).toBeGreaterThan(100);
  });

  it('has ears that stand off: outward through the rim of an ear there is skin, air, and skin again', () => {
    const changes = Array.from({ length: 240 }, (_, i) => head.field(-31, 60 + i * 0.25, -8) < 0).filter(
      (inside, i, all) => i > 0 && inside !== all[i - 1],
    );
    expect(changes.length).toBeGreaterThanOrEqual(3);
  });

  it('is proportioned as people are: girth against length and breadth, and spans in the range seen', () => {
    // 2012 survey (NATICK/TR-15/007; public data), men: girth = 44.00 + 1.711 length + 1.225 breadth, residual SD 6.2 mm;
    // 5th to 95th percentiles of both sexes: bizygomatic 125..153; smallest and largest neck girth seen 275..514.
    for (let seed = 1; seed <= 3; seed++) {
      const [lengthMm, breadthMm] = [184 + 6 * seed, 143 + 3 * seed];
      const one = inventHead({ seed, lengthMm, breadthMm });
      const girths = new Map(one.girths.map((girth) => [girth.name, girth.lengthMm]));
      const expected = 44.0 + 1.711 * lengthMm + 1.225 * breadthMm;
      expect(Math.abs((girths.get('head circumference') ?? 0) - expected)).toBeLessThan(3 * 6.2);
      const zygomatic = one.spans.find((span) => span.name === 'bizygomatic breadth')?.lengthMm ?? 0;
      expect(zygomatic).toBeGreaterThan(125);
      expect(zygomatic).toBeLessThan(153);
      expect(girths.get('neck circumference')).toBeGreaterThan(275);
      expect(girths.get('neck circumference')).toBeLessThan(514);
    }
  });

  it('is taped clear of its ears, as ISO 7250-1 says: above the brow ridges and round the back of the head', () => {
    for (let seed = 1; seed <= 3; seed++) {
      const one = inventHead({ seed, heightMm: 108 + 10 * seed });
      const { glabella, opisthocranion } = one.landmarks;
      const girth = one.girths[0];
      expect(girth.through[0][2] - glabella[2]).toBeCloseTo(10, 6);
      const plane = planeThrough(...girth.through);
      if (plane === undefined) throw new Error('no plane');
      const off = plane.normal.reduce((sum, n, k) => sum + n * (opisthocranion[k] - plane.point[k]), 0);
      expect(Math.abs(off)).toBeLessThan(0.05);
      // Whatever of the mesh the plane meets, ears included, the tape reads the same as the truth, which has none.
      const taped = tapeGirth(one.mesh(40_000), plane);
      expect(Math.abs((taped?.length ?? 0) - girth.lengthMm), `seed ${seed}`).toBeLessThan(0.5);
    }
  });

  it('is another head for another seed, and the same for the same', () => {
    const again = inventHead({ seed: 4, lengthMm: 195, breadthMm: 152, heightMm: 129 });
    expect(again.landmarks).toEqual(head.landmarks);
    const other = inventHead({ seed: 5, lengthMm: 195, breadthMm: 152, heightMm: 129 });
    expect(other.landmarks.pronasale).not.toEqual(head.landmarks.pronasale);
  });
});

describe('an invented visor', () => {
  it('is a sound thin shell whose pivots are the stated 172 mm apart in its own unit', () => {
    const visor = inventVisor(172, 26.3);
    expectSound(visor.mesh);
    expect((visor.pivotLeft[1] - visor.pivotRight[1]) * 26.3).toBeCloseTo(172, 4);
  });
});
