/**
 * Cubes along a level surface, as fine as each place needs: a sparse grid of cubes, any of which may be split in eight,
 * again and again, with the field's value at their corners. Only cubes that were asked for exist.
 *
 * All places are whole numbers of the finest cube's edge, packed into one key. Since nodes are made only as corners of
 * cubes, the grid's own shape can be read off them: the edge of a cube is cut in two by finer cubes round it exactly
 * when there is a node at its middle, and a face in four when there is one at its centre.
 */
import { CellMap, roomFor } from './cell-map.ts';
import { EDGE_CORNER, HAS_DOUBLE_FACE } from './cell-patches.ts';
import type { SignedField } from './signed-field.ts';

export const TRACK_PHASE = 'surface';
/** Bits of each index of a grid point: 131,072 points along each axis. */
const AXIS_BITS = 17;
const ROW = 2 ** AXIS_BITS;
const LAYER = ROW * ROW;
/** Keys between neighbours along each axis. */
export const STEP = [1, ROW, LAYER] as const;
/** Keys from the low corner of a cube to each, in edges. */
const CORNER_KEYS = [0, 1, 2, 3, 4, 5, 6, 7].map((c) => (c & 1) + ((c >> 1) & 1) * ROW + (c >> 2) * LAYER);
/** The same to the middles of its edges, in halves of an edge. */
const EDGE_MIDDLES = Array.from(EDGE_CORNER, (corner, edge) => 2 * CORNER_KEYS[corner] + STEP[edge >> 2]);
/** Numbers of the corners among the nodes of a split cube, three by three by three, where its edges are halved. */
const THIRDS = [0, 1, 3, 4, 9, 10, 12, 13] as const;
/** Corners of each face of a cube from its low one on, round its axis. */
const TRACED_CORNERS = [0, 1, 2, 3, 4, 5].map((f) => {
  const low = (f & 1) << (f >> 1),
    u = 1 << ((f >> 1) + 1) % 3,
    v = 1 << ((f >> 1) + 2) % 3;
  return [low, low + u, low + u + v, low + v] as const;
});
/** Keeps the grid off the form's own planes, in coarse cubes. */
const SHIFT = [0.3183, 0.2718, 0.4142] as const;
const ROOM = 1 << 14;

/** How the surface goes round a cube: its cut edges, in loops. */
export interface Trace {
  /** The two nodes of each cut edge, the lower first, and the number of its loop. */
  readonly from: number[];
  readonly to: number[];
  readonly loop: number[];
  loops: number;
  /** Whether one of its undivided faces is crossed by more than one line. */
  isDouble: boolean;
}

export class CubeTree {
  readonly field: SignedField;
  readonly offset: number;
  /** Edge of the coarsest cubes and of the finest, mm; the coarsest is `span` of the finest. */
  readonly cell: number;
  readonly unit: number;
  readonly span: number;
  readonly origin: readonly number[];
  readonly nodes = new CellMap();
  /** Per node: where it is, the field less the offset, the foot and its face. */
  place = new Float64Array(3 * ROOM);
  value = new Float64Array(ROOM);
  foot = new Float64Array(3 * ROOM);
  face = new Int32Array(ROOM);
  /** Per cube: key of its low corner, edge length in finest cubes, corners inside, corner nodes, first of 8 children. */
  count = 0;
  key = new Float64Array(ROOM);
  size = new Int32Array(ROOM);
  pattern = new Uint8Array(ROOM);
  corners = new Int32Array(8 * ROOM);
  child = new Int32Array(ROOM);
  readonly #coarse = new CellMap();
  #cubeOf = new Int32Array(ROOM);
  readonly #traces = new Map<number, Trace>();
  /** Coarse cubes that touch one that is split, by key. */
  readonly #beside = new Set<number>();
  #split = 0;

  /** `depth`: how many times a cube may be split. */
  constructor(field: SignedField, offset: number, cell: number, depth: number, low: readonly number[]) {
    this.field = field;
    this.offset = offset;
    this.cell = cell;
    this.span = 2 ** depth;
    this.unit = cell / this.span;
    this.origin = low.map((x, k) => x - (4 + SHIFT[k]) * cell);
  }

  /** Key of the coarse cube at a place. */
  keyAt(x: number, y: number, z: number): number {
    const { cell, origin: o } = this;
    const i = Math.floor((x - o[0]) / cell),
      j = Math.floor((y - o[1]) / cell),
      k = Math.floor((z - o[2]) / cell);
    return (i + j * ROW + k * LAYER) * this.span;
  }

