import { expect, test } from 'vitest';
import { inventHead } from '../../../electron/invented/head.ts';
import { roughen } from '../../../electron/invented/phone-scan.ts';
import { mend } from '../../../electron/geometry/mend/mend.ts';
import { invert, transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import { findLandmarks } from '../../../electron/geometry/register/find-landmarks.ts';
import { standByGuess } from '../../../electron/geometry/register/stand-up.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { sphere } from '../../support/solids.ts';

/** What may be missed on average and at most, mm; broad extremes (crown, sides) are flat, so their place says little. */
const BOUNDS: Readonly<Record<string, readonly [number, number]>> = {
  pronasale: [5, 10],
  sellion: [4, 8],
  glabella: [4, 8],
  menton: [3, 7],
  opisthocranion: [5, 11],
  'tragion-left': [5, 9],
  'tragion-right': [5, 9],
  'orbitale-left': [5, 9],
  'orbitale-right': [5, 9],
  vertex: [9, 16],
  'euryon-left': [11, 18],
  'euryon-right': [11, 18],
};

// Lengths and breadths within the range of the 2012 survey (NATICK/TR-15/007); the heads and their truth are our own.
test('landmarks of rough scans in any pose are found near the truth, and lengths between them nearer still', () => {
  const misses = new Map<string, number[]>();
  for (let seed = 1; seed <= 4; seed++) {
    const wanted = { seed, lengthMm: 183 + seed * 3, breadthMm: 140 + ((seed * 7) % 20), heightMm: 122 + seed };
    const head = inventHead(wanted);
    const scan = roughen(head.mesh(12_000), { seed, unitsPerMm: 1 });
    const { mesh } = mend(scan.mesh, { keep: 'largest', prove: false });
    const guess = standByGuess(mesh);
    const face = guess === undefined ? undefined : findLandmarks(mesh, guess.matrix);
    if (face === undefined) throw new Error(`no face was seen on head ${seed}`);
    const toForm = invert(scan.truth.formToScan);
    const found = new Map(face.landmarks.map(({ name, point }) => [name, transformPoint(toForm, point)]));
    for (const name of Object.keys(BOUNDS)) {
      const truth = head.landmarks[name as keyof typeof head.landmarks];
      const point = found.get(name);
      if (point === undefined) throw new Error(`${name} was not found on head ${seed}`);
      misses.set(name, [...(misses.get(name) ?? []), Math.hypot(...point.map((x, k) => x - truth[k]))]);
    }
    const length = (a: string, b: string): number => {
      const [p, q] = [found.get(a) as Vec3, found.get(b) as Vec3];
      return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
    };
    expect(Math.abs(length('glabella', 'opisthocranion') - wanted.lengthMm)).toBeLessThan(2.5);
    expect(Math.abs(length('euryon-left', 'euryon-right') - wanted.breadthMm)).toBeLessThan(2.5);
  }
  for (const [name, [mean, most]] of Object.entries(BOUNDS)) {
    const list = misses.get(name) as number[];
    expect(list.reduce((a, b) => a + b, 0) / list.length, name).toBeLessThan(mean);
    expect(Math.max(...list), name).toBeLessThan(most);
  }
});

test('where there is no face none is seen', () => {
  expect(findLandmarks(sphere(100, 4))).toBeUndefined();
});
