/**
 * Removing self-intersections of a closed surface: first the vertices of the faces that meet are drawn toward
 * their neighbours, which undoes what noise did; what persists is cut out with a growing ring and filled again.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { findTwins, NON_MANIFOLD } from '../mesh/twins.ts';
import { PositionTable } from '../mesh/position-table.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { fillHoles } from './fill-holes.ts';
import { makeManifold } from './manifold.ts';
import { dropBadFaces } from './weld.ts';

const RELAX_ROUNDS = 6;
const CUT_ROUNDS = 14;
/** Share of the way to the neighbours' mean that one round of relaxing goes. */
const RELAX_STEP = 0.6;
/** A piece split off by a cut and smaller than this share of the whole is a scrap. */
const SCRAP_SHARE = 0.05;

export const UNTANGLE_PHASE = 'untangle';

export interface Untangled {
  /** Rounded to single precision. */
  readonly mesh: Mesh;
  /** Pairs of faces still meeting: 0 when it worked. */
  readonly left: number;
  readonly relaxedVertices: number;
  readonly cutFaces: number;
}

/** Remove the self-intersections of a closed manifold mesh. Vertices away from them keep their coordinates. */
export function untangle(closed: Mesh, run: RunContext = QUIET_RUN): Untangled {
  let mesh = roundToSingle(closed);
  const relaxed = new Uint8Array(mesh.positions.length / 3);
  let pairs = findSelfIntersections(mesh, inside(run, 0));
  for (let round = 0; round < RELAX_ROUNDS && pairs.length > 0; round++) {
    const moved = relax(mesh, pairs, relaxed, round);
    mesh = roundToSingle(moved.mesh);
    // Every pair held a face that has now changed, so only changed faces can meet anything.
    const next = findSelfIntersections(mesh, inside(run, 1 + round), Infinity, moved.changed);
    // Relaxing that no longer helps only moves the surface.
    const stuck = next.length > pairs.length * 0.7;
    pairs = next;
    if (stuck && round >= 1) break;
  }
  let cutFaces = 0;
  for (let round = 0; round < CUT_ROUNDS; round++) {
    // A patch may have used an edge that was there already: no faces meet, yet the edge has four.
    if (pairs.length === 0) pairs = facesOnCrowdedEdges(mesh);
    if (pairs.length === 0) break;
    const cut = cutAndFill(mesh, pairs, round >> 1, round % 2 === 1);
    mesh = roundToSingle(cut.mesh);
    cutFaces += cut.removed;
    pairs = findSelfIntersections(mesh, inside(run, 1 + RELAX_ROUNDS + round), Infinity, cut.changed);
    // New faces often need no more than a nudge.
    for (let nudge = 0; nudge < 3 && pairs.length > 0; nudge++) {
      const moved = relax(mesh, pairs, new Uint8Array(mesh.positions.length / 3), nudge);
      const nudged = roundToSingle(moved.mesh);
      const next = findSelfIntersections(nudged, inside(run, 1 + RELAX_ROUNDS + round), Infinity, moved.changed);
      if (next.length >= pairs.length) break;
      mesh = nudged;
      pairs = next;
    }
  }
  return { mesh, left: pairs.length / 2, relaxedVertices: relaxed.reduce((sum, one) => sum + one, 0), cutFaces };
}

