/** A solid cut by planes into pieces, each closed flat. */
import type { Mesh, Plane } from '../../../shared-types/mesh.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { volumeOf } from '../mesh/quantities.ts';
import { cutFlat } from '../offset/cut-flat.ts';
import { buildBvh } from '../spatial/bvh.ts';
import { buildWinding, windingNumber } from '../spatial/winding.ts';

export interface Cut {
  /** Number of the plane. */
  readonly plane: number;
  /** Whether the piece lies where the plane's normal points. */
  readonly ahead: boolean;
}

export interface CutPiece {
  readonly mesh: Mesh;
  /** Planes that have cut this piece or what it was cut from. */
  readonly cuts: readonly Cut[];
}

export const flipped = ({ point, normal }: Plane): Plane => ({
  point,
  normal: [-normal[0], -normal[1], -normal[2]],
});

/** The plane as a cut piece sees it: its normal points into the piece. */
export const seenFrom = (plane: Plane, { ahead }: Cut): Plane => (ahead ? plane : flipped(plane));

/**
 * Closed connected bodies of a mesh; a surface turned inward is the wall of a void and goes with the body around it.
 * O(faces · log faces) when there are voids, else O(faces).
 */
export function bodiesOf(mesh: Mesh): Mesh[] {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  if (count <= 1) return count === 0 ? [] : [mesh];
  const only = (chosen: ReadonlySet<number>): Mesh =>
    keepFaces(
      mesh,
      Uint8Array.from(pieceOfFace, (k) => +chosen.has(k)),
    );
  const surfaces = Array.from({ length: count }, (_, k) => ({ k, mesh: only(new Set([k])) }));
  const bodies = surfaces
    .map((one) => ({ ...one, volume: volumeOf(one.mesh), voids: [] as number[] }))
    .filter(({ volume }) => volume > 0)
    .toSorted((a, b) => a.volume - b.volume);
  for (const surface of surfaces) {
    if (volumeOf(surface.mesh) > 0) continue;
    const [x, y, z] = surface.mesh.positions;
    const home = bodies.find((body) => windingNumber(buildWinding(body.mesh, buildBvh(body.mesh)), x, y, z) > 1 / 2);
    home?.voids.push(surface.k);
  }
  return bodies.map(({ k, voids }) => only(new Set([k, ...voids])));
}

/**
 * Cut a closed, single-precision mesh by every plane in turn, each piece that the plane meets; what falls apart is told
 * apart. Volumes add up to the whole's, up to rounding. O(planes · faces).
 */
export function cutApart(mesh: Mesh, planes: readonly Plane[], tick?: () => void): CutPiece[] {
  let pieces: CutPiece[] = bodiesOf(mesh).map((body) => ({ mesh: body, cuts: [] }));
  for (const [number, plane] of planes.entries()) {
    pieces = pieces.flatMap((piece) => cutOnce(piece, plane, number, tick));
  }
  return pieces;
}

/** Both sides of one piece; the piece itself where the plane misses it. */
export function cutOnce(piece: CutPiece, plane: Plane, number: number, tick?: () => void): CutPiece[] {
  const sides = [true, false].map((ahead) => ({
    ahead,
    cut: cutFlat(piece.mesh, ahead ? plane : flipped(plane), tick),
  }));
  if (sides.some(({ cut }) => cut.loops === 0 || cut.mesh.triangles.length === 0)) return [piece];
  return sides.flatMap(({ ahead, cut }) =>
    bodiesOf(cut.mesh).map((body) => ({ mesh: body, cuts: [...piece.cuts, { plane: number, ahead }] })),
  );
}
