import { describe, expect, it } from 'vitest';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { previewOffset } from '../../../electron/geometry/offset/preview.ts';
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
