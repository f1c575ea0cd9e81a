/** Where the pieces of a split solid belong, and how far out they are shown. */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf } from '../../../electron/geometry/mesh/quantities.ts';
import { invert, transformPoint } from '../../../electron/geometry/mesh/transform.ts';

export interface Piece {
  readonly number: number;
  readonly mesh: { readonly positions: Float32Array; readonly triangles: Uint32Array };
  /** From the bed back to its place on the whole. */
  readonly home: Matrix4;
  /** Middle of it there. */
  readonly middle: Vec3;
}

export function homeOf(number: number, mesh: Piece['mesh'], placement: readonly number[]): Piece {
  const home = invert(placement as unknown as Matrix4);
  const { min, max } = boundsOf(Float64Array.from(mesh.positions));
  const middle = transformPoint(home, [0, 1, 2].map((k) => (min[k] + max[k]) / 2) as unknown as Vec3);
  return { number, mesh, home, middle };
}

export function middleOf(pieces: readonly Piece[]): Vec3 {
  return [0, 1, 2].map(
    (k) => pieces.reduce((sum, { middle }) => sum + middle[k], 0) / pieces.length,
  ) as unknown as Vec3;
}

/** The piece at its place, moved straight out from the middle of all by a share of its distance. */
export function apart({ home, middle }: Piece, whole: Vec3, share: number): Matrix4 {
  const moved = [...home];
  for (let k = 0; k < 3; k++) moved[4 * k + 3] += share * (middle[k] - whole[k]);
  return moved as unknown as Matrix4;
}
