/**
 * A pad drawn over an ear with four presses was a crumb of no area: the ways from place to place ran together for a few
 * edges, what they cut off there was the smallest part, and the smallest part was taken for the inner side of the line.
 */
import { expect, test } from 'vitest';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { inventHead } from '../../electron/invented/head.ts';
import { takePatch } from '../../electron/geometry/flatten/patch.ts';
import { areaOf } from '../../electron/geometry/mesh/quantities.ts';

test('the inner side of a drawn line is the smaller of its two sides, whatever crumbs its ways cut off', () => {
  const head = inventHead({ seed: 11, lengthMm: 198, breadthMm: 151, heightMm: 130 }).mesh(9500);
  const curve: Vec3[] = [
    [-40, 70, 30],
    [-40, 70, 60],
    [-10, 70, 62],
    [0, 74, 30],
  ];
  const patch = takePatch(head, head, { kind: 'curve', curve }, () => {});
  // Seen from the side, the surveyor's formula; the skin leans away from that, so it is larger, and by far not twice.
  const seen = Math.abs(
    curve.reduce((sum, [x, , z], i) => {
      const [nextX, , nextZ] = curve[(i + 1) % curve.length];
      return sum + (x * nextZ - nextX * z) / 2;
    }, 0),
  );
  const area = patch === undefined ? 0 : areaOf(patch);
  expect(area).toBeGreaterThan(0.9 * seen);
  expect(area).toBeLessThan(1.6 * seen);
});
