/**
 * The generalised winding number of a heap of faces (Jacobson et al. 2013, "Robust inside-outside segmentation"),
 * summed over a tree with a far field of second order (Barill et al. 2018, "Fast winding numbers for soups and
 * clouds"). It needs no closed surface: 1 deep inside, 0 far outside, in between where a hole leaves it open.
 * Mostly summed by the WebAssembly kernel (kernel/winding.ts); in plain TypeScript where there is no memory for one.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { buildBvh, type Bvh } from './bvh.ts';
import { spareKernel, type Kernel } from './kernel-host.ts';

/** A node farther away than this many of its radii is summed as a whole. */
const FAR = 3;
/** Numbers per node: centre, radius squared, summed area vector, its 3 by 3 first moment. */
const STRIDE = 16;
const STACK = 256;

/** Faces copied, or nodes summed, between two calls of `tick`. */
const PIECE = 2 ** 14;
/** Sizes the kernel is for, and how many sizes away from the body all is 0. */
const LEAST_SIZE = 1e-12;
const MOST_SIZE = 1e15;
const FARTHEST = 1e9;

export interface WindingTree {
  readonly bvh: Bvh;
  /** The kernel's sum, and where it is 0; or the moments to be summed plainly. */
  readonly by:
    | { readonly winding: Kernel['winding']; readonly middle: readonly number[]; readonly away: number }
    | { readonly moments: Float64Array };
}

/**
 * Prepare a mesh for `windingNumber`. O(n), beside the search tree: 1M faces about 0.15 s and 130 bytes a face. `tick` is called
 * every few milliseconds of work: a place to step a run.
 */
export function buildWinding(mesh: Mesh, bvh: Bvh = buildBvh(mesh), tick?: () => void): WindingTree {
  return { bvh, by: kernelOf(bvh, tick) ?? { moments: momentsOf(bvh, tick) } };
}

/** A kernel with the tree's sums, or none where sizes are odd or memory does not suffice. */
function kernelOf({ nodeCount, bounds, right, count, corners }: Bvh, tick?: () => void): WindingTree['by'] | undefined {
  const size = Math.max(bounds[3] - bounds[0], bounds[4] - bounds[1], bounds[5] - bounds[2]);
  const middle = [0, 1, 2].map((k) => (bounds[k] + bounds[3 + k]) / 2);
  if (!(size > LEAST_SIZE && size < MOST_SIZE)) return undefined;
  const one = spareKernel();
  if (one === undefined) return undefined;
  const { kernel, memory } = one;
  if (kernel.reserveWinding(nodeCount, corners.length / 9) === 0) return undefined;
  const { buffer } = memory;
  new Uint32Array(buffer, kernel.windingRights.value, nodeCount).set(right);
  new Uint8Array(buffer, kernel.windingCounts.value, nodeCount).set(count);
  tick?.();
  new Float32Array(buffer, kernel.windingBounds.value, 6 * nodeCount).set(bounds);
  const to = new Float64Array(buffer, kernel.windingCorners.value, corners.length);
  for (let from = 0; from < corners.length; from += 9 * PIECE) {
    tick?.();
    to.set(corners.subarray(from, from + 9 * PIECE), from);
  }
  tick?.();
  kernel.beginWinding(nodeCount, middle[0], middle[1], middle[2], size);
  do tick?.();
  while (kernel.placeNodes(PIECE) !== 0);
  do tick?.();
  while (kernel.sumNodes(PIECE) !== 0);
  return { winding: kernel.winding, middle, away: FARTHEST * size };
}

/** Numbers of each node, for sums in plain TypeScript. */
export function momentsOf({ nodeCount, bounds, right, count, corners }: Bvh, tick?: () => void): Float64Array {
  const m = new Float64Array(nodeCount * STRIDE);
  const weight = new Float64Array(nodeCount);
  // Children come after their parent, so going backwards meets them first.
  for (let node = nodeCount - 1; node >= 0; node--) {
    if ((node & (PIECE - 1)) === 0) tick?.();
    const at = node * STRIDE;
    const parts: number[] = [];
    if (count[node] > 0) {
      for (let i = 0; i < count[node]; i++) parts.push(...faceMoments(corners, (right[node] + i) * 9));
    } else {
      for (const child of [node + 1, right[node]]) {
        const c = child * STRIDE;
        parts.push(weight[child], m[c], m[c + 1], m[c + 2], m[c + 4], m[c + 5], m[c + 6]);
      }
    }
    let sum = 0;
    for (let i = 0; i < parts.length; i += 7) {
      sum += parts[i];
      for (let k = 0; k < 3; k++) m[at + k] += parts[i] * parts[i + 1 + k];
      for (let k = 0; k < 3; k++) m[at + 4 + k] += parts[i + 4 + k];
    }
    weight[node] = sum;
    for (let k = 0; k < 3; k++) {
      const middle = (bounds[node * 6 + k] + bounds[node * 6 + 3 + k]) / 2;
      m[at + k] = sum > 0 ? m[at + k] / sum : middle;
    }
    for (let i = 0; i < parts.length; i += 7)
      for (let k = 0; k < 3; k++)
        for (let j = 0; j < 3; j++) m[at + 7 + k * 3 + j] += (parts[i + 1 + k] - m[at + k]) * parts[i + 4 + j];
    if (count[node] === 0) {
      for (const child of [node + 1, right[node]]) for (let i = 7; i < STRIDE; i++) m[at + i] += m[child * STRIDE + i];
    }
    let radius2 = 0;
    for (let k = 0; k < 3; k++)
      radius2 += Math.max(m[at + k] - bounds[node * 6 + k], bounds[node * 6 + 3 + k] - m[at + k]) ** 2;
    m[at + 3] = radius2;
  }
  return m;
}

