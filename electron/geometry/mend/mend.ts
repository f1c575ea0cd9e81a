/**
 * From what a camera made to a sound surface: closed, oriented, manifold, free of self-intersection, proven on the
 * coordinates that a mesh file will hold. Vertices away from defects keep their coordinates; noise is not smoothed.
 *
 * Order matters: equal vertices first (seams), then cracks (a seam can cut the body itself into pieces), then
 * parting crowded edges and choosing the body, then holes, then what still cuts itself.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { PositionTable } from '../mesh/position-table.ts';
import { diagonalOf, volumeOf } from '../mesh/quantities.ts';
import { findTwins } from '../mesh/twins.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { choosePieces, type DroppedPiece } from './choose-pieces.ts';
import { fillHoles, FILL_PHASE, type FilledHole } from './fill-holes.ts';
import { examine, HEALTH_PHASE, type Health } from './health.ts';
import { makeManifold, type Oriented } from './manifold.ts';
import { dropFins, splitCrowded } from './crowded.ts';
import { hasFlatFaces, removeNeedles } from './needles.ts';
import { meanEdge, reskin, RESKIN_PHASE, reskinResolution } from './reskin.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { untangle, UNTANGLE_PHASE, type Untangled } from './untangle.ts';
import { dropBadFaces, weldCracks, weldEqual } from './weld.ts';

export interface MendOptions {
  readonly keep: 'largest' | 'all';
  /** Holes with a longer perimeter (mesh units) stay open; the result is then not closed. */
  readonly maxHolePerimeter?: number;
  /** Lay a new skin at this resolution (mesh units) instead of mending the old one. Closes every hole. */
  readonly reskin?: number;
  /** Examine the result (default). `form` does that once, at its end. */
  readonly prove?: boolean;
}

export type ReskinReason = 'asked for' | 'pieces overlap' | 'too broken' | 'mending moved too much';

export interface Reskinned {
  readonly resolution: number;
  readonly reason: ReskinReason;
}

export interface MendReport {
  readonly weldedVertices: number;
  readonly closedCracks: number;
  readonly degenerateFaces: number;
  readonly duplicateFaces: number;
  /** Faces that stood up from the surface on one edge. */
  readonly fins: number;
  readonly partedEdges: number;
  readonly turnedFaces: number;
  readonly splitVertices: number;
  readonly dropped: readonly DroppedPiece[];
  readonly filled: readonly FilledHole[];
  readonly holesLeft: number;
  readonly relaxedVertices: number;
  readonly cutFaces: number;
  /** Set when a new skin was laid over the scan. */
  readonly reskinned: Reskinned | undefined;
  /** How far the kept scan's vertices lie from the result, mesh units. */
  readonly movedMax: number;
  readonly movedMean: number;
}

export const MEND_PHASES: Phases = {
  weld: 0.15,
  'choose the body': 0.1,
  [FILL_PHASE]: 0.15,
  [UNTANGLE_PHASE]: 0.3,
  [RESKIN_PHASE]: 0.1,
  [HEALTH_PHASE]: 0.2,
};

/** Mend a mesh. `after` is the proof (absent when not asked for); `left` counts pairs of
 * faces that still meet, 0 unless all ways failed. */
export function mend(
  mesh: Mesh,
  options: MendOptions,
  run: RunContext = QUIET_RUN,
): { mesh: Mesh; report: MendReport; after: Health | undefined; left: number } {
  run.step('weld', 0, 3);
  const equal = weldEqual(mesh);
  run.step('weld', 1, 3);
  const clean = dropBadFaces(equal.mesh);
  run.step('weld', 2, 3);
  // Cracks before choosing: a seam can cut the body itself into pieces.
  const cracks = weldCracks(clean.mesh);
  const joined = dropBadFaces(cracks.mesh);
  run.step('weld', 3, 3);
  const finless = dropFins(joined.mesh);
  const parted = makeManifold(finless.mesh);
  let rank = 0;
  let worked = workOn(parted, options, rank, run);
  // What encloses most may be no body at all (a warped sheet): then the next one is tried.
  while (worked.straight.left > 0 && options.keep === 'largest' && ++rank < Math.min(MOST_BODIES, parted.pieces)) {
    worked = workOn(parted, options, rank, run);
  }
  const { chosen, filled, straight, after, moved, reskinned } = worked;
  return {
    mesh: straight.mesh,
    after,
    left: straight.left,
    report: {
      weldedVertices: equal.welded,
      closedCracks: cracks.welded,
      degenerateFaces: clean.degenerate + joined.degenerate,
      duplicateFaces: clean.duplicate + joined.duplicate,
      fins: finless.dropped,
      partedEdges: parted.partedEdges,
      turnedFaces: parted.turnedFaces,
      splitVertices: parted.splitVertices,
      dropped: chosen.dropped,
      filled: filled.filled,
      holesLeft: filled.left,
      relaxedVertices: straight.relaxedVertices,
      cutFaces: straight.cutFaces,
      reskinned,
      movedMax: moved.max,
      movedMean: moved.mean,
    },
  };
}

