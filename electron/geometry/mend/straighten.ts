/** A filled surface made free of self-intersection and proven; a new skin over it where nothing else helps. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { findPieces } from '../mesh/pieces.ts';
import { diagonalOf, volumeOf } from '../mesh/quantities.ts';
import { findTwins } from '../mesh/twins.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { splitCrowded } from './crowded.ts';
import { fillHoles } from './fill-holes.ts';
import { examine, type Health } from './health.ts';
import { makeManifold } from './manifold.ts';
import type { MendOptions } from './mend.ts';
import { howFarMoved } from './moved.ts';
import { hasFlatFaces, removeNeedles } from './needles.ts';
import { meanEdge, reskin, reskinResolution, RESKIN_PHASE } from './reskin.ts';
import { untangle, UNTANGLE_PHASE, type Untangled } from './untangle.ts';
import { dropBadFaces } from './weld.ts';

export type ReskinReason = 'asked for' | 'pieces overlap' | 'too broken' | 'mending moved too much';

export interface Reskinned {
  readonly resolution: number;
  readonly reason: ReskinReason;
}

/** A skin that fails its proof, by bad luck of rounding, is laid again on another lattice. */
const RESKIN_TRIES = [1, 1.13, 1.37] as const;
/** Moving the surface on average by more than this share of the diagonal, and of the edges, is no mending. */
const DAMAGE_SHARE = 0.004;
const DAMAGE_EDGES = 0.25;

/** Rounds of taking apart again what untangling left crowded. */
const AGAIN = 4;

export interface Straight {
  readonly straight: Untangled;
  readonly after: Health | undefined;
  readonly moved: { readonly max: number; readonly mean: number };
  readonly reskinned: Reskinned | undefined;
}

/** Untangle, prove, and lay a new skin where that was asked for or nothing else helps. */
export function straighten(scan: Mesh, filled: Mesh, options: MendOptions, run: RunContext): Straight {
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
  // An open result was asked for: a skin would close it.
  const sound =
    options.maxHolePerimeter !== undefined ||
    (straight.left === 0 && (after === undefined ? isClosed(straight.mesh) : after.watertight && after.volume > 0));
  const instead = sound ? undefined : laySkin(scan, filled, 'too broken', options, run);
  if (instead !== undefined) return instead;
  const moved = howFarMoved(scan, straight.mesh, () => run.step(UNTANGLE_PHASE, 1, 1));
  const proof = after ?? (options.prove === false ? undefined : examine(straight.mesh, run));
  const mended: Straight = { straight, after: proof, moved, reskinned: undefined };
  if (!sound) return { ...mended, straight: { ...straight, left: Math.max(1, straight.left) } };
  if (options.maxHolePerimeter !== undefined) return mended;
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
  const tick = (): void => run.step(UNTANGLE_PHASE, 0, 1);
  tick();
  let straight = untangle(removeNeedles(roundToSingle(filled), tick).mesh, run);
  for (let round = 0; ; round++) {
    // The whole proof is dear: it waits until what is quickly seen is right, and what still cuts itself mostly gets a skin.
    if (straight.left > 0) return { straight, after: undefined };
    if (round === AGAIN || looksSound(straight.mesh, options.maxHolePerimeter !== undefined)) {
      const after = options.prove === false ? undefined : examine(straight.mesh, run, 0);
      const sound = after === undefined || after.watertight || options.maxHolePerimeter !== undefined;
      if (sound || round === AGAIN) return { straight, after };
    }
    const apart = makeManifold(dropBadFaces(removeNeedles(straight.mesh, tick).mesh).mesh, tick);
    const closed = fillHoles(apart.mesh, apart.twin, {
      fair: false,
      ...(options.maxHolePerimeter === undefined ? {} : { maxPerimeter: options.maxHolePerimeter }),
    });
    const again = untangle(removeNeedles(roundToSingle(uncrowd(closed.mesh)), tick).mesh, run);
    straight = {
      ...again,
      relaxedVertices: again.relaxedVertices + straight.relaxedVertices,
      cutFaces: again.cutFaces + straight.cutFaces,
      spots: again.spots + straight.spots,
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
      moved: howFarMoved(scan, mesh, () => run.step(RESKIN_PHASE, 1, 1)),
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
