import { describe, expect, it } from 'vitest';
import { cutLines, nested, sheetOf, type CutLine } from '../../renderer/viewport/section-outline.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { box, sphere, torus } from '../support/solids.ts';

const lengthOf = ({ points, closed }: CutLine): number => {
  let sum = 0;
  const count = points.length / 2;
  for (let k = closed ? 0 : 1; k < count; k++) {
    const before = (k + count - 1) % count;
    sum += Math.hypot(points[2 * k] - points[2 * before], points[2 * k + 1] - points[2 * before + 1]);
  }
  return sum;
};

const areaOf = ({ points }: CutLine): number => {
  let sum = 0;
  for (let k = 0, before = points.length - 2; k < points.length; before = k, k += 2) {
    sum += points[before] * points[k + 1] - points[k] * points[before + 1];
  }
  return Math.abs(sum / 2);
};

const cut = (mesh: Mesh, point: Vec3, normal: Vec3): CutLine[] =>
  cutLines(Float32Array.from(mesh.positions), mesh.triangles, sheetOf(point, normal));

describe('the line where a plane cuts a mesh', () => {
  it('is a circle of the right size on a ball, on any plane (Pythagoras)', () => {
    const ball = sphere(100, 5);
    for (const [point, normal] of [
      [
        [0, 0, 0.3],
        [0, 0, 1],
      ],
      [
        [20, 30, 10],
        [1, -2, 0.5],
      ],
      [
        [60.1, 0, 0],
        [1, 0, 0],
      ],
    ] as [Vec3, Vec3][]) {
      const lines = cut(ball, point, normal);
      expect(lines.length).toBe(1);
      expect(lines[0].closed).toBe(true);
      const height = point.reduce((sum, p, k) => sum + p * normal[k], 0) / Math.hypot(...normal);
      const radius = Math.sqrt(1e4 - height * height);
      // faces of about 3.6 mm lie up to 0.02 mm inside the ball
      expect(areaOf(lines[0]) / (Math.PI * radius * radius)).toBeCloseTo(1, 2);
      expect(lengthOf(lines[0]) / (2 * Math.PI * radius)).toBeCloseTo(1, 2);
      expect(areaOf(lines[0])).toBeLessThan(Math.PI * radius * radius);
    }
  });

  it('is two circles on a ring cut level, one within the other', () => {
    const lines = cut(torus(80, 20, 96, 48), [0, 0, 0.2], [0, 0, 1]);
    expect(lines.map((line) => line.closed)).toEqual([true, true]);
    const radii = lines.map((line) => lengthOf(line) / (2 * Math.PI)).sort((a, b) => a - b);
    expect(radii[0]).toBeCloseTo(60, 0);
    expect(radii[1]).toBeCloseTo(100, 0);
    const areas = nested(lines.map((line) => line.points));
    expect(areas.length).toBe(1);
    expect(areas[0].holes.length).toBe(1);
  });

  it('closes also where the plane runs through vertices and along faces', () => {
    const cube = box(60, 40, 20);
    const low = Math.min(...cube.positions.filter((_, k) => k % 3 === 2));
    for (const at of [low, low + 10]) {
      const lines = cut(cube, [0, 0, at], [0, 0, 1]);
      for (const line of lines) expect(line.closed).toBe(true);
      if (at > low) expect(areaOf(lines[0])).toBeCloseTo(60 * 40, 3);
    }
  });

  it('stays open where the mesh is open', () => {
    const ball = sphere(50, 3);
    const kept: number[] = [];
    for (let corner = 0; corner < ball.triangles.length; corner += 3) {
      const vertices = [...ball.triangles.subarray(corner, corner + 3)];
      if (vertices.every((vertex) => ball.positions[vertex * 3] > 0)) kept.push(...vertices);
    }
    const lines = cut({ ...ball, triangles: Uint32Array.from(kept) }, [0, 0, 1], [0, 0, 1]);
    expect(lines.length).toBe(1);
    expect(lines[0].closed).toBe(false);
    expect(lengthOf(lines[0])).toBeGreaterThan(0.75 * Math.PI * 50);
    expect(lengthOf(lines[0])).toBeLessThan(Math.PI * 50);
  });

  it('gives nothing beside the mesh, and knows no trouble from an empty one', () => {
    expect(cut(sphere(50, 2), [0, 0, 51], [0, 0, 1])).toEqual([]);
    expect(cut({ positions: new Float64Array(0), triangles: new Uint32Array(0) }, [0, 0, 0], [1, 0, 0])).toEqual([]);
  });

  it('draws the body upright on its sheet: up is up, and on a level cut the face is up', () => {
    sheetOf([0, 0, 0], [0, 1, 0]).up.forEach((x, k) => expect(x).toBeCloseTo([0, 0, 1][k], 12));
    const level = sheetOf([0, 0, 5], [0, 0, 1]);
    level.up.forEach((x, k) => expect(x).toBeCloseTo([1, 0, 0][k], 12));
    // right × up is the normal, so nothing is mirrored
    const { right, up } = sheetOf([0, 0, 0], [1, 2, 3]);
    const normal = [
      right[1] * up[2] - right[2] * up[1],
      right[2] * up[0] - right[0] * up[2],
      right[0] * up[1] - right[1] * up[0],
    ];
    normal.forEach((x, k) => expect(x).toBeCloseTo([1, 2, 3][k] / Math.hypot(1, 2, 3), 12));
  });

  it('nests lines three deep: an island in a hole is an outline again', () => {
    const ring = (radius: number): Float64Array =>
      Float64Array.from(
        Array.from({ length: 40 }, (_, k) => [Math.cos((k * Math.PI) / 20), Math.sin((k * Math.PI) / 20)]).flat(),
        (c) => c * radius,
      );
    const areas = nested([ring(10), ring(30), ring(20)]);
    expect(areas.map(({ outline, holes }) => [outline[0], holes.map((hole) => hole[0])])).toEqual([
      [10, []],
      [30, [20]],
    ]);
  });
});
