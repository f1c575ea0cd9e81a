/** A stack whose upper sheets lie only where there is room for them, so that the pad touches evenly. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { clipSurface } from '../flatten/clip-surface.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findPieces } from '../mesh/pieces.ts';
import { areaOf } from '../mesh/quantities.ts';
import { MOST_SHEETS, type FoamSheet, type FoamStack } from './foam-stack.ts';
import { faceMeans, gapFigures } from './gap.ts';

export interface SteppedStack extends FoamStack {
  /** Part of the skin each sheet covers, the first the whole pad. */
  readonly covers: readonly Mesh[];
}

/** A piece of a step smaller than this is left out, mm2 (common practice, no source). */
const LEAST_STEP_MM2 = 400;

const middleOf = (sheet: FoamSheet): number => sheet.thicknessMm * (1 - sheet.compression / 2);

/**
 * From the body outward: the thickest sheet that is not too thick for nine tenths of what is left of the room, then the
 * same where room for another is left. `gapsAt`: room at the vertices of a part of the skin. Undefined when no sheet is
 * thin enough. O(sheets · cost of `gapsAt`).
 */
export function stepLayers(
  stock: readonly FoamSheet[],
  pad: Mesh,
  gapsAt: (part: Mesh) => Float64Array,
): SteppedStack | undefined {
  const thinnest = Math.min(...stock.map(middleOf));
  const sheets: number[] = [];
  const covers: Mesh[] = [];
  const fromGapMm: number[] = [];
  let [freeMm, wornMm] = [0, 0];
  let part = pad;
  while (sheets.length < MOST_SHEETS) {
    const filled = (freeMm + wornMm) / 2;
    // Where less than half a sheet more would fit, none does.
    const from = sheets.length === 0 ? 0 : filled + thinnest / 2;
    if (sheets.length > 0)
      part = largeParts(
        clipSurface(
          part,
          gapsAt(part).map((gap) => (Number.isNaN(gap) ? -thinnest : gap - from)),
        ).mesh,
      );
    const room = gapFigures(faceMeans(part, gapsAt(part)));
    if (room === undefined) break;
    const left = room.p10Mm - filled + thinnest / 2;
    let best = -1;
    for (const [sheet, foam] of stock.entries()) {
      if (middleOf(foam) <= left && (best < 0 || middleOf(foam) > middleOf(stock[best]))) best = sheet;
    }
    if (best < 0) break;
    sheets.push(best);
    covers.push(part);
    fromGapMm.push(from);
    freeMm += stock[best].thicknessMm;
    wornMm += stock[best].thicknessMm * (1 - stock[best].compression);
  }
  return sheets.length === 0 ? undefined : { sheets, covers, fromGapMm, freeMm, wornMm };
}

function largeParts(mesh: Mesh): Mesh {
  const { pieceOfFace, count } = findPieces(mesh.triangles, mesh.positions.length / 3);
  const areas = Array.from({ length: count }, (_, piece) =>
    areaOf(
      keepFaces(
        mesh,
        Uint8Array.from(pieceOfFace, (one) => (one === piece ? 1 : 0)),
      ),
    ),
  );
  return keepFaces(
    mesh,
    Uint8Array.from(pieceOfFace, (one) => (areas[one] >= LEAST_STEP_MM2 ? 1 : 0)),
  );
}
