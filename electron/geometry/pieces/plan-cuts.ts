/** Planes that cut a solid down to what a print bed holds. */
import type { Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { cutOnce, seenFrom, type CutPiece } from './cut-apart.ts';
import { layDown, type Bed, type Laid } from './print-bed.ts';

export interface Planned {
  readonly planes: readonly Plane[];
  readonly pieces: readonly (CutPiece & { readonly laid: Laid })[];
}

/** Pieces beyond which planning stops. */
const MOST_PIECES = 64;
/** Where a cut is tried, as shares of the piece's length. */
const PLACES = [1 / 2, 0.45, 0.55, 0.4, 0.6];

/**
 * Halve every piece that does not fit the bed across the side that exceeds it most, in the middle or a little beside it
 * where that makes fewer pieces, until all fit or there are {@link MOST_PIECES}. New planes are square to the axes and cut only the
 * piece they were made for; they follow those given, which have cut already. `asideMm` moves the new planes a little,
 * for another try. O(pieces · places · faces).
 */
export function planCuts(
  whole: readonly CutPiece[],
  given: readonly Plane[],
  bed: Bed,
  asideMm: number,
  step: (done: number, total: number) => void,
): Planned {
  const planes = [...given];
  const waiting = [...whole];
  const done: (CutPiece & { laid: Laid })[] = [];
  while (waiting.length > 0) {
    const tick = (): void => step(done.length, done.length + waiting.length + 1);
    const piece = waiting.shift() as CutPiece;
    tick();
    const laid = layDown(
      piece.mesh,
      piece.cuts.map((one) => seenFrom(planes[one.plane], one)),
      bed,
      tick,
    );
    if (laid.fits || done.length + waiting.length >= MOST_PIECES) {
      done.push({ ...piece, laid });
      continue;
    }
    const best = bestHalving(piece, bed, planes.length, asideMm, tick);
    if (best === undefined) {
      done.push({ ...piece, laid });
      continue;
    }
    planes.push(best.plane);
    waiting.push(...best.pieces);
  }
  return { planes, pieces: done };
}

/** The side that is too long for its side of the bed by the largest ratio, the longest laid on the longest. */
function mostExceeding(sizes: readonly number[], bed: Bed): number {
  const sides = bed.toSorted((a, b) => b - a);
  const order = [0, 1, 2].toSorted((a, b) => sizes[b] - sizes[a]);
  const over = order.map((axis, k) => sizes[axis] / sides[k]);
  return order[over.indexOf(Math.max(...over))];
}

function bestHalving(
  piece: CutPiece,
  bed: Bed,
  number: number,
  asideMm: number,
  tick: () => void,
): { plane: Plane; pieces: CutPiece[] } | undefined {
  const { min, max } = boundsOf(piece.mesh.positions);
  const sizes = [0, 1, 2].map((k) => max[k] - min[k]);
  const axis = mostExceeding(sizes, bed);
  const normal = [0, 0, 0];
  normal[axis] = 1;
  let best: { plane: Plane; pieces: CutPiece[]; count: number; aside: number } | undefined;
  for (const share of PLACES) {
    const point = [0, 0, 0];
    // Whole tenths of a millimetre: the maker reads and types them.
    point[axis] = Math.round(10 * (min[axis] + share * sizes[axis])) / 10 + asideMm;
    const plane: Plane = { point: point as unknown as Vec3, normal: normal as unknown as Vec3 };
    const pieces = cutOnce(piece, plane, number, tick);
    if (pieces.length < 2) continue;
    const aside = Math.abs(share - 1 / 2);
    // Fewer pieces first; then the place nearest the middle.
    if (best === undefined || pieces.length < best.count || (pieces.length === best.count && aside < best.aside)) {
      best = { plane, pieces, count: pieces.length, aside };
    }
  }
  return best;
}
