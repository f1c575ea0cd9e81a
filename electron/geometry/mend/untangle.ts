/**
 * Removing the self-intersections of a closed surface spot by spot. A spot that does not yield grows by itself; what
 * is away from all spots keeps its coordinates. Faces that meet are looked for once; after that only new faces are
 * tested, each against all that stand, so what is left at the end is known without looking again.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { LiveSurface } from './live-surface.ts';
import { repairSpot } from './repair-spot.ts';

/** A spot may yield only after its neighbours did. */
const ROUNDS = 3;
/** A piece split off by a cut and smaller than this share of the whole is a scrap. */
const SCRAP_SHARE = 0.05;
/** More faces than this share meeting others are no spots: the surface is broken everywhere. */
const SPOTS_SHARE = 0.3;

export const UNTANGLE_PHASE = 'untangle';
/** Share of the phase that finding the spots takes. */
const FIND_SHARE = 0.7;

export interface Untangled {
  /** Rounded to single precision. */
  readonly mesh: Mesh;
  /** Pairs of faces still meeting, and flat faces: 0 when it worked. */
  readonly left: number;
  readonly relaxedVertices: number;
  readonly cutFaces: number;
  /** Places repaired. */
  readonly spots: number;
}

/**
 * Remove the self-intersections of a manifold oriented mesh (closed, or with open edges that stay). Vertices away from
 * them keep their coordinates, rounded. O(n log n) to find the spots, then what the spots need.
 */
export function untangle(closed: Mesh, run: RunContext = QUIET_RUN): Untangled {
  const mesh = roundToSingle(closed);
  const tick = (share: number): void => run.step(UNTANGLE_PHASE, share, 1);
  const surface = new LiveSurface(mesh, () => tick(0));
  const pairs = surface.allPairs((done, total) => tick(0.1 + (FIND_SHARE - 0.1) * Math.min(1, done / total)));
  const standing = surface.faceCount;
  for (let face = 0; face < standing; face++) if (surface.isFlatFace(face)) pairs.push(face, face);
  if (pairs.length === 0) return { mesh, left: 0, relaxedVertices: 0, cutFaces: 0, spots: 0 };
  let relaxedVertices = 0;
  let cutFaces = 0;
  let spots = 0;
  let unsolved = pairs;
  for (let round = 0; round < ROUNDS && unsolved.length > 0; round++) {
    const queue = spotsOf(surface, stillThere(surface, unsolved));
    if (new Set(queue.flat()).size > SPOTS_SHARE * standing) break;
    unsolved = [];
    const before = spots;
    for (let number = 0; number < queue.length; number++) {
      const spot = stillThere(surface, queue[number]);
      if (spot.length === 0) continue;
      const done = (round + number / queue.length) / ROUNDS;
      const repair = repairSpot(surface, spot, standing, () => tick(FIND_SHARE + (1 - FIND_SHARE) * done));
      if (repair === undefined) {
        for (const face of spot) unsolved.push(face);
        continue;
      }
      spots++;
      relaxedVertices += repair.relaxedVertices;
      cutFaces += repair.cutFaces;
      if (repair.left.length > 0) queue.push(...spotsOf(surface, repair.left));
    }
    if (spots === before) break;
  }
  const left = stillThere(surface, unsolved).length / 2;
  return { mesh: dropScraps(surface.toMesh()), left, relaxedVertices, cutFaces, spots };
}

/** Pairs of which both faces stand. */
function stillThere(surface: LiveSurface, pairs: readonly number[]): number[] {
  const there: number[] = [];
  for (let i = 0; i < pairs.length; i += 2)
    if (surface.alive[pairs[i]] && surface.alive[pairs[i + 1]]) there.push(pairs[i], pairs[i + 1]);
  return there;
}

/** Pairs gathered into spots: faces that meet or have a vertex in common belong together. Small spots first. */
function spotsOf(surface: LiveSurface, pairs: readonly number[]): number[][] {
  const parent = new Map<number, number>();
  const find = (x: number): number => {
    let root = x;
    for (let up = parent.get(root); up !== undefined && up !== root; up = parent.get(root)) root = up;
    for (let at = x; at !== root; ) {
      const up = parent.get(at) as number;
      parent.set(at, root);
      at = up;
    }
    return root;
  };
  // Faces are named by their number, vertices by what lies below 0.
  const join = (a: number, b: number): void => {
    if (!parent.has(a)) parent.set(a, a);
    if (!parent.has(b)) parent.set(b, b);
    parent.set(find(a), find(b));
  };
  for (let i = 0; i < pairs.length; i += 2) join(pairs[i], pairs[i + 1]);
  for (const face of pairs) for (let k = 0; k < 3; k++) join(face, -1 - surface.triangles[face * 3 + k]);
  const groups = new Map<number, number[]>();
  for (let i = 0; i < pairs.length; i += 2) {
    const root = find(pairs[i]);
    const list = groups.get(root);
    if (list === undefined) groups.set(root, [pairs[i], pairs[i + 1]]);
    else list.push(pairs[i], pairs[i + 1]);
  }
  return [...groups.values()].sort((a, b) => a.length - b.length);
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
