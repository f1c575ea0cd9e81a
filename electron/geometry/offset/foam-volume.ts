/** How much foam lies between a form and its liner. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { findPieces } from '../mesh/pieces.ts';
import { pieceVolumes } from '../mesh/quantities.ts';

/**
 * Between a closed form and the liner round it, mm³; `pocketMm3`: of pockets the foam closed off, which the liner's own
 * volume holds. What a form encloses is filled by no foam: its voids count as form, and what pockets hold beyond
 * them is left out. Where a pocket lies in a void, those elsewhere are counted as foam by no more than the void. O(n).
 */
export function foamVolume(form: Mesh, liner: Mesh, pocketMm3 = 0): number {
  const body = volumesOf(form);
  const round = volumesOf(liner);
  return round.filled - body.filled - Math.max(0, pocketMm3 + round.hollow - body.hollow);
}

/** Of pieces that look outward, and of those that look inward, mm³. */
function volumesOf(mesh: Mesh): { readonly filled: number; readonly hollow: number } {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  const volumes = pieceVolumes(mesh, pieceOfFace, count);
  const sum = (sign: number): number => volumes.reduce((all, one) => all + Math.max(0, sign * one), 0);
  return { filled: sum(1), hollow: sum(-1) };
}
