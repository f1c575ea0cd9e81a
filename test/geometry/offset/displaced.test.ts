/** The form's own faces as its offset, and what is made of them and of followed surfaces together. */
import { describe, expect, it } from 'vitest';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { inventLimb } from '../../../electron/invented/limb.ts';
import { inventTorso } from '../../../electron/invented/torso.ts';
import { cutLong, partAt } from '../../../electron/geometry/offset/cut-form.ts';
import { displace } from '../../../electron/geometry/offset/displaced.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { areaOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { BODIES } from '../../bench/bodies.ts';
import { box, sphere, torus } from '../../support/solids.ts';

const TOLERANCE_MM = 0.1;
const CELL_MM = 2.7;

describe('a form with its long edges cut', () => {
  it('is the same body, closed, with no edge longer than asked, and knows which part a place lies on', () => {
    const form = box(30, 20, 10);
    const cut = cutLong(form, 4);
    expect(volumeOf(cut)).toBeCloseTo(6000, 9);
    expect(areaOf(cut)).toBeCloseTo(2200, 9);
    const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(cut.triangles, cut.positions.length / 3);
    expect([openEdges, nonManifoldEdges, flippedEdges]).toEqual([0, 0, 0]);
    const p = cut.positions;
    const corner = (h: number): Float64Array => p.subarray(cut.triangles[h] * 3, cut.triangles[h] * 3 + 3);
    let longest = 0;
    const at = { x: 0, y: 0, z: 0, part: 0, s: 0, r: 0 };
    for (let f = 0; f < cut.triangles.length; f += 3) {
      const [a, b, c] = [corner(f), corner(f + 1), corner(f + 2)];
      for (const [u, v] of [
        [a, b],
        [b, c],
        [c, a],
      ] as const)
        longest = Math.max(longest, Math.hypot(u[0] - v[0], u[1] - v[1], u[2] - v[2]));
      [at.x, at.y, at.z] = [0, 1, 2].map((k) => 0.5 * a[k] + 0.3 * b[k] + 0.2 * c[k]);
      partAt(cut, cut.faceOf[f / 3], at);
      expect(at.part).toBe(f / 3);
      expect(at.s).toBeCloseTo(0.3, 9);
      expect(at.r).toBeCloseTo(0.2, 9);
    }
    expect(longest).toBeLessThanOrEqual(4);
  });
});

describe('the part of an offset that is the form itself, moved', () => {
  it('of a ball is all of it, every vertex at the sum of the radii', () => {
    const { share, positions } = displace(new SignedField(sphere(60, 4)), 8, TOLERANCE_MM, CELL_MM, QUIET_RUN);
    expect(share).toBe(1);
    for (let i = 0; i < positions.length; i += 3) {
      expect(Math.abs(Math.hypot(positions[i], positions[i + 1], positions[i + 2]) - 68)).toBeLessThan(0.05);
    }
  });

  it('of a ring inward stands, and further than its tube is thick nothing does', () => {
    const field = new SignedField(torus(50, 20, 160, 80));
    expect(displace(field, -8, TOLERANCE_MM, CELL_MM, QUIET_RUN).share).toBe(1);
    expect(displace(field, -21, TOLERANCE_MM, CELL_MM, QUIET_RUN).share).toBe(0);
  });

  it('of a ring outward, wider than its hole, stops before the hole and is joined to what closes it', () => {
    // The hole has a radius of 10 mm: at 12 mm the offset is a body without one, creased where its sides meet.
    const field = new SignedField(torus(30, 20, 150, 100));
    const { share } = displace(field, 12, TOLERANCE_MM, CELL_MM, QUIET_RUN);
    expect(share).toBeGreaterThan(0.9);
    expect(share).toBeLessThan(0.99);
    const made = offsetSurface(field, 12, TOLERANCE_MM, QUIET_RUN);
    if (made === undefined) throw new Error('nothing made');
    expect(made.selfIntersections).toBe(0);
    const { mesh } = made;
    const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
    expect([openEdges, nonManifoldEdges, flippedEdges]).toEqual([0, 0, 0]);
    const vertices = new Set(mesh.triangles).size;
    expect(vertices - mesh.triangles.length / 6).toBe(2);
    const { maxAbsErrorMm, missingMaxMm } = measureOffset(field, 12, mesh, QUIET_RUN);
    expect(Math.max(maxAbsErrorMm, missingMaxMm)).toBeLessThan(0.15);
    // Closed form of a spindle: the disc of radius 32 about a point 30 off the axis, beyond the axis cut off, turned.
    const [R, r] = [30, 32];
    const h = Math.sqrt(r * r - R * R);
    const volume = 2 * Math.PI * ((2 * h * r * r) / 3 + (R * R * h) / 3 + R * r * r * (Math.PI - Math.acos(R / r)));
    expect(Math.abs(volumeOf(mesh) / volume - 1)).toBeLessThan(2e-3);
  });
});

/** The bars of a liner, both ways; the faces follow the area. */
describe('generated bodies keep the bars', () => {
  it.each([
    ['a hand', inventLimb({ seed: 1 }).mesh(9_500), 50_000],
    ['a head with ears, cut off at the neck', BODIES['eared-head'](9_500), 60_000],
    ['a torso, four times as large', inventTorso({ seed: 1 }).mesh(9_500), 60_000],
  ])('%s', (_name, form, faces) => {
    const field = new SignedField(form);
    const made = offsetSurface(field, 8, TOLERANCE_MM, QUIET_RUN);
    if (made === undefined) throw new Error('nothing made');
    expect(made.selfIntersections).toBe(0);
    const evidence = measureOffset(field, 8, made.mesh, QUIET_RUN);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.15);
    expect(evidence.missingMaxMm).toBeLessThan(0.15);
    expect(evidence.p99AbsErrorMm).toBeLessThan(0.05);
    expect(evidence.meanAbsErrorMm).toBeLessThan(0.01);
    expect(made.mesh.triangles.length / 3).toBeLessThan(faces);
  });
});
