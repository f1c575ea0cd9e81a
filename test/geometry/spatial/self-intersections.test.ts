import { describe, expect, it } from 'vitest';
import { transformMesh, translation } from '../../../electron/geometry/mesh/transform.ts';
import { buildBvh } from '../../../electron/geometry/spatial/bvh.ts';
import {
  facesMeet,
  findSelfIntersections,
  overPositions,
} from '../../../electron/geometry/spatial/self-intersections.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';
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

  it('finds in a heap of faces the pairs that every pair asked exactly gives, once each, with a tree and marks too', () => {
    const random = seeded(11);
    for (const [vertices, faces, grid] of [
      [400, 500, 0],
      // Many shared vertices; then coordinates on a coarse grid, where nothing is decided without exact tests.
      [60, 300, 0],
      [200, 300, 8],
    ]) {
      const at = (): number => (grid > 0 ? Math.floor(random() * grid) : random() * 100);
      const heap = mesh(
        Array.from({ length: vertices * 3 }, at),
        Array.from({ length: faces }, () => {
          const a = Math.floor(random() * vertices);
          return [a, (a + 1 + Math.floor(random() * 5)) % vertices, (a + 7 + Math.floor(random() * 20)) % vertices];
        }).flat(),
      );
      const t = heap.triangles;
      const touch = (f: number, g: number): boolean =>
        [0, 1, 2].every((k) => {
          const [a, b] = [f, g].map((face) => [0, 1, 2].map((c) => heap.positions[t[face * 3 + c] * 3 + k]));
          return Math.min(...a) <= Math.max(...b) && Math.min(...b) <= Math.max(...a);
        });
      const marked = Uint8Array.from({ length: faces }, () => (random() < 0.1 ? 1 : 0));
      const all: string[] = [],
        ofMarked: string[] = [];
      overPositions(heap.positions, () => {
        for (let f = 0; f < faces; f++) {
          for (let g = f + 1; g < faces; g++) {
            if (!touch(f, g) || !facesMeet(t, f * 3, g * 3)) continue;
            all.push(`${f} ${g}`);
            if (marked[f] + marked[g] > 0) ofMarked.push(`${f} ${g}`);
          }
        }
      });
      const told = (pairs: readonly number[]): string[] =>
        Array.from({ length: pairs.length / 2 }, (_, i) =>
          pairs
            .slice(i * 2, i * 2 + 2)
            .sort((a, b) => a - b)
            .join(' '),
        ).sort();
      const tree = buildBvh(heap);
      expect(all.length).toBeGreaterThan(20);
      expect(told(findSelfIntersections(heap))).toEqual(all.sort());
      expect(told(findSelfIntersections(heap, undefined, Infinity, undefined, tree))).toEqual(all);
      expect(told(findSelfIntersections(heap, undefined, Infinity, marked))).toEqual(ofMarked.sort());
      expect(told(findSelfIntersections(heap, undefined, Infinity, marked, tree))).toEqual(ofMarked);
    }
  });

  it('stops at the limit', () => {
    const cut = both(sphere(10, 3), transformMesh(translation([3, 2, 1]), sphere(10, 3)));
    expect(findSelfIntersections(cut, undefined, 5).length).toBe(10);
  });
});
