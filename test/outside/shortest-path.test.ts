import { describe, expect, it } from 'vitest';
import { shortestPath } from '../../electron/geometry/measure/shortest-path.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';
import { box, cylinder, frustum, sphere } from '../support/solids.ts';

const length = (mesh: Mesh, from: Vec3, to: Vec3): number => shortestPath(mesh, from, to)?.length ?? Number.NaN;
const turned = (radius: number, degrees: number, z: number): Vec3 => [
  radius * Math.cos((degrees * Math.PI) / 180),
  radius * Math.sin((degrees * Math.PI) / 180),
  z,
];

describe('arcs along the surface against closed forms (reference values 3.4)', () => {
  it('a sphere of radius 100: R acos(u.v), missed by less for finer meshes in the second order', () => {
    const on = (lat: number, lon: number): Vec3 => {
      const a = (lat * Math.PI) / 180,
        b = (lon * Math.PI) / 180;
      return [100 * Math.cos(a) * Math.cos(b), 100 * Math.cos(a) * Math.sin(b), 100 * Math.sin(a)];
    };
    const misses = [4, 5].map((level) => 115.670174 - length(sphere(100, level), on(30, 20), on(-10, 75)));
    expect(misses[1]).toBeGreaterThan(0);
    expect(misses[1]).toBeLessThan(0.02);
    expect(misses[0] / misses[1]).toBeGreaterThan(3);
    expect(length(sphere(100, 5), on(0, 0), on(0, 60))).toBeCloseTo(104.719755, 1);
  });

  it('a cylinder of radius 40, a third of a turn and 50 up: 97.5622127; on its facets exactly', () => {
    const sides = 360;
    const body = cylinder(40, 120, sides, 6);
    // Unrolled, the prism's own sides: 120 of them, each 2 R sin(pi / n).
    const exact = Math.hypot(120 * 80 * Math.sin(Math.PI / sides), 50);
    const got = length(body, turned(40, 0, -25), turned(40, 120, 25));
    expect(got).toBeCloseTo(exact, 8);
    expect(got).toBeCloseTo(97.5622127, 2);
  });

  it('a frustum 25/45/120: 132.515790 from rim to rim a quarter turn on; 139.805636 between ends of the wide rim', () => {
    const body = frustum(45, 25, 120, 720, 12);
    expect(length(body, turned(45, 0, -60), turned(25, 90, 60))).toBeCloseTo(132.51579, 2);
    // The base is cut off: over the flat disc it would be 90.
    const open = {
      ...body,
      triangles: body.triangles.filter((_, i, all) => {
        const face = i - (i % 3);
        return [0, 1, 2].some((k) => body.positions[all[face + k] * 3 + 2] > -60 + 1e-9);
      }),
    };
    expect(length(open, turned(45, 0, -60), turned(45, 180, -60))).toBeCloseTo(139.805636, 2);
    expect(length(body, turned(45, 0, -60), turned(45, 180, -60))).toBeCloseTo(90, 6);
  });

  it('opposite corners of a box 200 x 150 x 100: the least of three unfoldings', () => {
    expect(length(box(200, 150, 100), [-100, -75, -50], [100, 75, 50])).toBeCloseTo(Math.hypot(200, 250), 9);
    expect(length(box(2, 2, 2), [0, 0, 1], [0, 0, -1])).toBeCloseTo(4, 9);
  });

  it('bends round a hole in a plate: two straight legs over its corner', () => {
    // A flat 10 x 10 grid without its middle: from left to right round the square hole of 4 x 4.
    const positions: number[] = [];
    const triangles: number[] = [];
    for (let j = 0; j <= 10; j++) for (let i = 0; i <= 10; i++) positions.push(i, j, 0);
    for (let j = 0; j < 10; j++) {
      for (let i = 0; i < 10; i++) {
        if (i >= 3 && i < 7 && j >= 3 && j < 7) continue;
        const a = j * 11 + i;
        triangles.push(a, a + 1, a + 12, a, a + 12, a + 11);
      }
    }
    const plate = { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
    expect(length(plate, [1, 4, 0], [9, 4, 0])).toBeCloseTo(2 * Math.hypot(2, 1) + 4, 9);
    expect(length(plate, [0.3, 0.4, 0], [9.2, 0.9, 0])).toBeCloseTo(Math.hypot(8.9, 0.5), 9);
    // The path itself is as long as it says.
    const { points } = shortestPath(plate, [1, 4, 0], [9, 4, 0]) ?? { points: new Float64Array(0) };
    let sum = 0;
    for (let at = 3; at < points.length; at += 3)
      sum += Math.hypot(points[at] - points[at - 3], points[at + 1] - points[at - 2]);
    expect(sum).toBeCloseTo(2 * Math.hypot(2, 1) + 4, 9);
  });

  it('no way leads to another piece', () => {
    const one = box(10, 10, 10);
    const two = { positions: one.positions.map((x, i) => (i % 3 === 0 ? x + 30 : x)), triangles: one.triangles };
    const both: Mesh = {
      positions: Float64Array.from([...one.positions, ...two.positions]),
      triangles: Uint32Array.from([...one.triangles, ...two.triangles.map((v) => v + one.positions.length / 3)]),
    };
    expect(shortestPath(both, [0, 0, 5], [30, 0, 5])).toBeUndefined();
  });

  const SEED = 20_261_125;
  it(`on a rough body it is symmetric, and no way over a third point is shorter (seed ${SEED})`, () => {
    const random = seeded(SEED);
    const ball = sphere(100, 4);
    const rough = { ...ball, positions: ball.positions.map((x) => x + 3 * (random() - 0.5)) };
    const vertex = (): Vec3 => {
      const v = 3 * Math.floor((random() * rough.positions.length) / 3);
      return [rough.positions[v], rough.positions[v + 1], rough.positions[v + 2]];
    };
    for (let trial = 0; trial < 12; trial++) {
      const [a, b, c] = [vertex(), vertex(), vertex()];
      const ab = length(rough, a, b);
      expect(length(rough, b, a)).toBeCloseTo(ab, 7);
      expect(length(rough, a, c) + length(rough, c, b)).toBeGreaterThan(ab - 1e-7);
    }
  });
});
