/**
 * The part of an offset that is the form itself, moved outward face by face.
 *
 * Where the form bends no more sharply than the offset allows, every vertex has its place on the offset, and the form's
 * own faces between those places lie nearer the true offset than any other faces so large: the offset of a polyhedron
 * is flat where its faces are. Only where the moved faces turn over or lie under another sheet, and for some way round,
 * another surface is needed (track-surface.ts). A vertex goes to where the moved planes of its faces meet in the
 * least-squares sense.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { Sets } from '../mesh/pieces.ts';
import { findTwins } from '../mesh/twins.ts';
import { solved, solveSymmetric } from './crease-solve.ts';
import { cutLong, type CutForm } from './cut-form.ts';
import type { SignedField } from './signed-field.ts';

const PHASE = 'surface';
const STRIDE = 1023;
/** Pull of the vertex normal, as a share of the weight of all planes. */
const PULL = 0.02;
/** Steps to find how far a vertex goes where the thickness differs. */
const SHIFT_ROUNDS = 4;
/** A moved vertex or place of a face may lie so much too near, in tolerances: more, and another sheet is there. */
const UNDER = 1.5;
/** And so much too far, as a share of the offset: the form is sharp there. */
const OVER = 0.06;
/** A moved face may be turned by acos of this, and is no needle. */
const LEAST_COSINE = 0.6;
const LEAST_SINE = 0.06;
/** Edges of the form longer than so many cubes are cut. */
const LONGEST = 1.8;
/** Moved faces longer than so many are no part: the form is sharp there. Places so far apart are looked at, mm. */
const MOST_LONG = 6;
const LOOK_MM = 4;
/** Moved vertices that miss by no more than this share of the tolerance are there; others are moved so many times. */
const THERE = 1 / 8;
const SETTLE_ROUNDS = 3;
/** Faces are given up for so many cubes round one that is no part. */
const ROUND = 2;
const ROUND_EDGES = 2;
/** Borders are smoothed over so many cubes, or edges. */
const SMOOTH = 1.5;
const SMOOTH_EDGES = 1;
/** Parts smaller than so many squared cubes are given up. */
const LEAST_PART = 24;

export interface Displaced {
  /** The form with its long edges cut, and where its vertices go. */
  readonly form: CutForm;
  readonly positions: Float64Array;
  /** And their feet, xyz each; what is of no face that stands may lie anywhere. */
  readonly feet: Float64Array;
  /** Per face of the cut form 1 where it stands, and per face of the form 1 where all of it does. */
  readonly stands: Uint8Array;
  readonly wholeStands: Uint8Array;
  /** How far each vertex is from faces that stand, mm, over the offset; 0 on them. */
  readonly depth: Float64Array;
  /** Area of what stands, as a share of the form's. */
  readonly share: number;
  /** The same with all near these vertices of the cut form given up too. */
  readonly without: (vertices: Iterable<number>) => Displaced;
}

