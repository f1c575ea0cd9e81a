import { expect, test } from 'vitest';
import { bodyAt, boxOf, flatAt, readOnBody, type FlatPiece } from '../../renderer/screens/making/on-body.ts';

/** A square laid flat from a slope: on the body it rises as it goes. */
const SLOPE: FlatPiece = {
  number: 1,
  name: 'slope',
  outline: [0, 0, 10, 0, 10, 10, 0, 10],
  flat: [0, 0, 10, 0, 10, 10, 0, 10],
  body: [0, 0, 0, 8, 0, 6, 8, 10, 6, 0, 10, 0],
  triangles: [0, 1, 2, 0, 2, 3],
  givePercent: [0, 1],
};

test('a point of the flat lies where its triangle puts it on the body, and none beside the piece', () => {
  const on = bodyAt(SLOPE, 5, 2.5) ?? [];
  for (const [k, expected] of [4, 2.5, 3].entries()) expect(on[k]).toBeCloseTo(expected, 12);
  expect(bodyAt(SLOPE, 11, 5)).toBeUndefined();
});

test('a point of the body leads to the triangle it is nearest to', () => {
  const [x, y] = flatAt(SLOPE, [7, 3, 5.2]) ?? [0, 0];
  expect(x).toBeGreaterThan(y);
  const [u, v] = flatAt(SLOPE, [1, 8, 0.7]) ?? [0, 0];
  expect(u).toBeLessThan(v);
});

test('the box holds the piece, and what is no such file is told apart', () => {
  expect(boxOf(SLOPE, 1)).toEqual([-1, -11, 12, 12]);
  const bytes = new TextEncoder().encode(JSON.stringify({ pieces: [{ ...SLOPE, number: 2 }, SLOPE] }));
  expect(readOnBody(bytes)?.map(({ number }) => number)).toEqual([1, 2]);
  expect(readOnBody(new TextEncoder().encode('{"pieces":7}'))).toBeUndefined();
  expect(readOnBody(new TextEncoder().encode('not JSON'))).toBeUndefined();
});