/** Pieces tried before a scan is given up. */
const MOST_BODIES = 3;

/** Choose the body, fill and straighten it. */
function workOn(
  parted: Oriented,
  options: MendOptions,
  rank: number,
  run: RunContext,
): Straight & { chosen: ReturnType<typeof choosePieces>; filled: ReturnType<typeof fillHoles> } {
  const chosen = choosePieces(parted, options.keep, rank);
  run.step('choose the body', 1, 2);
  const final = makeManifold(chosen.mesh);
  run.step('choose the body', 2, 2);
  const filled = fillHoles(
    final.mesh,
    final.twin,
    { fair: true, ...(options.maxHolePerimeter === undefined ? {} : { maxPerimeter: options.maxHolePerimeter }) },
    run,
  );
  return { chosen, filled, ...straighten(chosen.mesh, filled.mesh, options, run) };
}

/** A skin that fails its proof, by bad luck of rounding, is laid again on another lattice. */
const RESKIN_TRIES = [1, 1.13, 1.37] as const;
/** Moving the surface on average by more than this share of the diagonal, and of the edges, is no mending. */
const DAMAGE_SHARE = 0.004;
const DAMAGE_EDGES = 0.25;

/** Rounds of taking apart again what untangling left crowded. */
const AGAIN = 4;

interface Straight {
  readonly straight: Untangled;
  readonly after: Health | undefined;
  readonly moved: { readonly max: number; readonly mean: number };
  readonly reskinned: Reskinned | undefined;
}

/** Untangle, prove, and lay a new skin where that was asked for or nothing else helps. */
function straighten(scan: Mesh, filled: Mesh, options: MendOptions, run: RunContext): Straight {
  const first: ReskinReason | undefined =
    options.reskin !== undefined
      ? 'asked for'
      : options.keep === 'all' && piecesMeet(filled, run)
        ? 'pieces overlap'
        : undefined;
  if (first !== undefined) {
    const skin = laySkin(scan, filled, first, options, run);
    if (skin !== undefined) return skin;
  }
  const { straight, after } = untangleAndProve(filled, options, run);
  const moved = howFarMoved(scan, straight.mesh);
  const mended: Straight = { straight, after, moved, reskinned: undefined };
  // An open result was asked for: a skin would close it.
  if (options.maxHolePerimeter !== undefined) return mended;
  const sound =
    straight.left === 0 && (after === undefined ? isClosed(straight.mesh) : after.watertight && after.volume > 0);
  if (!sound)
    return (
      laySkin(scan, filled, 'too broken', options, run) ?? {
        ...mended,
        straight: { ...straight, left: Math.max(1, straight.left) },
      }
    );
  if (moved.mean > Math.max(DAMAGE_SHARE * diagonalOf(scan.positions), DAMAGE_EDGES * meanEdge(scan))) {
    const skin = laySkin(scan, filled, 'mending moved too much', options, run);
    if (skin !== undefined && skin.moved.mean < moved.mean / 2) return skin;
  }
  return mended;
}

/** Untangle, and again where faces without area or crowded edges remain. */
function untangleAndProve(
  filled: Mesh,
  options: MendOptions,
  run: RunContext,
): { straight: Untangled; after: Health | undefined } {
  let straight = untangle(removeNeedles(roundToSingle(filled)).mesh, run);
  for (let round = 0; ; round++) {
    // The whole proof is dear, so it waits until what is quickly seen is right.
    if (straight.left > 0 || round === AGAIN || looksSound(straight.mesh, options.maxHolePerimeter !== undefined)) {
      const after = options.prove === false ? undefined : examine(straight.mesh, run);
      const sound = after === undefined || after.watertight || options.maxHolePerimeter !== undefined;
      if (straight.left > 0 || sound || round === AGAIN) return { straight, after };
    }
    const apart = makeManifold(dropBadFaces(removeNeedles(straight.mesh).mesh).mesh);
    const closed = fillHoles(apart.mesh, apart.twin, {
      fair: false,
      ...(options.maxHolePerimeter === undefined ? {} : { maxPerimeter: options.maxHolePerimeter }),
    });
    const again = untangle(removeNeedles(roundToSingle(uncrowd(closed.mesh))).mesh, run);
    straight = {
      ...again,
      relaxedVertices: again.relaxedVertices + straight.relaxedVertices,
      cutFaces: again.cutFaces + straight.cutFaces,
    };
  }
}

