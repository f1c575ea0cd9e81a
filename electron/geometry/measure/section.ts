/** The line in which a plane meets a mesh, as points on its edges joined by segments, and as loops in order. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { Sets } from '../mesh/pieces.ts';
import { cross } from '../mesh/vector.ts';

/** Vertices or faces gone through between two ticks: a few milliseconds. */
const TICK_ITEMS = 24_576;

export interface Section {
  /** xyz triples, one where an edge of the mesh meets the plane. */
  readonly points: readonly number[];
  /** Pairs of point numbers, one for each face met. */
  readonly segments: readonly number[];
  /** Which connected part each point belongs to. */
  readonly parts: Sets;
  /** Unit normal of the plane, and two unit directions in it that make a right-handed frame with it. */
  readonly normal: Vec3;
  readonly u: Vec3;
  readonly v: Vec3;
}

/**
 * The section of a mesh, which may be open. Undefined when the plane misses it. A vertex on the plane counts as above
 * it, so each face is met along two of its edges or not at all. O(faces).
 */
export function sectionOf(mesh: Mesh, plane: Plane, tick?: () => void): Section | undefined {
  const { positions: p, triangles: t } = mesh;
  const size = Math.hypot(...plane.normal);
  const n: Vec3 = [plane.normal[0] / size, plane.normal[1] / size, plane.normal[2] / size];
  const vertexCount = p.length / 3;
  const height = new Float64Array(vertexCount);
  for (let v = 0; v < vertexCount; v++) {
    if (v % TICK_ITEMS === 0) tick?.();
    const h =
      (p[v * 3] - plane.point[0]) * n[0] +
      (p[v * 3 + 1] - plane.point[1]) * n[1] +
      (p[v * 3 + 2] - plane.point[2]) * n[2];
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
  const parts = new Sets(points.length / 3);
  for (let s = 0; s < segments.length; s += 2) parts.join(segments[s], segments[s + 1]);
  const helper: Vec3 = Math.abs(n[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const across = cross(n, helper);
  const width = Math.hypot(...across);
  const u: Vec3 = [across[0] / width, across[1] / width, across[2] / width];
  return { points, segments, parts, normal: n, u, v: cross(n, u) };
}

/** Length of the segments of the parts chosen. */
export function lengthOfParts({ points, segments, parts }: Section, isChosen: (part: number) => boolean): number {
  let sum = 0;
  for (let s = 0; s < segments.length; s += 2) {
    if (!isChosen(parts.find(segments[s]))) continue;
    const a = segments[s] * 3,
      b = segments[s + 1] * 3;
    sum += Math.hypot(points[a] - points[b], points[a + 1] - points[b + 1], points[a + 2] - points[b + 2]);
  }
  return sum;
}

export interface SectionPart {
  readonly part: number;
  /** Points in order along it. */
  readonly points: readonly number[];
  /** The last is joined to the first. */
  readonly isClosed: boolean;
}

/** The parts of a section as lines in order; where more than two segments meet at a point, a line ends. O(segments). */
export function linesOf({ segments, parts, points }: Section): SectionPart[] {
  const at = Array.from({ length: points.length / 3 }, (): number[] => []);
  for (let s = 0; s < segments.length; s++) at[segments[s]].push(s >> 1);
  const done = new Uint8Array(segments.length / 2);
  const lines: SectionPart[] = [];
  const walk = (first: number): void => {
    for (const begin of at[first]) {
      if (done[begin] === 1) continue;
      const line = [first];
      let segment = begin;
      let here = first;
      for (;;) {
        done[segment] = 1;
        here = segments[segment * 2] === here ? segments[segment * 2 + 1] : segments[segment * 2];
        if (here === first) break;
        line.push(here);
        const onward = at[here].find((s) => done[s] === 0);
        if (at[here].length !== 2 || onward === undefined) break;
        segment = onward;
      }
      lines.push({ part: parts.find(first), points: line, isClosed: here === first });
    }
  };
  // Ends first, so that what is left over are loops.
  for (let point = 0; point < at.length; point++) if (at[point].length !== 2) walk(point);
  for (let point = 0; point < at.length; point++) walk(point);
  return lines;
}
