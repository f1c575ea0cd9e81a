import { describe, expect, it } from 'vitest';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { boundsOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { previewOffset, previewOfField } from '../../../electron/geometry/offset/preview.ts';
import { RoomyField, type RoomWishes } from '../../../electron/geometry/offset/roomy-field.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { headOf } from '../../bench/heads.ts';
import { box, sphere } from '../../support/solids.ts';

describe('preview of an offset', () => {
  it('of a head it is closed and on average within 0.3 mm, with fewer than 20,000 faces', () => {
    const head = headOf(9_500);
    const preview = previewOffset(head, 8, QUIET_RUN);
    const twins = findTwins(preview.triangles, preview.positions.length / 3);
    expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
    expect(preview.triangles.length / 3).toBeLessThan(20_000);
    expect(measureOffset(new SignedField(head), 8, preview, QUIET_RUN).meanAbsErrorMm).toBeLessThan(0.3);
  });

  it('of a sphere of 50 by 8 it has the volume of a sphere of 58 within 1 %', () => {
    const volume = (4 / 3) * Math.PI * 58 ** 3;
    expect(Math.abs(volumeOf(previewOffset(sphere(50, 4), 8, QUIET_RUN)) / volume - 1)).toBeLessThan(0.01);
  });

  it('inward beyond the middle nothing is left', () => {
    expect(previewOffset(box(20, 30, 40), -11, QUIET_RUN).triangles.length).toBe(0);
  });
});

it('reaches what lies outside the form’s own box: a rod that sticks out at the low side, a way in aslant', () => {
  const rod = { kind: 'capsule', from: [0, 0, 0], to: [-100, 0, 0], radiusMm: 10 } as const;
  const keepOuts = [{ name: 'rod', shape: rod, clearanceMm: 2 }];
  const fieldOf = (wishes: Partial<RoomWishes>): RoomyField =>
    new RoomyField(sphere(40, 4), { foamMm: 5, zones: [], keepOuts: [], clear: undefined, ...wishes });
  const lowest = (field: RoomyField): number => boundsOf(previewOfField(field, 5, QUIET_RUN).positions).min[0];
  expect(fieldOf({ keepOuts }).box.min[0]).toBeCloseTo(-110, 9);
  expect(Math.abs(lowest(fieldOf({ keepOuts })) + 112)).toBeLessThan(0.5);
  const aslant = fieldOf({ clear: { direction: [1, 0, -1], giveMm: 2 } });
  // Its shadow ends flat: a disk of 40 mm square to the direction, 40 mm on.
  expect(Math.abs(aslant.box.max[0] - 40 * Math.SQRT2)).toBeLessThan(0.5);
});
