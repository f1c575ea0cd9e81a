/**
 * A bounding-volume tree over the faces of a mesh, in flat typed arrays.
 *
 * Built by the WebAssembly kernel (kernel/tree.ts). Nodes lie in depth-first order: the left child of node n is n+1, the
 * right child is `right[n]`. Faces of a leaf are copied side by side so that a query walks memory
 * forwards. Bounds are single precision, rounded outwards.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { nearestOnTriangle, triangleHit } from './on-triangle.ts';
import { growTree, putMesh, withKernel } from './kernel-host.ts';
import { beginNearKernel, nearKernelOf, type NearKernel, type NearLayOut } from './near-kernel.ts';

/** Deep enough for any tree built here: depth is bounded there. */
const STACK = 128;
/** Queries for which a kernel is worth making, at least. */
const WORTH = 64;
/** Faces between two calls of `tick`. */
const STRIDE = 2 ** 16;

/** After an eighth as many queries as faces, and no fewer than 64, a kernel is worth it and laid out, a little with each. */
export interface NearAnswers {
  /** Queries before there was a kernel. */
  asked: number;
  /** What is being laid out. */
  laying: NearLayOut | undefined;
  kernel: NearKernel | undefined;
}

export interface Bvh {
  /** Faces of the mesh. */
  readonly faceCount: number;
  /** 6 per node: min xyz, max xyz. */
  readonly bounds: Float32Array;
  /** Right child of an inner node; for a leaf, the first slot in `faces`. */
  readonly right: Uint32Array;
  /** Faces in a leaf; 0 for an inner node. */
  readonly count: Uint8Array;
  /** Original face number of each slot. */
  readonly faces: Uint32Array;
  /** 9 per slot: the corners' coordinates. */
  readonly corners: Float64Array;
  /** 6 per slot: the face's own box, min xyz, max xyz. */
  readonly boxes: Float32Array;
  readonly nodeCount: number;
  /** How nearest-surface queries are answered. */
  readonly near: NearAnswers;
}

/**
 * Build the tree. O(n log n); 53k faces about 20 ms, 1M about 0.6 s. A mesh of no faces gives an empty
 * tree. `tick` is called now and then, mostly every few milliseconds of work, at a million faces every 50 or so: a place to step a run.
 * Coordinates are finite; a face with one that is not is in the tree, but need not be found.
 */
export function buildBvh(mesh: Mesh, tick?: () => void): Bvh {
  const faceCount = mesh.triangles.length / 3;
  return withKernel((one) => {
    const { kernel, memory } = one;
    putMesh(one, mesh, false);
    growTree(one, faceCount, tick);
    for (let from = 0; from < faceCount; from += STRIDE) {
      tick?.();
      kernel.putCorners(from, Math.min(faceCount, from + STRIDE));
    }
    tick?.();
    kernel.putShort();
    tick?.();
    const { buffer } = memory;
    const nodeCount = kernel.nodeCount.value;
    return {
      faceCount,
      bounds: new Float32Array(buffer, kernel.shortBounds.value, nodeCount * 6).slice(),
      right: new Uint32Array(buffer, kernel.rights.value, nodeCount).slice(),
      count: new Uint8Array(buffer, kernel.counts.value, nodeCount).slice(),
      faces: new Uint32Array(buffer, kernel.faces.value, faceCount).slice(),
      corners: new Float64Array(buffer, kernel.corners.value, faceCount * 9).slice(),
      boxes: new Float32Array(buffer, kernel.shortBoxes.value, faceCount * 6).slice(),
      nodeCount,
      near: { asked: 0, laying: undefined, kernel: undefined },
    };
  });
}

/** What a nearest-surface query found; reuse one object over many queries. */
export interface Nearest {
  distance: number;
  x: number;
  y: number;
  z: number;
  /** Face number in the mesh, -1 when nothing lay within the limit. */
  face: number;
  /**
   * Where on the face: 0 inside, 1..3 on the edge opposite corner 0..2, 4..6 on corner 0..2.
   */
  feature: number;
}

export function nearestSlot(): Nearest {
  return { distance: Infinity, x: 0, y: 0, z: 0, face: -1, feature: 0 };
}

const stackNode = new Uint32Array(STACK);
const stackDistance = new Float64Array(STACK);