  /** Index of a key along an axis. The remainder of a division costs several times as much. */
  index(key: number, axis: number): number {
    if (axis === 2) return Math.floor(key / LAYER);
    const row = Math.floor(key / ROW);
    return axis === 0 ? key - row * ROW : row - Math.floor(key / LAYER) * ROW;
  }

  /** The axis along which one node lies from another. */
  axisOf(from: number, to: number): number {
    const difference = this.nodes.keys[to] - this.nodes.keys[from];
    return difference >= LAYER ? 2 : difference >= ROW ? 1 : 0;
  }

  /** Coordinate of a key along an axis, mm. */
  coordinate(key: number, axis: number): number {
    return this.origin[axis] + this.unit * this.index(key, axis);
  }

  /** The node of a key; `near` is one nearby, or -1. */
  node(key: number, near: number): number {
    let node = this.nodes.find(key);
    if (node >= 0) return node;
    node = this.nodes.add(key);
    if (node >= this.value.length) {
      this.place = roomFor(this.place, (node + 1) * 3);
      this.value = roomFor(this.value, node + 1);
      this.foot = roomFor(this.foot, (node + 1) * 3);
      this.face = roomFor(this.face, node + 1);
    }
    const x = this.coordinate(key, 0),
      y = this.coordinate(key, 1),
      z = this.coordinate(key, 2);
    const { field, foot, place } = this;
    place[node * 3] = x;
    place[node * 3 + 1] = y;
    place[node * 3 + 2] = z;
    const at = near * 3;
    const dx = x - foot[at],
      dy = y - foot[at + 1],
      dz = z - foot[at + 2];
    const within = near < 0 ? Infinity : Math.sqrt(dx * dx + dy * dy + dz * dz);
    this.value[node] = field.at(x, y, z, within) - this.offset;
    foot[node * 3] = field.x;
    foot[node * 3 + 1] = field.y;
    foot[node * 3 + 2] = field.z;
    this.face[node] = field.askedMm > this.cell ? -1 : field.face;
    return node;
  }

  /** The coarse cube of a key, split or not, or -1. */
  coarse(key: number): number {
    const at = this.#coarse.find(key);
    return at < 0 ? -1 : this.#cubeOf[at];
  }

  /** Look at the coarse cube of a key, which is not there yet: kept, and given, when it is cut or `always`, else -1. */
  visit(key: number, near: number, always = false): number {
    const { span } = this;
    const cube = this.count;
    this.#room(cube + 1);
    for (let c = 0; c < 8; c++) {
      near = this.node(key + span * CORNER_KEYS[c], near);
      this.corners[cube * 8 + c] = near;
    }
    const pattern = this.#set(cube, key, span);
    if (!always && (pattern === 0 || pattern === 255)) return -1;
    this.count++;
    const at = this.#coarse.add(key);
    this.#cubeOf = roomFor(this.#cubeOf, at + 1);
    this.#cubeOf[at] = cube;
    return cube;
  }

