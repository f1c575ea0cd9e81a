/** The figures of a section, against closed forms. */
import { expect, test } from 'vitest';
import { boxOf, lengthOf, pathOf } from '../../renderer/controls/section-figures.ts';

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
