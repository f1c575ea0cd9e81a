/**
 * The girth a tape reads: the perimeter of the convex hull of the section, because a tape lies taut over hollows
 * (Cauchy: the perimeter is pi times the mean width over all directions).
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { convexHull } from './convex-hull.ts';
import { girthNoise, type GirthNoise } from './girth-noise.ts';
import { lengthOfParts, linesOf, sectionOf, type Section } from './section.ts';

export interface TapeGirth {
  /** Perimeter of the hull, mesh units. */
  readonly length: number;
  /** By how much roughness of the surface makes that longer, and how it scatters; 0 for several parts. */
  readonly roughness: GirthNoise;
  /** Length of the section itself, hollows followed. */
  readonly sectionLength: number;
  /** The tape: corners of the hull in order, in space. */
  readonly tape: Float64Array;
  /** How far the chosen points lie from the tape's section, largest. */
  readonly offMax: number;
}

/** The plane through three points, or undefined when they are in one line. */
export function planeThrough(a: Vec3, b: Vec3, c: Vec3): Plane | undefined {
  const u = b.map((x, k) => x - a[k]),
    v = c.map((x, k) => x - a[k]);
  const normal: Vec3 = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
  const size = Math.hypot(...normal);
  const scale = Math.max(Math.hypot(...u), Math.hypot(...v)) ** 2;
  return size > IN_LINE * scale
    ? { point: a, normal: [normal[0] / size, normal[1] / size, normal[2] / size] }
    : undefined;
}

/** Sine of the angle below which three points count as one line. */
const IN_LINE = 2 ** -20;

/**
 * Girth of the mesh in a plane. Of several separate parts of the section (arms beside a chest, an ear apart from the
 * head) those nearest to `near` are taped together; without points, all. The mesh may be open. Undefined when the
 * plane misses it. `tick` is called every few milliseconds. O(faces + section log section).
 */
export function tapeGirth(
  mesh: Mesh,
  plane: Plane,
  near: readonly Vec3[] = [],
  tick?: () => void,
): TapeGirth | undefined {
  const section = sectionOf(mesh, plane, tick);
  return section === undefined ? undefined : tapeRound(section, plane.point, near);
}

/** The tape round a section already cut; `origin` is any point of its plane. */
export function tapeRound(section: Section, origin: Vec3, near: readonly Vec3[] = []): TapeGirth {
  const { points, segments, parts, u, v } = section;
  const chosen = new Set<number>();
  let offMax = 0;
  for (const q of near) {
    let best = Infinity;
    let part = -1;
    for (let s = 0; s < segments.length; s += 2) {
      const d = toSegment(q, points, segments[s] * 3, segments[s + 1] * 3);
      if (d < best) {
        best = d;
        part = parts.find(segments[s]);
      }
    }
    chosen.add(part);
    offMax = Math.max(offMax, best);
  }
  const isTaken = (part: number): boolean => chosen.size === 0 || chosen.has(part);
  const flatAt = (i: number): { x: number; y: number; at: number } => {
    const d = [0, 1, 2].map((k) => points[i * 3 + k] - origin[k]);
    const along = (way: Vec3): number => d[0] * way[0] + d[1] * way[1] + d[2] * way[2];
    return { x: along(u), y: along(v), at: i * 3 };
  };
  const flat: ReturnType<typeof flatAt>[] = [];
  for (let i = 0; i < points.length / 3; i++) if (isTaken(parts.find(i))) flat.push(flatAt(i));
  const hull = convexHull(flat);
  let length = 0;
  const tape = new Float64Array(hull.length * 3);
  hull.forEach((corner, i) => {
    const next = hull[(i + 1) % hull.length];
    length += Math.hypot(next.x - corner.x, next.y - corner.y);
    for (let k = 0; k < 3; k++) tape[i * 3 + k] = points[corner.at + k];
  });
  const lines = linesOf(section).filter(({ part }) => isTaken(part));
  const [only] = lines;
  const roughness =
    lines.length === 1 && only.isClosed ? girthNoise(only.points.map(flatAt)) : { excess: 0, scatter: 0 };
  return {
    length,
    roughness,
    sectionLength: lengthOfParts(section, isTaken),
    tape,
    offMax,
  };
}

/** Distance from a point to the segment between the points at a and b. */
function toSegment(q: Vec3, points: readonly number[], a: number, b: number): number {
  let along = 0,
    length = 0;
  for (let k = 0; k < 3; k++) {
    const way = points[b + k] - points[a + k];
    along += (q[k] - points[a + k]) * way;
    length += way * way;
  }
  const share = length > 0 ? Math.min(1, Math.max(0, along / length)) : 0;
  const off = [0, 1, 2].map((k) => points[a + k] + share * (points[b + k] - points[a + k]) - q[k]);
  return Math.hypot(off[0], off[1], off[2]);
}
