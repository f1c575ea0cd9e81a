/** What can be said of a mesh's soundness, in counts. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { areaOf, boundsOf, volumeOf, type Bounds } from '../mesh/quantities.ts';
import { findPieces } from '../mesh/pieces.ts';
import { findTwins, nextHalfedge, NON_MANIFOLD, OPEN, previousHalfedge } from '../mesh/twins.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { dropBadFaces, weldEqual } from './weld.ts';

export interface Health {
  readonly faces: number;
  readonly vertices: number;
  readonly pieces: number;
  readonly openEdges: number;
  readonly boundaryLoops: number;
  readonly nonManifoldEdges: number;
  readonly nonManifoldVertices: number;
  readonly degenerateFaces: number;
  readonly duplicateFaces: number;
  /** Pairs of faces that meet beyond what they share. */
  readonly selfIntersections: number;
  /** Whether neighbouring faces agree about outside, and a closed mesh is turned outward. */
  readonly oriented: boolean;
  /** Closed, manifold and oriented. */
  readonly watertight: boolean;
  readonly bounds: Bounds;
  readonly area: number;
  /** Signed; means something on a closed mesh only. */
  readonly volume: number;
}

export const HEALTH_PHASE = 'examine';

/**
 * Examine a mesh as a file would show it: vertices with equal coordinates count as one. `selfIntersections` is
 * exact; who has tested every face already (`untangle`) gives the count instead. O(n log n); a million faces in a few seconds, most of it the self-intersections.
 */
export function examine(mesh: Mesh, run: RunContext = QUIET_RUN, knownIntersections?: number): Health {
  run.step(HEALTH_PHASE, 0, 1);
  const welded = weldEqual(mesh).mesh;
  const degenerateFaces = (mesh.triangles.length - welded.triangles.length) / 3;
  const clean = dropBadFaces(welded);
  // Intersections are counted among real faces: a face without area is counted once, as degenerate.
  const selfIntersections =
    knownIntersections ??
    findSelfIntersections(clean.mesh, {
      ...run,
      step: (_phase, done, of) => run.step(HEALTH_PHASE, 0.1 + 0.9 * Math.min(1, done / Math.max(1, of)), 1),
    }).length / 2;
  const { positions, triangles } = welded;
  const vertexCount = positions.length / 3;
  const { twin, openEdges, nonManifoldEdges, flippedEdges } = findTwins(triangles, vertexCount);
  const volume = volumeOf(welded);
  const closed = openEdges === 0 && nonManifoldEdges === 0;
  const oriented = flippedEdges === 0 && (!closed || volume > 0);
  const nonManifoldVertices = countBadVertices(triangles, twin, vertexCount);
  run.step(HEALTH_PHASE, 1, 1);
  return {
    faces: mesh.triangles.length / 3,
    vertices: vertexCount,
    pieces: findPieces(triangles, vertexCount).count,
    openEdges,
    boundaryLoops: countLoops(triangles, twin, vertexCount),
    nonManifoldEdges,
    nonManifoldVertices,
    degenerateFaces: degenerateFaces + clean.degenerate,
    duplicateFaces: clean.duplicate,
    selfIntersections,
    oriented,
    watertight:
      closed &&
      oriented &&
      nonManifoldVertices === 0 &&
      degenerateFaces + clean.degenerate + clean.duplicate === 0 &&
      triangles.length > 0,
    bounds: boundsOf(mesh.positions),
    area: areaOf(mesh),
    volume,
  };
}

/** Vertices whose faces form more than one fan. */
function countBadVertices(t: Uint32Array, twin: Int32Array, vertexCount: number): number {
  const fans = new Uint8Array(vertexCount);
  const done = new Uint8Array(t.length);
  for (let corner = 0; corner < t.length; corner++) {
    if (done[corner]) continue;
    const v = t[corner];
    fans[v] = Math.min(255, fans[v] + 1);
    // Faces may disagree about direction here, so walk by faces: across both edges at the vertex.
    const stack = [corner];
    done[corner] = 1;
    while (stack.length > 0) {
      const h = stack.pop() as number;
      for (const edge of [h, previousHalfedge(h)]) {
        const g = twin[edge];
        if (g === OPEN || g === NON_MANIFOLD) continue;
        const other = t[g] === v ? g : nextHalfedge(g);
        if (!done[other]) {
          done[other] = 1;
          stack.push(other);
        }
      }
    }
  }
  let bad = 0;
  for (const count of fans) if (count > 1) bad++;
  return bad;
}

/** Connected runs of open edges. */
function countLoops(t: Uint32Array, twin: Int32Array, vertexCount: number): number {
  const parent = new Int32Array(vertexCount).fill(-1);
  const find = (v: number): number => {
    while (parent[v] !== v) {
      parent[v] = parent[parent[v]];
      v = parent[v];
    }
    return v;
  };
  for (let h = 0; h < twin.length; h++) {
    if (twin[h] !== OPEN) continue;
    const a = t[h],
      b = t[nextHalfedge(h)];
    if (parent[a] < 0) parent[a] = a;
    if (parent[b] < 0) parent[b] = b;
    parent[find(a)] = find(b);
  }
  let loops = 0;
  for (let v = 0; v < vertexCount; v++) if (parent[v] === v) loops++;
  return loops;
}

/** A guess at the unit of numbers that state none, from the size of a head, a limb or a torso. */
export function guessUnit(bounds: Bounds): {
  unit: 'metre' | 'centimetre' | 'millimetre' | 'inch' | 'unknown';
  mmPerUnit: number;
  reason: string;
} {
  const across = Math.max(...bounds.max.map((x, k) => x - bounds.min[k]));
  const say = across >= 100 ? across.toFixed(0) : across.toPrecision(2);
  if (across >= 0.08 && across < 2.5)
    return { unit: 'metre', mmPerUnit: 1000, reason: `${say} across: metres, probably` };
  if (across >= 2.5 && across < 8)
    return { unit: 'unknown', mmPerUnit: 1, reason: `${say} across: no usual unit makes a body part of this` };
  if (across >= 8 && across < 17) return { unit: 'inch', mmPerUnit: 25.4, reason: `${say} across: inches, probably` };
  if (across >= 17 && across < 80)
    return { unit: 'centimetre', mmPerUnit: 10, reason: `${say} across: centimetres, probably` };
  if (across >= 80 && across < 2500)
    return { unit: 'millimetre', mmPerUnit: 1, reason: `${say} across: millimetres, probably` };
  return { unit: 'unknown', mmPerUnit: 1, reason: `${say} across: no usual unit makes a body part of this` };
}
