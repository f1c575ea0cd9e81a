/** First places for the landmarks of limbs and torsos, against the truth of invented bodies. */
import { describe, expect, it } from 'vitest';
import { polygonise, type Field } from '../../../electron/geometry/figure/polygonise.ts';
import { egg, join, without } from '../../../electron/geometry/figure/soft-solids.ts';
import { mend } from '../../../electron/geometry/mend/mend.ts';
import { transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import { proposeBody, type ProposedRegion } from '../../../electron/geometry/register/propose-body.ts';
import { stack } from '../../../electron/invented/profile.ts';
import { scanLimb, scanTorso, type ScannedBody } from '../../../electron/invented/scanned-body.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';

/** How far each proposal lies from the true place, mm. */
function missesOf({ scan, body }: ScannedBody, region: ProposedRegion): Map<string, number> {
  const { mesh } = mend(scan.mesh, { keep: 'largest', prove: false });
  const found = proposeBody(mesh, region, 'right');
  return new Map(
    found.map(({ name, point }) => {
      const at = transformPoint(scan.truth.scanToForm, point);
      return [name, Math.hypot(...at.map((x, k) => x - body.landmarks[name][k]))];
    }),
  );
}

function expectNear(misses: ReadonlyMap<string, number>): void {
  for (const [name, miss] of misses) expect(miss, name).toBeLessThan(35);
  expect([...misses.values()].toSorted((a, b) => a - b)[misses.size >> 1]).toBeLessThan(20);
}

describe('first places on mended scans, turned any way and in any unit', () => {
  it.each([5, 6, 8, 21])('of a forearm, seed %d: all within 35 mm, most within 20', (seed) => {
    const misses = missesOf(scanLimb({ seed, lengthMm: 240 + seed }, 12_000, { unitsPerMm: 1 / 43.7 }), 'arm');
    expect([...misses.keys()]).toEqual(
      expect.arrayContaining(['stylion-radiale', 'stylion-ulnare', 'dactylion', 'knuckle-little', 'forearm-front']),
    );
    expectNear(misses);
  });

  it.each([5, 8])('of a torso, seed %d: all within 35 mm, most within 20', (seed) => {
    const misses = missesOf(scanTorso({ seed }, 12_000, { unitsPerMm: 0.001 }), 'torso');
    expect(misses.size).toBeGreaterThanOrEqual(16);
    expectNear(misses);
  });
});

describe('first places on a plain leg', () => {
  // Ground at -110, thinnest at 0, calf at 200, knee at 390; foot from -70 to 195 along x.
  const shank = stack(
    [
      [-115, 38, 34, -20],
      [-60, 42, 34, -12],
      [0, 36, 33, 0],
      [200, 60, 56, -12],
      [330, 50, 50, 0],
      [390, 56, 54, 4],
      [460, 66, 62, 0],
    ],
    2,
  );
  const leg: Field = (x, y, z) => {
    let d = join(without(shank(x, y, z), z + 108, 6), egg(x - 62, y, z + 88, 133, 45, 26), 24);
    d = without(d, z + 110, 3);
    return without(d, 450 - z, 3);
  };
  const mesh = polygonise(leg, [300, 0, 100], 12_000);

  it('tells toes from heel, outer from inner side, and finds ankle, calf and knee', () => {
    for (const side of ['right', 'left'] as const) {
      const at = new Map<string, Vec3>(proposeBody(mesh, 'leg', side).map(({ name, point }) => [name, point]));
      const place = (name: string): Vec3 => at.get(name) as Vec3;
      expect(place('toe-tip')[0]).toBeGreaterThan(180);
      expect(place('heel')[0]).toBeLessThan(-55);
      expect(Math.abs(place('ankle-front')[2])).toBeLessThan(30);
      expect(Math.abs(place('calf-back')[2] - 200)).toBeLessThan(40);
      expect(Math.abs(place('patella')[2] - 390)).toBeLessThan(40);
      expect(place('patella')[0]).toBeGreaterThan(40);
      // A right leg's outer side is the wearer's right: -y.
      const outward = side === 'right' ? -1 : 1;
      expect(outward * place('malleolus-outer')[1]).toBeGreaterThan(15);
      expect(outward * place('knee-inner')[1]).toBeLessThan(-30);
    }
  });
});