/** Faces on edges with more than two. */
function facesOnCrowdedEdges(mesh: Mesh): number[] {
  const { twin, nonManifoldEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
  const faces = new Set<number>();
  if (nonManifoldEdges > 0) twin.forEach((other, h) => other === NON_MANIFOLD && faces.add((h / 3) | 0));
  return [...faces];
}

/** Credit round `n` of all possible ones. */
function inside(run: RunContext, n: number): RunContext {
  const total = 1 + RELAX_ROUNDS + CUT_ROUNDS;
  return {
    ...run,
    step: (_phase, done, of) => run.step(UNTANGLE_PHASE, n + Math.min(1, done / Math.max(1, of)), total),
  };
}

/** Draw the vertices of the faces in `pairs` (and, in later rounds, of the rings around) toward their neighbours. */
function relax(
  mesh: Mesh,
  pairs: readonly number[],
  relaxed: Uint8Array,
  round: number,
): { mesh: Mesh; changed: Uint8Array } {
  const { positions: p, triangles: t } = mesh;
  const vertexCount = p.length / 3;
  const moving = new Uint8Array(vertexCount);
  for (const face of pairs) for (let k = 0; k < 3; k++) moving[t[face * 3 + k]] = 1;
  const changed = new Uint8Array(t.length / 3);
  const markFaces = (): void => {
    for (let f = 0; f < t.length; f += 3) changed[f / 3] = moving[t[f]] | moving[t[f + 1]] | moving[t[f + 2]];
  };
  markFaces();
  for (let ring = 0; ring < round - 1; ring++) {
    for (let face = 0; face < changed.length; face++) {
      if (changed[face]) for (let k = 0; k < 3; k++) moving[t[face * 3 + k]] = 1;
    }
    markFaces();
  }
  // On a closed surface each neighbour is met once, along the half-edge that leaves the vertex.
  const sum = new Float64Array(p.length);
  const degree = new Uint32Array(vertexCount);
  for (let face = 0; face < changed.length; face++) {
    if (!changed[face]) continue;
    for (let corner = 0; corner < 3; corner++) {
      const v = t[face * 3 + corner];
      if (!moving[v]) continue;
      const w = t[face * 3 + ((corner + 1) % 3)];
      degree[v]++;
      for (let k = 0; k < 3; k++) sum[v * 3 + k] += p[w * 3 + k];
    }
  }
  const positions = p.slice();
  for (let v = 0; v < vertexCount; v++) {
    if (!moving[v]) continue;
    relaxed[v] = 1;
    for (let k = 0; k < 3; k++) positions[v * 3 + k] += RELAX_STEP * (sum[v * 3 + k] / degree[v] - p[v * 3 + k]);
  }
  return { mesh: { ...mesh, positions }, changed };
}

function cutAndFill(
  mesh: Mesh,
  pairs: readonly number[],
  rings: number,
  fair: boolean,
): { mesh: Mesh; removed: number; changed: Uint8Array } {
  const { positions: p, triangles: t } = mesh;
  const vertexCount = mesh.positions.length / 3;
  const keep = new Uint8Array(t.length / 3).fill(1);
  for (const face of pairs) keep[face] = 0;
  for (let ring = 0; ring < rings; ring++) {
    const near = new Uint8Array(vertexCount);
    for (let face = 0; face < keep.length; face++)
      if (!keep[face]) for (let k = 0; k < 3; k++) near[t[face * 3 + k]] = 1;
    for (let face = 0; face < keep.length; face++)
      if (near[t[face * 3]] || near[t[face * 3 + 1]] || near[t[face * 3 + 2]]) keep[face] = 0;
  }
  let removed = 0;
  for (const kept of keep) if (kept === 0) removed++;
  const rim = new PositionTable(removed * 3);
  for (let f = 0; f < t.length; f++)
    if (keep[(f / 3) | 0] === 0) rim.add(p[t[f] * 3], p[t[f] * 3 + 1], p[t[f] * 3 + 2]);
  const open = dropScraps(dropBadFaces(keepFaces(mesh, keep)).mesh);
  const whole = makeManifold(open);
  const before = whole.mesh.positions.length / 3;
  const { mesh: filled } = fillHoles(whole.mesh, whole.twin, { fair });
  const q = filled.positions;
  const touched = new Uint8Array(q.length / 3).fill(1, before);
  for (let v = 0; v < before; v++) if (rim.find(q[v * 3], q[v * 3 + 1], q[v * 3 + 2]) >= 0) touched[v] = 1;
  const changed = new Uint8Array(filled.triangles.length / 3);
  filled.triangles.forEach((v, corner) => (changed[(corner / 3) | 0] |= touched[v]));
  return { mesh: filled, removed, changed };
}

/** Keep the pieces of a fair size; cutting may leave crumbs behind. */
function dropScraps(mesh: Mesh): Mesh {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  if (count <= 1) return mesh;
  const faces = new Uint32Array(count);
  for (const piece of pieceOfFace) faces[piece]++;
  const least = SCRAP_SHARE * faces.reduce((most, n) => Math.max(most, n), 0);
  return keepFaces(
    mesh,
    Uint8Array.from(pieceOfFace, (piece) => (faces[piece] >= least ? 1 : 0)),
  );
}
