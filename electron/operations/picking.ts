/** What it does to a length that nobody picks a point on the skin twice in the same place. */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { surfaceNear } from '../geometry/measure/end-uncertainty.ts';
import { planeThrough, tapeGirth } from '../geometry/measure/girth.ts';

/** Share of an arc's length over which the direction in which it sets out from a point is taken. */
const OUTSET_SHARE = 0.03;

const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
function unit(a: Vec3): Vec3 {
  const size = Math.hypot(...a) || 1;
  return [a[0] / size, a[1] / size, a[2] / size];
}

/** What is left of a direction along the skin at a point: a picked point slides on the skin, it does not leave it. */
function alongSkin(mesh: Mesh, at: Vec3, way: Vec3, tick?: () => void): number {
  const near = surfaceNear(mesh, at, tick);
  const facing = near === undefined ? 0 : dot(near.normal, way);
  return Math.sqrt(Math.max(0, 1 - facing * facing));
}

/** Standard uncertainty of the span a to b when each end slides on the skin by `pick` (one standard deviation). */
export function spanPickU(mesh: Mesh, a: Vec3, b: Vec3, pick: number, tick?: () => void): number {
  const way = unit(minus(b, a));
  return pick * Math.hypot(alongSkin(mesh, a, way, tick), alongSkin(mesh, b, way, tick));
}

/**
 * Of a girth through three points: the plane tilts as each of them is picked higher or lower, and the tape is laid
 * again; the three changes add as independent. 0 where the points have no plane.
 */
export function girthPickU(mesh: Mesh, points: readonly [Vec3, Vec3, Vec3], pick: number, tick?: () => void): number {
  const plane = planeThrough(...points);
  const girth = plane === undefined ? undefined : tapeGirth(mesh, plane, points, tick);
  if (plane === undefined || girth === undefined || pick === 0) return 0;
  const changes = points.map((_, moved) => {
    const tilted = points.map((p, i) =>
      i === moved ? (p.map((x, k) => x + pick * plane.normal[k]) as unknown as Vec3) : p,
    ) as unknown as [Vec3, Vec3, Vec3];
    const other = planeThrough(...tilted);
    const taken = other === undefined ? undefined : tapeGirth(mesh, other, tilted, tick);
    return taken === undefined ? 0 : taken.length - girth.length;
  });
  return Math.hypot(...changes);
}

/**
 * Of an arc (its line as xyz triples, the places of its points along it given as those points): an end picked farther on
 * lengthens it by as much, a point between two legs only as far as the tape turns there.
 */
export function arcPickU(line: Float64Array, points: readonly Vec3[], length: number, pick: number): number {
  let sum = 0;
  for (const point of points) {
    const pulls = outsets(line, point, OUTSET_SHARE * length);
    const pull: Vec3 = [0, 1, 2].map((k) => pulls.reduce((total, way) => total + way[k], 0)) as unknown as Vec3;
    sum += dot(pull, pull);
  }
  return pick * Math.sqrt(sum);
}

/** Unit directions in which the line sets out from the place of it nearest to `point`: two, or one at an end. */
function outsets(line: Float64Array, point: Vec3, reach: number): Vec3[] {
  const at = (i: number): Vec3 => [line[i * 3], line[i * 3 + 1], line[i * 3 + 2]];
  const count = line.length / 3;
  const far = (i: number): number => Math.hypot(...minus(at(i), point));
  let here = 0;
  for (let i = 1; i < count; i++) if (far(i) < far(here)) here = i;
  return [-1, 1].flatMap((step) => {
    let i = here;
    while (i + step >= 0 && i + step < count && far(i) < reach) i += step;
    const way = minus(at(i), at(here));
    return Math.hypot(...way) > reach / 2 ? [unit(way)] : [];
  });
}
