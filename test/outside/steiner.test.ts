/**
 * Offsets against Steiner's formula (any text on convex bodies; values in the project's reference list, section 3.1):
 * V(t) = V + S t + M t² + 4/3 π t³, S(t) = S + 2 M t + 4 π t², for a polyhedron M = 1/2 Σ edge length × exterior angle.
 * The offset of a faceted body is compared with the formula for that faceted body, so that nothing but the offset is
 * under test; the smooth bodies' printed values are met as far as the facets allow.
 */
import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { areaOf, faceNormals, volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../electron/geometry/mesh/twins.ts';
import { measureOffset } from '../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { findSelfIntersections } from '../../electron/geometry/spatial/self-intersections.ts';
import { box, cylinder, ellipsoid, icosahedron, sphere, torus } from '../support/solids.ts';

/** 1/2 Σ edge length × exterior angle, mm. */
function meanCurvatureOf(mesh: Mesh): number {
  const { positions: p, triangles: t } = mesh;
  const normals = faceNormals(mesh);
  const { twin } = findTwins(t, p.length / 3);
  let sum = 0;
  for (let h = 0; h < t.length; h++) {
    const g = twin[h];
    if (g < h) continue;
    const a = t[h] * 3,
      b = t[g] * 3;
    const f = h - (h % 3),
      e = g - (g % 3);
    const cosine = normals[f] * normals[e] + normals[f + 1] * normals[e + 1] + normals[f + 2] * normals[e + 2];
    sum +=
      Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]) * Math.acos(Math.min(1, Math.max(-1, cosine)));
  }
  return sum / 2;
}

function offsetOf(form: Mesh, t: number, tolerance = 0.1) {
  const field = new SignedField(form);
  const made = offsetSurface(field, t, tolerance, QUIET_RUN);
  if (made === undefined) throw new Error('nothing made');
  return { mesh: made.mesh, evidence: measureOffset(field, t, made.mesh, QUIET_RUN) };
}

function expectSound(mesh: Mesh): void {
  const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
  expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
  expect(findSelfIntersections(mesh)).toEqual([]);
}

const BODIES: readonly [string, Mesh, number][] = [
  ['box 200 x 150 x 100', box(200, 150, 100), 10],
  ['cylinder r 40 h 120', cylinder(40, 120, 96), 10],
  ['ellipsoid 100, 77, 90', ellipsoid(100, 77, 90, 4), 10],
  ['sphere 100', sphere(100, 4), 10],
  ['icosahedron', icosahedron(60), 8],
  ['small ellipsoid 30, 20, 10', ellipsoid(30, 20, 10, 3), 5],
];

describe('offset outward of a convex polyhedron', () => {
  it.each(BODIES)('%s has the volume and area of the formula', (_name, form, t) => {
    const { mesh, evidence } = offsetOf(form, t);
    expectSound(mesh);
    const [V, S, M] = [volumeOf(form), areaOf(form), meanCurvatureOf(form)];
    const volume = V + S * t + M * t * t + (4 / 3) * Math.PI * t ** 3;
    const area = S + 2 * M * t + 4 * Math.PI * t * t;
    // The surface misses by at most the tolerance, on average by far less: 0.02 mm over the area.
    expect(Math.abs(volumeOf(mesh) - volume)).toBeLessThan(0.02 * area);
    expect(Math.abs(areaOf(mesh) / area - 1)).toBeLessThan(0.003);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.1);
    expect(evidence.missingMaxMm).toBeLessThan(0.1);
  });
});

describe('the printed values', () => {
  it('box 200 x 150 x 100, t = 10: 4 445 560.459616 mm³, 159 530.970944 mm²', () => {
    const { mesh } = offsetOf(box(200, 150, 100), 10, 0.05);
    expect(Math.abs(volumeOf(mesh) / 4445560.459616 - 1)).toBeLessThan(1e-4);
    expect(Math.abs(areaOf(mesh) / 159530.970944 - 1)).toBeLessThan(5e-4);
  });

  it('sphere of 100 inward by 10: 3 053 628.059289 mm³', () => {
    const { mesh } = offsetOf(sphere(100, 5), -10);
    expectSound(mesh);
    expect(Math.abs(volumeOf(mesh) / 3053628.059289 - 1)).toBeLessThan(2e-3);
  });

  it.each([5, -5])('torus R 50 r 10 by %d: V + S t + M t², no t³ term', (t) => {
    const { mesh } = offsetOf(torus(50, 10, 192, 96), t, 0.02);
    expectSound(mesh);
    const smooth = 98696.044010894 + 19739.208802179 * t + 986.960440109 * t * t;
    expect(Math.abs(volumeOf(mesh) / smooth - 1)).toBeLessThan(4e-3);
  });
});

it('the miss falls with the tolerance: halving it leaves the mean at less than 0.7 of what it was', () => {
  const form = box(60, 50, 40);
  const means = [0.4, 0.2, 0.1].map((tolerance) => offsetOf(form, 10, tolerance).evidence.meanAbsErrorMm);
  expect(means[1] / means[0]).toBeLessThan(0.7);
  expect(means[2] / means[1]).toBeLessThan(0.7);
});
