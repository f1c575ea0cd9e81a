/**
 * Removing self-intersections of a closed surface: first the vertices of the faces that meet are drawn toward
 * their neighbours, which undoes what noise did; what persists is cut out with a growing ring and filled again.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { fillHoles } from './fill-holes.ts';
import { makeManifold } from './manifold.ts';
import { dropBadFaces } from './weld.ts';

const RELAX_ROUNDS = 6;
const CUT_ROUNDS = 12;
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
  const relaxed = new Set<number>();
  let pairs = findSelfIntersections(mesh, inside(run, 0));
  for (let round = 0; round < RELAX_ROUNDS && pairs.length > 0; round++) {
    mesh = roundToSingle(relax(mesh, pairs, relaxed, round));
    const next = findSelfIntersections(mesh, inside(run, 1 + round));
    // Relaxing that no longer helps only moves the surface.
    const stuck = next.length > pairs.length * 0.7;
    pairs = next;
    if (stuck && round >= 1) break;
  }
  let cutFaces = 0;
  for (let round = 0; round < CUT_ROUNDS && pairs.length > 0; round++) {
    const cut = cutAndFill(mesh, pairs, round >> 1);
    mesh = roundToSingle(cut.mesh);
    cutFaces += cut.removed;
    pairs = findSelfIntersections(mesh, inside(run, 1 + RELAX_ROUNDS + round));
  }
  return { mesh, left: pairs.length / 2, relaxedVertices: relaxed.size, cutFaces };
}

/** Credit round `n` of all possible ones. */
function inside(run: RunContext, n: number): RunContext {
  const total = 1 + RELAX_ROUNDS + CUT_ROUNDS;
  return {
    ...run,
    step: (_phase, done, of) => run.step(UNTANGLE_PHASE, n + Math.min(1, done / Math.max(1, of)), total),
  };
}

function relax(mesh: Mesh, pairs: readonly number[], relaxed: Set<number>, round: number): Mesh {
  const { positions: p, triangles: t } = mesh;
  const moving = new Map<number, Set<number>>();
  for (const face of pairs) for (let k = 0; k < 3; k++) moving.set(t[face * 3 + k], new Set());
  // Later rounds take the ring around as well.
  for (let ring = 0; ring < round - 1; ring++) {
    const grown: number[] = [];
    for (let f = 0; f < t.length; f += 3) {
      if (moving.has(t[f]) || moving.has(t[f + 1]) || moving.has(t[f + 2])) grown.push(t[f], t[f + 1], t[f + 2]);
    }
    for (const v of grown) if (!moving.has(v)) moving.set(v, new Set());
  }
  for (let f = 0; f < t.length; f += 3) {
    for (let k = 0; k < 3; k++)
      moving
        .get(t[f + k])
        ?.add(t[f + ((k + 1) % 3)])
        .add(t[f + ((k + 2) % 3)]);
  }
  const positions = p.slice();
  for (const [v, ring] of moving) {
    relaxed.add(v);
    for (let k = 0; k < 3; k++) {
      let mean = 0;
      for (const w of ring) mean += p[w * 3 + k] / ring.size;
      positions[v * 3 + k] += RELAX_STEP * (mean - p[v * 3 + k]);
    }
  }
  return { ...mesh, positions };
}

function cutAndFill(mesh: Mesh, pairs: readonly number[], rings: number): { mesh: Mesh; removed: number } {
  const { triangles: t } = mesh;
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
  const open = dropScraps(dropBadFaces(keepFaces(mesh, keep)).mesh);
  const whole = makeManifold(open);
  return { mesh: fillHoles(whole.mesh, whole.twin, { fair: rings >= 1 && rings <= 3 }).mesh, removed };
}

/** Keep the pieces of a fair size; cutting may leave crumbs behind. */
function dropScraps(mesh: Mesh): Mesh {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  if (count <= 1) return mesh;
  const faces = new Uint32Array(count);
  for (const piece of pieceOfFace) faces[piece]++;
  const least = SCRAP_SHARE * Math.max(...faces);
  return keepFaces(
    mesh,
    Uint8Array.from(pieceOfFace, (piece) => (faces[piece] >= least ? 1 : 0)),
  );
}
