/**
 * Pairs of faces of one mesh that cut, touch or overlap, by exact orientation tests (Shewchuk 1997, through the
 * package robust-predicates). What two faces share as vertices or an edge is no intersection; anything beyond it is,
 * touching included: a mesh file welds equal coordinates, so a touch today is a non-manifold edge tomorrow.
 */
import { orient3d } from 'robust-predicates';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import type { Bvh } from './bvh.ts';
import { growTree, putMesh, withKernel, type KernelWithMemory } from './kernel-host.ts';

let p = new Float64Array(0);

/** Rounding of the determinant below, as a share of the sum of its products: 7 eps and more (Shewchuk 1997, section 4). */
const ROUNDING_SHARE = 2 ** -49;

/**
 * Sign of the side of d against plane abc; arguments are offsets into p. Mostly decided in plain doubles, here and not
 * in the package, to which a dozen numbers would be passed one by one.
 */
function side(a: number, b: number, c: number, d: number): number {
  const dx = p[d],
    dy = p[d + 1],
    dz = p[d + 2];
  const ax = p[a] - dx,
    ay = p[a + 1] - dy,
    az = p[a + 2] - dz;
  const bx = p[b] - dx,
    by = p[b + 1] - dy,
    bz = p[b + 2] - dz;
  const cx = p[c] - dx,
    cy = p[c + 1] - dy,
    cz = p[c + 2] - dz;
  const bc = bx * cy,
    cb = cx * by,
    ca = cx * ay,
    ac = ax * cy,
    ab = ax * by,
    ba = bx * ay;
  const det = az * (bc - cb) + bz * (ca - ac) + cz * (ab - ba);
  const sum =
    (Math.abs(bc) + Math.abs(cb)) * Math.abs(az) +
    (Math.abs(ca) + Math.abs(ac)) * Math.abs(bz) +
    (Math.abs(ab) + Math.abs(ba)) * Math.abs(cz);
  if (Math.abs(det) > ROUNDING_SHARE * sum) return det > 0 ? 1 : -1;
  const s = orient3d(p[a], p[a + 1], p[a + 2], p[b], p[b + 1], p[b + 2], p[c], p[c + 1], p[c + 2], dx, dy, dz);
  return s > 0 ? 1 : s < 0 ? -1 : 0;
}

/** Turn of a, b, c seen along axis k, exact: the third row of the 3D test is made of 0 and 1. */
function turn(k: number, a: number, b: number, c: number): number {
  const i = (k + 1) % 3,
    j = (k + 2) % 3;
  const s = orient3d(p[a + i], p[a + j], 0, p[b + i], p[b + j], 0, p[c + i], p[c + j], 0, p[a + i], p[a + j], 1);
  return s > 0 ? 1 : s < 0 ? -1 : 0;
}

/** Axis along which the triangle abc is seen largest. */
function dropAxis(a: number, b: number, c: number): number {
  const ux = p[b] - p[a],
    uy = p[b + 1] - p[a + 1],
    uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a],
    vy = p[c + 1] - p[a + 1],
    vz = p[c + 2] - p[a + 2];
  const x = Math.abs(uy * vz - uz * vy),
    y = Math.abs(uz * vx - ux * vz),
    z = Math.abs(ux * vy - uy * vx);
  return x >= y && x >= z ? 0 : y >= z ? 1 : 2;
}

function insideFlat(k: number, q: number, a: number, b: number, c: number): boolean {
  const x = turn(k, a, b, q),
    y = turn(k, b, c, q),
    z = turn(k, c, a, q);
  return (x >= 0 && y >= 0 && z >= 0) || (x <= 0 && y <= 0 && z <= 0);
}

function crossFlat(k: number, s: number, e: number, u: number, v: number): boolean {
  return turn(k, s, e, u) * turn(k, s, e, v) < 0 && turn(k, u, v, s) * turn(k, u, v, e) < 0;
}

/** Whether the closed segment se meets the closed triangle abc, given the sides of its ends. */
function segmentMeets(s: number, e: number, sideS: number, sideE: number, a: number, b: number, c: number): boolean {
  if (sideS * sideE > 0) return false;
  if (sideS === 0 && sideE === 0) {
    const k = dropAxis(a, b, c);
    return (
      insideFlat(k, s, a, b, c) ||
      insideFlat(k, e, a, b, c) ||
      crossFlat(k, s, e, a, b) ||
      crossFlat(k, s, e, b, c) ||
      crossFlat(k, s, e, c, a)
    );
  }
  const x = side(s, e, a, b),
    y = side(s, e, b, c),
    z = side(s, e, c, a);
  return (x >= 0 && y >= 0 && z >= 0) || (x <= 0 && y <= 0 && z <= 0);
}

