/**
 * From what a camera made to a sound surface: closed, oriented, manifold, free of self-intersection, proven on the
 * coordinates that a mesh file will hold. Vertices away from defects keep their coordinates; noise is not smoothed.
 *
 * Order matters: equal vertices first (seams), then cracks (a seam can cut the body itself into pieces), then
 * parting crowded edges and choosing the body, then holes, then what still cuts itself.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { PositionTable } from '../mesh/position-table.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { choosePieces, type DroppedPiece } from './choose-pieces.ts';
import { fillHoles, FILL_PHASE, type FilledHole } from './fill-holes.ts';
import { examine, HEALTH_PHASE, type Health } from './health.ts';
import { makeManifold } from './manifold.ts';
import { untangle, UNTANGLE_PHASE } from './untangle.ts';
import { dropBadFaces, weldCracks, weldEqual } from './weld.ts';

export interface MendOptions {
  readonly keep: 'largest' | 'all';
  /** Holes with a longer perimeter (mesh units) stay open; the result is then not closed. */
  readonly maxHolePerimeter?: number;
  /** Examine the result (default). `form` does that once, at its end. */
  readonly prove?: boolean;
}

export interface MendReport {
  readonly weldedVertices: number;
  readonly closedCracks: number;
  readonly degenerateFaces: number;
  readonly duplicateFaces: number;
  readonly partedEdges: number;
  readonly turnedFaces: number;
  readonly splitVertices: number;
  readonly dropped: readonly DroppedPiece[];
  readonly filled: readonly FilledHole[];
  readonly holesLeft: number;
  readonly relaxedVertices: number;
  readonly cutFaces: number;
  /** How far the kept scan's vertices lie from the result, mesh units. */
  readonly movedMax: number;
  readonly movedMean: number;
}

export const MEND_PHASES: Phases = {
  weld: 0.15,
  'choose the body': 0.1,
  [FILL_PHASE]: 0.15,
  [UNTANGLE_PHASE]: 0.4,
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
  const parted = makeManifold(joined.mesh);
  const chosen = choosePieces(parted, options.keep);
  run.step('choose the body', 1, 2);
  const final = makeManifold(chosen.mesh);
  run.step('choose the body', 2, 2);
  const filled = fillHoles(
    final.mesh,
    final.twin,
    { fair: true, ...(options.maxHolePerimeter === undefined ? {} : { maxPerimeter: options.maxHolePerimeter }) },
    run,
  );
  const straight = untangle(filled.mesh, run);
  const moved = howFarMoved(chosen.mesh, straight.mesh);
  const after = options.prove === false ? undefined : examine(straight.mesh, run);
  return {
    mesh: straight.mesh,
    after,
    left: straight.left,
    report: {
      weldedVertices: equal.welded,
      closedCracks: cracks.welded,
      degenerateFaces: clean.degenerate + joined.degenerate,
      duplicateFaces: clean.duplicate + joined.duplicate,
      partedEdges: parted.partedEdges,
      turnedFaces: parted.turnedFaces,
      splitVertices: parted.splitVertices,
      dropped: chosen.dropped,
      filled: filled.filled,
      holesLeft: filled.left,
      relaxedVertices: straight.relaxedVertices,
      cutFaces: straight.cutFaces,
      movedMax: moved.max,
      movedMean: moved.mean,
    },
  };
}

/**
 * Distance of each vertex of the scan from the result. Those that are still vertices of it, to single precision,
 * are at rounding distance and not searched for.
 */
function howFarMoved(scan: Mesh, result: Mesh): { max: number; mean: number } {
  const table = new PositionTable(result.positions.length / 3);
  const q = result.positions;
  for (let i = 0; i < q.length; i += 3) table.add(q[i], q[i + 1], q[i + 2]);
  const p = scan.positions;
  let tree: ReturnType<typeof buildBvh> | undefined;
  const slot = nearestSlot();
  let max = 0;
  let sum = 0;
  for (let i = 0; i < p.length; i += 3) {
    if (table.find(Math.fround(p[i]), Math.fround(p[i + 1]), Math.fround(p[i + 2])) >= 0) continue;
    tree ??= buildBvh(result);
    findNearest(tree, p[i], p[i + 1], p[i + 2], slot);
    max = Math.max(max, slot.distance);
    sum += slot.distance;
  }
  return { max, mean: p.length > 0 ? sum / (p.length / 3) : 0 };
}
