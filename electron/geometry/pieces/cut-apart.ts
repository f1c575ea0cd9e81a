/** A solid cut by planes into pieces, each closed flat. */
import type { Mesh, Plane } from '../../../shared-types/mesh.ts';
import { findPieces } from '../mesh/pieces.ts';
import { boundsOf, volumeOf } from '../mesh/quantities.ts';
import { cutFlat } from '../offset/cut-flat.ts';
import { buildBvh } from '../spatial/bvh.ts';
import { buildWinding, windingNumber, type WindingTree } from '../spatial/winding.ts';

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
 * Closed connected bodies of a mesh, the smallest first; a surface turned inward is the wall of a void and goes with the
 * smallest body around it (with none around it, it bounds nothing and is left out). O(faces · log faces) and, where
 * there are voids, O(voids · bodies).
 */
export function bodiesOf(mesh: Mesh, tick?: () => void): Mesh[] {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  if (count <= 1) return count === 0 ? [] : [mesh];
  const surfaces = apart(mesh, pieceOfFace, count, tick).map((surface) => ({
    surface,
    volume: volumeOf(surface),
    bounds: boundsOf(surface.positions),
  }));
  const bodies = surfaces
    .filter(({ volume }) => volume > 0)
    .map((one) => ({ ...one, voids: [] as Mesh[], winding: undefined as WindingTree | undefined }))
    .toSorted((a, b) => a.volume - b.volume);
  for (const { surface, volume } of surfaces) {
    if (volume > 0) continue;
    tick?.();
    const at = surface.positions.subarray(0, 3);
    const home = bodies.find((body) => {
      const { min, max } = body.bounds;
      if (at.some((c, k) => c < min[k] || c > max[k])) return false;
      body.winding ??= buildWinding(body.surface, buildBvh(body.surface, tick), tick);
      return windingNumber(body.winding, at[0], at[1], at[2]) > 1 / 2;
    });
    home?.voids.push(surface);
  }
  return bodies.map(({ surface, voids }) => (voids.length === 0 ? surface : together([surface, ...voids])));
}

/** The surfaces that share no vertex, each as a mesh of its own. O(faces). */
function apart(mesh: Mesh, pieceOfFace: Uint32Array, count: number, tick?: () => void): Mesh[] {
  const corners = new Uint32Array(count);
  for (const piece of pieceOfFace) corners[piece] += 3;
  const triangles = Array.from(corners, (length) => new Uint32Array(length));
  const positions = Array.from({ length: count }, () => [] as number[]);
  const number = new Int32Array(mesh.positions.length / 3).fill(-1);
  const filled = new Uint32Array(count);
  for (const [face, piece] of pieceOfFace.entries()) {
    if (face % TICK_FACES === 0) tick?.();
    for (let k = 0; k < 3; k++) {
      const v = mesh.triangles[3 * face + k];
      if (number[v] < 0) {
        number[v] = positions[piece].length / 3;
        positions[piece].push(mesh.positions[3 * v], mesh.positions[3 * v + 1], mesh.positions[3 * v + 2]);
      }
      triangles[piece][filled[piece]++] = number[v];
    }
  }
  return positions.map((p, k) => ({ positions: Float64Array.from(p), triangles: triangles[k] }));
}

/** Faces gone through between two ticks: a few milliseconds. */
const TICK_FACES = 32_768;

function together(surfaces: readonly Mesh[]): Mesh {
  const positions = new Float64Array(surfaces.reduce((sum, one) => sum + one.positions.length, 0));
  const triangles = new Uint32Array(surfaces.reduce((sum, one) => sum + one.triangles.length, 0));
  let [p, t] = [0, 0];
  for (const one of surfaces) {
    positions.set(one.positions, p);
    triangles.set(
      one.triangles.map((v) => v + p / 3),
      t,
    );
    p += one.positions.length;
    t += one.triangles.length;
  }
  return { positions, triangles };
}

/**
 * Cut a closed, single-precision mesh by every plane in turn, each piece that the plane meets; what falls apart is told
 * apart. Volumes add up to the whole's, up to rounding. O(planes · faces).
 */
export function cutApart(mesh: Mesh, planes: readonly Plane[], tick?: () => void): CutPiece[] {
  return cutBodies(bodiesOf(mesh, tick), planes, tick);
}

/** The same of bodies that have been told apart. */
export function cutBodies(bodies: readonly Mesh[], planes: readonly Plane[], tick?: () => void): CutPiece[] {
  let pieces: CutPiece[] = bodies.map((body) => ({ mesh: body, cuts: [] }));
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
    bodiesOf(cut.mesh, tick).map((body) => ({ mesh: body, cuts: [...piece.cuts, { plane: number, ahead }] })),
  );
}
