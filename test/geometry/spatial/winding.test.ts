import { describe, expect, it } from 'vitest';
import { buildBvh } from '../../../electron/geometry/spatial/bvh.ts';
import {
  buildWinding,
  momentsOf,
  windingNumber,
  type WindingTree,
} from '../../../electron/geometry/spatial/winding.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';
import { box, sphere, torus } from '../../support/solids.ts';

/** Solid angle of a face seen from the origin by its edges' spherical triangle (l'Huilier), another way than ours. */
function solidAngle(corners: readonly (readonly number[])[]): number {
  const [a, b, c] = corners.map((p) => p.map((x) => x / Math.hypot(...p)));
  const angle = (u: readonly number[], v: readonly number[]): number =>
    2 * Math.asin(Math.min(1, Math.hypot(u[0] - v[0], u[1] - v[1], u[2] - v[2]) / 2));
  const [x, y, z] = [angle(b, c), angle(c, a), angle(a, b)];
  const s = (x + y + z) / 2;
  const product = Math.tan(s / 2) * Math.tan((s - x) / 2) * Math.tan((s - y) / 2) * Math.tan((s - z) / 2);
  const det =
    a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  return Math.sign(det) * 4 * Math.atan(Math.sqrt(Math.max(0, product)));
}

function windingByHand({ positions: p, triangles: t }: Mesh, at: readonly number[]): number {
  let sum = 0;
  for (let f = 0; f < t.length; f += 3)
    sum += solidAngle([0, 1, 2].map((k) => [0, 1, 2].map((axis) => p[t[f + k] * 3 + axis] - at[axis])));
  return sum / (4 * Math.PI);
}

describe('winding number', () => {
  // Gauss: a closed surface is seen under 4 pi from inside and 0 from outside.
  it.each([
    ['box', box(40, 60, 80), [3, -4, 5], [90, 0, 0]],
    ['sphere', sphere(50, 4), [10, 20, -30], [40, 40, 40]],
    ['torus', torus(70, 30, 60, 30), [70, 0, 5], [0, 0, 0]],
  ])('is 1 inside and 0 outside a %s', (_name, body, inside, outside) => {
    const tree = buildWinding(body);
    expect(Math.abs(windingNumber(tree, inside[0], inside[1], inside[2]) - 1)).toBeLessThan(0.02);
    expect(Math.abs(windingNumber(tree, outside[0], outside[1], outside[2]))).toBeLessThan(0.02);
  });

  const seed = 77;
  it(`agrees with the sum of solid angles, near and far, on an open surface (seed ${seed})`, () => {
    const whole = sphere(50, 3);
    const open: Mesh = { ...whole, triangles: whole.triangles.subarray(0, 1800) };
    const tree = buildWinding(open);
    const random = seeded(seed);
    let worst = 0;
    for (let n = 0; n < 200; n++) {
      const at = [0, 1, 2].map(() => (random() - 0.5) * 180) as [number, number, number];
      worst = Math.max(worst, Math.abs(windingNumber(tree, ...at) - windingByHand(open, at)));
    }
    expect(worst).toBeLessThan(0.02);
  });

  // Of bodies of all sizes and places, and of a face or two.
  it.each([
    ['a sphere', sphere(50, 4), 0, 1],
    ['a torus ten metres off', torus(70, 30, 60, 30), 1e4, 1],
    ['a torus in kilometres of metres', torus(70, 30, 60, 30), 0, 1e6],
    ['a box of a ten-thousandth', box(40, 60, 80), 0, 1e-7],
    [
      'a lone face',
      { positions: Float64Array.of(0, 0, 0, 90, 0, 0, 0, 90, 20), triangles: Uint32Array.of(0, 1, 2) },
      0,
      1,
    ],
  ])('is the same by the kernel and in plain TypeScript: %s', (_name, body, by, times) => {
    const mesh: Mesh = { ...body, positions: body.positions.map((x) => (x + by) * times) };
    const bvh = buildBvh(mesh);
    const kernel = buildWinding(mesh, bvh);
    expect('winding' in kernel.by).toBe(true);
    const plain: WindingTree = { bvh, by: { moments: momentsOf(bvh) } };
    const random = seeded(5);
    for (let n = 0; n < 300; n++) {
      const [x, y, z] = [0, 1, 2].map(() => ((random() - 0.5) * (n % 10 === 0 ? 1e5 : 250) + by) * times);
      // Each is within 0.01 of the exact sum, for they sum from afar at other nodes.
      expect(Math.abs(windingNumber(kernel, x, y, z) - windingNumber(plain, x, y, z))).toBeLessThan(0.02);
    }
    for (const far of [1e14, 1e30, Infinity])
      expect(Math.abs(windingNumber(kernel, far * times, 0, 0))).toBeLessThan(1e-9);
  });

  it('is summed plainly for sizes out of the range of the kernel', () => {
    const mesh: Mesh = { ...box(40, 60, 80), positions: box(40, 60, 80).positions.map((x) => x * 1e16) };
    const tree = buildWinding(mesh);
    expect('moments' in tree.by).toBe(true);
    expect(windingNumber(tree, 3e16, -4e16, 5e16)).toBeCloseTo(1, 1);
  });

  it('is prepared in steps', () => {
    const body = sphere(50, 6);
    let ticks = 0;
    buildWinding(body, buildBvh(body), () => ticks++);
    expect(ticks).toBeGreaterThan(8);
  });

  it('is one half on a plane rim: half a sphere seen from the middle of its opening', () => {
    const whole = sphere(50, 4);
    const { positions: p, triangles: t } = whole;
    const half: number[] = [];
    for (let f = 0; f < t.length; f += 3)
      if (p[t[f] * 3 + 2] + p[t[f + 1] * 3 + 2] + p[t[f + 2] * 3 + 2] > 0) half.push(t[f], t[f + 1], t[f + 2]);
    const tree = buildWinding({ ...whole, triangles: Uint32Array.from(half) });
    expect(Math.abs(windingNumber(tree, 0, 0, 0) - 0.5)).toBeLessThan(0.03);
  });
});
