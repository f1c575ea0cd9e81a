/** Where pads go: at the usual places of a head, as far as the part covers them with room for foam. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { clipSurface } from '../flatten/clip-surface.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { areaOf, boundsOf } from '../mesh/quantities.ts';
import { insideBy, namedRegion, type ZoneName } from '../offset/zones.ts';

export interface PadPlace {
  readonly zone: ZoneName;
  /** For places that come in pairs. */
  readonly side: 'left' | 'right' | undefined;
  /** Part of the skin. */
  readonly mesh: Mesh;
}

export interface PadWishes {
  /** Gaps a pad may fill, mm. */
  readonly leastMm: number;
  readonly mostMm: number;
  /** How far a pad stays within its place, so that pads do not meet, mm. */
  readonly insetMm: number;
}

/** A pad smaller than this is none, mm2 (common practice, no source). */
const LEAST_PAD_MM2 = 600;
/** A millimetre of gap too many or too few counts as so many of place: the border follows the gap where that decides. */
const GAP_WEIGHT = 2;
/** Taken for a gap where the part does not cover the skin. */
const UNCOVERED_MM = -4;

/**
 * `skin`: surface of an upright head form; `gap`: per vertex as from `gapsTo`. Pads of one place larger than the least
 * pad, larger first. O(zones · faces).
 */
export function proposePads(
  skin: Mesh,
  gap: Float64Array,
  zones: readonly ZoneName[],
  wishes: PadWishes,
): readonly PadPlace[] {
  const p = skin.positions;
  const topMm = boundsOf(p).max[2];
  const found: PadPlace[] = [];
  for (const zone of zones) {
    const region = namedRegion(zone, topMm);
    const values = Float64Array.from(gap, (here, v) => {
      const room = Number.isNaN(here)
        ? UNCOVERED_MM
        : Math.min(here - wishes.leastMm, wishes.mostMm - here) * GAP_WEIGHT;
      return Math.min(insideBy(region, p[v * 3], p[v * 3 + 1], p[v * 3 + 2], 0) - wishes.insetMm, room);
    });
    const { mesh } = clipSurface(skin, values);
    const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
    const parts = Array.from({ length: count }, (_, piece) =>
      keepFaces(
        mesh,
        Uint8Array.from(pieceOfFace, (one) => (one === piece ? 1 : 0)),
      ),
    );
    const sized = parts.map((part) => ({ part, area: areaOf(part) })).filter(({ area }) => area >= LEAST_PAD_MM2);
    sized.sort((a, b) => b.area - a.area);
    for (const { part } of sized) found.push({ zone, side: sideOf(part), mesh: part });
  }
  return found;
}

function sideOf({ positions }: Mesh): 'left' | 'right' | undefined {
  const { min, max } = boundsOf(positions);
  if (min[1] > 0) return 'left';
  return max[1] < 0 ? 'right' : undefined;
}
