/** How a piece lies on a print bed: flat side down if it has one that fits, turned to need the least room. */
import type { Matrix4, Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { areaOf, boundsOf } from '../mesh/quantities.ts';
import { IDENTITY, multiply, transformMesh, translation } from '../mesh/transform.ts';
import { keepFaces } from '../mesh/compact.ts';
import { findCap } from './cap.ts';
import { unit } from '../mesh/vector.ts';

/** Room of the printer, mm. */
export type Bed = readonly [width: number, depth: number, height: number];

export interface Laid {
  /** From the piece's coordinates to the bed's: centred on it, lowest point at 0. */
  readonly matrix: Matrix4;
  /** Room it takes there, mm. */
  readonly size: Vec3;
  /** Area lying on the bed, mm²; 0 when no flat side is down. */
  readonly flatMm2: number;
  readonly fits: boolean;
}

/** Steps by which a piece is turned about the upright, degrees. */
const TURN_DEG = 3;

/**
 * The best way to lay a piece: among its flat faces (the planes given, normals into the piece) the largest that lets it
 * fit lies down; without one it stands as it is, or on its side. O(flat faces · vertices · turns).
 */
export function layDown(mesh: Mesh, flats: readonly Plane[], bed: Bed, tick?: () => void): Laid {
  const downs = flats
    .map((plane) => ({ up: unit(plane.normal), flatMm2: capArea(mesh, plane, tick) }))
    .filter(({ flatMm2 }) => flatMm2 > 0)
    .toSorted((a, b) => b.flatMm2 - a.flatMm2);
  const asItIs: Vec3[] = [
    [0, 0, 1],
    [1, 0, 0],
    [0, 1, 0],
  ];
  let first: Laid | undefined;
  for (const { up, flatMm2 } of [...downs, ...asItIs.map((way) => ({ up: way, flatMm2: 0 }))]) {
    const laid = turned(mesh, uprightFrom(up), flatMm2, bed, tick);
    if (laid.fits) return laid;
    first ??= laid;
  }
  return first as Laid;
}

function capArea(mesh: Mesh, plane: Plane, tick?: () => void): number {
  tick?.();
  const { faces } = findCap(mesh, plane);
  return faces.includes(1) ? areaOf(keepFaces(mesh, faces)) : 0;
}

/** A turn that takes `up` to z. */
function uprightFrom([x, y, z]: Vec3): Matrix4 {
  if (z > 1 - 2 ** -20) return IDENTITY;
  if (z < -1 + 2 ** -20) return [1, 0, 0, 0, 0, -1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1];
  // Rodrigues' turn about up × z.
  const k = 1 / (1 + z);
  return [1 - k * x * x, -k * x * y, -x, 0, -k * x * y, 1 - k * y * y, -y, 0, x, y, z, 0, 0, 0, 0, 1];
}

function turned(mesh: Mesh, upright: Matrix4, flatMm2: number, bed: Bed, tick?: () => void): Laid {
  const { positions: p } = transformMesh(upright, mesh);
  let best: { size: Vec3; turn: Matrix4; over: number; room: number } | undefined;
  for (let degrees = 0; degrees < 180; degrees += TURN_DEG) {
    tick?.();
    const angle = (degrees * Math.PI) / 180;
    const turn = aboutUpright(angle);
    const { min, max } = boundsAfter(p, angle);
    const size: Vec3 = [max[0] - min[0], max[1] - min[1], max[2] - min[2]];
    const over = Math.max(size[0] - bed[0], size[1] - bed[1], size[2] - bed[2], 0);
    const room = size[0] * size[1];
    // Turned by nothing unless something is gained: the eye finds its way more easily.
    if (best === undefined || over < best.over || (over === best.over && room < 0.98 * best.room)) {
      best = { size, turn, over, room };
    }
  }
  if (best === undefined) throw new Error('no turn was tried');
  const whole = multiply(best.turn, upright);
  const { min, max } = boundsOf(transformMesh(whole, mesh).positions);
  const shift = translation([-(min[0] + max[0]) / 2, -(min[1] + max[1]) / 2, -min[2]]);
  return { matrix: multiply(shift, whole), size: best.size, flatMm2, fits: best.over === 0 };
}

function aboutUpright(angle: number): Matrix4 {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [c, -s, 0, 0, s, c, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
}

function boundsAfter(p: Float64Array, angle: number): { min: number[]; max: number[] } {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  let [left, near, low] = [Infinity, Infinity, Infinity];
  let [right, far, high] = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < p.length; i += 3) {
    const x = c * p[i] - s * p[i + 1],
      y = s * p[i] + c * p[i + 1],
      z = p[i + 2];
    if (x < left) left = x;
    if (x > right) right = x;
    if (y < near) near = y;
    if (y > far) far = y;
    if (z < low) low = z;
    if (z > high) high = z;
  }
  return { min: [left, near, low], max: [right, far, high] };
}
