/** Mass of a part on the head and how far forward it pulls. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { areaOf, volumeOf } from '../mesh/quantities.ts';

export interface HeadLoad {
  readonly massG: number;
  /** Centre of mass in the form's frame, mm. */
  readonly centre: Vec3;
  /** Turning moment about the axis through both tragions, N·cm; forward is positive. */
  readonly momentNCm: number;
}

const GRAVITY_M_S2 = 9.81;

/**
 * A closed part of one material throughout, or a sheet `wallMm` thick. The density is per cubic centimetre. The axis of
 * the tragions stands for the joint between skull and neck, which lies some 20 mm below and a little behind: so far the
 * figure is a comparison between parts, not a load on a neck. O(faces).
 */
export function headLoad(part: Mesh, closed: boolean, wallMm: number, densityGCm3: number): HeadLoad {
  const { positions: p, triangles: t } = part;
  const sum = [0, 0, 0];
  let weight = 0;
  for (let f = 0; f < t.length; f += 3) {
    const [a, b, c] = [3 * t[f], 3 * t[f + 1], 3 * t[f + 2]];
    // Tetrahedra from the origin for a solid, faces for a sheet.
    const share = closed
      ? (p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1]) +
          p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2]) +
          p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c])) /
        6
      : faceCross(p, t, f) / 2;
    weight += share;
    for (let k = 0; k < 3; k++) sum[k] += (share * (p[a + k] + p[b + k] + p[c + k])) / (closed ? 4 : 3);
  }
  const centre = sum.map((x) => x / weight) as unknown as Vec3;
  const volumeMm3 = closed ? volumeOf(part) : areaOf(part) * wallMm;
  const massG = (volumeMm3 / 1000) * densityGCm3;
  return { massG, centre, momentNCm: (massG / 1000) * GRAVITY_M_S2 * (centre[0] / 10) };
}
