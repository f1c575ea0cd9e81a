import { expect, it } from 'vitest';
import { preparePart, wallOf } from '../../../electron/geometry/fit/part-shell.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { inventHelmet } from '../../../electron/invented/helmet.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { box, cylinder, sphere } from '../../support/solids.ts';

const quiet = (): void => {};

/** Every face with vertices of its own, as in a file without an index. */
function soupOf({ positions, triangles }: Mesh): Mesh {
  const at = Array.from(triangles, (v) => [positions[3 * v], positions[3 * v + 1], positions[3 * v + 2]]).flat();
  return { positions: Float64Array.from(at), triangles: Uint32Array.from(triangles.keys()) };
}

it('joins a soup of faces and leaves its openings open', () => {
  const whole = cylinder(60, 120, 96, 20);
  const tube = { ...whole, triangles: whole.triangles.subarray(0, 6 * 96 * 20) };
  const { mesh, report } = preparePart(soupOf(tube), quiet);
  expect(mesh.triangles.length).toBe(tube.triangles.length);
  expect(report).toMatchObject({ kind: 'sheet', pieces: 1, droppedFaces: 0 });
  // Two rims, regular 96-gons: perimeter 2·96·60·sin(180°/96), middles on the axis at the ends.
  const rim = 2 * 96 * 60 * Math.sin(Math.PI / 96);
  expect(report.borders.map(({ lengthMm }) => lengthMm)).toHaveLength(2);
  for (const { lengthMm, middle } of report.borders) {
    expect(lengthMm).toBeCloseTo(rim, 6);
    expect(Math.hypot(middle[0], middle[1])).toBeLessThan(1e-9);
    expect(Math.abs(middle[2])).toBeCloseTo(60, 9);
  }
});

it('turns faces that disagree, and a part that is inside out', () => {
  const ball = sphere(50, 3);
  const triangles = ball.triangles.slice();
  for (let f = 0; f < triangles.length; f += 3) {
    if (f % 15 !== 0) [triangles[f], triangles[f + 1]] = [triangles[f + 1], triangles[f]];
  }
  const { mesh, report } = preparePart({ ...ball, triangles }, quiet);
  expect(report.kind).toBe('closed');
  expect(volumeOf(mesh)).toBeCloseTo(volumeOf(ball), 6);
});

it('measures a wall: of a box the distance of its sides, of a helmet what it was made with', () => {
  // 12 faces: two of each pair of sides.
  expect(wallOf(box(40, 30, 2), quiet)).toMatchObject({ leastMm: 2, mostMm: 40, samples: 12 });
  const wall = wallOf(inventHelmet({ wallMm: 3 }).mesh, quiet);
  // Semi-axes grown by 3 mm make a wall of 3 mm but for the slant of the dome.
  expect(wall?.usualMm).toBeCloseTo(3, 1);
  expect(wall?.leastMm).toBeGreaterThan(2.8);
  expect(wall?.mostMm).toBeLessThan(3.3);
});

it('keeps the thin wall of an invented helmet as it is', () => {
  const { mesh } = inventHelmet();
  const { mesh: ready, report } = preparePart(mesh, quiet);
  expect(report).toMatchObject({ kind: 'closed', pieces: 1, droppedFaces: 0, closedCracks: 0, turnedFaces: 0 });
  expect(volumeOf(ready)).toBeCloseTo(volumeOf(mesh), 3);
});