/** Move the form's faces outward and tell which stand; `cell`: edge of the cubes used for the rest, mm. O(n log n). */
export function displace(
  field: SignedField,
  offset: number,
  tolerance: number,
  cell: number,
  run: RunContext,
): Displaced {
  const form = cutLong(field.mesh, LONGEST * cell);
  run.step(PHASE, 0, 1);
  const { positions: p, triangles: t, faceOf } = form;
  const vertexCount = p.length / 3;
  const ways = waysOut(field, form);
  const positions = new Float64Array(p.length);
  const feet = new Float64Array(p.length);
  const isBad = new Uint8Array(vertexCount);
  const under = -UNDER * tolerance,
    over = OVER * Math.abs(offset) + tolerance;
  const missAt = (x: number, y: number, z: number, within: number): number => {
    const miss = field.at(x, y, z, within) - offset;
    return offset < 0 ? -miss : miss;
  };
  for (let v = 0; v < vertexCount; v++) {
    if ((v & STRIDE) === 0) run.step(PHASE, (0.2 * v) / vertexCount, 1);
    const i = v * 3;
    let reach = offset;
    for (let round = 0; round < SHIFT_ROUNDS; round++) {
      for (let k = 0; k < 3; k++) positions[i + k] = p[i + k] + reach * ways[i + k];
      const next = offset + field.shift(positions[i], positions[i + 1], positions[i + 2], reach);
      if (next === reach) break;
      reach = next;
    }
    const way = Math.sqrt(ways[i] * ways[i] + ways[i + 1] * ways[i + 1] + ways[i + 2] * ways[i + 2]);
    let miss = missAt(positions[i], positions[i + 1], positions[i + 2], Math.abs(reach) * way);
    if (!(miss > under && miss < over)) isBad[v] = 1;
    // Straight to the offset of its foot.
    for (let round = 0; isBad[v] === 0 && Math.abs(miss) >= THERE * tolerance; round++) {
      const { x, y, z, distance } = field;
      if (round === SETTLE_ROUNDS || distance === 0) {
        isBad[v] = 1;
        break;
      }
      const by = (offset < 0 ? miss : -miss) / distance;
      positions[i] += (positions[i] - x) * by;
      positions[i + 1] += (positions[i + 1] - y) * by;
      positions[i + 2] += (positions[i + 2] - z) * by;
      miss = missAt(positions[i], positions[i + 1], positions[i + 2], Infinity);
    }
    feet[i] = field.x;
    feet[i + 1] = field.y;
    feet[i + 2] = field.z;
  }
  // A place of a face so long at most is outside if its corners are good: it need only be shown not to be too near.
  const plainEdge = field.isPlain ? offset + under : -Infinity;
  const look = (x: number, y: number, z: number, fx: number, fy: number, fz: number, longest: number): boolean => {
    const within = Math.sqrt((x - fx) * (x - fx) + (y - fy) * (y - fy) + (z - fz) * (z - fz));
    if (longest < plainEdge && within < offset + over) return !field.isNearer(x, y, z, offset + under);
    const miss = missAt(x, y, z, within);
    return miss > under && miss < over;
  };
  const q = positions;
  const areas = new Float64Array(t.length / 3);
  let area = 0;
  for (let f = 0; f < t.length; f += 3) {
    if ((f & STRIDE) === 0) run.step(PHASE, 0.2 + (0.3 * f) / t.length, 1);
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const size = faceCross(q, t, f);
    areas[f / 3] = size;
    area += size;
    if (isBad[t[f]] === 1 || isBad[t[f + 1]] === 1 || isBad[t[f + 2]] === 1) continue;
    const g = faceOf[f / 3];
    const [nx, ny, nz] = faceCrossOut;
    const dot = nx * field.normal(g, 0) + ny * field.normal(g, 1) + nz * field.normal(g, 2);
    const longest = Math.max(between(q, t[f], t[f + 1]), between(q, t[f + 1], t[f + 2]), between(q, t[f + 2], t[f]));
    let isGood = dot > LEAST_COSINE * size && size > LEAST_SINE * longest * longest && longest < MOST_LONG * cell;
    for (const [wa, wb, wc] of isGood ? placesFor(longest) : []) {
      isGood = look(
        wa * q[a] + wb * q[b] + wc * q[c],
        wa * q[a + 1] + wb * q[b + 1] + wc * q[c + 1],
        wa * q[a + 2] + wb * q[b + 2] + wc * q[c + 2],
        wa * p[a] + wb * p[b] + wc * p[c],
        wa * p[a + 1] + wb * p[b + 1] + wc * p[c + 1],
        wa * p[a + 2] + wb * p[b + 2] + wc * p[c + 2],
        longest,
      );
      if (!isGood) break;
    }
    // Two is of a vertex that is good by itself: faces looked at later are not bad for it.
    if (!isGood) for (let k = f; k < f + 3; k++) isBad[t[k]] ||= 2;
  }
  const neighbours = neighboursOf(t, vertexCount);
  return standing(
    { run, form, positions, feet, areas, area, neighbours, cell, faceCount: field.mesh.triangles.length / 3 },
    isBad,
  );
}

/** All faces moved, before it is decided which stand. */
interface Moved {
  readonly run: RunContext;
  readonly form: CutForm;
  readonly positions: Float64Array;
  readonly feet: Float64Array;
  /** Doubled, per face and in all. */
  readonly areas: Float64Array;
  readonly area: number;
  readonly neighbours: Neighbours;
  readonly cell: number;
  /** Of the form, before it was cut. */
  readonly faceCount: number;
}

