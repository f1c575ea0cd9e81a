import { BufferAttribute, BufferGeometry, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { describe, expect, it } from 'vitest';
import { buildBvh, castRay, findNearest, nearestSlot } from '../../../electron/geometry/spatial/bvh.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';
import { box, ellipsoid, sphere, torus } from '../../support/solids.ts';

describe('search tree', () => {
  it('agrees with a second implementation (three-mesh-bvh) on nearest points', () => {
    const seed = 20261125;
    console.info(`seed ${seed}`);
    const random = seeded(seed);
    for (const mesh of [ellipsoid(100, 77, 90, 4), torus(80, 25, 60, 30), box(200, 150, 100)]) {
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', new BufferAttribute(Float32Array.from(mesh.positions), 3));
      geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
      const other = new MeshBVH(geometry);
      const tree = buildBvh(mesh);
      const out = nearestSlot();
      const target = { point: new Vector3(), distance: 0, faceIndex: 0 };
      for (let q = 0; q < 500; q++) {
        const at = [random(), random(), random()].map((r) => (r - 0.5) * 300);
        other.closestPointToPoint(new Vector3(...at), target);
        expect(findNearest(tree, at[0], at[1], at[2], out)).toBe(true);
        expect(out.distance).toBeCloseTo(target.distance, 3);
        expect(Math.hypot(at[0] - out.x, at[1] - out.y, at[2] - out.z)).toBeCloseTo(out.distance, 9);
      }
    }
  });

  it('finds nothing beyond the limit, and says so', () => {
    const tree = buildBvh(sphere(100, 3));
    const out = nearestSlot();
    expect(findNearest(tree, 0, 0, 150, out, 49)).toBe(false);
    expect(out.face).toBe(-1);
    expect(findNearest(tree, 0, 0, 150, out, 51)).toBe(true);
    expect(out.distance).toBeCloseTo(50, 0);
  });

  it('names the feature met: face, edge or corner', () => {
    const tree = buildBvh({
      positions: Float64Array.of(0, 0, 0, 10, 0, 0, 0, 10, 0),
      triangles: Uint32Array.of(0, 1, 2),
    });
    const out = nearestSlot();
    const featureAt = (x: number, y: number): number => {
      findNearest(tree, x, y, 5, out);
      return out.feature;
    };
    expect(featureAt(2, 2)).toBe(0);
    expect(featureAt(9, 9)).toBe(1); // opposite corner 0
    expect(featureAt(-3, 4)).toBe(2);
    expect(featureAt(4, -3)).toBe(3);
    expect([featureAt(-1, -1), featureAt(15, -1), featureAt(-1, 15)]).toEqual([4, 5, 6]);
  });

  it('meets the sphere along a ray where the sphere is', () => {
    const tree = buildBvh(sphere(100, 5));
    const hit = { face: -1, t: 0 };
    expect(castRay(tree, 0, 0, 0, 0.3, -0.4, Math.sqrt(0.75), hit)).toBe(true);
    expect(hit.t).toBeGreaterThan(99.9);
    expect(hit.t).toBeLessThanOrEqual(100 + 1e-9);
    expect(castRay(tree, 0, 0, 200, 0, 1, 0, hit)).toBe(false);
    expect(castRay(tree, 0, 0, 200, 0, 0, -1, hit, 0, 50)).toBe(false);
  });

  it('holds every face once, in boxes that hold those below, in leaves of four at most', () => {
    const random = seeded(5);
    const soup: Mesh = {
      positions: Float64Array.from({ length: 900 * 3 }, () => random() * random() * 1e3 - 200),
      triangles: Uint32Array.from({ length: 1200 * 3 }, () => Math.floor(random() * 900)),
    };
    for (const mesh of [
      soup,
      sphere(10, 2),
      torus(80, 25, 50, 20),
      { ...soup, triangles: soup.triangles.slice(0, 30) },
    ]) {
      const { positions: p, triangles: t } = mesh;
      const tree = buildBvh(mesh);
      expect([...tree.faces].sort((a, b) => a - b)).toEqual(Array.from({ length: t.length / 3 }, (_, f) => f));
      let slots = 0;
      const boxOf = (node: number): number[] => [...tree.bounds.subarray(node * 6, node * 6 + 6)];
      const holds = (outer: readonly number[], inner: readonly number[]): boolean =>
        inner.every((x, k) => (k < 3 ? outer[k] <= x : outer[k] >= x));
      const walk = (node: number): number => {
        if (tree.count[node] === 0) {
          const right = walk(node + 1);
          expect(tree.right[node]).toBe(right);
          for (const child of [node + 1, right]) expect(holds(boxOf(node), boxOf(child))).toBe(true);
          return walk(right);
        }
        expect(tree.count[node]).toBeLessThanOrEqual(4);
        expect(tree.right[node]).toBe(slots);
        for (const end = slots + tree.count[node]; slots < end; slots++) {
          const corners = [0, 1, 2].map((c) => [0, 1, 2].map((k) => p[t[tree.faces[slots] * 3 + c] * 3 + k]));
          expect([...tree.corners.subarray(slots * 9, slots * 9 + 9)]).toEqual(corners.flat());
          const own = [...tree.boxes.subarray(slots * 6, slots * 6 + 6)];
          const exact = [Math.min, Math.max].flatMap((most) =>
            [0, 1, 2].map((k) => most(...corners.map((corner) => corner[k]))),
          );
          expect(holds(own, exact)).toBe(true);
          // Rounded outward by no more than two steps of single precision.
          for (let k = 0; k < 6; k++)
            expect(Math.abs(own[k] - exact[k])).toBeLessThanOrEqual(2 ** -22 * Math.abs(exact[k]));
          expect(holds(boxOf(node), own)).toBe(true);
        }
        return node + 1;
      };
      expect(walk(0)).toBe(tree.nodeCount);
    }
  });

  it('bears an empty mesh, one face, and thousands of faces in one place', () => {
    const empty: Mesh = { positions: new Float64Array(0), triangles: new Uint32Array(0) };
    expect(findNearest(buildBvh(empty), 0, 0, 0, nearestSlot())).toBe(false);
    const stack: Mesh = {
      positions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0),
      triangles: Uint32Array.from({ length: 30_000 }, (_, i) => i % 3),
    };
    const out = nearestSlot();
    expect(findNearest(buildBvh(stack), 0.2, 0.2, 7, out)).toBe(true);
    expect(out.distance).toBe(7);
  });
});
