/** The kernel in WebAssembly against the same queries in plain TypeScript, which other tests hold against closed forms. */
import { describe, expect, it } from 'vitest';
import {
  buildBvh,
  findNearest,
  nearestSlot,
  readyNear,
  type Bvh,
  type Nearest,
} from '../../../electron/geometry/spatial/bvh.ts';
import { nearKernelOf } from '../../../electron/geometry/spatial/near-kernel.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { box, ellipsoid, torus } from '../../support/solids.ts';
import { seeded } from '../../support/random.ts';

function asked(tree: Bvh, [x, y, z]: readonly number[], limit = Infinity): Nearest {
  const out = nearestSlot();
  findNearest(tree, x, y, z, out, limit);
  return out;
}

/** Each place asked first without a kernel, then with one. */
function bothWays(mesh: Mesh, places: readonly (readonly number[])[], limit = Infinity): [Nearest, Nearest][] {
  const tree = buildBvh(mesh);
  const plain = places.map((at) => {
    tree.near.asked = -1;
    return asked(tree, at, limit);
  });
  expect(tree.near.kernel).toBeUndefined();
  readyNear(tree);
  return places.map((at, i) => [plain[i], asked(tree, at, limit)]);
}

const moved = (mesh: Mesh, by: number, times: number): Mesh => ({
  ...mesh,
  positions: mesh.positions.map((x) => (x + by) * times),
});

const BODIES: Readonly<Record<string, Mesh>> = {
  'an ellipsoid': ellipsoid(100, 77, 90, 3),
  'a torus': torus(80, 25, 60, 30),
  'a box of twelve large faces': box(200, 150, 100),
  'needles and faces without area': {
    positions: Float64Array.of(0, 0, 0, 100, 0.001, 0, 0, 0.002, 0, 50, 50, 50, 50, 50, 50, 20, 20, 20, 40, 40, 40),
    triangles: Uint32Array.of(0, 1, 2, 2, 1, 0, 3, 4, 3, 3, 5, 6, 0, 3, 5, 1, 3, 6),
  },
};

/** Four rods beside one another, closed at one end only, 100 mm long and hundredths wide: their coins stand along them. */
function rods(random: () => number): {
  readonly mesh: Mesh;
  readonly at: (...along: number[]) => number[];
  readonly wide: number;
} {
  const turn = [random(), random(), random()].map((r) => r - 0.5);
  const along = turn.map((x) => x / Math.hypot(...turn));
  const u = [along[1], -along[0], 0].map((x) => x / Math.hypot(along[0], along[1]));
  const v = [0, 1, 2].map((k) => along[(k + 1) % 3] * u[(k + 2) % 3] - along[(k + 2) % 3] * u[(k + 1) % 3]);
  const at = (...[s, x, y]: number[]): number[] => along.map((a, k) => s * a + x * u[k] + y * v[k]);
  const wide = 100 * 10 ** (-3.7 - random());
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let rod = 0; rod < 4; rod++) {
    const o = positions.length / 3;
    const around = [-1, 1, 1, -1].map((x, i) => [x * wide + 120 * rod, (i < 2 ? -1 : 1) * wide]);
    for (const s of [-50, 50]) for (const [x, y] of around) positions.push(...at(s, x, y));
    for (let i = 0; i < 4; i++) {
      const j = (i + 1) % 4;
      triangles.push(o + i, o + j, o + j + 4, o + i, o + j + 4, o + i + 4);
    }
    triangles.push(o, o + 2, o + 1, o, o + 3, o + 2);
  }
  return { mesh: { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) }, at, wide };
}

