/** A closed line laid on a surface: which edges it crosses, and where. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { LeastFirst } from '../measure/least-first.ts';
import { nextHalfedge, OPEN } from '../mesh/twins.ts';
import { cross, dot } from '../mesh/vector.ts';
import { findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';

export interface TracedLine {
  /** Half-edges the line leaves a face by, in order; no edge twice. Their start lies on its right, their end on its left. */
  readonly halfedges: readonly number[];
  /** Where on each, as a share of it from its start. */
  readonly shares: readonly number[];
  /** Where along the line each is, as a share of it. */
  readonly along: readonly number[];
  /** The line itself: these places, and those of the points between them. */
  readonly places: readonly Vec3[];
}

/** Faces passed between two points of the line, and how far past the second, at most: beyond, the second is passed over. */
const MOST_FACES = 200;
const PAST_MM = 2;
/** So many points in a row may be passed over, besides those that are one with the last, before a way round is sought. */
const MOST_PASSED = 6;
const SAME_MM = 0.2;
/** A way round passes so many faces at most. */
const MOST_SOUGHT = 20_000;
/** Two points whose way is nearer to the surface's normal than this (as a sine) show no way along it. */
const LEAST_SLANT = 0.05;
/** Places tried to begin at. */
const STARTS = 5;

/**
 * Follow a closed line of points that lie on a closed surface, from each to the next straight as seen along the normals
 * of their faces. Loops the line makes are left out, so it meets no edge twice. Undefined where the way is lost, or
 * where nothing is left of it. O(points · (log n + faces between)).
 */
export function traceLine(
  { mesh, tree }: { readonly mesh: Mesh; readonly tree: Bvh },
  twin: Int32Array,
  points: Float64Array,
): TracedLine | undefined {
  const count = points.length / 3;
  const slot = nearestSlot();
  const places = new Float64Array(points.length);
  const faces = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    findNearest(tree, points[i * 3], points[i * 3 + 1], points[i * 3 + 2], slot);
    places.set([slot.x, slot.y, slot.z], i * 3);
    faces[i] = slot.face;
  }
  for (let start = 0; start < STARTS; start++) {
    const first = Math.floor((count * start) / STARTS);
    const way = walkRound(mesh, twin, places, faces, first);
    const simple = way === undefined ? undefined : withoutLoops(way, twin);
    if (simple !== undefined && simple.halfedges.length > 2 && isChain(simple.halfedges, twin)) {
      return { ...simple, along: alongOf(simple.after, count), places: withPoints(mesh, twin, simple, places, faces) };
    }
  }
  return undefined;
}

interface Way {
  readonly halfedges: number[];
  readonly shares: number[];
  /** The point each edge was crossed after. */
  readonly after: number[];
}

function walkRound(
  mesh: Mesh,
  twin: Int32Array,
  places: Float64Array,
  faces: Int32Array,
  first: number,
): Way | undefined {
  const count = faces.length;
  const way: Way = { halfedges: [], shares: [], after: [] };
  let from = first;
  let passed = 0;
  for (let step = 1; step <= count; step++) {
    const to = (first + step) % count;
    if (step < count && Math.hypot(...less(at(places, to), at(places, from))) < SAME_MM) continue;
    if (!walk(mesh, twin, places, from, to, faces, way)) {
      if (step < count && ++passed <= MOST_PASSED) continue;
      if (!seek(mesh, twin, from, faces[from], faces[to], way)) return undefined;
    }
    from = to;
    passed = 0;
  }
  return way;
}

const at = (p: Float64Array, i: number): Vec3 => [p[i * 3], p[i * 3 + 1], p[i * 3 + 2]];
const less = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

const between = (a: Vec3, b: Vec3, s: number): Vec3 => [
  a[0] + s * (b[0] - a[0]),
  a[1] + s * (b[1] - a[1]),
  a[2] + s * (b[2] - a[2]),
];

function normalOf({ positions: p, triangles: t }: Mesh, face: number): Vec3 {
  const a = at(p, t[face * 3]);
  const n = cross(less(at(p, t[face * 3 + 1]), a), less(at(p, t[face * 3 + 2]), a));
  const size = Math.hypot(...n) || 1;
  return [n[0] / size, n[1] / size, n[2] / size];
}

/** Add the edges crossed from one place to another; false, and nothing added, where the other is not met. */
function walk(
  mesh: Mesh,
  twin: Int32Array,
  places: Float64Array,
  from: number,
  to: number,
  faces: Int32Array,
  way: Way,
): boolean {
  const { positions: p, triangles: t } = mesh;
  let face = faces[from];
  const goal = faces[to];
  if (face === goal) return true;
  const start = at(places, from);
  const along = less(at(places, to), start);
  const lengthMm = Math.hypot(...along);
  const [one, other] = [normalOf(mesh, face), normalOf(mesh, goal)];
  const up: Vec3 = [one[0] + other[0], one[1] + other[1], one[2] + other[2]];
  const across = cross(along, up);
  if (Math.hypot(...across) <= LEAST_SLANT * lengthMm * Math.hypot(...up)) return false;
  const begun = way.halfedges.length;
  let entered = -1;
  for (let step = 0; step < MOST_FACES && face !== goal; step++) {
    let [out, share, far] = [-1, 0, -Infinity];
    for (let k = 0; k < 3; k++) {
      const h = face * 3 + k;
      if (h === entered) continue;
      const [a, b] = [at(p, t[h]), at(p, t[nextHalfedge(h)])];
      const [da, db] = [dot(less(a, start), across), dot(less(b, start), across)];
      if (da >= 0 === db >= 0) continue;
      const s = da / (da - db);
      const passedMm = dot(less(between(a, b, s), start), along) / lengthMm;
      if (passedMm > far) [out, share, far] = [h, s, passedMm];
    }
    if (out < 0 || far > lengthMm + PAST_MM || twin[out] <= OPEN) break;
    way.halfedges.push(out);
    way.shares.push(share);
    way.after.push(from);
    entered = twin[out];
    face = Math.floor(entered / 3);
  }
  if (face === goal) return true;
  way.halfedges.length = way.shares.length = way.after.length = begun;
  return false;
}

