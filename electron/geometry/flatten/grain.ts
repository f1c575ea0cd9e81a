/** Which way a direction on the body points on a flat piece. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { faceMap, faceMapOut, flatFrame } from './flat-frame.ts';
import type { FlatPiece } from './lay-flat.ts';

/**
 * Mean direction in the sheet, of length 1 at most: short when the direction stands off the surface or turns over it.
 * O(faces).
 */
export function directionInFlat(piece: FlatPiece, direction: Vec3): readonly [number, number] {
  const { positions: p, triangles: t } = piece.mesh;
  const frame = flatFrame(piece.mesh);
  let u = 0,
    v = 0,
    total = 0;
  for (let f = 0; f < t.length; f += 3) {
    const area = frame.area[f / 3];
    if (area === 0) continue;
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const edge = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const length = Math.hypot(...edge);
    const x = edge.map((one) => one / length);
    const other = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const along = other.reduce((sum, one, k) => sum + one * x[k], 0);
    const across = other.map((one, k) => one - along * x[k]);
    const height = Math.hypot(...across);
    const dx = direction.reduce((sum, one, k) => sum + one * x[k], 0);
    const dy = direction.reduce((sum, one, k) => sum + (one * across[k]) / height, 0);
    faceMap(frame, piece.flat, f);
    u += area * (faceMapOut.a * dx + faceMapOut.b * dy);
    v += area * (faceMapOut.c * dx + faceMapOut.d * dy);
    total += area;
  }
  return total > 0 ? [u / total, v / total] : [0, 0];
}
