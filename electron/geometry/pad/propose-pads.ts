/** Where pads go: at the usual places of a head, as far as the part covers them with room for foam. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { clipSurface } from '../flatten/clip-surface.ts';
import { clipToRegion } from '../flatten/patch.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { areaOf, boundsOf } from '../mesh/quantities.ts';
import { namedRegion, type ZoneName } from '../offset/zones.ts';
import { gapsTo, type PartWall } from './gap.ts';
import type { Skin } from './skin.ts';

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
/** Taken for a gap where the part does not cover the skin. */
const UNCOVERED_MM = -4;

/**
 * `skin`: of an upright head form, the part in the same coordinates. Pads of one place larger than the least pad, larger
 * first. O(zones · faces + vertices log faces).
 */
export function proposePads(
  skin: Skin,
  part: PartWall,
  zones: readonly ZoneName[],
  wishes: PadWishes,
  tick: () => void,
): readonly PadPlace[] {
  const topMm = boundsOf(skin.mesh.positions).max[2];
  const found: PadPlace[] = [];
  for (const zone of zones) {
    const place = clipToRegion(skin.mesh, namedRegion(zone, topMm), wishes.insetMm);
    const gaps = gapsTo(part, place, skin.normalsOf(place), 2 * wishes.mostMm, tick);
    const room = gaps.map((gap) =>
      Number.isNaN(gap) ? UNCOVERED_MM : Math.min(gap - wishes.leastMm, wishes.mostMm - gap),
    );
    const { mesh } = clipSurface(place, room);
    const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
    const parts = Array.from({ length: count }, (_, piece) =>
      keepFaces(
        mesh,
        Uint8Array.from(pieceOfFace, (one) => (one === piece ? 1 : 0)),
      ),
    );
    const sized = parts.map((one) => ({ one, area: areaOf(one) })).filter(({ area }) => area >= LEAST_PAD_MM2);
    sized.sort((a, b) => b.area - a.area);
    for (const { one } of sized) found.push({ zone, side: sideOf(one), mesh: one });
  }
  return found;
}

function sideOf({ positions }: Mesh): 'left' | 'right' | undefined {
  const { min, max } = boundsOf(positions);
  if (min[1] > 0) return 'left';
  return max[1] < 0 ? 'right' : undefined;
}