  #room(count: number): void {
    if (count <= this.key.length) return;
    this.key = roomFor(this.key, count);
    this.size = roomFor(this.size, count);
    this.pattern = roomFor(this.pattern, count);
    this.corners = roomFor(this.corners, 8 * count);
    this.child = roomFor(this.child, count);
  }

  /** Set up a cube between its corner nodes. */
  #set(cube: number, key: number, size: number): number {
    const { corners, value } = this;
    let pattern = 0;
    for (let c = 0; c < 8; c++) if (value[corners[cube * 8 + c]] < 0) pattern |= 1 << c;
    this.key[cube] = key;
    this.size[cube] = size;
    this.pattern[cube] = pattern;
    this.child[cube] = -1;
    return pattern;
  }

  /** Split a cube in eight; `touch` is told unsplit cubes as large or larger that touch it: their edges may be cut in two. */
  split(cube: number, touch: (other: number) => void): void {
    const half = this.size[cube] / 2;
    const key = this.key[cube];
    const first = this.count;
    this.count += 8;
    this.#room(this.count);
    const { corners } = this;
    // Three by three by three nodes.
    const made = new Int32Array(27).fill(-1);
    for (let c = 0; c < 8; c++) {
      const child = first + c;
      for (let d = 0; d < 8; d++) {
        const n = THIRDS[c] + THIRDS[d];
        if (made[n] < 0) made[n] = this.node(key + half * (CORNER_KEYS[c] + CORNER_KEYS[d]), corners[cube * 8 + d]);
        corners[child * 8 + d] = made[n];
      }
      this.#set(child, key + half * CORNER_KEYS[c], half);
    }
    this.child[cube] = first;
    this.#split++;
    const beside = [-1, 0, 2 * half] as const;
    for (const x of beside) {
      for (const y of beside) {
        for (const z of beside) {
          const other = x === 0 && y === 0 && z === 0 ? -1 : this.leafAt(key + x + y * ROW + z * LAYER);
          if (other < 0) continue;
          this.#traces.delete(other);
          touch(other);
        }
      }
    }
    if (half * 2 < this.span) return;
    for (let n = 0; n < 27; n++) {
      const step = (n % 3) - 1 + ((((n / 3) | 0) % 3) - 1) * ROW + (((n / 9) | 0) - 1) * LAYER;
      this.#beside.add(key + step * this.span);
    }
  }

  /** The unsplit cube that holds the finest cube of a key, or -1. */
  leafAt(key: number): number {
    const { span } = this;
    const k = Math.floor(key / LAYER),
      row = Math.floor(key / ROW);
    const j = row - k * ROW,
      i = key - row * ROW;
    const down = -span;
    let cube = this.coarse((i & down) + (j & down) * ROW + (k & down) * LAYER);
    for (let half = span / 2; cube >= 0 && this.child[cube] >= 0; half /= 2) {
      const c = ((i & half) > 0 ? 1 : 0) + ((j & half) > 0 ? 2 : 0) + ((k & half) > 0 ? 4 : 0);
      cube = this.child[cube] + c;
    }
    return cube;
  }

  /** The key of the coarse cube that holds the finest cube of a key. */
  coarseKey(key: number): number {
    const down = -this.span;
    return (this.index(key, 0) & down) + (this.index(key, 1) & down) * ROW + (this.index(key, 2) & down) * LAYER;
  }

  /** Whether a key lies on a wall between coarse cubes across an axis. */
  isAtWall(key: number, axis: number): boolean {
    return (this.index(key, axis) & (this.span - 1)) === 0;
  }

  /** Whether all that touches an unsplit cube is as large as the coarsest, so that its pattern tells all. */
  isPlain(cube: number): boolean {
    return this.#split === 0 || (this.size[cube] === this.span && !this.#beside.has(this.key[cube]));
  }

  /** Whether no finer cube lies at an edge of an unsplit cube, so that its own corners tell how the surface goes round it. */
  isWhole(cube: number): boolean {
    const half = this.size[cube] / 2;
    if (half < 1 || this.isPlain(cube)) return true;
    const key = this.key[cube];
    for (const middle of EDGE_MIDDLES) if (this.nodes.find(key + half * middle) >= 0) return false;
    return true;
  }

  /**
   * How the surface goes round an unsplit cube, finer cubes beside it taken in account; outside corners are cut off. Kept
   * until a cube that touches it is split.
   */
  trace(cube: number): Trace {
    let trace = this.#traces.get(cube);
    if (trace === undefined) {
      trace = this.#traceOf(cube);
      this.#traces.set(cube, trace);
    }
    return trace;
  }

  #traceOf(cube: number): Trace {
    const trace: Trace = { from: [], to: [], loop: [], loops: 0, isDouble: false };
    joined.length = 0;
    const size = this.size[cube];
    for (const [f, [a, b, c, d]] of TRACED_CORNERS.entries()) {
      const { corners } = this;
      const at = cube * 8;
      const axis = f >> 1;
      const key = this.key[cube] + (f & 1) * size * STEP[axis];
      this.#traceFace(trace, key, size, axis, corners[at + a], corners[at + b], corners[at + c], corners[at + d]);
    }
    const { loop } = trace;
    for (let e = 0; e < joined.length; e++) {
      const root = rootOf(e);
      // A root may come after others of its loop.
      let number = -1;
      for (let other = 0; other < e && number < 0; other++) if (rootOf(other) === root) number = loop[other];
      loop.push(number < 0 ? trace.loops++ : number);
    }
    return trace;
  }

  /** Add to a trace what crosses a face with its low corner at a key and these nodes at its corners, in order round. */
  #traceFace(trace: Trace, key: number, size: number, axis: number, a: number, b: number, c: number, d: number): void {
    const half = size / 2;
    const u = STEP[(axis + 1) % 3] * half,
      v = STEP[(axis + 2) % 3] * half;
    const { nodes } = this;
    const centre = size > 1 ? nodes.find(key + u + v) : -1;
    if (centre >= 0) {
      const ab = nodes.find(key + u),
        bc = nodes.find(key + 2 * u + v),
        cd = nodes.find(key + u + 2 * v),
        da = nodes.find(key + v);
      this.#traceFace(trace, key, half, axis, a, ab, centre, da);
      this.#traceFace(trace, key + u, half, axis, ab, b, bc, centre);
      this.#traceFace(trace, key + v, half, axis, da, centre, cd, d);
      this.#traceFace(trace, key + u + v, half, axis, centre, bc, c, cd);
      return;
    }
    lines.length = 0;
    this.#crossFace(size, a, b, c, d, lines);
    if (lines.length > 4) trace.isDouble = true;
    for (let l = 0; l < lines.length; l += 4) {
      const one = numberOf(trace, lines[l], lines[l + 1]),
        other = numberOf(trace, lines[l + 2], lines[l + 3]);
      joined[rootOf(one)] = rootOf(other);
    }
  }

  /**
   * The lines in which the surface crosses an undivided face with its low corner at a key: each goes from one cut edge
   * to another, round a run of outside nodes. Adds four nodes per line, the lower of each edge first.
   */
  faceTrace(key: number, size: number, axis: number, out: number[]): void {
    const u = STEP[(axis + 1) % 3] * size,
      v = STEP[(axis + 2) % 3] * size;
    const { nodes } = this;
    this.#crossFace(size, nodes.find(key), nodes.find(key + u), nodes.find(key + u + v), nodes.find(key + v), out);
  }

  /** The same by the nodes at its corners, in order round. */
  #crossFace(size: number, a: number, b: number, c: number, d: number, out: number[]): void {
    ring.length = 0;
    this.#walk(a, b, size);
    this.#walk(b, c, size);
    this.#walk(c, d, size);
    this.#walk(d, a, size);
    const { value } = this;
    const n = ring.length;
    for (let i = 0; i < n; i++) {
      const last = ring[i],
        first = ring[i + 1 < n ? i + 1 : 0];
      if (!(value[last] < 0) || value[first] < 0) continue;
      let j = i + 1 < n ? i + 1 : 0;
      let before = last;
      while (!(value[ring[j]] < 0)) {
        before = ring[j];
        j = j + 1 < n ? j + 1 : 0;
      }
      this.#put(last, first, out);
      this.#put(before, ring[j], out);
    }
  }

  #put(a: number, b: number, out: number[]): void {
    if (this.nodes.keys[a] < this.nodes.keys[b]) out.push(a, b);
    else out.push(b, a);
  }

  /** Put the nodes from a to before b, so many finest edges away, on the ring. */
  #walk(a: number, b: number, length: number): void {
    if (length > 1) {
      const middle = this.nodes.find((this.nodes.keys[a] + this.nodes.keys[b]) / 2);
      if (middle >= 0) {
        this.#walk(a, middle, length / 2);
        this.#walk(middle, b, length / 2);
        return;
      }
    }
    ring.push(a);
  }

  /** Whether one of the cube's own edges is cut by the surface, and no finer cube lies at it. */
  isLeastEdge(cube: number, edge: number): boolean {
    const size = this.size[cube];
    if (size === 1) return true;
    const low = this.nodes.keys[this.corners[cube * 8 + EDGE_CORNER[edge]]];
    return this.nodes.find(low + (size / 2) * STEP[edge >> 2]) < 0;
  }

  /** Whether a face of the cube is cut four times, as its own corners tell. */
  hasDoubleFace(cube: number): boolean {
    return HAS_DOUBLE_FACE[this.pattern[cube]] === 1;
  }

  /** Where the surface crosses the line between two nodes on an axis, by straight interpolation. */
  crossing(from: number, to: number, out: Float64Array): void {
    const a = this.value[from],
      b = this.value[to];
    const t = a / (a - b);
    const { place } = this;
    for (let k = 0; k < 3; k++) {
      const x = place[from * 3 + k];
      out[k] = x + t * (place[to * 3 + k] - x);
    }
  }
}

/**
 * Place of a cube in the order round an edge of it with this low corner, across u and v: after the one on the high side
 * of both come the other on that side of v, and those on its low side.
 */
export function quadrantOf(corner: number, u: number, v: number): number {
  const isHigh = (corner >> u) & 1;
  return (corner >> v) & 1 ? 3 - isHigh : isHigh;
}

/** Number of a cut edge of a trace, which is added if need be. */
function numberOf(trace: Trace, from: number, to: number): number {
  for (let e = 0; e < trace.from.length; e++) if (trace.from[e] === from && trace.to[e] === to) return e;
  joined.push(trace.from.length);
  trace.to.push(to);
  return trace.from.push(from) - 1;
}

function rootOf(edge: number): number {
  while (joined[edge] !== edge) edge = joined[edge];
  return edge;
}

/** Scratch: nodes round a face, the lines across it, and cut edges of a trace, each with one of the same loop. */
const ring: number[] = [];
const lines: number[] = [];
const joined: number[] = [];
