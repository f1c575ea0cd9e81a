/** Thinning and the mending of cuts, against balls, whose offsets are balls. */
import { describe, expect, it } from 'vitest';
import { FootedSurface } from '../../../electron/geometry/offset/footed-surface.ts';
import { finerNear } from '../../../electron/geometry/offset/finer-near.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { thin } from '../../../electron/geometry/offset/thin.ts';
import { uncross } from '../../../electron/geometry/offset/uncross.ts';
import { areaOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { roundToSingle } from '../../../electron/geometry/mesh/transform.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { findSelfIntersections } from '../../../electron/geometry/spatial/self-intersections.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { sphere } from '../../support/solids.ts';

const R = 50;
const FOAM = 8;
const OUT = R + FOAM;

/** Where faces are asked how far they lie off. */
const PLACES = [
  [1, 0, 0],
  [0.5, 0.5, 0],
  [0, 0.5, 0.5],
  [0.5, 0, 0.5],
  [1 / 3, 1 / 3, 1 / 3],
] as const;

function expectSound(mesh: Mesh): void {
  const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
  expect([openEdges, nonManifoldEdges, flippedEdges]).toEqual([0, 0, 0]);
  expect(findSelfIntersections(mesh)).toEqual([]);
}

/** The offset of a ball, its feet known. */
function footed(): FootedSurface {
  const field = new SignedField(sphere(R, 5));
  const { positions, triangles } = sphere(OUT, 5);
  const sizes = new Float32Array(positions.length / 3).fill(1);
  const surface = new FootedSurface(field, FOAM, { positions, triangles, sizes });
  for (let v = 0; v < positions.length / 3; v++) {
    field.at(positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]);
    surface.footOf(v);
  }
  return surface;
}

describe('thinning', () => {
  it('a ball of 20,480 faces: far fewer, within the tolerance, and less under the ball than with corners on it', () => {
    const surface = footed();
    const tolerance = 0.4;
    expect(thin(surface, tolerance, 100, QUIET_RUN)).toBeGreaterThan(9000);
    const mesh = roundToSingle({ positions: surface.p, triangles: surface.t });
    expectSound(mesh);
    // It stopped for the tolerance, not for the number.
    const faces = mesh.triangles.length / 3;
    expect(faces).toBeGreaterThan(100);
    let [most, squares, count] = [0, 0, 0];
    const { positions: p, triangles: t } = mesh;
    for (let f = 0; f < t.length; f += 3) {
      for (const w of PLACES) {
        const at = [0, 1, 2].map(
          (k) => w[0] * p[t[f] * 3 + k] + w[1] * p[t[f + 1] * 3 + k] + w[2] * p[t[f + 2] * 3 + k],
        );
        const miss = Math.abs(Math.hypot(...at) - OUT);
        most = Math.max(most, miss);
        squares += miss * miss;
        count++;
      }
    }
    expect(most).toBeLessThan(tolerance);
    expect(Math.sqrt(squares / count)).toBeLessThan(tolerance / 3);
    // So many equal-sided faces with their corners on the ball lie c² / 8 r under it on average, c² being 4 A / √3.
    const under = (4 * 4 * Math.PI * OUT ** 2) / (Math.sqrt(3) * faces) / (8 * OUT);
    expect(OUT - Math.cbrt((3 * volumeOf(mesh)) / (4 * Math.PI))).toBeLessThan(0.6 * under);
  });

  it('leaves what has no more faces than wanted', () => {
    const surface = footed();
    expect(thin(surface, 0.4, 20_480, QUIET_RUN)).toBe(0);
    expect(surface.t.length / 3).toBe(20_480);
  });
});

describe('what cuts itself', () => {
  it('is merged away where it is: two vertices drawn past one another, nothing else moved', () => {
    const ball = sphere(OUT, 4);
    const positions = ball.positions.slice();
    const [a, b] = ball.triangles;
    // Each goes beyond the other, by as much as they were apart.
    for (let k = 0; k < 3; k++) {
      positions[a * 3 + k] = 2 * ball.positions[b * 3 + k] - ball.positions[a * 3 + k];
      positions[b * 3 + k] = 2 * ball.positions[a * 3 + k] - ball.positions[b * 3 + k];
    }
    const mesh = roundToSingle({ positions, triangles: ball.triangles });
    expect(findSelfIntersections(mesh).length).toBeGreaterThan(0);
    const mended = uncross(mesh, new SignedField(sphere(R, 4)), FOAM, QUIET_RUN);
    expect(mended.selfIntersections).toBe(0);
    expectSound(mended.mesh);
    const gone = (mesh.triangles.length - mended.mesh.triangles.length) / 3;
    expect(gone).toBeGreaterThan(0);
    expect(gone).toBeLessThan(12);
    // A face whose corners lie on the ball, no edge longer than two of before, misses by less than (2 c)² / 6 r.
    const edge = Math.sqrt((4 * areaOf(ball)) / (Math.sqrt(3) * (ball.triangles.length / 3)));
    expect(mended.mendedMm).toBeGreaterThan(0);
    expect(mended.mendedMm).toBeLessThan((2 * 1.3 * edge) ** 2 / (6 * OUT) + 0.2);
  });

  it('a sound surface comes back as it was', () => {
    const ball = roundToSingle(sphere(OUT, 3));
    const { mesh, mendedMm } = uncross(ball, new SignedField(sphere(R, 3)), FOAM, QUIET_RUN);
    expect([mesh, mendedMm]).toEqual([ball, 0]);
  });
});

it('finer along a line: area and volume as they were, short edges by it, closed', () => {
  const ball = sphere(R, 3);
  const heights = Float64Array.from({ length: ball.positions.length / 3 }, (_, v) => ball.positions[v * 3 + 2]);
  const fine = finerNear(ball, heights, 3, 2);
  expectSound(roundToSingle(fine));
  expect(volumeOf(fine)).toBeCloseTo(volumeOf(ball), 6);
  expect(areaOf(fine)).toBeCloseTo(areaOf(ball), 6);
  const { positions: p, triangles: t } = fine;
  for (let h = 0; h < t.length; h++) {
    const [a, b] = [t[h] * 3, t[h - (h % 3) + ((h + 1) % 3)] * 3];
    if (p[a + 2] > 0 === p[b + 2] > 0) continue;
    expect(Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2])).toBeLessThan(2.001);
  }
});
