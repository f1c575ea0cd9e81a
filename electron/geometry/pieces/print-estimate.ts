/** Mass and time of a printed piece, by plain assumptions that are given back with the figures. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { areaOf, volumeOf } from '../mesh/quantities.ts';

export interface PrintAssumptions {
  /** Of the printed material, g/cm³. */
  readonly densityGCm3: number;
  /** Thickness of the solid skin, mm. */
  readonly skinMm: number;
  /** Share of the inside that is filled. */
  readonly infill: number;
  /** Material laid down while printing, with all moves in between, mm³/s. */
  readonly flowMm3S: number;
}

export interface PrintEstimate {
  readonly massG: number;
  readonly hours: number;
  /** Material laid down, mm³. */
  readonly materialMm3: number;
}

/**
 * A skin all round and a share of what is left inside: an upper bound where the skins of two sides meet, since no more
 * than the whole is counted. Supports are not counted. O(faces).
 */
export function estimatePrint(mesh: Mesh, { densityGCm3, skinMm, infill, flowMm3S }: PrintAssumptions): PrintEstimate {
  const volume = volumeOf(mesh);
  const skin = Math.min(volume, areaOf(mesh) * skinMm);
  const materialMm3 = skin + infill * (volume - skin);
  return { massG: (materialMm3 / 1000) * densityGCm3, hours: materialMm3 / flowMm3S / 3600, materialMm3 };
}
