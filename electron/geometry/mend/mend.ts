/**
 * From what a camera made to a sound surface: closed, oriented, manifold, free of self-intersection, proven on the
 * coordinates that a mesh file will hold. Vertices away from defects keep their coordinates; noise is not smoothed.
 *
 * Order matters: equal vertices first (seams), then cracks (a seam can cut the body itself into pieces), then
 * parting crowded edges and choosing the body, then holes, then what still cuts itself.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { choosePieces, type DroppedPiece } from './choose-pieces.ts';
import { dropFins } from './crowded.ts';
import { fillHoles, FILL_PHASE, type FilledHole } from './fill-holes.ts';
import { examine, HEALTH_PHASE, type Health } from './health.ts';
import { makeManifold, type Oriented } from './manifold.ts';
import { RESKIN_PHASE } from './reskin.ts';
import { straighten, type Reskinned, type Straight } from './straighten.ts';
import { UNTANGLE_PHASE } from './untangle.ts';
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
  /** Places where faces met, made sound each by itself. */
  readonly spots: number;
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
  const tick = (): void => run.step('weld', 2, 3);
  const cracks = weldCracks(clean.mesh, tick);
  tick();
  const joined = dropBadFaces(cracks.mesh);
  run.step('weld', 3, 3);
  const finless = dropFins(joined.mesh);
  tick();
  const parted = makeManifold(finless.mesh, tick);
  if (parted.pieces === 0) return nothingLeft(parted.mesh, equal.welded, clean, options, run);
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
      spots: straight.spots,
      relaxedVertices: straight.relaxedVertices,
      cutFaces: straight.cutFaces,
      reskinned,
      movedMax: moved.max,
      movedMean: moved.mean,
    },
  };
}

/** What is said of a mesh whose faces were all none. */
function nothingLeft(
  mesh: Mesh,
  weldedVertices: number,
  { degenerate, duplicate }: ReturnType<typeof dropBadFaces>,
  options: MendOptions,
  run: RunContext,
): ReturnType<typeof mend> {
  return {
    mesh,
    after: options.prove === false ? undefined : examine(mesh, run),
    left: 1,
    report: {
      weldedVertices,
      closedCracks: 0,
      degenerateFaces: degenerate,
      duplicateFaces: duplicate,
      fins: 0,
      partedEdges: 0,
      turnedFaces: 0,
      splitVertices: 0,
      dropped: [],
      filled: [],
      holesLeft: 0,
      spots: 0,
      relaxedVertices: 0,
      cutFaces: 0,
      reskinned: undefined,
      movedMax: 0,
      movedMean: 0,
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
  const final = makeManifold(chosen.mesh, () => run.step('choose the body', 1, 2));
  run.step('choose the body', 2, 2);
  const filled = fillHoles(
    final.mesh,
    final.twin,
    { fair: true, ...(options.maxHolePerimeter === undefined ? {} : { maxPerimeter: options.maxHolePerimeter }) },
    run,
  );
  return { chosen, filled, ...straighten(chosen.mesh, filled.mesh, options, run) };
}
