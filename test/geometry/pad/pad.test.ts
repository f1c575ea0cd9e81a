import { describe, expect, it } from 'vitest';
import { chooseStack, contactOf, type FoamSheet } from '../../../electron/geometry/pad/foam-stack.ts';
import { faceMeans, gapFigures, gapsTo, partWall } from '../../../electron/geometry/pad/gap.ts';
import { proposePads } from '../../../electron/geometry/pad/propose-pads.ts';
import { Skin } from '../../../electron/geometry/pad/skin.ts';
import { vertexNormals } from '../../../electron/geometry/mesh/quantities.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { ellipsoid, sphere } from '../../support/solids.ts';

const quiet = (): void => {};

function shell(inner: Mesh, outer: Mesh): Mesh {
  const count = inner.positions.length / 3;
  return {
    positions: Float64Array.of(...inner.positions, ...outer.positions),
    triangles: Uint32Array.of(...inner.triangles.toReversed(), ...outer.triangles.map((v) => v + count)),
  };
}

describe('the gap', () => {
  it('between spheres is the difference of their radii', () => {
    const part = partWall(shell(sphere(110, 4), sphere(114, 4)), quiet);
    const skin = sphere(100, 3);
    for (const gap of gapsTo(part, skin, vertexNormals(skin), 40, quiet)) expect(Math.abs(gap - 10)).toBeLessThan(0.35);
    const figures = gapFigures(faceMeans(skin, gapsTo(part, skin, vertexNormals(skin), 40, quiet)));
    expect(figures?.meanMm).toBeGreaterThan(9.7);
    expect(figures?.meanMm).toBeLessThan(10.05);
  });

  it('is below 0 where the skin stands in the wall, and none where there is no part', () => {
    const part = partWall(shell(sphere(98, 4), sphere(104, 4)), quiet);
    const skin = sphere(100, 3);
    for (const gap of gapsTo(part, skin, vertexNormals(skin), 40, quiet)) {
      expect(gap).toBeLessThan(-1.5);
      expect(gap).toBeGreaterThan(-2.4);
    }
    const small = sphere(40, 2);
    expect(gapsTo(part, small, vertexNormals(small), 20, quiet).every(Number.isNaN)).toBe(true);
  });

  it('of a part shifted by 5 mm goes from 5 to 15, and its figures with it', () => {
    const moved = sphere(110, 4);
    const part = partWall({ ...moved, positions: moved.positions.map((x, i) => (i % 3 === 0 ? x + 5 : x)) }, quiet);
    const open = { ...part, closed: false };
    const skin = sphere(100, 4);
    const figures = gapFigures(faceMeans(skin, gapsTo(open, skin, vertexNormals(skin), 40, quiet)));
    expect(figures?.leastMm).toBeCloseTo(5, 0);
    expect(figures?.mostMm).toBeCloseTo(15, 0);
    // Over a sphere the shift along a direction is spread evenly: a tenth lies beyond 0.8 of it (Archimedes).
    expect(Math.abs((figures?.p90Mm ?? 0) - 14)).toBeLessThan(0.4);
    expect(Math.abs((figures?.p10Mm ?? 0) - 6)).toBeLessThan(0.4);
  });
});

const sheet = (nominalMm: number, compression: number, quarterKPa?: number): FoamSheet => ({
  material: 'foam',
  nominalMm,
  thicknessMm: nominalMm,
  compression,
  quarterKPa,
});

describe('a foam stack', () => {
  it('is the sheet that the gap presses half as much as it gives', () => {
    const stock = [sheet(5, 0.4), sheet(10, 0.4), sheet(15, 0.4), sheet(20, 0.4)];
    // 15 mm worn 9: middle 12.
    expect(chooseStack(stock, 12, new Set(), 0)).toMatchObject({ sheets: [2], freeMm: 15, wornMm: 9 });
  });

  it('is of several where one is not enough, softest against the body', () => {
    const stock = [sheet(10, 0, 100), sheet(20, 0.4, 2)];
    expect(chooseStack(stock, 26, new Set(), 0)?.sheets).toEqual([1, 0]);
  });

  it('keeps to sheets already used where that costs little', () => {
    const stock = [sheet(6, 0), sheet(6.2, 0)];
    expect(chooseStack(stock, 6.2, new Set([0]), 0)?.sheets).toEqual([1]);
    expect(chooseStack(stock, 6.2, new Set([0]), 0.5)?.sheets).toEqual([0]);
    expect(chooseStack([], 6, new Set(), 0)).toBeUndefined();
  });

  it('presses as springs in a row do: the sum of their give at one pressure', () => {
    // 10 mm at 4 kPa and 20 mm at 2 kPa a quarter pressed give 10 / 16 and 20 / 8 mm for each kPa.
    const stock = [sheet(10, 0.4, 4), sheet(20, 0.4, 2)];
    const stack = { sheets: [0, 1], freeMm: 30, wornMm: 18, fromGapMm: [0, 0] };
    const even = { value: Float64Array.of(25, 25), area: Float64Array.of(3, 1) };
    const contact = contactOf(stock, stack, even);
    expect(contact.meanKPa).toBeCloseTo(5 / (10 / 16 + 20 / 8), 12);
    expect(contact).toMatchObject({ contactShare: 1, easeMm: 0 });
    expect(contact.meanShare).toBeCloseTo(1 / 6, 12);
    // A gap of 34 on a quarter of the area is not touched and keeps 4 mm.
    const uneven = contactOf(stock, stack, { value: Float64Array.of(25, 34), area: Float64Array.of(3, 1) });
    expect(uneven.contactShare).toBeCloseTo(3 / 4, 12);
    expect(uneven.easeMm).toBeCloseTo(1, 12);
    expect(uneven.meanKPa).toBeCloseTo(1.6, 12);
    expect(
      contactOf([sheet(30, 0.4)], { sheets: [0], freeMm: 30, wornMm: 18, fromGapMm: [0] }, even).meanKPa,
    ).toBeUndefined();
  });
});

it('pads are proposed where part and head leave room, in pairs left and right', () => {
  const head = ellipsoid(100, 77, 120, 4);
  const part = partWall(shell(ellipsoid(115, 92, 135, 4), ellipsoid(118, 95, 138, 4)), quiet);
  const skin = new Skin(head, quiet);
  const wishes = { leastMm: 3, mostMm: 30, insetMm: 5 };
  const pads = proposePads(skin, part, ['crown', 'temples', 'brow'], wishes, quiet);
  expect(pads.map(({ zone, side }) => `${zone} ${side ?? ''}`.trim()).toSorted()).toEqual([
    'brow',
    'crown',
    'temples left',
    'temples right',
  ]);
  expect(proposePads(skin, part, ['crown'], { ...wishes, leastMm: 20 }, quiet)).toEqual([]);
});
