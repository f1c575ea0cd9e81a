/**
 * The offset of a closed surface as a sound mesh: {p : signed distance to the form = offset}.
 *
 * Stages: search tree and signs (signed-field.ts); the form's own faces moved outward where that serves (displaced.ts);
 * for the rest, or all, the surface followed cube to cube from points known to be on it and meshed dual to the cubes
 * (track-surface.ts), and both joined (joined-surface.ts); vertices settled on the offset, errors balanced, creases found and
 * misses split (refine-surface.ts); what is not needed taken out where there are many faces (thin.ts); rounded to
 * single precision; proven closed, manifold and free of self-intersection, mended locally where it is not, and where it
 * still misses (uncross.ts), made anew with other cubes where that fails. A sound surface that misses more than the tolerance
 * somewhere is not made anew: other cubes meet the same fold. The evidence tells how much it misses.
 *
 * Tried and left: least squares over all faces near a cube pulls bulges inward by 0.15 mm; each corner's own tangent
 * plane does not. Splitting everything above 0.03 mm gains less per face than smaller cubes.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { LINER_TOLERANCE_MM } from '../../../shared-types/tolerances.ts';
import { findPieces } from '../mesh/pieces.ts';
import { areaOf, pieceVolumes } from '../mesh/quantities.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findTwins } from '../mesh/twins.ts';
import type { Bvh } from '../spatial/bvh.ts';
import type { TrackedSurface } from './cube-mesh.ts';
import { displace, type Displaced } from './displaced.ts';
import { joinSurfaces } from './joined-surface.ts';
import { isTrue, truePoints } from './measure-offset.ts';
import { Refinement } from './refine-surface.ts';
import { SignedField } from './signed-field.ts';
import { thin } from './thin.ts';
import { SurfaceTracker } from './track-surface.ts';
import { uncross, type Spots, type Uncrossed } from './uncross.ts';

export const OFFSET_PHASES = { surface: 0.5, refine: 0.4, prove: 0.1 } as const;

/** Cube for the standard tolerance, mm: measured on heads, 2.7 gives a mean miss of 0.01 mm. */
const CELL_MM = 2.7;
const CELL_MOST_MM = 3.05;
/** Faces per squared cell of area, measured, and the faces a head's liner should stay below. */
const FACES_PER_CELL = 3.17;
const FACES_WANTED = 57_500;
const FACES_OF_THIN_FOAM = 250_000;
/** Grid points per axis allowed by the keys, with room. */
const MOST_CELLS = 120_000;
/** Cubes are split in folds up to so many times, to 0.17 mm at the standard tolerance. */
const DEPTH = 4;
/** What the first pass lets stand, and the later ones, as shares of the tolerance; the second where faces were moved. */
const FOLLOWED_LIMITS = [0.6, 0.85] as const;
const JOINED_LIMITS = [0.36, 0.42] as const;
/** Edges shorter than this share of a cube are merged between passes. */
const SHORT = 0.2;
const PASSES = 5;
/** More faces than this are thinned. */
const MOST_FACES = 59_300;
/** Vertices are raised by this share of the tolerance at most so that misses even out at the end. */
const EVENED = 0.4;
/** What is left to miss after the passes is lessened spot by spot down to this share of the tolerance. */
const ALLOWED = 0.8;
/** Less than this share of the form standing as moved is not worth joining; nor are so few faces, sharp where they bend. */
const LEAST_SHARE = 0.15;
const JOIN_TRIALS = 3;
const FEW_FACES = 500;
/**
 * Where what was made anew in mending misses by more than so many tolerances, and by so many times what stood there
 * missed, other cubes are tried too.
 */
const MENDED_LITTLE = 3;
const WORSE = 1.5;
/** Cube sizes tried in turn where a mesh could not be made sound, the first hardly smaller: cubes lie otherwise. */
const RETRIES = [1, 0.97, 0.83, 0.69, 0.57] as const;

export interface OffsetSurface {
  /** Closed, outward, single precision. */
  readonly mesh: Mesh;
  /** Over its faces; none where it is not even closed. */
  readonly tree: Bvh | undefined;
  readonly field: SignedField;
  /** Pieces kept, and enclosed pockets dropped with their volume. */
  readonly pieces: number;
  readonly pocketsDropped: number;
  readonly pocketVolumeMm3: number;
  /** 0 unless even the last attempt was not sound. */
  readonly selfIntersections: number;
  /** Largest miss at the middles of the faces made anew to undo self-intersections, and of those they stand for, mm. */
  readonly mendedMm: number;
  readonly beforeMm: number;
  readonly cellMm: number;
}

