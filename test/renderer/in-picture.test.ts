import { expect, test } from 'vitest';
import { pixelsPerMm, wayInPicture } from '../../renderer/screens/fitting/in-picture.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';

/** Seen from the front (x toward the eye): y to the wearer's left is to the right on the screen, z is up. */
const fromFront = ([, y, z]: Vec3): { x: number; y: number } => ({ x: 400 + 2 * y, y: 300 - 2 * z });

test('a way on the screen is the way in the plane of the picture, and nothing toward the eye', () => {
  const pixels = pixelsPerMm(fromFront, [80, 10, 20]);
  const way = wayInPicture(pixels, 20, -30);
  for (const [k, expected] of [0, 10, 15].entries()) expect(way[k]).toBeCloseTo(expected, 9);
});

test('askew, the point comes to where the pointer is, by the shortest way', () => {
  const c = Math.SQRT1_2;
  const askew = ([x, y, z]: Vec3): { x: number; y: number } => ({ x: 3 * (c * y - c * x), y: -3 * z + x });
  const at: Vec3 = [1, 2, 3];
  const pixels = pixelsPerMm(askew, at);
  const way = wayInPicture(pixels, 12, 7);
  const moved = askew(at.map((value, k) => value + (way[k] ?? 0)) as unknown as Vec3);
  expect(moved.x - askew(at).x).toBeCloseTo(12, 9);
  expect(moved.y - askew(at).y).toBeCloseTo(7, 9);
  // Square to what the picture does not show.
  const hidden: Vec3 = [3, 3, 1];
  expect(way[0] * hidden[0] + way[1] * hidden[1] + way[2] * hidden[2]).toBeCloseTo(0, 9);
});

test('a picture that shows no plane moves nothing', () => {
  expect(
    wayInPicture(
      [
        [1, 0, 0],
        [2, 0, 0],
      ],
      5,
      5,
    ),
  ).toEqual([0, 0, 0]);
});