/** Faces without a common vertex. */
function strangersMeet(a: number, b: number, c: number, d: number, e: number, f: number): boolean {
  const sd = side(a, b, c, d),
    se = side(a, b, c, e),
    sf = side(a, b, c, f);
  if ((sd > 0 && se > 0 && sf > 0) || (sd < 0 && se < 0 && sf < 0)) return false;
  const sa = side(d, e, f, a),
    sb = side(d, e, f, b),
    sc = side(d, e, f, c);
  if ((sa > 0 && sb > 0 && sc > 0) || (sa < 0 && sb < 0 && sc < 0)) return false;
  return (
    segmentMeets(d, e, sd, se, a, b, c) ||
    segmentMeets(e, f, se, sf, a, b, c) ||
    segmentMeets(f, d, sf, sd, a, b, c) ||
    segmentMeets(a, b, sa, sb, d, e, f) ||
    segmentMeets(b, c, sb, sc, d, e, f) ||
    segmentMeets(c, a, sc, sa, d, e, f)
  );
}

/** Faces vab and vcd that share only v. */
function vertexNeighboursMeet(v: number, a: number, b: number, c: number, d: number): boolean {
  const sc = side(v, a, b, c),
    sd = side(v, a, b, d);
  if (sc * sd > 0) return false;
  const sa = side(v, c, d, a),
    sb = side(v, c, d, b);
  if (sa * sb > 0) return false;
  return segmentMeets(c, d, sc, sd, v, a, b) || segmentMeets(a, b, sa, sb, v, c, d);
}

/** Faces on the edge uv with third corners a and b: they overlap only when folded flat onto one another. */
function edgeNeighboursOverlap(u: number, v: number, a: number, b: number): boolean {
  if (side(u, v, a, b) !== 0) return false;
  const k = dropAxis(u, v, a);
  return turn(k, u, v, a) === turn(k, u, v, b);
}

/** Do work that tests faces over these positions: `facesMeet` reads them. */
export function overPositions<T>(positions: Float64Array, work: () => T): T {
  p = positions as Float64Array<ArrayBuffer>;
  try {
    return work();
  } finally {
    // Nothing large is held on to between calls.
    p = new Float64Array(0);
  }
}

/**
 * Whether two faces (offsets of their first corners in `t`) meet beyond what they share. Exact. Only inside
 * `overPositions`.
 */
export function facesMeet(t: Uint32Array, f: number, g: number): boolean {
  const a = t[f] * 3,
    b = t[f + 1] * 3,
    c = t[f + 2] * 3;
  const d = t[g] * 3,
    e = t[g + 1] * 3,
    h = t[g + 2] * 3;
  const inG = (v: number): number => (v === d ? 1 : v === e ? 2 : v === h ? 4 : 0);
  const ia = inG(a),
    ib = inG(b),
    ic = inG(c);
  const shared = (ia > 0 ? 1 : 0) + (ib > 0 ? 1 : 0) + (ic > 0 ? 1 : 0);
  if (shared === 0) return strangersMeet(a, b, c, d, e, h);
  if (shared === 3) return true;
  if (shared === 1) {
    const v = ia > 0 ? a : ib > 0 ? b : c;
    const f1 = ia > 0 ? b : ib > 0 ? c : a,
      f2 = ia > 0 ? c : ib > 0 ? a : b;
    const mask = ia | ib | ic;
    const g1 = mask === 1 ? e : mask === 2 ? h : d,
      g2 = mask === 1 ? h : mask === 2 ? d : e;
    return vertexNeighboursMeet(v, f1, f2, g1, g2);
  }
  const u = ia > 0 ? a : b,
    v = ic > 0 ? c : b;
  const f1 = ia === 0 ? a : ib === 0 ? b : c;
  const mask = ia | ib | ic;
  const g1 = (mask & 1) === 0 ? d : (mask & 2) === 0 ? e : h;
  return edgeNeighboursOverlap(u, v, f1, g1);
}

/**
 * Whether two faces that meet (numbers) pass through one another: each has corners strictly on both sides of the other's plane.
 * False where they only touch, lie in one plane or have no area. Exact.
 */
export function passThrough({ positions, triangles: t }: Mesh, f: number, g: number): boolean {
  const isParted = (face: number, by: number): boolean => {
    const [a, b, c] = t.subarray(by * 3, by * 3 + 3);
    const sides = Array.from(t.subarray(face * 3, face * 3 + 3), (v) => side(a * 3, b * 3, c * 3, v * 3));
    return sides.includes(1) && sides.includes(-1);
  };
  return overPositions(positions, () => isParted(f, g) && isParted(g, f));
}

/** Pairs of leaves between two looks for a stop, and of all about so many a face (1.4 to 1.6 on heads and torsos). */
const STRIDE = 2 ** 13;
const LEAF_PAIRS = 1.6;
/** Phases of `findSelfIntersections`. */
export const SELF_INTERSECTION_PHASE = 'self-intersections';

/**
 * Pairs of faces that meet beyond what they share, face numbers two by two, at most `limit` pairs. Exact. With `marked`
 * (per face, 1 or 0) only pairs that hold a marked face: what a local change can have brought about. `tree`: one over
 * the whole mesh, if there is one already.
 * Expected O(n log n) on a surface; about 1 s for a million faces. A face without area meets what it touches.
 */
