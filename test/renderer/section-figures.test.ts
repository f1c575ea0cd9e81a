/** The figures of a section, against closed forms. */
import { expect, test } from 'vitest';
import { boxOf, gapsOf, lengthOf, pathOf } from '../../renderer/controls/section-figures.ts';

const polygon = (sides: number, radius: number): Float64Array =>
  Float64Array.from({ length: 2 * sides }, (_, at) => {
    const angle = (2 * Math.PI * Math.floor(at / 2)) / sides;
    return radius * (at % 2 === 0 ? Math.cos(angle) : Math.sin(angle));
  });

test('a polygon of n sides in a circle of 80 mm is 2 n r sin(π/n) round, and 160 mm wide', () => {
  const line = { slot: 'form', closed: true, points: polygon(360, 80) };
  expect(lengthOf(line)).toBeCloseTo(2 * 360 * 80 * Math.sin(Math.PI / 360), 9);
  const box = boxOf([line]);
  expect(box?.maxX).toBeCloseTo(80, 9);
  expect((box?.maxX ?? 0) - (box?.minX ?? 0)).toBeCloseTo(160, 9);
});

test('an open line does not go back to its start', () => {
  const points = Float64Array.of(0, 0, 30, 0, 30, 40);
  expect(lengthOf({ slot: 'form', closed: false, points })).toBe(70);
  expect(lengthOf({ slot: 'form', closed: true, points })).toBe(120);
  expect(lengthOf({ slot: 'form', closed: true, points: new Float64Array(0) })).toBe(0);
});

test('the drawing is seen along the normal, the body upright', () => {
  const points = Float64Array.of(1, 2, 3, 4);
  expect(pathOf({ slot: 'form', closed: true, points })).toBe('M-1.00 -2.00L-3.00 -4.00Z');
  expect(boxOf([])).toBeUndefined();
});

test('a shell of 3 mm at 8 mm from a body of 80 mm: foam and wall on all four ways; where it is open, none', () => {
  const ring = (slot: string, radius: number) => ({ slot, closed: true, points: polygon(720, radius) });
  const gaps = gapsOf([ring('form', 80), ring('liner', 88), ring('liner', 91)]);
  expect(gaps.map(({ way }) => way)).toEqual(['low x', 'high x', 'low y', 'high y']);
  for (const { foamMm, wallMm } of gaps) {
    expect(foamMm).toBeCloseTo(8, 3);
    expect(wallMm).toBeCloseTo(3, 3);
  }
  const half = polygon(720, 88).subarray(0, 720);
  const open = gapsOf([ring('form', 80), { slot: 'liner', closed: false, points: half }]);
  expect(open.map(({ way, wallMm }) => [way, wallMm])).toContainEqual(['high y', undefined]);
  expect(open.map(({ way }) => way)).not.toContain('low y');
  expect(gapsOf([ring('form', 80)])).toEqual([]);
});

test('foam is taken where the form reaches out farthest, square to it, not through the middle of its box', () => {
  // A round body with a thin neck down to -200 mm: the box's middle lies where the round one slants away.
  const round = (radius: number): Float64Array =>
    Float64Array.from({ length: 720 * 2 }, (_, at) => {
      const angle = -Math.PI / 2 + 0.01 + ((2 * Math.PI - 0.02) * Math.floor(at / 2)) / 719;
      return radius * (at % 2 === 0 ? Math.cos(angle) : Math.sin(angle));
    });
  const neck = Float64Array.of(...round(80), -0.8, -200, 0.8, -200);
  const gaps = gapsOf([
    { slot: 'form', closed: true, points: neck },
    { slot: 'liner', closed: false, points: round(88) },
  ]);
  expect(gaps.map(({ way }) => way)).toEqual(['low x', 'high x', 'high y']);
  for (const { foamMm } of gaps) expect(foamMm).toBeCloseTo(8, 2);
});

test('a printed shell, 80 mm outside and 77 mm inside: its wall to each side, and none where its rim is', () => {
  const ring = (radius: number) => ({ slot: 'shell', closed: true, points: polygon(720, radius) });
  const walls = gapsOf([ring(80), ring(77)]);
  expect(walls.map(({ way }) => way)).toEqual(['low x', 'high x', 'low y', 'high y']);
  for (const { foamMm, wallMm } of walls) {
    expect(foamMm).toBeUndefined();
    expect(wallMm).toBeCloseTo(3, 3);
  }
  // Its upper half, closed by a rim of 3 mm on either side.
  const half = (radius: number): number[] => [...polygon(720, radius)].slice(0, 722);
  const pairs = (flat: readonly number[]): number[][] =>
    flat.flatMap((x, at) => (at % 2 === 0 ? [[x, flat[at + 1] ?? 0]] : []));
  const cup = {
    slot: 'shell',
    closed: true,
    points: Float64Array.from([...half(80), ...pairs(half(77)).toReversed().flat()]),
  };
  const open = gapsOf([cup]);
  expect(open.map(({ way }) => way)).toContain('high y');
  expect(open.map(({ way }) => way)).not.toContain('low y');
});