/** Which faces stand, some way away from the vertices that are bad. O(n log n). */
function standing(moved: Moved, isBad: Uint8Array): Displaced {
  const { run, form, positions: q, feet, areas, area, neighbours, cell, faceCount } = moved;
  const { triangles: t, faceOf } = form;
  const vertexCount = q.length / 3;
  // Far away first, and then back: so neither what is given up nor what stands has many narrow places.
  const near = within(q, neighbours, isBad, (ROUND + SMOOTH) * cell, ROUND_EDGES);
  run.step(PHASE, 0.5, 1);
  const far = near.map((one) => 1 - one);
  const back = within(q, neighbours, far, SMOOTH * cell, SMOOTH_EDGES);
  run.step(PHASE, 0.5, 1);
  const stands = new Uint8Array(t.length / 3);
  for (let f = 0; f < t.length; f += 3) stands[f / 3] = back[t[f]] & back[t[f + 1]] & back[t[f + 2]];
  dropSmall(t, vertexCount, areas, stands, 2 * LEAST_PART * cell * cell);
  run.step(PHASE, 0.5, 1);
  unpinch(t, vertexCount, stands);
  run.step(PHASE, 0.5, 1);
  const onStanding = new Uint8Array(vertexCount);
  let whole = 0;
  for (let f = 0; f < stands.length; f++) {
    if (stands[f] === 0) continue;
    whole += areas[f];
    for (let k = f * 3; k < f * 3 + 3; k++) onStanding[t[k]] = 1;
  }
  const wholeStands = new Uint8Array(faceCount).fill(1);
  for (let f = 0; f < stands.length; f++) wholeStands[faceOf[f]] &= stands[f];
  const depth = spread(q, neighbours, onStanding, Infinity);
  const without = (vertices: Iterable<number>): Displaced => {
    const worse = isBad.slice();
    for (const v of vertices) worse[v] = 1;
    return standing(moved, worse);
  };
  return { form, positions: q, feet, stands, wholeStands, depth, share: whole / area, without };
}

/** Places of a face to be looked at, by its longest edge. */
function placesFor(longest: number): readonly (readonly [number, number, number])[] {
  return longest < LOOK_MM ? [] : longest < 2 * LOOK_MM ? MIDDLES : PLACES;
}
const MIDDLES = [
  [1 / 3, 1 / 3, 1 / 3],
  [0.5, 0.5, 0],
  [0, 0.5, 0.5],
  [0.5, 0, 0.5],
] as const;
const PLACES = [
  ...MIDDLES,
  [2 / 3, 1 / 6, 1 / 6],
  [1 / 6, 2 / 3, 1 / 6],
  [1 / 6, 1 / 6, 2 / 3],
  [0.75, 0.25, 0],
  [0.25, 0.75, 0],
  [0, 0.75, 0.25],
  [0, 0.25, 0.75],
  [0.75, 0, 0.25],
  [0.25, 0, 0.75],
] as const;

/** Per vertex, xyz: from it to where the planes of its faces meet when each is moved by 1. */
function waysOut(field: SignedField, { positions: p, triangles: t, faceOf }: CutForm): Float64Array {
  const sums = new Float64Array(p.length * 3);
  for (let h = 0; h < t.length; h++) {
    const f = faceOf[(h / 3) | 0];
    const x = field.normal(f, 0),
      y = field.normal(f, 1),
      z = field.normal(f, 2);
    const at = t[h] * 9;
    sums[at] += x * x;
    sums[at + 1] += x * y;
    sums[at + 2] += x * z;
    sums[at + 3] += y * y;
    sums[at + 4] += y * z;
    sums[at + 5] += z * z;
    sums[at + 6] += x;
    sums[at + 7] += y;
    sums[at + 8] += z;
  }
  const ways = new Float64Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    const at = i * 3;
    const pull = PULL * (sums[at] + sums[at + 3] + sums[at + 5]);
    const a = sums[at] + pull,
      b = sums[at + 1],
      c = sums[at + 2],
      d = sums[at + 3] + pull,
      e = sums[at + 4],
      f = sums[at + 5] + pull;
    const sx = sums[at + 6],
      sy = sums[at + 7],
      sz = sums[at + 8];
    const length = Math.sqrt(sx * sx + sy * sy + sz * sz);
    const by = length > 0 ? 1 + pull / length : 1;
    if (solveSymmetric(a, b, c, d, e, f, sx * by, sy * by, sz * by)) ways.set(solved, i);
  }
  return ways;
}