describe('near-kernel', () => {
  it('finds what lies on thin rods, whose coins are long along their axes', () => {
    const random = seeded(3);
    for (let n = 0; n < 60; n++) {
      const { mesh, at, wide } = rods(random);
      const tree = buildBvh(mesh);
      for (let q = 0; q < 20; q++) {
        const [turn, off] = [random() * 2 * Math.PI, wide * (1 + 0.6 * random())];
        const rod = 120 * Math.floor(random() * 4);
        const place = at((random() - 0.5) * 2, rod + off * Math.cos(turn), off * Math.sin(turn));
        tree.near.asked = -1;
        tree.near.kernel = undefined;
        const plain = asked(tree, place);
        readyNear(tree);
        const found = asked(tree, place, plain.distance * 1.0001);
        expect(found.distance).toBeCloseTo(plain.distance, 12);
        expect(found.face).toBeGreaterThanOrEqual(0);
      }
    }
  });

  it('finds the sound faces beside one that has a corner without a place', () => {
    const sound = torus(80, 25, 30, 15);
    const positions = Float64Array.of(...sound.positions, NaN, 0, 0);
    const triangles = Uint32Array.of(...sound.triangles, 0, 1, sound.positions.length / 3);
    for (const at of [
      [0, 0, 0],
      [110, 3, 4],
      [-60, 60, 30],
    ]) {
      const [, kernel] = bothWays({ positions, triangles }, [at])[0];
      expect(kernel.distance).toBeCloseTo(asked(buildBvh(sound), at).distance, 10);
    }
  });

  const random = seeded(7);
  const places = Array.from({ length: 300 }, () => [random(), random(), random()].map((r) => (r - 0.5) * 260));

  for (const [name, mesh] of Object.entries(BODIES)) {
    for (const [how, by, times] of [
      ['where it is', 0, 1],
      ['ten metres off', 1e4, 1],
      ['in kilometres of metres', 0, 1e6],
      ['a ten-millionth', 0, 1e-7],
    ] as const) {
      it(`finds the same on ${name}, ${how}`, () => {
        const there = places.map((at) => at.map((x) => (x + by) * times));
        const pairs = bothWays(moved(mesh, by, times), there);
        for (const [plain, kernel] of pairs) {
          expect(kernel.face).toBeGreaterThanOrEqual(0);
          expect(Math.abs(kernel.distance - plain.distance)).toBeLessThanOrEqual(1e-12 * (260 + by) * times);
          if (kernel.face === plain.face) expect(kernel).toEqual(plain);
        }
      });
    }
  }

  it('finds what lies on the limit, and nothing beyond it', () => {
    const mesh = box(20, 20, 20);
    const tree = buildBvh(mesh);
    readyNear(tree);
    expect(asked(tree, [0, 0, 15], 5).distance).toBe(5);
    expect(tree.near.kernel).toBeDefined();
    expect(asked(tree, [0, 0, 15], 4.999).face).toBe(-1);
    for (const [plain, kernel] of bothWays(BODIES['a torus'], places, 20)) {
      expect(kernel.face < 0).toBe(plain.face < 0);
      expect(kernel.distance).toBeCloseTo(plain.distance, 10);
    }
  });

  it('finds the nearest from very far off too', () => {
    const far = places.map((at) => at.map((x) => x * 1e9));
    for (const [plain, kernel] of bothWays(BODIES['an ellipsoid'], [...far, [1e18, 0, 0], [0, -1e30, 1e30]])) {
      expect(kernel.face).toBeGreaterThanOrEqual(0);
      expect(Math.abs(kernel.distance / plain.distance - 1)).toBeLessThan(1e-12);
    }
  });

  it('is laid out a little with each query once it is worth it, and answers the same before, meanwhile and after', () => {
    const mesh = torus(80, 25, 90, 60);
    const tree = buildBvh(mesh);
    const ready = buildBvh(mesh);
    readyNear(ready);
    const worth = tree.faceCount >> 3;
    let since = 0;
    for (let q = 0; q < 3 * worth; q++) {
      const at = [random(), random(), random()].map((r) => (r - 0.5) * 260);
      expect(asked(tree, at).distance).toBe(asked(ready, at).distance);
      if (tree.near.laying !== undefined) since++;
      if (q < worth) expect(tree.near.kernel).toBeUndefined();
    }
    expect(since).toBeGreaterThan(20);
    expect(tree.near.kernel).toBeDefined();
  });

  it('finds nothing for a place that is no number', () => {
    const tree = buildBvh(box(20, 20, 20));
    readyNear(tree);
    expect(asked(tree, [NaN, 0, 0]).face).toBe(-1);
  });

  it('is not made for sizes out of the range of single precision, and the answer is the same', () => {
    for (const times of [1e18, 1e-14]) {
      const mesh = moved(box(20, 20, 20), 0, times);
      const tree = buildBvh(mesh);
      expect(nearKernelOf(tree)).toBeUndefined();
      readyNear(tree);
      expect(asked(tree, [0, 0, 15 * times]).distance / times).toBeCloseTo(5, 6);
    }
  });
});