/**
 * Offset the field's form by `offset` mm, outward when positive, inward when negative (undefined when nothing is
 * left). `tolerance`: what the surface may miss, mm. The mesh is proven unless `selfIntersections` says otherwise.
 * Time and memory grow with area / tolerance. Does not thicken a form that is open, and keeps no enclosed pockets.
 */
export function offsetSurface(
  field: SignedField,
  offset: number,
  tolerance: number,
  run: RunContext,
): OffsetSurface | undefined {
  const scale = Math.sqrt(tolerance / LINER_TOLERANCE_MM);
  const area = areaOf(field.mesh) * (1 + Math.max(0, offset) / 60);
  let cell = Math.min(CELL_MOST_MM, Math.max(CELL_MM, Math.sqrt((FACES_PER_CELL * area) / FACES_WANTED))) * scale;
  // Foam thinner than a cube is not seen by it.
  const least = Math.sqrt((FACES_PER_CELL * area) / FACES_OF_THIN_FOAM);
  cell = Math.min(cell, Math.max(2 * Math.abs(offset), least));
  const { min, max } = field.box;
  const size = Math.max(max[0] - min[0], max[1] - min[1], max[2] - min[2]) + 2 * Math.abs(offset);
  cell = Math.min(cell, Math.max(size / 12, cell / 64));
  cell = Math.max(cell, size / MOST_CELLS);
  let best: OffsetSurface | undefined;
  for (const [attempt, share] of RETRIES.entries()) {
    // The last but one moves no vertex far, the last none: what the cubes give cannot cut itself.
    const care = Math.max(0, attempt - RETRIES.length + 3);
    // What was sound but worse for the mending is tried once more, not with ever smaller cubes.
    if (attempt > 1 && best?.selfIntersections === 0) break;
    const result = attemptOffset(field, offset, tolerance, cell * share, care, run);
    if (result === undefined) return undefined;
    const { selfIntersections, mendedMm, beforeMm } = result;
    if (selfIntersections === 0 && mendedMm <= Math.max(MENDED_LITTLE * tolerance, WORSE * beforeMm)) return result;
    const better =
      best === undefined ||
      selfIntersections < best.selfIntersections ||
      (selfIntersections === best.selfIntersections && mendedMm < best.mendedMm);
    if (better) best = result;
  }
  return best;
}

function attemptOffset(
  field: SignedField,
  offset: number,
  tolerance: number,
  cell: number,
  care: number,
  run: RunContext,
): OffsetSurface | undefined {
  const isSmooth = care === 0 && field.mesh.triangles.length > 3 * FEW_FACES;
  const displaced = isSmooth ? displace(field, offset, tolerance, cell, run) : undefined;
  let limits: readonly [number, number] = JOINED_LIMITS;
  let tracked = displaced === undefined ? undefined : joined(displaced, field, offset, cell, run);
  if (tracked === undefined) {
    tracked = followed(undefined, field, offset, cell, care < 2, run);
    limits = FOLLOWED_LIMITS;
  }
  if (tracked === undefined) return undefined;
  const sorted = withoutPockets(tracked);
  if (sorted.pieces === 0) return undefined;
  let mesh: Mesh = sorted.surface;
  let spots: Spots | undefined;
  if (care < 2) {
    const refinement = new Refinement(field, offset, tolerance, sorted.surface, run);
    refinement.settle(care === 0 ? cell / 2 : cell / 8);
    if (care === 0) refinement.creases();
    for (let pass = 0; pass < (care === 0 ? PASSES : 0); pass++) {
      if (pass > 0) refinement.mergeShort(SHORT);
      const limit = tolerance * limits[Math.min(pass, 1)];
      const split = refinement.pass(limit, 0.1 + (0.8 * pass) / PASSES);
      if (split === 0 && pass > 0) break;
    }
    spots = { vertices: refinement.openVertices(), allowedMm: ALLOWED * tolerance };
    if (care === 0) {
      thin(refinement.surface, tolerance, MOST_FACES, run);
      refinement.even(EVENED * tolerance, spots.vertices, spots.allowedMm);
    }
    const { p, t, vertexCount } = refinement.surface;
    mesh = { positions: p.slice(0, vertexCount * 3), triangles: t };
  }
  const proof = prove(mesh, field, offset, spots, run);
  return {
    mesh: proof.mesh,
    tree: proof.tree,
    field,
    pieces: sorted.pieces,
    pocketsDropped: sorted.pockets,
    pocketVolumeMm3: sorted.pocketVolumeMm3,
    selfIntersections: proof.selfIntersections,
    mendedMm: proof.mendedMm,
    beforeMm: proof.beforeMm,
    cellMm: cell,
  };
}