function boxDistance2(b: Float32Array, at: number, x: number, y: number, z: number): number {
  const dx = x < b[at] ? b[at] - x : x > b[at + 3] ? x - b[at + 3] : 0;
  const dy = y < b[at + 1] ? b[at + 1] - y : y > b[at + 4] ? y - b[at + 4] : 0;
  const dz = z < b[at + 2] ? b[at + 2] - z : z > b[at + 5] ? z - b[at + 5] : 0;
  return dx * dx + dy * dy + dz * dz;
}

/**
 * Nearest point of the mesh to (x, y, z) within `limit` (same length as the mesh's unit); unsigned
 * distance. Fills `out`; `out.face` is -1 when nothing is that near. Expected O(log n) near the surface.
 */
export function findNearest(bvh: Bvh, x: number, y: number, z: number, out: Nearest, limit = Infinity): boolean {
  out.face = -1;
  out.distance = limit;
  if (bvh.nodeCount === 0) return false;
  const { faces, near } = bvh;
  const kernel = near.kernel ?? kernelLaid(bvh);
  if (kernel === undefined || !(Math.abs(x) + Math.abs(y) + Math.abs(z) < kernel.farthest)) {
    return findNearestPlainly(bvh, x, y, z, out, limit);
  }
  const slot = kernel.nearest(x, y, z, limit * limit);
  if (slot < 0) return false;
  const { hit } = kernel;
  out.distance = Math.sqrt(hit[0]);
  out.x = hit[1];
  out.y = hit[2];
  out.z = hit[3];
  out.feature = hit[4];
  out.face = faces[slot];
  return true;
}

/** Lay out some of the kernel once it is worth it; the kernel once all of it is laid out. */
function kernelLaid(bvh: Bvh): NearKernel | undefined {
  const { near } = bvh;
  if (near.asked++ === Math.max(WORTH, bvh.faceCount >> 3)) near.laying = beginNearKernel(bvh);
  if (near.laying?.next() !== true) return undefined;
  near.kernel = near.laying.kernel;
  near.laying = undefined;
  return near.kernel;
}

/**
 * Make the kernel before the first query, for a tree that is kept from one piece of work to the next: of faces equally near
 * plain queries may tell another. In one go: 1M faces take 0.45 s.
 */
export function readyNear(bvh: Bvh): void {
  bvh.near.kernel ??= nearKernelOf(bvh);
}

/** Of `findNearest`, without a kernel: for the first queries, and for sizes it has not the range for. */
function findNearestPlainly(bvh: Bvh, x: number, y: number, z: number, out: Nearest, limit: number): boolean {
  const { bounds, right, count, corners, faces, boxes } = bvh;
  let best = limit * limit;
  let top = 0;
  let node = 0;
  let nodeDistance = boxDistance2(bounds, 0, x, y, z);
  for (;;) {
    if (nodeDistance <= best) {
      const n = count[node];
      if (n > 0) {
        const first = right[node];
        for (let slot = first; slot < first + n; slot++) {
          if (boxDistance2(boxes, slot * 6, x, y, z) > best) continue;
          nearestOnTriangle(corners, slot * 9, x, y, z);
          if (triangleHit[0] < best || (out.face < 0 && triangleHit[0] <= best)) {
            best = triangleHit[0];
            out.x = triangleHit[1];
            out.y = triangleHit[2];
            out.z = triangleHit[3];
            out.feature = triangleHit[4];
            out.face = faces[slot];
          }
        }
      } else {
        const a = node + 1;
        const b = right[node];
        const da = boxDistance2(bounds, a * 6, x, y, z);
        const db = boxDistance2(bounds, b * 6, x, y, z);
        if (da <= db) {
          if (db <= best) {
            stackNode[top] = b;
            stackDistance[top++] = db;
          }
          node = a;
          nodeDistance = da;
        } else {
          if (da <= best) {
            stackNode[top] = a;
            stackDistance[top++] = da;
          }
          node = b;
          nodeDistance = db;
        }
        continue;
      }
    }
    if (top === 0) break;
    node = stackNode[--top];
    nodeDistance = stackDistance[top];
  }
  if (out.face < 0) return false;
  out.distance = Math.sqrt(best);
  return true;
}

/** What a ray met first; `face` is -1 when nothing. */
export interface RayHit {
  face: number;
  /** In lengths of the direction given. */
  t: number;
}

