import { describe, expect, it } from 'vitest';
import { inventHead } from '../../../electron/invented/head.ts';
import { multiply, scaling, transformMesh, transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import { cutFlat } from '../../../electron/geometry/offset/cut-flat.ts';
import { standByFrankfurt, standByGuess } from '../../../electron/geometry/register/stand-up.ts';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { ellipsoid } from '../../support/solids.ts';

/** Any frame with the given x direction and a point on it: built by the definition, not by the code under test. */
const lay = standByFrankfurt([30, 80, -20], [-40, -10, 70], [[90, 10, 5]]) as Matrix4;
const degrees = (a: readonly number[], b: readonly number[]): number =>
  (Math.acos(Math.min(1, a[0] * b[0] + a[1] * b[1] + a[2] * b[2])) * 180) / Math.PI;

describe('standing up by a guess: invented heads, whose frame is known', () => {
  it.each([
    [1, -155],
    [2, -110],
  ])('seed %d, cut level at %d mm: faces forward, upright, the origin near the ears', (seed, level) => {
    const whole = inventHead({ seed }).mesh(16_000);
    const { mesh } = cutFlat(whole, { point: [0, 0, level], normal: [0, 0, 1] });
    // In metres, lying anyhow, far from the origin.
    const way = multiply(scaling(1 / 1000), lay);
    const stood = standByGuess(transformMesh(way, mesh));
    const all = multiply(scaling(1000), multiply(stood?.matrix as Matrix4, way));
    expect(degrees([all[0], all[4], all[8]], [1, 0, 0])).toBeLessThan(1);
    expect(degrees([all[1], all[5], all[9]], [0, 1, 0])).toBeLessThan(1);
    expect(degrees([all[2], all[6], all[10]], [0, 0, 1])).toBeLessThan(1);
    const [x, y, z] = transformPoint(all, [0, 0, 0]);
    expect(Math.hypot(x, z)).toBeLessThan(15);
    expect(Math.abs(y)).toBeLessThan(1.5);
    expect(stood?.confidence as number).toBeGreaterThan(0.7);
  });

  it('is unsure of a body without a face or a cut, and says so', () => {
    expect(standByGuess(ellipsoid(100, 77, 120, 4))?.confidence as number).toBeLessThan(0.3);
  });
});
