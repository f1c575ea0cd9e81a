import { describe, expect, it } from 'vitest';
import { determinant3, transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import { eigenSymmetric, fitSimilarity } from '../../../electron/geometry/register/similarity.ts';
import {
  mirroredLandmark,
  standByFrankfurt,
  standByGuess,
  standByLandmarks,
} from '../../../electron/geometry/register/stand-up.ts';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';

const random = seeded(7);
const point = (): Vec3 => [random() * 200 - 100, random() * 200 - 100, random() * 200 - 100];

function turned(angle: number, axis: Vec3, scale: number, shift: Vec3): Matrix4 {
  const [x, y, z] = axis.map((a) => (a / Math.hypot(...axis)) * Math.sin(angle / 2));
  const w = Math.cos(angle / 2);
  const r = [
    1 - 2 * (y * y + z * z),
    2 * (x * y - z * w),
    2 * (x * z + y * w),
    2 * (x * y + z * w),
    1 - 2 * (x * x + z * z),
    2 * (y * z - x * w),
    2 * (x * z - y * w),
    2 * (y * z + x * w),
    1 - 2 * (x * x + y * y),
  ].map((q) => q * scale);
  return [r[0], r[1], r[2], shift[0], r[3], r[4], r[5], shift[1], r[6], r[7], r[8], shift[2], 0, 0, 0, 1];
}

describe('similarity fit (Horn 1987; Umeyama 1991)', () => {
  it('recovers a known turn, scale and shift to 1e-9', () => {
    for (let trial = 0; trial < 20; trial++) {
      const truth = turned(random() * 6, point(), 0.5 + random(), point());
      const from = Array.from({ length: 6 }, point);
      const fit = fitSimilarity(
        from,
        from.map((p) => transformPoint(truth, p)),
        true,
      );
      fit?.matrix.forEach((x, i) => expect(x).toBeCloseTo(truth[i], 9));
      expect(fit?.meanSquare as number).toBeLessThan(1e-9);
    }
  });

  it('never answers a mirror image with a mirror: the reflection trap', () => {
    const from: Vec3[] = [
      [0, 0, 0],
      [100, 0, 0],
      [0, 70, 0],
      [0, 0, 40],
    ];
    const to = from.map(([x, y, z]) => [-x, y, z] as Vec3);
    const fit = fitSimilarity(from, to, true);
    expect(determinant3(fit?.matrix as Matrix4)).toBeGreaterThan(0);
    expect(fit?.meanSquare as number).toBeGreaterThan(10);
  });

  it('the trap in closed form (Umeyama 1991): axes 1, 2, 3 mirrored along the first', () => {
    // Covariance diag(-1, 4, 9)/3, so S flips the least: R = I, c = (4 + 9 - 1)/14, error = (14 - 12^2/14)/3 of one end.
    const ends: Vec3[] = [
      [1, 0, 0],
      [-1, 0, 0],
      [0, 2, 0],
      [0, -2, 0],
      [0, 0, 3],
      [0, 0, -3],
    ];
    const fit = fitSimilarity(
      ends,
      ends.map(([x, y, z]) => [-x, y, z] as Vec3),
      true,
    );
    expect(fit?.scale).toBeCloseTo(12 / 14, 12);
    expect(fit?.meanSquare).toBeCloseTo((14 - 144 / 14) / 3, 12);
    [0, 5, 10].forEach((i) => expect(fit?.matrix[i]).toBeCloseTo(12 / 14, 12));
  });

  it('refuses points in one line and fewer than three', () => {
    const line: Vec3[] = [
      [0, 0, 0],
      [1, 2, 3],
      [2, 4, 6],
      [5, 10, 15],
    ];
    expect(fitSimilarity(line, line, false)).toBeUndefined();
    expect(fitSimilarity(line.slice(0, 2), line.slice(0, 2), false)).toBeUndefined();
  });

  it('finds eigenvalues of a symmetric matrix', () => {
    expect(eigenSymmetric([2, 1, 0, 1, 2, 0, 0, 0, 5], 3).values.map((x) => Math.round(x * 1e9) / 1e9)).toEqual([
      5, 3, 1,
    ]);
  });
});

describe('standing up (ISO 7250-1 frame)', () => {
  const head: Record<string, Vec3> = {
    'tragion-left': [0, 71, 0],
    'tragion-right': [0, -71, 0],
    'orbitale-left': [76, 32, 0],
    glabella: [95, 0, 33],
    vertex: [0, 0, 131],
    menton: [74, 0, -103],
  };
  const scan = turned(2.1, [1, 2, -1], 1, [300, -40, 77]);
  const onScan = Object.fromEntries(Object.entries(head).map(([name, p]) => [name, transformPoint(scan, p)]));

  it('by definition: tragions on y, orbitale level with them, midpoint at the origin', () => {
    const m = standByFrankfurt(onScan['tragion-left'], onScan['tragion-right'], [onScan['orbitale-left']]) as Matrix4;
    for (const [name, p] of Object.entries(head)) {
      transformPoint(m, onScan[name]).forEach((x, k) => expect(x).toBeCloseTo(p[k], 9));
    }
  });

  it('refuses an orbitale on the line of the tragions', () => {
    expect(standByFrankfurt([0, 1, 0], [0, -1, 0], [[0, 0.4, 0]])).toBeUndefined();
  });

  it('by other landmarks, the right way up and near level', () => {
    const { matrix } = standByLandmarks({
      glabella: onScan['glabella'],
      vertex: onScan['vertex'],
      menton: onScan['menton'],
      'tragion-left': onScan['tragion-left'],
    }) as { matrix: Matrix4 };
    const vertex = transformPoint(matrix, onScan['vertex']);
    expect(vertex[2]).toBeGreaterThan(120);
    expect(Math.hypot(vertex[0], vertex[1])).toBeLessThan(15);
  });

  it('notices that left and right were exchanged', () => {
    expect(mirroredLandmark(onScan)).toBeUndefined();
    const exchanged = {
      ...onScan,
      'tragion-left': onScan['tragion-right'],
      'tragion-right': onScan['tragion-left'],
      'orbitale-left': transformPoint(scan, [76, -32, 0]),
    };
    expect(mirroredLandmark(exchanged)).toBe('tragion');
  });

  it('has no guess for nothing', () => {
    expect(standByGuess({ positions: new Float64Array(0), triangles: new Uint32Array(0) })).toBeUndefined();
  });
});