/** Neighbours along edges: of vertex v those in the list from first[v] on, before first[v + 1]. */
interface Neighbours {
  readonly first: Int32Array;
  readonly list: Int32Array;
}

function neighboursOf(t: Uint32Array, vertexCount: number): Neighbours {
  const first = new Int32Array(vertexCount + 1);
  for (let h = 0; h < t.length; h++) first[t[h] + 1]++;
  for (let v = 0; v < vertexCount; v++) first[v + 1] += first[v];
  const next = first.slice();
  const list = new Int32Array(t.length);
  for (let f = 0; f < t.length; f += 3) for (let k = 0; k < 3; k++) list[next[t[f + k]]++] = t[f + ((k + 1) % 3)];
  return { first, list };
}

/** Marks what is within so many mm, or so many edges, of what is marked. */
function within(
  p: Float64Array,
  { first, list }: Neighbours,
  marked: Uint8Array,
  most: number,
  edges: number,
): Uint8Array {
  const near = Uint8Array.from(spread(p, { first, list }, marked, most), (way) => (way <= most ? 1 : 0));
  let last = marked;
  for (let n = 0; n < edges; n++) {
    const next = last.slice();
    for (let v = 0; v < last.length; v++) {
      if (last[v] === 0) continue;
      for (let i = first[v]; i < first[v + 1]; i++) next[list[i]] = near[list[i]] = 1;
    }
    last = next;
  }
  return near;
}

function between(p: Float64Array, v: number, w: number): number {
  const x = p[v * 3] - p[w * 3],
    y = p[v * 3 + 1] - p[w * 3 + 1],
    z = p[v * 3 + 2] - p[w * 3 + 2];
  return Math.sqrt(x * x + y * y + z * z);
}

/** Least way along edges from the marked vertices, up to `most`; beyond it Infinity. */
function spread(p: Float64Array, { first, list }: Neighbours, marked: Uint8Array, most: number): Float64Array {
  const away = new Float64Array(marked.length).fill(Infinity);
  let front: number[] = [];
  for (let v = 0; v < marked.length; v++) {
    if (marked[v] === 0) continue;
    away[v] = 0;
    front.push(v);
  }
  while (front.length > 0) {
    const later: number[] = [];
    for (const v of front) {
      for (let i = first[v]; i < first[v + 1]; i++) {
        const w = list[i];
        const way = away[v] + between(p, v, w);
        if (!(way < away[w] && way <= most)) continue;
        away[w] = way;
        later.push(w);
      }
    }
    front = later;
  }
  return away;
}

/** Give up parts of less (doubled) area than `least`. */
function dropSmall(t: Uint32Array, vertexCount: number, areas: Float64Array, stands: Uint8Array, least: number): void {
  const sets = new Sets(vertexCount);
  for (let f = 0; f < t.length; f += 3) {
    if (stands[f / 3] === 0) continue;
    sets.join(t[f], t[f + 1]);
    sets.join(t[f], t[f + 2]);
  }
  const sum = new Float64Array(vertexCount);
  for (let f = 0; f < stands.length; f++) if (stands[f] === 1) sum[sets.find(t[f * 3])] += areas[f];
  for (let f = 0; f < stands.length; f++) if (stands[f] === 1 && sum[sets.find(t[f * 3])] < least) stands[f] = 0;
}

/** Give up faces until the border of what stands passes each vertex at most once. */
export function unpinch(t: Uint32Array, vertexCount: number, stands: Uint8Array): void {
  const { twin } = findTwins(t, vertexCount);
  for (;;) {
    const borders = new Uint8Array(vertexCount);
    let isPinched = false;
    for (let h = 0; h < t.length; h++) {
      if (stands[(h / 3) | 0] === 0) continue;
      const other = twin[h];
      if (other >= 0 && stands[(other / 3) | 0] === 1) continue;
      if (++borders[t[h]] > 1) isPinched = true;
    }
    if (!isPinched) return;
    for (let h = 0; h < t.length; h++) if (borders[t[h]] > 1) stands[(h / 3) | 0] = 0;
  }
}
