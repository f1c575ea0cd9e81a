/** Where zones of a form lie, and how far each counts at a point. Pure arithmetic: the screens paint by it too. */
import type { Vec3 } from '../../../shared-types/mesh.ts';

/** Where a zone is. Lengths in mm, in the mesh's own coordinates. */
export type ZoneRegion =
  /** All within a radius of any of the points, measured along the form: height over the form does not count. */
  | { readonly kind: 'spots'; readonly centres: readonly Vec3[]; readonly radiusMm: number }
  | { readonly kind: 'box'; readonly min: Vec3; readonly max: Vec3 }
  /** Directions seen from a centre: turned from forward toward either side, and raised, radians. */
  | {
      readonly kind: 'sector';
      readonly centre: Vec3;
      readonly turn: readonly [number, number];
      readonly rise: readonly [number, number];
    };

export interface Zone {
  readonly name: string;
  readonly region: ZoneRegion;
  /** Room between form and liner: foam as bought less what it is pressed together. */
  readonly thicknessMm: number;
  readonly blendMm: number;
}

const degrees = (from: number, to: number): readonly [number, number] => [(from * Math.PI) / 180, (to * Math.PI) / 180];
/** The head's usual padding places as directions from a point over the origin of the form's frame (common practice, no source). */
export const NAMED_ZONES = {
  brow: { turn: degrees(0, 50), rise: degrees(0, 40) },
  crown: { turn: degrees(0, 180), rise: degrees(55, 90) },
  temples: { turn: degrees(50, 100), rise: degrees(0, 40) },
  'back of head': { turn: degrees(120, 180), rise: degrees(0, 50) },
  nape: { turn: degrees(125, 180), rise: degrees(-60, -10) },
  cheeks: { turn: degrees(25, 80), rise: degrees(-65, -25) },
} as const satisfies Record<string, { turn: readonly [number, number]; rise: readonly [number, number] }>;

export type ZoneName = keyof typeof NAMED_ZONES;

/** Height of that point as a share of the form's height over the origin. */
const CENTRE_SHARE = 0.35;

/** The region of a name, for an upright head form whose highest point is `topMm` over its origin. */
export function namedRegion(name: ZoneName, topMm: number): ZoneRegion {
  return { kind: 'sector', centre: [0, 0, CENTRE_SHARE * topMm], ...NAMED_ZONES[name] };
}

/** Length from the border of a region, mm, positive inside. `heightMm`: of the point over the form. */
export function insideBy(region: ZoneRegion, x: number, y: number, z: number, heightMm: number): number {
  if (region.kind === 'box') {
    const qx = Math.max(region.min[0] - x, x - region.max[0]),
      qy = Math.max(region.min[1] - y, y - region.max[1]),
      qz = Math.max(region.min[2] - z, z - region.max[2]);
    const [ox, oy, oz] = [Math.max(qx, 0), Math.max(qy, 0), Math.max(qz, 0)];
    const out = Math.sqrt(ox * ox + oy * oy + oz * oz);
    return out > 0 ? -out : -Math.max(qx, qy, qz);
  }
  if (region.kind === 'spots') {
    let least = Infinity;
    for (const [cx, cy, cz] of region.centres) least = Math.min(least, (x - cx) ** 2 + (y - cy) ** 2 + (z - cz) ** 2);
    return region.radiusMm - Math.sqrt(Math.max(0, least - heightMm * heightMm));
  }
  const dx = x - region.centre[0],
    dy = y - region.centre[1],
    dz = z - region.centre[2];
  // Zones are asked millions of times in a liner: what is not needed is not worked out.
  const flat = Math.sqrt(dx * dx + dy * dy);
  const radius = Math.sqrt(dx * dx + dy * dy + dz * dz);
  const rise = Math.atan2(dz, flat);
  // A turn is worth less length near the pole; a border at 0 or 180 degrees is none, one at the pole neither.
  const { turn: turns, rise: rises } = region;
  const turn = turns[0] > 0 || turns[1] < Math.PI ? Math.atan2(Math.abs(dy), dx) : 0;
  let inside = Infinity;
  if (turns[0] > 0) inside = Math.min(inside, flat * (turn - turns[0]));
  if (turns[1] < Math.PI) inside = Math.min(inside, flat * (turns[1] - turn));
  if (rises[0] > -Math.PI / 2) inside = Math.min(inside, radius * (rise - rises[0]));
  if (rises[1] < Math.PI / 2) inside = Math.min(inside, radius * (rises[1] - rise));
  return inside;
}

/** How far a zone counts at a point, 0 to 1. */
export function zoneShare(zone: Zone, x: number, y: number, z: number, heightMm: number): number {
  const s = Math.min(1, Math.max(0, insideBy(zone.region, x, y, z, heightMm) / zone.blendMm + 0.5));
  return s * s * (3 - 2 * s);
}

/** Thickness wanted at a point, mm: what there is without zones, each later zone over the earlier. O(zones). */
export function thicknessAt(
  zones: readonly Zone[],
  baseMm: number,
  x: number,
  y: number,
  z: number,
  heightMm: number,
): number {
  let thickness = baseMm;
  for (const zone of zones) thickness += (zone.thicknessMm - thickness) * zoneShare(zone, x, y, z, heightMm);
  return thickness;
}
