/** A way in with one tilt, against an own simulation of the found way. */
import { expect, it } from 'vitest';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { findUndercuts } from '../../../electron/geometry/offset/donning.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { bestTilt } from '../../../electron/geometry/offset/tilted-way.ts';
import { keptWhere } from '../../support/meshes.ts';
import { cylinder, sphere } from '../../support/solids.ts';

const FOAM = 8;
const DOWN: Vec3 = [0, 0, -1];

it('a cap that reaches low behind comes on with less when it is tipped, and the way found asks for what it says', () => {
  const field = new SignedField(sphere(40, 5));
  const liner = offsetSurface(field, FOAM, 0.2, QUIET_RUN)?.mesh as Mesh;
  // The rim runs from 25 mm under the middle behind to 5 mm over it in front.
  const kept = keptWhere(liner, (x, _y, z) => z > (30 * (x + 41)) / 89 - 25);
  const straightMm = findUndercuts(field, FOAM, liner, DOWN, kept, QUIET_RUN).deepestMm;
  // Behind, 8 mm of foam at 25 mm under the middle are √(48² - 25²) - 40 mm wide as seen from above.
  expect(Math.abs(straightMm - (8 - (Math.sqrt(48 ** 2 - 25 ** 2) - 40)))).toBeLessThan(0.4);
  const way = bestTilt(field, FOAM, liner, DOWN, kept, { mostDegrees: 30, straightMm }, QUIET_RUN);
  if (way === undefined) throw new Error('no way found');
  expect(way.deepestMm).toBeLessThan(0.7 * straightMm);
  // Followed anew: turned by complex numbers in the plane square to the axis (which is y), then lifted in steps.
  expect(Math.abs(way.axis[1])).toBeCloseTo(1, 9);
  let deepest = 0;
  for (let v = 0; v < kept.length; v += 3) {
    if (kept[v] === 0) continue;
    const [x, y, z] = liner.positions.subarray(v * 3, v * 3 + 3);
    const thickness = field.formAt(x, y, z);
    const go = (degrees: number, lift: number): void => {
      const angle = (degrees * way.axis[1] * Math.PI) / 180;
      const [dz, dx] = [z - way.pivot[2], x - way.pivot[0]];
      const atX = way.pivot[0] + dx * Math.cos(angle) + dz * Math.sin(angle);
      const atZ = way.pivot[2] + dz * Math.cos(angle) - dx * Math.sin(angle);
      deepest = Math.max(deepest, thickness - field.formAt(atX, y, atZ + lift));
    };
    for (let part = 0; part <= 20; part++) go((way.degrees * part) / 20, 0);
    for (let lift = 2; lift < 110; lift += 2) go(way.degrees, lift);
  }
  expect(Math.abs(deepest - way.deepestMm)).toBeLessThan(0.4);
});

it('a straight post asks for no tilt', () => {
  const field = new SignedField(cylinder(20, 120, 48));
  const liner = offsetSurface(field, FOAM, 0.3, QUIET_RUN)?.mesh as Mesh;
  const kept = keptWhere(liner, (_x, _y, z) => z > -20);
  const straightMm = findUndercuts(field, FOAM, liner, DOWN, kept, QUIET_RUN).deepestMm;
  expect(straightMm).toBe(0);
  expect(bestTilt(field, FOAM, liner, DOWN, kept, { mostDegrees: 20, straightMm }, QUIET_RUN)).toBeUndefined();
});
