/**
 * Triangles over one loop of vertices: by least area (Barequet and Sharir 1995) where the loop is short enough for
 * the cubic method, flat where it is nearly plane, else by cutting the shortest ear first, which zips cracks.
 */
import earcut from 'earcut';
import type { Vec3 } from '../../../shared-types/mesh.ts';

/** Longest loop for the cubic method: 300 vertices are 4.5 million steps. */
const LEAST_AREA_LIMIT = 300;
/** A loop is nearly plane when it leaves its best plane by less than this share of its width. */
const FLATNESS = 0.04;

export type FillWay = 'one face' | 'least area' | 'flat' | 'zipped' | 'fan';

export interface Filling {
  /** Positions in the loop, three to a face; a fan also uses the position after the last, the loop's middle. */
  readonly faces: number[];
  readonly way: FillWay;
}

/**
 * Whether the surface has an edge between two positions of the loop already: a patch that used it again would put
 * four faces on one edge.
 */
export type IsTaken = (i: number, j: number) => boolean;

/** Best plane of a loop (Newell's normal) and how far the loop leaves it. */
export function loopPlane(
  p: Float64Array,
  loop: Uint32Array,
): { centre: Vec3; normal: Vec3; offMax: number; width: number } {
  const n = loop.length;
  const centre = [0, 0, 0];
  for (const v of loop) for (let k = 0; k < 3; k++) centre[k] += p[v * 3 + k] / n;
  const normal = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const a = loop[i] * 3,
      b = loop[(i + 1) % n] * 3;
    for (let k = 0; k < 3; k++) {
      const u = (k + 1) % 3,
        w = (k + 2) % 3;
      normal[k] += (p[a + u] - centre[u]) * (p[b + w] - centre[w]) - (p[a + w] - centre[w]) * (p[b + u] - centre[u]);
    }
  }
  const length = Math.hypot(normal[0], normal[1], normal[2]) || 1;
  let offMax = 0;
  let width = 0;
  for (const v of loop) {
    let off = 0;
    let far = 0;
    for (let k = 0; k < 3; k++) {
      off += ((p[v * 3 + k] - centre[k]) * normal[k]) / length;
      far += (p[v * 3 + k] - centre[k]) ** 2;
    }
    offMax = Math.max(offMax, Math.abs(off));
    width = Math.max(width, 2 * Math.sqrt(far));
  }
  return { centre: centre as unknown as Vec3, normal: normal.map((x) => x / length) as unknown as Vec3, offMax, width };
}

/**
 * Triangles that close the loop without a chord that is `taken`; a fan round the loop's middle where there is no other
 * way. `preferFlat` asks for a flat cap where the loop is nearly plane.
 */
export function fillLoop(p: Float64Array, loop: Uint32Array, preferFlat: boolean, isTaken: IsTaken): Filling {
  if (loop.length === 3) return { faces: [0, 1, 2], way: 'one face' };
  const isLong = loop.length > LEAST_AREA_LIMIT;
  const flat = preferFlat || isLong ? seenFlat(p, loop) : undefined;
  if (flat !== undefined) {
    const faces = fillFlat(flat, loop.length);
    if (faces !== undefined && isFree(faces, loop.length, isTaken)) return { faces, way: 'flat' };
  }
  if (!isLong) {
    const least = fillLeastArea(p, loop, isTaken);
    return least === undefined ? fanOf(loop.length) : { faces: least, way: 'least area' };
  }
  const zipped = fillZipped(p, loop, isTaken, flat);
  return zipped === undefined ? fanOf(loop.length) : { faces: zipped, way: 'zipped' };
}

/** Faces from each edge of a loop of n to a new vertex. */
export function fanOf(n: number): Filling {
  const faces: number[] = [];
  for (let i = 0; i < n; i++) faces.push(i, (i + 1) % n, n);
  return { faces, way: 'fan' };
}

