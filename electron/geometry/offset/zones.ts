/**
 * Foam whose thickness differs from place to place. The thickness is a function of space, so that it is the same
 * whichever way a point is reached: a point of the liner lies as far from the form as the thickness is at that point.
 *
 * A zone counts fully more than half its blend inside its border, not at all more than half outside, and passes over
 * by a smooth step (3 s² - 2 s³) between. Where zones overlap the later one lies over the earlier.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { thicknessAt, zoneShare, type Zone } from '../measure/zone-share.ts';
import { boxOver, type Bounds } from '../mesh/quantities.ts';
import { SignedField } from './signed-field.ts';

export { NAMED_ZONES, insideBy, namedRegion, zoneShare } from '../measure/zone-share.ts';
export type { Zone, ZoneName, ZoneRegion } from '../measure/zone-share.ts';

/**
 * Signed distance to a form less what the thickness there is above `baseMm`: its level surface at `baseMm` (or
 * `baseMm` and a constant) is the liner with zones. The foot given lies on the line to the true foot, as far away as
 * the value says, so that whoever follows the level surface sees a plain distance. O(log n + zones) a query.
 */
export class ZonedField extends SignedField {
  readonly zones: readonly Zone[];
  readonly baseMm: number;
  /** Largest difference of a zone's thickness, mm. */
  readonly mostMm: number;
  /** At the last query: the height over the form the zones were asked with, mm; where hollows are bridged, over that body. */
  heightMm = 0;
  /** What asked for the room at the last query: -1 the seated body, -2 its way in, else a keep-out's number (roomy-field.ts). */
  asker = -1;

  constructor(mesh: Mesh, baseMm: number, zones: readonly Zone[], tick?: () => void, like?: SignedField) {
    super(mesh, tick, like);
    this.zones = zones;
    this.baseMm = baseMm;
    this.mostMm = zones.reduce((most, zone) => Math.max(most, Math.abs(zone.thicknessMm - baseMm)), 0);
  }

  override get isPlain(): boolean {
    return false;
  }

  override get box(): Bounds {
    return boxOver(super.box, super.box, this.mostMm);
  }

  override shift(x: number, y: number, z: number, heightMm: number): number {
    return thicknessAt(this.zones, this.baseMm, x, y, z, heightMm) - this.baseMm;
  }

  override at(x: number, y: number, z: number, within = Infinity): number {
    const distance = super.at(x, y, z, within + this.mostMm);
    this.heightMm = distance;
    const shift = this.shift(x, y, z, distance);
    if (shift === 0 || distance === 0) return distance;
    const value = distance - shift;
    const by = value / distance;
    this.x = x - (x - this.x) * by;
    this.y = y - (y - this.y) * by;
    this.z = z - (z - this.z) * by;
    this.distance = value;
    return value;
  }
}

export interface ZoneEvidence {
  readonly name: string;
  readonly thicknessMm: number;
  /**
   * Distance of the liner from the form where the zone counts fully and nothing but the seated body asks for room, sampled at
   * face middles; 0 samples when nowhere.
   */
  readonly samples: number;
  readonly minMm: number;
  readonly maxMm: number;
  readonly meanMm: number;
  readonly areaMm2: number;
  /** Between form and liner there. */
  readonly volumeMm3: number;
}

/** A zone that counts at least this much counts fully, unless a later one lies over it. */
const FULLY = 0.999;

/** What each zone of the field reached on a liner made from it. O(faces (log n + zones)). */
export function measureZones(field: ZonedField, liner: Mesh, tick: () => void): readonly ZoneEvidence[] {
  const { positions: p, triangles: t } = liner;
  const { zones } = field;
  const found = zones.map(() => ({
    samples: 0,
    minMm: Infinity,
    maxMm: -Infinity,
    sum: 0,
    areaMm2: 0,
    volumeMm3: 0,
  }));
  for (let h = 0; h < t.length; h += 3) {
    if (h % 3072 === 0) tick();
    const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
    const x = (p[a] + p[b] + p[c]) / 3,
      y = (p[a + 1] + p[b + 1] + p[c + 1]) / 3,
      z = (p[a + 2] + p[b + 2] + p[c + 2]) / 3;
    field.at(x, y, z);
    // What stands off for the way in, or for a volume left free, is no foam.
    if (field.asker !== -1) continue;
    let which = -1;
    for (let i = zones.length - 1; i >= 0; i--) {
      const share = zoneShare(zones[i], x, y, z, field.heightMm);
      if (share >= FULLY) which = i;
      if (share > 1 - FULLY) break;
    }
    if (which < 0) continue;
    const one = found[which];
    const ux = p[b] - p[a],
      uy = p[b + 1] - p[a + 1],
      uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a],
      vy = p[c + 1] - p[a + 1],
      vz = p[c + 2] - p[a + 2];
    one.samples++;
    one.sum += field.formMm;
    one.minMm = Math.min(one.minMm, field.formMm);
    one.maxMm = Math.max(one.maxMm, field.formMm);
    one.areaMm2 += Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx) / 2;
    one.volumeMm3 += volumeUnder(field, p, a, b, c);
  }
  return found.map(({ samples, minMm, maxMm, sum, areaMm2, volumeMm3 }, i) => ({
    name: zones[i].name,
    thicknessMm: zones[i].thicknessMm,
    samples,
    minMm: samples === 0 ? 0 : minMm,
    maxMm: samples === 0 ? 0 : maxMm,
    meanMm: samples === 0 ? 0 : sum / samples,
    areaMm2,
    volumeMm3,
  }));
}

/** Volume between a face of the liner and the feet of its corners on the form, as three tetrahedra. */
function volumeUnder(field: ZonedField, p: Float64Array, a: number, b: number, c: number): number {
  const at = [a, b, c].map((v) => {
    field.formAt(p[v], p[v + 1], p[v + 2]);
    return [p[v], p[v + 1], p[v + 2], field.x, field.y, field.z];
  });
  const [[ax, ay, az, dx, dy, dz], [bx, by, bz, ex, ey, ez], [cx, cy, cz, fx, fy, fz]] = at;
  const tetrahedron = (u: readonly number[], v: readonly number[], w: readonly number[]): number =>
    (u[0] * (v[1] * w[2] - v[2] * w[1]) + u[1] * (v[2] * w[0] - v[0] * w[2]) + u[2] * (v[0] * w[1] - v[1] * w[0])) / 6;
  const from = (x: number, y: number, z: number): number[] => [x - dx, y - dy, z - dz];
  return Math.abs(
    tetrahedron(from(ax, ay, az), from(bx, by, bz), from(cx, cy, cz)) +
      tetrahedron(from(ex, ey, ez), from(cx, cy, cz), from(bx, by, bz)) +
      tetrahedron(from(ex, ey, ez), from(fx, fy, fz), from(cx, cy, cz)),
  );
}