/** Area, middle and area vector of one face. */
function faceMoments(c: Float64Array, o: number): number[] {
  const ux = c[o + 3] - c[o],
    uy = c[o + 4] - c[o + 1],
    uz = c[o + 5] - c[o + 2];
  const vx = c[o + 6] - c[o],
    vy = c[o + 7] - c[o + 1],
    vz = c[o + 8] - c[o + 2];
  const x = (uy * vz - uz * vy) / 2,
    y = (uz * vx - ux * vz) / 2,
    z = (ux * vy - uy * vx) / 2;
  const middle = [0, 1, 2].map((k) => (c[o + k] + c[o + 3 + k] + c[o + 6 + k]) / 3);
  return [Math.hypot(x, y, z), ...middle, x, y, z];
}

const stack = new Uint32Array(STACK);

/**
 * Winding number at a point: how many times the faces go round it, outward faces counted positive. Within about
 * 0.02 of the exact sum. Expected O(log n).
 */
export function windingNumber(tree: WindingTree, x: number, y: number, z: number): number {
  const { bvh, by } = tree;
  if (bvh.nodeCount === 0) return 0;
  if ('moments' in by) return plainly(bvh, by.moments, x, y, z);
  const { winding, middle, away } = by;
  const isNear = Math.abs(x - middle[0]) + Math.abs(y - middle[1]) + Math.abs(z - middle[2]) < away;
  return isNear ? winding(x, y, z) : 0;
}

function plainly({ right, count, corners }: Bvh, m: Float64Array, x: number, y: number, z: number): number {
  let sum = 0;
  let top = 0;
  stack[top++] = 0;
  while (top > 0) {
    const node = stack[--top];
    const at = node * STRIDE;
    const rx = m[at] - x,
      ry = m[at + 1] - y,
      rz = m[at + 2] - z;
    const r2 = rx * rx + ry * ry + rz * rz;
    if (r2 > FAR * FAR * m[at + 3]) {
      const r = Math.sqrt(r2);
      const i3 = 1 / (r2 * r);
      const along =
        rx * (m[at + 7] * rx + m[at + 8] * ry + m[at + 9] * rz) +
        ry * (m[at + 10] * rx + m[at + 11] * ry + m[at + 12] * rz) +
        rz * (m[at + 13] * rx + m[at + 14] * ry + m[at + 15] * rz);
      const trace = m[at + 7] + m[at + 11] + m[at + 15];
      sum += (rx * m[at + 4] + ry * m[at + 5] + rz * m[at + 6] + trace - (3 * along) / r2) * i3;
    } else if (count[node] > 0) {
      for (let i = 0; i < count[node]; i++) sum += solidAngle(corners, (right[node] + i) * 9, x, y, z);
    } else {
      stack[top++] = right[node];
      stack[top++] = node + 1;
    }
  }
  return sum / (4 * Math.PI);
}

/** Signed solid angle of a face (van Oosterom and Strackee 1983). */
function solidAngle(c: Float64Array, o: number, x: number, y: number, z: number): number {
  const ax = c[o] - x,
    ay = c[o + 1] - y,
    az = c[o + 2] - z;
  const bx = c[o + 3] - x,
    by = c[o + 4] - y,
    bz = c[o + 5] - z;
  const cx = c[o + 6] - x,
    cy = c[o + 7] - y,
    cz = c[o + 8] - z;
  const a = Math.sqrt(ax * ax + ay * ay + az * az),
    b = Math.sqrt(bx * bx + by * by + bz * bz),
    d = Math.sqrt(cx * cx + cy * cy + cz * cz);
  const over = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
  const under =
    a * b * d +
    (ax * bx + ay * by + az * bz) * d +
    (bx * cx + by * cy + bz * cz) * a +
    (cx * ax + cy * ay + cz * az) * b;
  return 2 * Math.atan2(over, under);
}