/** The edges of the surface between vertices of a loop, given the neighbours of each vertex. */
export function takenChords(loop: ArrayLike<number>, neighboursOf: (v: number) => Iterable<number>): IsTaken {
  const n = loop.length;
  const at = new Map<number, number>();
  for (let i = 0; i < n; i++) at.set(loop[i], i);
  const taken = new Set<number>();
  for (let i = 0; i < n; i++) {
    for (const w of neighboursOf(loop[i])) {
      const j = at.get(w);
      // The loop's own edges are meant to be used once more.
      if (j !== undefined && j !== (i + 1) % n && i !== (j + 1) % n) taken.add(i * n + j);
    }
  }
  return taken.size === 0 ? () => false : (i, j) => taken.has(i * n + j) || taken.has(j * n + i);
}

function isFree(faces: readonly number[], n: number, isTaken: IsTaken): boolean {
  for (let f = 0; f < faces.length; f += 3)
    for (let k = 0; k < 3; k++) {
      const i = faces[f + k],
        j = faces[f + ((k + 1) % 3)];
      if (i < n && j < n && isTaken(i, j)) return false;
    }
  return true;
}

/** The loop seen along its normal, xy pairs; nothing where it is not nearly plane. */
function seenFlat(p: Float64Array, loop: Uint32Array): number[] | undefined {
  const { centre, normal, offMax, width } = loopPlane(p, loop);
  if (offMax > FLATNESS * width) return undefined;
  const helper = Math.abs(normal[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const u = [
    normal[1] * helper[2] - normal[2] * helper[1],
    normal[2] * helper[0] - normal[0] * helper[2],
    normal[0] * helper[1] - normal[1] * helper[0],
  ];
  const w = [
    normal[1] * u[2] - normal[2] * u[1],
    normal[2] * u[0] - normal[0] * u[2],
    normal[0] * u[1] - normal[1] * u[0],
  ];
  const flat: number[] = [];
  for (const v of loop) {
    const d = [0, 1, 2].map((k) => p[v * 3 + k] - centre[k]);
    flat.push(d[0] * u[0] + d[1] * u[1] + d[2] * u[2], d[0] * w[0] + d[1] * w[1] + d[2] * w[2]);
  }
  return flat;
}

/** Twice the signed area of three points of the plane. */
function turnOf(flat: readonly number[], a: number, b: number, c: number): number {
  return (
    (flat[b * 2] - flat[a * 2]) * (flat[c * 2 + 1] - flat[a * 2 + 1]) -
    (flat[b * 2 + 1] - flat[a * 2 + 1]) * (flat[c * 2] - flat[a * 2])
  );
}

function fillFlat(flat: readonly number[], n: number): number[] | undefined {
  const faces = earcut(flat as number[], undefined, 2);
  // A loop that crosses itself in the plane has no flat cap.
  if (faces.length !== (n - 2) * 3) return undefined;
  for (let i = 0; i < faces.length; i += 3) {
    const [a, b, c] = [faces[i], faces[i + 1], faces[i + 2]];
    if (turnOf(flat, a, b, c) < 0) [faces[i + 1], faces[i + 2]] = [c, b];
  }
  return faces;
}

function area(p: Float64Array, a: number, b: number, c: number): number {
  const ux = p[b] - p[a],
    uy = p[b + 1] - p[a + 1],
    uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a],
    vy = p[c + 1] - p[a + 1],
    vz = p[c + 2] - p[a + 2];
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
}

function fillLeastArea(p: Float64Array, loop: Uint32Array, isTaken: IsTaken): number[] | undefined {
  const n = loop.length;
  const cost = new Float64Array(n * n);
  const split = new Uint16Array(n * n);
  for (let span = 2; span < n; span++) {
    for (let i = 0; i + span < n; i++) {
      const j = i + span;
      let best = Infinity;
      let at = i + 1;
      if (span < n - 1 && isTaken(i, j)) {
        cost[i * n + j] = Infinity;
        continue;
      }
      for (let m = i + 1; m < j; m++) {
        const sofar = cost[i * n + m] + cost[m * n + j];
        if (sofar >= best) continue;
        const total = sofar + area(p, loop[i] * 3, loop[m] * 3, loop[j] * 3);
        if (total < best) {
          best = total;
          at = m;
        }
      }
      cost[i * n + j] = best;
      split[i * n + j] = at;
    }
  }
  if (!(cost[n - 1] < Infinity)) return undefined;
  const faces: number[] = [];
  const stack = [0, n - 1];
  while (stack.length > 0) {
    const j = stack.pop() as number;
    const i = stack.pop() as number;
    if (j - i < 2) continue;
    const m = split[i * n + j];
    faces.push(i, m, j);
    stack.push(i, m, m, j);
  }
  return faces;
}

/**
 * Cut the ear with the shortest new edge first, by a heap with stale entries. Where the loop is nearly plane (`flat`),
 * ears that turn outward or hold another point of the loop come last: a rim that crosses itself here and there is then
 * wrong only there. O(n log n), O(n^2) with `flat`.
 */
function fillZipped(
  p: Float64Array,
  loop: Uint32Array,
  isTaken: IsTaken,
  flat: readonly number[] | undefined,
): number[] | undefined {
  const n = loop.length;
  const before = Int32Array.from({ length: n }, (_, i) => (i + n - 1) % n);
  const after = Int32Array.from({ length: n }, (_, i) => (i + 1) % n);
  const stamp = new Uint32Array(n);
  const heap: { length: number; at: number; stamp: number }[] = [];
  let perimeter = 0;
  for (let i = 0; i < n; i++) {
    const [a, b] = [loop[i] * 3, loop[(i + 1) % n] * 3];
    perimeter += Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
  }
  const chord = (i: number): number => {
    if (isTaken(before[i], after[i])) return Infinity;
    const a = loop[before[i]] * 3,
      b = loop[after[i]] * 3;
    const length = Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
    return flat !== undefined && !isEar(flat, before, after, i) ? length + perimeter : length;
  };
  const push = (i: number): void => {
    heap.push({ length: chord(i), at: i, stamp: ++stamp[i] });
    let c = heap.length - 1;
    while (c > 0) {
      const parent = (c - 1) >> 1;
      if (heap[parent].length <= heap[c].length) break;
      [heap[parent], heap[c]] = [heap[c], heap[parent]];
      c = parent;
    }
  };
  const pop = (): { length: number; at: number; stamp: number } => {
    const top = heap[0];
    const last = heap.pop() as typeof top;
    if (heap.length > 0) {
      heap[0] = last;
      let c = 0;
      for (;;) {
        let least = c;
        for (const child of [2 * c + 1, 2 * c + 2])
          if (child < heap.length && heap[child].length < heap[least].length) least = child;
        if (least === c) break;
        [heap[least], heap[c]] = [heap[c], heap[least]];
        c = least;
      }
    }
    return top;
  };
  for (let i = 0; i < n; i++) push(i);
  const faces: number[] = [];
  let left = n;
  while (left > 3) {
    const ear = pop();
    if (ear.stamp !== stamp[ear.at]) continue;
    if (ear.length === Infinity) return undefined;
    // The point that was in the way may be gone by now.
    if (ear.length > perimeter && chord(ear.at) < ear.length) {
      push(ear.at);
      continue;
    }
    const i = ear.at;
    const a = before[i],
      b = after[i];
    faces.push(a, i, b);
    stamp[i]++;
    after[a] = b;
    before[b] = a;
    left--;
    push(a);
    push(b);
  }
  let i = 0;
  while (after[before[i]] !== i || before[after[i]] !== i || !isLive(i, before, after, faces, n)) i++;
  faces.push(before[i], i, after[i]);
  return faces;
}

/** Whether the corner at i turns inward and holds no other point of what is left of the loop. */
function isEar(flat: readonly number[], before: Int32Array, after: Int32Array, i: number): boolean {
  const a = before[i],
    b = after[i];
  if (turnOf(flat, a, i, b) <= 0) return false;
  for (let j = after[b]; j !== a; j = after[j])
    if (turnOf(flat, a, i, j) >= 0 && turnOf(flat, i, b, j) >= 0 && turnOf(flat, b, a, j) >= 0) return false;
  return true;
}

/** Whether slot i is one of the last three: its ring has length three. */
function isLive(i: number, before: Int32Array, after: Int32Array, _faces: number[], _n: number): boolean {
  return after[after[after[i]]] === i && before[before[before[i]]] === i;
}