/** The offset followed by cubes where nothing stands; undefined where nothing is left of it. */
function followed(
  from: Displaced | undefined,
  field: SignedField,
  offset: number,
  cell: number,
  exact: boolean,
  run: RunContext,
): TrackedSurface | undefined {
  const { min, max } = field.box;
  const size = Math.max(max[0] - min[0], max[1] - min[1], max[2] - min[2]) + 2 * Math.abs(offset);
  const low = min.map((x) => x - Math.max(0, offset));
  const tracker = new SurfaceTracker(field, offset, cell, low, run, depthFor(size / cell), from?.wholeStands);
  seed(tracker, field, offset, from, run);
  return tracker.cellCount === 0 && from === undefined ? undefined : tracker.surface(exact);
}

/** The faces that stand joined to what is followed, fewer of them where that is no sound surface at first; or undefined. */
function joined(
  displaced: Displaced,
  field: SignedField,
  offset: number,
  cell: number,
  run: RunContext,
): TrackedSurface | undefined {
  let from = displaced;
  for (let trial = 0; trial < JOIN_TRIALS && from.share > LEAST_SHARE; trial++) {
    const rest = followed(from, field, offset, cell, true, run);
    const result = rest === undefined ? undefined : joinSurfaces(field, from, rest, cell, run);
    if (result === undefined) return undefined;
    if (result.troubles === undefined) return isClosed(result.surface) ? result.surface : undefined;
    from = from.without(result.troubles);
  }
  return undefined;
}

/** Let the tracker follow the offset from every place of it that is known, but from where faces stand. */
function seed(
  tracker: SurfaceTracker,
  field: SignedField,
  offset: number,
  displaced: Displaced | undefined,
  run: RunContext,
): void {
  const vertexCount = field.mesh.positions.length / 3;
  let number = -1;
  for (const point of truePoints(field, offset)) {
    if ((++number & 1023) === 0) run.step('surface', 0, 1);
    if (displaced !== undefined) {
      const { depth, wholeStands } = displaced;
      if (number < vertexCount ? depth[number] === 0 : wholeStands[number - vertexCount] === 1) continue;
    }
    const [x, y, z, nx, ny, nz] = point;
    if (tracker.knows(x, y, z, nx, ny, nz) || !isTrue(field, offset, point)) continue;
    tracker.follow(x, y, z, nx, ny, nz);
  }
}

function isClosed({ triangles, positions }: TrackedSurface): boolean {
  const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(triangles, positions.length / 3);
  return openEdges + nonManifoldEdges + flippedEdges === 0;
}

/** How many times cubes are split in folds, where a body is so many of them across. */
function depthFor(cells: number): number {
  return Math.max(0, Math.min(DEPTH, Math.floor(Math.log2(MOST_CELLS / cells))));
}

/** Keep the pieces that bound matter from outside. */
function withoutPockets(tracked: TrackedSurface): {
  surface: TrackedSurface;
  pieces: number;
  pockets: number;
  pocketVolumeMm3: number;
} {
  const { pieceOfFace, count } = findPieces(tracked.triangles, tracked.positions.length / 3);
  let pockets = 0;
  let pocketVolumeMm3 = 0;
  if (count === 1) return { surface: tracked, pieces: 1, pockets, pocketVolumeMm3 };
  let pieces = 0;
  const volumes = pieceVolumes(tracked, pieceOfFace, count);
  for (const volume of volumes) {
    if (volume > 0) {
      pieces++;
    } else {
      pockets++;
      pocketVolumeMm3 -= volume;
    }
  }
  // Vertices nobody uses any more stay until the end: their sheets stand in the same order.
  const triangles = tracked.triangles.filter((_, h) => volumes[pieceOfFace[(h / 3) | 0]] > 0);
  return { surface: { ...tracked, triangles }, pieces, pockets, pocketVolumeMm3 };
}

/** Round, undo what cuts, lessen what misses. */
function prove(
  mesh: Mesh,
  field: SignedField,
  offset: number,
  spots: Spots | undefined,
  run: RunContext,
): Omit<Uncrossed, 'tree'> & { readonly tree: Bvh | undefined } {
  const rounded = roundToSingle(mesh);
  const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(rounded.triangles, rounded.positions.length / 3);
  const troubles = openEdges + nonManifoldEdges + flippedEdges;
  if (troubles > 0) {
    return { mesh: rounded, tree: undefined, selfIntersections: troubles, mendedMm: Infinity, beforeMm: 0 };
  }
  return uncross(rounded, field, offset, run, spots);
}
