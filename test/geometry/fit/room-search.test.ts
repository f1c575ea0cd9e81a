import { expect, test } from 'vitest';
import { FaceGaps, PointGaps, cornersOf } from '../../../electron/geometry/fit/gap-points.ts';
import { boxOf, type Handle } from '../../../electron/geometry/fit/most-room.ts';
import { motion } from '../../../electron/geometry/fit/pose.ts';
import { spreadStarts } from '../../../electron/geometry/fit/room-search.ts';
import { IDENTITY, transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { seeded } from '../../../electron/invented/seeded.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { box, ellipsoid } from '../../support/solids.ts';

const HANDLE: Handle = { middle: [0, 0, 0], leverMm: 80 };

test('starts lie within the limits, differ, and keep to the plane where they must', () => {
  const limits = { shiftMm: 5, tiltRad: 0.1 };
  const starts = spreadStarts(IDENTITY, HANDLE, limits, 9);
  expect(starts[0]?.placement).toEqual(IDENTITY);
  expect(new Set(starts.map(({ placement }) => placement.join())).size).toBe(9);
  for (const { placement } of starts) {
    const { low, high } = boxOf(placement, IDENTITY, HANDLE, limits, Infinity);
    // Room is left to either side of every motion.
    expect(Math.max(...low)).toBeLessThan(0);
    expect(Math.min(...high)).toBeGreaterThan(0);
  }
  for (const { placement } of spreadStarts(IDENTITY, HANDLE, { ...limits, inPlane: true }, 9)) {
    // The middle plane y = 0 stays where it is.
    expect(transformPoint(placement, [30, 0, 40])[1]).toBeCloseTo(0, 9);
  }
});

test('what is carried on or left out never changes the least gap: against every point asked anew', () => {
  const seed = 20261128;
  const random = seeded(seed);
  const body = new SignedField(ellipsoid(60, 45, 75, 3));
  const part = ellipsoid(75, 62, 90, 3);
  const all = part.positions;
  const points = new PointGaps(all.slice(0, 300), body, () => undefined);
  points.add(all.slice(300));
  const faces = new FaceGaps(cornersOf(part, new Uint8Array(part.triangles.length / 3).fill(1)), body, () => undefined);
  for (let round = 0; round < 12; round++) {
    const size = round % 3 === 0 ? 20 : 1;
    const shift = [0, 1, 2].map(() => size * random.between(-1, 1)) as unknown as Vec3;
    const turn = [0, 1, 2].map(() => 0.02 * size * random.between(-1, 1)) as unknown as Vec3;
    const placement = motion([0, 0, 0], turn, shift);
    let least = Infinity;
    for (let p = 0; p < all.length; p += 3) {
      least = Math.min(least, body.at(...transformPoint(placement, [all[p], all[p + 1], all[p + 2]])));
    }
    expect(points.least(placement), `seed ${seed}, round ${round}`).toBeCloseTo(least, 9);
    points.contacts(3);
    // Fresh faces know nothing from before.
    const fresh = new FaceGaps(
      cornersOf(part, new Uint8Array(part.triangles.length / 3).fill(1)),
      body,
      () => undefined,
    );
    expect(faces.least(placement), `seed ${seed}, round ${round}`).toBeCloseTo(fresh.least(placement), 9);
    faces.contacts(3);
  }
});

test('contacts carried on lie where they are and have the gap they have, to a quarter of their room', () => {
  const body = new SignedField(box(100, 80, 120));
  const part = box(140, 112, 150);
  const points = new PointGaps(part.positions, body, () => undefined);
  points.least(IDENTITY);
  points.contacts(100);
  const placement = motion([0, 0, 0], [0, 0, 0], [1, -1, 0.5]);
  const least = points.least(placement);
  const { count, gapMm, at } = points.contacts(100);
  expect(count).toBe(part.positions.length / 3);
  for (let i = 0; i < count; i++) {
    const gap = body.at(at[3 * i], at[3 * i + 1], at[3 * i + 2]);
    expect(Math.abs(gapMm[i] - gap)).toBeLessThanOrEqual((gap - least) / 4 + 1e-9);
  }
});
