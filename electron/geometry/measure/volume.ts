/** Area and volume of a body or of its part above a plane, with what roughness leaves uncertain of them. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { findTwins } from '../mesh/twins.ts';
import { eachKept, heightOver } from './clip-face.ts';
import { surfaceNear } from './end-uncertainty.ts';

export interface AreaAndVolume {
  /** Of the skin, without the cut; square mesh units. */
  readonly area: number;
  /** By how much roughness makes that larger, about. */
  readonly areaExcess: number;
  /** Cubic mesh units; undefined when the surface is open there. */
  readonly volume: number | undefined;
  /** Standard uncertainty by roughness. */
  readonly volumeU: number;
}

/** Vertices at which the surface is asked how rough it is. */
const ASKED = 24;

/**
 * Area of the faces on the side the normal of `above` points to, and the volume between them and the plane; without a
 * plane, of the whole. Undefined when nothing lies there. `tick` is called every few milliseconds. O(faces).
 */
export function areaAndVolume(mesh: Mesh, above?: Plane, tick?: () => void): AreaAndVolume | undefined {
  const { positions: p, triangles: t } = mesh;
  // Seen from a point of the plane the cut has no volume, so it need not be closed.
  const origin: Vec3 = above?.point ?? [p[0], p[1], p[2]];
  let [area, sixfold, faces] = [0, 0, 0];
  eachKept(
    mesh,
    above === undefined ? [] : [above],
    (corners) => {
      faces++;
      const [a] = corners;
      for (let i = 1; i + 1 < corners.length; i++) {
        const [b, c] = [corners[i], corners[i + 1]];
        const ux = b[0] - a[0],
          uy = b[1] - a[1],
          uz = b[2] - a[2];
        const vx = c[0] - a[0],
          vy = c[1] - a[1],
          vz = c[2] - a[2];
        const nx = uy * vz - uz * vy,
          ny = uz * vx - ux * vz,
          nz = ux * vy - uy * vx;
        area += Math.hypot(nx, ny, nz) / 2;
        sixfold += nx * (a[0] - origin[0]) + ny * (a[1] - origin[1]) + nz * (a[2] - origin[2]);
      }
    },
    tick,
  );
  if (faces === 0) return undefined;
  const { twin } = findTwins(t, p.length / 3);
  const vertex = (h: number): Vec3 => [p[t[h] * 3], p[t[h] * 3 + 1], p[t[h] * 3 + 2]];
  const isThere = (at: Vec3): boolean => above === undefined || heightOver(above, at) > 0;
  const isOpen = twin.some(
    (other, h) => other < 0 && (isThere(vertex(h)) || isThere(vertex(h % 3 === 2 ? h - 2 : h + 1))),
  );
  let [rough, steep, asked] = [0, 0, 0];
  const radius = Math.sqrt(area) * NEAR_SHARE;
  for (let k = 0; k < ASKED; k++) {
    const at = vertex(Math.floor((k / ASKED) * (t.length / 3)) * 3);
    if (!isThere(at)) continue;
    const near = surfaceNear(mesh, at, tick, radius);
    if (near === undefined) continue;
    asked++;
    rough += near.roughness;
    steep += 2 * (near.roughness / Math.max(near.spacing, ROUGH_LENGTH_SHARE * radius)) ** 2;
  }
  return {
    area,
    // Waves of standard deviation s and length l have a mean square slope of about 4 s^2 / l^2, half of it in area.
    areaExcess: asked > 0 ? (area * steep) / asked : 0,
    volume: isOpen ? undefined : sixfold / 6,
    // The surface wavers by so much, independently from patch to patch.
    volumeU: asked > 0 ? (rough / asked) * Math.sqrt(area) * radius : 0,
  };
}

/** The surface about a point shows how rough it is within this share of the square root of the area. */
const NEAR_SHARE = 1 / 36;
/** Roughness hangs together over at least this share of that. */
const ROUGH_LENGTH_SHARE = 0.3;
