/**
 * Edges that two pairs of faces share though the surface passes there twice, as when a hole was closed with an edge
 * that existed already: the second pair gets a vertex of its own on the edge, drawn a little toward its own faces.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findTwins, nextHalfedge, NON_MANIFOLD, OPEN, previousHalfedge } from '../mesh/twins.ts';

/**
 * Without the fins: faces with an open edge that stand on an edge where two better faces meet already. Parting would
 * else give a fin one of the body's faces for a partner. O(faces).
 */
export function dropFins(mesh: Mesh): { mesh: Mesh; dropped: number } {
  const { triangles: t } = mesh;
  const vertexCount = mesh.positions.length / 3;
  const { twin, nonManifoldEdges } = findTwins(t, vertexCount);
  if (nonManifoldEdges === 0) return { mesh, dropped: 0 };
  const hasOpen = (h: number): boolean => {
    const f = h - (h % 3);
    return twin[f] === OPEN || twin[f + 1] === OPEN || twin[f + 2] === OPEN;
  };
  const keyOf = (h: number): number => {
    const a = t[h],
      b = t[nextHalfedge(h)];
    return Math.min(a, b) * vertexCount + Math.max(a, b);
  };
  const better = new Map<number, number>();
  for (let h = 0; h < t.length; h++) {
    if (twin[h] === NON_MANIFOLD && !hasOpen(h)) better.set(keyOf(h), (better.get(keyOf(h)) ?? 0) + 1);
  }
  const keep = new Uint8Array(t.length / 3).fill(1);
  let dropped = 0;
  for (let h = 0; h < t.length; h++) {
    const face = (h / 3) | 0;
    if (twin[h] !== NON_MANIFOLD || !keep[face] || !hasOpen(h) || (better.get(keyOf(h)) ?? 0) < 2) continue;
    keep[face] = 0;
    dropped++;
  }
  return dropped === 0 ? { mesh, dropped } : { mesh: keepFaces(mesh, keep), dropped };
}

/** Share of the way from the edge's middle to the far corners that the new vertex goes. */
const DRAW_SHARE = 0.1;

/**
 * Split all but one pair at each crowded edge of a surface whose pairs are known (`twin`, from `makeManifold`), at
 * most one edge of a face: repeat until `split` is 0. Old vertices stay. O(faces).
 */
export function splitCrowded(mesh: Mesh, twin: Int32Array): { mesh: Mesh; split: number } {
  const { positions: p, triangles } = mesh;
  const vertexCount = p.length / 3;
  const found = findTwins(triangles, vertexCount);
  if (found.nonManifoldEdges === 0) return { mesh, split: 0 };
  const t = Array.from(triangles);
  const points: number[] = [];
  const colours: number[] = [];
  const first = new Set<number>();
  const busy = new Set<number>();
  for (let h = 0; h < triangles.length; h++) {
    const g = twin[h];
    if (found.twin[h] !== NON_MANIFOLD || g < h) continue;
    const a = triangles[h],
      b = triangles[nextHalfedge(h)];
    const key = Math.min(a, b) * vertexCount + Math.max(a, b);
    if (!first.has(key)) {
      first.add(key);
      continue;
    }
    const f = h - (h % 3),
      e = g - (g % 3);
    if (busy.has(f) || busy.has(e)) continue;
    busy.add(f).add(e);
    const c = triangles[previousHalfedge(h)],
      d = triangles[previousHalfedge(g)];
    const m = vertexCount + points.length / 3;
    for (let k = 0; k < 3; k++) {
      const middle = (p[a * 3 + k] + p[b * 3 + k]) / 2;
      points.push(middle + DRAW_SHARE * ((p[c * 3 + k] + p[d * 3 + k]) / 2 - middle));
      if (mesh.colours !== undefined) colours.push(mesh.colours[a * 3 + k]);
    }
    [a, m, c].forEach((v, k) => (t[f + k] = v));
    [b, m, d].forEach((v, k) => (t[e + k] = v));
    t.push(m, b, c, m, a, d);
  }
  const positions = new Float64Array(p.length + points.length);
  positions.set(p);
  positions.set(points, p.length);
  const result: Mesh = { positions, triangles: Uint32Array.from(t) };
  if (mesh.colours === undefined) return { mesh: result, split: points.length / 3 };
  const painted = new Uint8Array(positions.length);
  painted.set(mesh.colours);
  painted.set(colours, p.length);
  return { mesh: { ...result, colours: painted }, split: points.length / 3 };
}
