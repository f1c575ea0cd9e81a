import { describe, expect, it } from 'vitest';
import type { Plane } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { boundsOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { dropUnusedVertices } from '../../../electron/geometry/mesh/compact.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { previewOffset, previewOfField, walled } from '../../../electron/geometry/offset/preview.ts';
import { cutOpen } from '../../../electron/geometry/offset/cut-flat.ts';
import { knifeFor } from '../../../electron/geometry/offset/openings.ts';
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

it('a wall where two cuts meet askew ends at both: nothing lies beyond either plane, and elsewhere it is as thick as asked', () => {
  const wallMm = 4;
  const turn = (2 / 3) * Math.PI;
  const planes: Plane[] = [
    { point: [0, 0, -10], normal: [0, 0, 1] },
    { point: [-20, 0, 0], normal: [Math.sin(turn), 0, Math.cos(turn)] },
  ];
  const ball = sphere(50, 4);
  const open = planes.reduce((mesh, plane) => {
    const knife = knifeFor({ kind: 'plane', plane }, new SignedField(ball));
    const sides = knife?.sides(mesh, () => undefined);
    if (sides === undefined || sides.kind === 'not-parted') throw new Error('not cut');
    return dropUnusedVertices(cutOpen(mesh, sides.heightMm, () => undefined).open);
  }, ball);
  const { positions: p } = walled(open, wallMm, planes);
  let [beyond, thick] = [Infinity, 0];
  for (let v = p.length / 2; v < p.length; v += 3) {
    for (const { point, normal: n } of planes) {
      const over = n[0] * (p[v] - point[0]) + n[1] * (p[v + 1] - point[1]) + n[2] * (p[v + 2] - point[2]);
      beyond = Math.min(beyond, over);
    }
    thick = Math.max(thick, Math.hypot(p[v], p[v + 1], p[v + 2]) - 50);
  }
  expect(beyond).toBeGreaterThan(-1e-5);
  expect(Math.abs(thick - wallMm)).toBeLessThan(0.2);
});