/**
 * First face met by the ray from (ox,oy,oz) along (dx,dy,dz), either side, for t in (tMin, tMax).
 * Moller and Trumbore 1997. A ray through an edge may be credited to either face.
 */
export function castRay(
  bvh: Bvh,
  ox: number,
  oy: number,
  oz: number,
  dx: number,
  dy: number,
  dz: number,
  out: RayHit,
  tMin = 0,
  tMax = Infinity,
): boolean {
  out.face = -1;
  out.t = tMax;
  if (bvh.nodeCount === 0) return false;
  const { bounds, right, count, corners, faces } = bvh;
  const ix = 1 / dx,
    iy = 1 / dy,
    iz = 1 / dz;
  let top = 0;
  stackNode[top++] = 0;
  while (top > 0) {
    const node = stackNode[--top];
    const at = node * 6;
    let near = tMin,
      far = out.t;
    for (let k = 0; k < 3; k++) {
      const o = k === 0 ? ox : k === 1 ? oy : oz;
      const inverse = k === 0 ? ix : k === 1 ? iy : iz;
      if (!Number.isFinite(inverse)) {
        if (o < bounds[at + k] || o > bounds[at + 3 + k]) far = -Infinity;
        continue;
      }
      let t0 = (bounds[at + k] - o) * inverse;
      let t1 = (bounds[at + 3 + k] - o) * inverse;
      if (t0 > t1) [t0, t1] = [t1, t0];
      if (t0 > near) near = t0;
      if (t1 < far) far = t1;
    }
    if (near > far) continue;
    const n = count[node];
    if (n === 0) {
      stackNode[top++] = right[node];
      stackNode[top++] = node + 1;
      continue;
    }
    for (let slot = right[node]; slot < right[node] + n; slot++) {
      const c = slot * 9;
      const ax = corners[c],
        ay = corners[c + 1],
        az = corners[c + 2];
      const ux = corners[c + 3] - ax,
        uy = corners[c + 4] - ay,
        uz = corners[c + 5] - az;
      const vx = corners[c + 6] - ax,
        vy = corners[c + 7] - ay,
        vz = corners[c + 8] - az;
      const hx = dy * vz - dz * vy,
        hy = dz * vx - dx * vz,
        hz = dx * vy - dy * vx;
      const det = ux * hx + uy * hy + uz * hz;
      if (det === 0) continue;
      const sx = ox - ax,
        sy = oy - ay,
        sz = oz - az;
      const u = (sx * hx + sy * hy + sz * hz) / det;
      if (u < 0 || u > 1) continue;
      const qx = sy * uz - sz * uy,
        qy = sz * ux - sx * uz,
        qz = sx * uy - sy * ux;
      const v = (dx * qx + dy * qy + dz * qz) / det;
      if (v < 0 || u + v > 1) continue;
      const t = (vx * qx + vy * qy + vz * qz) / det;
      if (t > tMin && t < out.t) {
        out.t = t;
        out.face = faces[slot];
      }
    }
  }
  return out.face >= 0;
}

/**
 * Call `visit(face)` for every face whose box touches the box; stops when it returns false, and then returns false.
 * Expected O(log n + faces visited).
 */
export function visitBox(
  bvh: Bvh,
  low: readonly [number, number, number],
  high: readonly [number, number, number],
  visit: (face: number) => boolean,
): boolean {
  if (bvh.nodeCount === 0) return true;
  const { bounds, right, count, faces, boxes } = bvh;
  const [x0, y0, z0] = low;
  const [x1, y1, z1] = high;
  let top = 0;
  stackNode[top++] = 0;
  while (top > 0) {
    const node = stackNode[--top];
    const at = node * 6;
    if (bounds[at] > x1 || bounds[at + 1] > y1 || bounds[at + 2] > z1) continue;
    if (bounds[at + 3] < x0 || bounds[at + 4] < y0 || bounds[at + 5] < z0) continue;
    if (count[node] === 0) {
      stackNode[top++] = right[node];
      stackNode[top++] = node + 1;
      continue;
    }
    for (let slot = right[node]; slot < right[node] + count[node]; slot++) {
      const box = slot * 6;
      if (boxes[box] > x1 || boxes[box + 1] > y1 || boxes[box + 2] > z1) continue;
      if (boxes[box + 3] < x0 || boxes[box + 4] < y0 || boxes[box + 5] < z0) continue;
      if (!visit(faces[slot])) return false;
    }
  }
  return true;
}
