/**
 * Creases of an offset against closed forms of plane geometry (no source needed): over a groove with flat sides that
 * open by an angle, the offsets of the sides meet t / sin(angle / 2) above its root; over two equal balls the offset's
 * crease is the circle of radius sqrt(r² - (d / 2)²), r the ball's radius with the foam, d the distance of the centres.
 */
import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { inventHead } from '../../../electron/invented/head.ts';
import { inventLimb } from '../../../electron/invented/limb.ts';
import { boundsOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { isTrue, measureOffset, truePoints } from '../../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { SurfaceTracker } from '../../../electron/geometry/offset/track-surface.ts';
import { findSelfIntersections } from '../../../electron/geometry/spatial/self-intersections.ts';
import { seeded } from '../../support/random.ts';
import { sphere } from '../../support/solids.ts';

/** A block 60 long (y) with a groove 45 deep down to the y axis, whose flat sides open by the angle. */
function groove(degrees: number): Mesh {
  const half = 45 * Math.tan((degrees * Math.PI) / 360);
  // Counter-clockwise seen from -y, in x and z; the root last.
  const outline = [
    [-half - 25, -30],
    [half + 25, -30],
    [half + 25, 45],
    [half, 45],
    [0, 0],
    [-half, 45],
    [-half - 25, 45],
  ];
  const n = outline.length;
  const positions = [-30, 30].flatMap((y) => outline.flatMap(([x, z]) => [x, y, z]));
  // Fans from the root see every other corner.
  const triangles: number[] = [];
  for (let k = 0; k < n; k++) {
    const next = (k + 1) % n;
    if (k !== 4 && next !== 4) triangles.push(4, k, next, 4 + n, next + n, k + n);
    triangles.push(k, k + n, next, next, k + n, next + n);
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** About z, then about x; negative angles undo it: about x first. */
function turned(mesh: Mesh, aboutZ: number, aboutX: number): Mesh {
  const positions = mesh.positions.slice();
  const turn = (i: number, j: number, angle: number): void => {
    for (let at = 0; at < positions.length; at += 3) {
      const [u, v] = [positions[at + i], positions[at + j]];
      positions[at + i] = u * Math.cos(angle) - v * Math.sin(angle);
      positions[at + j] = u * Math.sin(angle) + v * Math.cos(angle);
    }
  };
  if (aboutZ < 0) turn(1, 2, aboutX);
  turn(0, 1, aboutZ);
  if (aboutZ >= 0) turn(1, 2, aboutX);
  return { ...mesh, positions };
}

function balls(radius: number, apart: number): Mesh {
  const one = sphere(radius, 4);
  const count = one.positions.length / 3;
  return {
    positions: Float64Array.from([...one.positions, ...one.positions.map((c, i) => (i % 3 === 0 ? c + apart : c))]),
    triangles: Uint32Array.from([...one.triangles, ...one.triangles.map((v) => v + count)]),
  };
}

function lined(form: Mesh, offset: number) {
  const field = new SignedField(form);
  const made = offsetSurface(field, offset, 0.1, QUIET_RUN);
  if (made === undefined) throw new Error('nothing made');
  const twins = findTwins(made.mesh.triangles, made.mesh.positions.length / 3);
  expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
  expect(findSelfIntersections(made.mesh)).toEqual([]);
  return { mesh: made.mesh, evidence: measureOffset(field, offset, made.mesh, QUIET_RUN) };
}

describe('creases', () => {
  // The bar is 0.15 mm both ways.
  it.each([
    [90, 0.15],
    [60, 0.15],
    [30, 0.15],
    [15, 0.15],
  ])('over a groove of %i degrees at 8 mm it stands where both sides are 8 mm away', (degrees, boundMm) => {
    const { mesh, evidence } = lined(groove(degrees), 8);
    expect(evidence.maxAbsErrorMm).toBeLessThan(boundMm);
    expect(evidence.missingMaxMm).toBeLessThan(0.15);
    const liner = new SignedField(mesh);
    const height = 8 / Math.sin((degrees * Math.PI) / 360);
    // Sharper than this the groove is filled to its brim.
    if (height > 45) return;
    for (let y = -26; y <= 26; y += 0.7) expect(Math.abs(liner.at(0, y, height))).toBeLessThan(0.15);
  });

  it('the same askew to the grid, at 3 and 8 mm', () => {
    for (const offset of [3, 8]) {
      const { evidence } = lined(turned(groove(30), 0.4, 0.7), offset);
      expect(evidence.maxAbsErrorMm).toBeLessThan(0.15);
      // A cube of 0.17 mm leaves the groove's bottom so wide: over 15 degrees a side that is 0.04 mm of distance.
      expect(evidence.missingMaxMm).toBeLessThan(offset === 3 ? 0.2 : 0.15);
    }
  });

  // Ju and Udeshi 2006, "Intersection-free contouring on an octree grid": not one pair of faces that cut, unmended.
  it('as the cubes give it, a folded surface is closed, manifold and free of cuts, and fine in its folds only', () => {
    const form = turned(groove(30), 0.4, 0.7);
    const field = new SignedField(form);
    const { min } = boundsOf(form.positions);
    const tracker = new SurfaceTracker(
      field,
      8,
      2.7,
      min.map((c) => c - 8),
      QUIET_RUN,
      4,
    );
    for (const point of truePoints(field, 8)) {
      const [x, y, z, nx, ny, nz] = point;
      if (isTrue(field, 8, point)) tracker.follow(x, y, z, nx, ny, nz);
    }
    const { positions, triangles, sizes } = tracker.surface(true);
    const twins = findTwins(triangles, positions.length / 3);
    expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
    expect(findSelfIntersections({ positions, triangles })).toEqual([]);
    expect(Math.min(...sizes)).toBeCloseTo(2.7 / 16, 5);
    // Turned back, the groove lies in the plane x = 0; its crease stands 8 / sin(15°) above its root.
    const back = turned({ positions, triangles }, -0.4, -0.7).positions;
    for (const [v, size] of sizes.entries()) if (size < 2.7) expect(Math.abs(back[v * 3])).toBeLessThan(8);
  });

  it('between two balls it is the circle of the formula', () => {
    const { mesh, evidence } = lined(balls(20, 44), 5);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.15);
    expect(evidence.missingMaxMm).toBeLessThan(0.15);
    const radius = Math.sqrt(25 ** 2 - 22 ** 2);
    const liner = new SignedField(mesh);
    for (let turn = 0; turn < 2 * Math.PI; turn += 0.05) {
      // The balls are faceted, inside the round ones by up to 0.03 mm: the crease lies up to 0.07 mm lower.
      expect(Math.abs(liner.at(22, radius * Math.cos(turn), radius * Math.sin(turn)))).toBeLessThan(0.3);
    }
  });
});

describe('generated bodies', () => {
  // Its thumb leaves a slit narrower than a coarse cube.
  it('a forearm with 0.15 mm of noise is sound, and within 0.35 mm in the slit at the thumb too', () => {
    const clean = inventLimb({ seed: 3 }).mesh(9_500);
    const random = seeded(5);
    const positions = clean.positions.map((x) => x + (random() + random() + random() - 1.5) * 0.3);
    const { mesh, evidence } = lined({ ...clean, positions }, 6);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.35);
    expect(evidence.missingMaxMm).toBeLessThan(0.15);
    expect(evidence.p99AbsErrorMm).toBeLessThan(0.06);
    expect(evidence.meanAbsErrorMm).toBeLessThan(0.015);
    expect(mesh.triangles.length / 3).toBeLessThan(60_000);
  });

  // Six heads with shoulders were 0.09 to 0.13 at most, 0.040 to 0.043 and 0.0094 to 0.0101; their area is twice a head's.
  // Seed 6 missed 0.16 at an edge that has its miss near one end.
  it('a head with ears and shoulders is kept within the bars, and nothing of it is missing', () => {
    const { mesh, evidence } = lined(inventHead({ seed: 6 }).mesh(9_500), 8);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.15);
    expect(evidence.missingMaxMm).toBeLessThan(0.15);
    expect(evidence.p99AbsErrorMm).toBeLessThan(0.05);
    expect(evidence.meanAbsErrorMm).toBeLessThan(0.01);
    expect(mesh.triangles.length / 3).toBeLessThan(60_000);
  });
});