export function findSelfIntersections(
  mesh: Mesh,
  run: RunContext = QUIET_RUN,
  limit = Infinity,
  marked?: Uint8Array,
  tree?: Bvh,
): number[] {
  const near = marked === undefined || tree !== undefined ? undefined : facesNear(mesh, marked);
  const triangles = near === undefined ? mesh.triangles : chosenFaces(mesh.triangles, near);
  const visited = near === undefined ? marked : Uint8Array.from(near, (face) => (marked as Uint8Array)[face]);
  const pairs: number[] = [];
  const faceCount = triangles.length / 3;
  const expected = faceCount * LEAF_PAIRS;
  withKernel((one) => {
    const { kernel, memory } = one;
    const step = (): void => run.step(SELF_INTERSECTION_PHASE, Math.min(kernel.looked.value, expected), expected);
    putMesh(one, { positions: mesh.positions, triangles }, true);
    if (tree === undefined) growTree(one, faceCount, step);
    else putTree(one, tree);
    if (visited !== undefined)
      new Uint8Array(memory.buffer, kernel.marks.value, faceCount).set(visited.subarray(0, faceCount));
    kernel.beginOverlaps(visited === undefined ? 0 : 1);
    overPositions(mesh.positions, () => {
      while (kernel.isOver.value === 0) {
        const told = kernel.nextOverlaps(STRIDE);
        step();
        // What is told may meet: exact tests decide.
        const suspects = new Uint32Array(memory.buffer, kernel.pairs.value, told * 2);
        for (let i = 0; i < suspects.length; i += 2) {
          const [f, g] = [suspects[i], suspects[i + 1]];
          if (!facesMeet(triangles, f * 3, g * 3)) continue;
          if (near === undefined) pairs.push(f, g);
          else pairs.push(near[f], near[g]);
          if (pairs.length >= limit * 2) return;
        }
      }
    });
  });
  return pairs;
}

/** Give the kernel a tree there is already. */
function putTree({ kernel, memory }: KernelWithMemory, tree: Bvh): void {
  const { buffer } = memory;
  new Float32Array(buffer, kernel.shortBounds.value, tree.bounds.length).set(tree.bounds);
  new Uint32Array(buffer, kernel.rights.value, tree.right.length).set(tree.right);
  new Uint8Array(buffer, kernel.counts.value, tree.count.length).set(tree.count);
  new Uint32Array(buffer, kernel.faces.value, tree.faces.length).set(tree.faces);
  new Float32Array(buffer, kernel.shortBoxes.value, tree.boxes.length).set(tree.boxes);
  kernel.takeTree(tree.nodeCount);
}

function chosenFaces(triangles: Uint32Array, faces: Uint32Array): Uint32Array {
  const chosen = new Uint32Array(faces.length * 3);
  faces.forEach((face, i) => chosen.set(triangles.subarray(face * 3, face * 3 + 3), i * 3));
  return chosen;
}

/** Bits of the table of occupied cells; a clash of two cells only lets a face in that need not be. */
const CELL_BITS = 20;

/**
 * Faces whose boxes share a grid cell with the box of a marked face, marked ones included: all that can meet one.
 * O(faces), several times cheaper than a tree over all of them.
 */
function facesNear(mesh: Mesh, marked: Uint8Array): Uint32Array {
  const { positions, triangles } = mesh;
  const low = new Float64Array(3),
    high = new Float64Array(3);
  const boxOf = (face: number): void => {
    for (let k = 0; k < 3; k++) {
      const a = positions[triangles[face * 3] * 3 + k],
        b = positions[triangles[face * 3 + 1] * 3 + k],
        c = positions[triangles[face * 3 + 2] * 3 + k];
      low[k] = Math.min(a, b, c);
      high[k] = Math.max(a, b, c);
    }
  };
  let cell = 0;
  for (let face = 0; face < marked.length; face++) {
    if (!marked[face]) continue;
    boxOf(face);
    cell = Math.max(cell, high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  }
  if (!(cell > 0)) return Uint32Array.from(marked.keys()).filter((face) => marked[face] === 1);
  const occupied = new Uint8Array(1 << CELL_BITS);
  const mask = (1 << CELL_BITS) - 1;
  /** Go over the cells of the box now in low and high; true as soon as `each` is. */
  const cells = (each: (slot: number) => boolean): boolean => {
    const x1 = Math.floor(high[0] / cell),
      y1 = Math.floor(high[1] / cell),
      z1 = Math.floor(high[2] / cell);
    for (let x = Math.floor(low[0] / cell); x <= x1; x++) {
      for (let y = Math.floor(low[1] / cell); y <= y1; y++) {
        for (let z = Math.floor(low[2] / cell); z <= z1; z++) {
          const hash = Math.imul(x, 73856093) ^ Math.imul(y, 19349663) ^ Math.imul(z, 83492791);
          if (each((hash ^ (hash >>> 15)) & mask)) return true;
        }
      }
    }
    return false;
  };
  for (let face = 0; face < marked.length; face++) {
    if (!marked[face]) continue;
    boxOf(face);
    cells((slot) => {
      occupied[slot] = 1;
      return false;
    });
  }
  const near: number[] = [];
  for (let face = 0; face < marked.length; face++) {
    boxOf(face);
    if (marked[face] || cells((slot) => occupied[slot] === 1)) near.push(face);
  }
  return Uint32Array.from(near);
}