/** Closed (or open, where that was asked for), oriented, and without faces of no area. O(faces). */
function looksSound(mesh: Mesh, mayBeOpen: boolean): boolean {
  const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
  return (mayBeOpen || openEdges === 0) && nonManifoldEdges + flippedEdges === 0 && !hasFlatFaces(mesh);
}

function uncrowd(mesh: Mesh): Mesh {
  let result = mesh;
  for (let round = 0; round < AGAIN; round++) {
    const parted = makeManifold(result);
    const next = splitCrowded(parted.mesh, parted.twin);
    result = next.mesh;
    if (next.split === 0) break;
  }
  return result;
}

/** A proven skin, or nothing: where the scan encloses nothing. */
function laySkin(
  scan: Mesh,
  filled: Mesh,
  reason: ReskinReason,
  options: MendOptions,
  run: RunContext,
): Straight | undefined {
  for (const share of RESKIN_TRIES) {
    const resolution = (options.reskin ?? reskinResolution(scan)) * share;
    const mesh = reskin(filled, resolution, options.keep, run);
    if (mesh.triangles.length === 0) return undefined;
    const after = examine(mesh, run);
    if (!after.watertight || after.selfIntersections > 0) continue;
    return {
      straight: { mesh, left: 0, relaxedVertices: 0, cutFaces: 0, spots: 0 },
      after,
      moved: howFarMoved(scan, mesh),
      reskinned: { resolution, reason },
    };
  }
  return undefined;
}

function isClosed(mesh: Mesh): boolean {
  const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
  return openEdges + nonManifoldEdges + flippedEdges === 0 && volumeOf(mesh) > 0;
}

/** Whether different pieces of a mesh meet. */
function piecesMeet(mesh: Mesh, run: RunContext): boolean {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  if (count < 2) return false;
  const quiet = run.within(UNTANGLE_PHASE, { [SELF_INTERSECTION_PHASE]: 1 });
  const pairs = findSelfIntersections(mesh, quiet);
  for (let i = 0; i < pairs.length; i += 2) if (pieceOfFace[pairs[i]] !== pieceOfFace[pairs[i + 1]]) return true;
  return false;
}

/**
 * Distance of each vertex of the scan from the result. Those that are still vertices of it, to single precision,
 * are at rounding distance and not searched for. The others are measured against the faces that mending made, which
 * took their place: never less than the distance to the whole.
 */
function howFarMoved(scan: Mesh, result: Mesh): { max: number; mean: number } {
  const table = tableOf(result.positions);
  const p = scan.positions;
  let tree: ReturnType<typeof buildBvh> | undefined;
  const slot = nearestSlot();
  let max = 0;
  let sum = 0;
  for (let i = 0; i < p.length; i += 3) {
    if (table.find(Math.fround(p[i]), Math.fround(p[i + 1]), Math.fround(p[i + 2])) >= 0) continue;
    tree ??= buildBvh(newFaces(scan, result));
    findNearest(tree, p[i], p[i + 1], p[i + 2], slot);
    max = Math.max(max, slot.distance);
    sum += slot.distance;
  }
  return { max, mean: p.length > 0 ? sum / (p.length / 3) : 0 };
}

function tableOf(positions: Float64Array): PositionTable {
  const table = new PositionTable(positions.length / 3);
  for (let i = 0; i < positions.length; i += 3)
    table.add(Math.fround(positions[i]), Math.fround(positions[i + 1]), Math.fround(positions[i + 2]));
  return table;
}

/** Faces of the result with a corner that the scan does not have; all of them where there are none. */
function newFaces(scan: Mesh, result: Mesh): Mesh {
  const old = tableOf(scan.positions);
  const { positions: q, triangles: t } = result;
  const isNew = new Uint8Array(q.length / 3);
  for (let v = 0; v < isNew.length; v++) if (old.find(q[v * 3], q[v * 3 + 1], q[v * 3 + 2]) < 0) isNew[v] = 1;
  const faces = new Uint8Array(t.length / 3);
  for (let f = 0; f < t.length; f += 3) faces[f / 3] = isNew[t[f]] | isNew[t[f + 1]] | isNew[t[f + 2]];
  return faces.includes(1) ? keepFaces(result, faces) : result;
}
