import { describe, expect, it } from 'vitest';
import { transformMesh, translation } from '../../../electron/geometry/mesh/transform.ts';
import { findSelfIntersections } from '../../../electron/geometry/spatial/self-intersections.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { box, sphere, torus } from '../../support/solids.ts';

const mesh = (positions: number[], triangles: number[]): Mesh => ({
  positions: Float64Array.from(positions),
  triangles: Uint32Array.from(triangles),
});
const count = (m: Mesh): number => findSelfIntersections(m).length / 2;
const both = (a: Mesh, b: Mesh): Mesh =>
  mesh([...a.positions, ...b.positions], [...a.triangles, ...b.triangles.map((v) => v + a.positions.length / 3)]);

describe('self-intersections', () => {
  it('finds none on sound bodies', () => {
    for (const body of [sphere(100, 4), box(10, 20, 30), torus(50, 10, 48, 24)]) expect(count(body)).toBe(0);
  });

  it('finds two bodies that cut, and those that only touch', () => {
    expect(count(both(box(10, 10, 10), transformMesh(translation([5, 5, 5]), box(10, 10, 10))))).toBeGreaterThan(0);
    expect(count(both(box(10, 10, 10), transformMesh(translation([10, 0, 0]), box(10, 10, 10))))).toBeGreaterThan(0);
    expect(count(both(box(10, 10, 10), transformMesh(translation([10.001, 0, 0]), box(10, 10, 10))))).toBe(0);
  });

  it('tells a shared vertex or edge from more than that', () => {
    const fan = [0, 0, 0, 10, 0, 0, 10, 10, 0, -10, 1, 5, -10, -5, 5];
    expect(count(mesh(fan, [0, 1, 2, 0, 3, 4]))).toBe(0);
    // the second triangle's far edge passes through the first
    expect(count(mesh([0, 0, 0, 10, 0, 0, 10, 10, 0, 8, 3, 5, 8, 4, -5], [0, 1, 2, 0, 3, 4]))).toBe(1);
    // a flat fold: two faces on one edge, lying on one another
    expect(count(mesh([0, 0, 0, 10, 0, 0, 5, 8, 0, 5, 3, 0], [0, 1, 2, 1, 0, 3]))).toBe(1);
    expect(count(mesh([0, 0, 0, 10, 0, 0, 5, 8, 0, 5, -3, 0], [0, 1, 2, 1, 0, 3]))).toBe(0);
    // the same three corners twice
    expect(count(mesh([0, 0, 0, 10, 0, 0, 5, 8, 0], [0, 1, 2, 0, 2, 1]))).toBe(1);
  });

  it('sees overlap in one plane', () => {
    expect(count(mesh([0, 0, 0, 10, 0, 0, 0, 10, 0, 2, 2, 0, 12, 2, 0, 2, 12, 0], [0, 1, 2, 3, 4, 5]))).toBe(1);
  });

  it('stops at the limit', () => {
    const cut = both(sphere(10, 3), transformMesh(translation([3, 2, 1]), sphere(10, 3)));
    expect(findSelfIntersections(cut, undefined, 5).length).toBe(10);
  });
});
