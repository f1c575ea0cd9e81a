/**
 * The girth a tape reads: the perimeter of the convex hull of the section, because a tape lies taut over hollows
 * (Cauchy: the perimeter is pi times the mean width over all directions).
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { Sets } from '../mesh/pieces.ts';

export interface TapeGirth {
  /** Perimeter of the hull, mesh units. */
  readonly length: number;
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

/** Vertices or faces gone through between two ticks: a few milliseconds. */
const TICK_ITEMS = 24_576;
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
  const { positions: p, triangles: t } = mesh;
  const size = Math.hypot(...plane.normal);
  const n = plane.normal.map((x) => x / size);
  const vertexCount = p.length / 3;
  const height = new Float64Array(vertexCount);
  for (let v = 0; v < vertexCount; v++) {
    if (v % TICK_ITEMS === 0) tick?.();
    const h =
      (p[v * 3] - plane.point[0]) * n[0] +
      (p[v * 3 + 1] - plane.point[1]) * n[1] +
      (p[v * 3 + 2] - plane.point[2]) * n[2];
    // A vertex on the plane counts as above it: then each face is met along two of its edges or not at all.
    height[v] = h === 0 ? Number.MIN_VALUE : h;
  }
  const numberOfEdge = new Map<number, number>();
  const points: number[] = [];
  const segments: number[] = [];
  const pointOn = (a: number, b: number): number => {
    const low = Math.min(a, b),
      high = Math.max(a, b);
    const key = low * vertexCount + high;
    let number = numberOfEdge.get(key);
    if (number === undefined) {
      number = points.length / 3;
      numberOfEdge.set(key, number);
      const s = height[low] / (height[low] - height[high]);
      for (let k = 0; k < 3; k++) points.push(p[low * 3 + k] + s * (p[high * 3 + k] - p[low * 3 + k]));
    }
    return number;
  };
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * TICK_ITEMS) === 0) tick?.();
    const a = t[f],
      b = t[f + 1],
      c = t[f + 2];
    const above = (height[a] > 0 ? 1 : 0) + (height[b] > 0 ? 2 : 0) + (height[c] > 0 ? 4 : 0);
    if (above === 0 || above === 7) continue;
    if (above === 1 || above === 6) segments.push(pointOn(a, b), pointOn(a, c));
    else if (above === 2 || above === 5) segments.push(pointOn(b, a), pointOn(b, c));
    else segments.push(pointOn(c, a), pointOn(c, b));
  }
  if (segments.length === 0) return undefined;
  const sets = new Sets(points.length / 3);
  for (let s = 0; s < segments.length; s += 2) sets.join(segments[s], segments[s + 1]);
  const chosen = new Set<number>();
  let offMax = 0;
  for (const q of near) {
    let best = Infinity;
    let part = -1;
    for (let s = 0; s < segments.length; s += 2) {
      const d = toSegment(q, points, segments[s] * 3, segments[s + 1] * 3);
      if (d < best) {
        best = d;
        part = sets.find(segments[s]);
      }
    }
    chosen.add(part);
    offMax = Math.max(offMax, best);
  }
  const taken = (i: number): boolean => chosen.size === 0 || chosen.has(sets.find(i));
  let sectionLength = 0;
  for (let s = 0; s < segments.length; s += 2) {
    if (!taken(segments[s])) continue;
    const a = segments[s] * 3,
      b = segments[s + 1] * 3;
    sectionLength += Math.hypot(points[a] - points[b], points[a + 1] - points[b + 1], points[a + 2] - points[b + 2]);
  }
  const helper = Math.abs(n[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  let u = [
    n[1] * helper[2] - n[2] * helper[1],
    n[2] * helper[0] - n[0] * helper[2],
    n[0] * helper[1] - n[1] * helper[0],
  ];
  const uSize = Math.hypot(...u);
  u = u.map((x) => x / uSize);
  const v = [n[1] * u[2] - n[2] * u[1], n[2] * u[0] - n[0] * u[2], n[0] * u[1] - n[1] * u[0]];
  const flat: { x: number; y: number; at: number }[] = [];
  for (let i = 0; i < points.length; i += 3) {
    if (!taken(i / 3)) continue;
    const d = [0, 1, 2].map((k) => points[i + k] - plane.point[k]);
    flat.push({ x: d[0] * u[0] + d[1] * u[1] + d[2] * u[2], y: d[0] * v[0] + d[1] * v[1] + d[2] * v[2], at: i });
  }
  const hull = convexHull(flat);
  let length = 0;
  const tape = new Float64Array(hull.length * 3);
  hull.forEach((corner, i) => {
    const next = hull[(i + 1) % hull.length];
    length += Math.hypot(next.x - corner.x, next.y - corner.y);
    for (let k = 0; k < 3; k++) tape[i * 3 + k] = points[corner.at + k];
  });
  return { length, sectionLength, tape, offMax };
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

/** Corners of the convex hull, counter-clockwise (monotone chain, Andrew 1979). O(n log n). */
export function convexHull<P extends { readonly x: number; readonly y: number }>(points: readonly P[]): P[] {
  const sorted = points.toSorted((a, b) => a.x - b.x || a.y - b.y);
  if (sorted.length < 3) return sorted;
  const half = (list: readonly P[]): P[] => {
    const chain: P[] = [];
    for (const q of list) {
      while (chain.length >= 2) {
        const a = chain[chain.length - 2],
          b = chain[chain.length - 1];
        if ((b.x - a.x) * (q.y - a.y) - (b.y - a.y) * (q.x - a.x) > 0) break;
        chain.pop();
      }
      chain.push(q);
    }
    chain.pop();
    return chain;
  };
  return [...half(sorted), ...half(sorted.toReversed())];
}