/** Add the shortest way from face to face over the middles of their edges (Dijkstra 1959); false where there is none near. */
function seek(mesh: Mesh, twin: Int32Array, from: number, face: number, goal: number, way: Way): boolean {
  const { positions: p, triangles: t } = mesh;
  const middle = (h: number): Vec3 => {
    const [a, b] = [t[h] * 3, t[nextHalfedge(h)] * 3];
    return [(p[a] + p[b]) / 2, (p[a + 1] + p[b + 1]) / 2, (p[a + 2] + p[b + 2]) / 2];
  };
  // Of each half-edge passed: how far it is, and the one before it.
  const far = new Map<number, number>();
  const before = new Map<number, number>();
  const heap = new LeastFirst();
  const spread = (entered: number, into: number, so: number): void => {
    for (let k = 0; k < 3; k++) {
      const h = into * 3 + k;
      if (h === entered || twin[h] <= OPEN) continue;
      const next = entered < 0 ? so : so + Math.hypot(...less(middle(h), middle(entered)));
      if (next >= (far.get(h) ?? Infinity)) continue;
      far.set(h, next);
      before.set(h, entered < 0 ? -1 : twin[entered]);
      heap.push(next, h);
    }
  };
  spread(-1, face, 0);
  for (let step = 0; step < MOST_SOUGHT && heap.size > 0; step++) {
    const so = heap.least;
    const h = heap.take();
    if (so > (far.get(h) as number)) continue;
    const into = Math.floor(twin[h] / 3);
    if (into !== goal) {
      spread(twin[h], into, so);
      continue;
    }
    const back: number[] = [];
    for (let at = h; at >= 0; at = before.get(at) as number) back.push(at);
    for (const one of back.reverse()) {
      way.halfedges.push(one);
      way.shares.push(0.5);
      way.after.push(from);
    }
    return true;
  }
  return false;
}

/** The closed way without what lies between two crossings of one edge: the shorter part goes. */
function withoutLoops(way: Way, twin: Int32Array): Way {
  const { halfedges } = way;
  // Places in the way of what is left.
  let left: number[] = [];
  const where = (h: number): number => left.findIndex((i) => halfedges[i] === h);
  for (let i = 0; i < halfedges.length; i++) {
    const same = where(halfedges[i]);
    const k = same < 0 ? where(twin[halfedges[i]]) : same;
    if (k < 0) left.push(i);
    else if (left.length - k <= halfedges.length / 2) {
      // Crossed again the same way the first crossing stands; crossed back neither.
      left.length = same >= 0 ? k + 1 : k;
    } else left = same >= 0 ? [...left.slice(k + 1), i] : left.slice(k + 1);
  }
  const of = (values: readonly number[]): number[] => left.map((i) => values[i]);
  return { halfedges: of(halfedges), shares: of(way.shares), after: of(way.after) };
}

/** Shares of the line, in order: edges crossed between the same two points follow evenly. */
function alongOf(after: readonly number[], count: number): number[] {
  const along: number[] = [];
  for (let i = 0; i < after.length; ) {
    let end = i + 1;
    while (end < after.length && after[end] === after[i]) end++;
    const gap = (after[end % after.length] - after[i] + count) % count;
    for (let j = i; j < end; j++) along.push(((after[i] + (gap * (j - i + 1)) / (end - i + 1)) % count) / count);
    i = end;
  }
  return along;
}

/** The places where a way crosses edges, and between them the points that lie in the face it passes there. */
function withPoints(
  { positions: p, triangles: t }: Mesh,
  twin: Int32Array,
  { halfedges, shares, after }: Way,
  places: Float64Array,
  faces: Int32Array,
): Vec3[] {
  const line: Vec3[] = [];
  for (const [i, h] of halfedges.entries()) {
    const [a, b] = [at(p, t[h]), at(p, t[nextHalfedge(h)])];
    line.push(between(a, b, shares[i]));
    const face = Math.floor(twin[h] / 3);
    const end = after[(i + 1) % after.length];
    for (let j = after[i]; j !== end; ) {
      j = (j + 1) % faces.length;
      if (faces[j] !== face) break;
      line.push(at(places, j));
    }
  }
  return line;
}

/** Whether each half-edge leaves the face the one before it leads to. */
const isChain = (halfedges: readonly number[], twin: Int32Array): boolean =>
  halfedges.every((h, i) => {
    const before = halfedges[(i + halfedges.length - 1) % halfedges.length];
    return Math.floor(twin[before] / 3) === Math.floor(h / 3);
  });
