/**
 * Cubes along a level surface, as fine as each place needs: a sparse grid of cubes, any of which may be split in eight,
 * again and again, with the field's value at their corners. Only cubes that were asked for exist.
 *
 * All places are whole numbers of the finest cube's edge, packed into one key. Since nodes are made only as corners of
 * cubes, the grid's own shape can be read off them: the edge of a cube is cut in two by finer cubes round it exactly
 * when there is a node at its middle, and a face in four when there is one at its centre.
 */
import { CellMap, roomFor } from './cell-map.ts';
import { EDGE_CORNER, FACE_CORNERS } from './cell-patches.ts';
import type { SignedField } from './signed-field.ts';

export const TRACK_PHASE = 'surface';
/** Bits of each index of a grid point: 131,072 points along each axis. */
const AXIS_BITS = 17;
const ROW = 2 ** AXIS_BITS;
const LAYER = ROW * ROW;
/** Keys between neighbours along each axis. */
export const STEP = [1, ROW, LAYER] as const;
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
  /** Per node: the field less the offset, the foot and its face. */
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

  /** Index of a key along an axis. */
  index(key: number, axis: number): number {
    return axis === 0 ? key % ROW : axis === 1 ? Math.floor(key / ROW) % ROW : Math.floor(key / LAYER);
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
      this.value = roomFor(this.value, node + 1);
      this.foot = roomFor(this.foot, (node + 1) * 3);
      this.face = roomFor(this.face, node + 1);
    }
    const x = this.coordinate(key, 0),
      y = this.coordinate(key, 1),
      z = this.coordinate(key, 2);
    const { field, foot } = this;
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
    const pattern = this.#look(cube, key, span, near, -1);
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

  /** Set up a cube; `parent`'s corners are near its own, if there is one. */
  #look(cube: number, key: number, size: number, near: number, parent: number): number {
    let pattern = 0;
    for (let c = 0; c < 8; c++) {
      if (parent >= 0) near = this.corners[parent * 8 + c];
      near = this.node(key + size * ((c & 1) + ((c >> 1) & 1) * ROW + (c >> 2) * LAYER), near);
      this.corners[cube * 8 + c] = near;
      if (this.value[near] < 0) pattern |= 1 << c;
    }
    this.key[cube] = key;
    this.size[cube] = size;
    this.pattern[cube] = pattern;
    this.child[cube] = -1;
    return pattern;
  }

  /** Split a cube in eight. */
  split(cube: number): void {
    const half = this.size[cube] / 2;
    const key = this.key[cube];
    const first = this.count;
    this.count += 8;
    this.#room(this.count);
    for (let c = 0; c < 8; c++) {
      this.#look(first + c, key + half * ((c & 1) + ((c >> 1) & 1) * ROW + (c >> 2) * LAYER), half, -1, cube);
    }
    this.child[cube] = first;
    this.#split++;
    if (half * 2 < this.span) return;
    for (let n = 0; n < 27; n++) {
      const step = (n % 3) - 1 + ((((n / 3) | 0) % 3) - 1) * ROW + (((n / 9) | 0) - 1) * LAYER;
      this.#beside.add(key + step * this.span);
    }
  }

  /** The unsplit cube that holds the finest cube of a key, or -1. */
  leafAt(key: number): number {
    const { span } = this;
    const i = key % ROW,
      j = Math.floor(key / ROW) % ROW,
      k = Math.floor(key / LAYER);
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

  /** Whether all that touches an unsplit cube is as large as the coarsest, so that its pattern tells all. */
  isPlain(cube: number): boolean {
    return this.#split === 0 || (this.size[cube] === this.span && !this.#beside.has(this.key[cube]));
  }

  /** How the surface goes round an unsplit cube, finer cubes beside it taken in account; outside corners are cut off. */
  trace(cube: number): Trace {
    const trace: Trace = {
      from: [],
      to: [],
      loop: [],
      loops: 0,
      isDouble: false,
    };
    const edges: number[] = [];
    const parent: number[] = [];
    const find = (e: number): number => (parent[e] === e ? e : (parent[e] = find(parent[e])));
    const numberOf = (from: number, to: number): number => {
      for (let e = 0; e < trace.from.length; e++) if (trace.from[e] === from && trace.to[e] === to) return e;
      parent.push(trace.from.length);
      trace.to.push(to);
      return trace.from.push(from) - 1;
    };
    const visit = (key: number, size: number, axis: number): void => {
      const [u, v] = [STEP[(axis + 1) % 3], STEP[(axis + 2) % 3]];
      const half = size / 2;
      if (size > 1 && this.nodes.find(key + half * (u + v)) >= 0) {
        visit(key, half, axis);
        visit(key + half * u, half, axis);
        visit(key + half * v, half, axis);
        visit(key + half * (u + v), half, axis);
        return;
      }
      edges.length = 0;
      this.faceTrace(key, size, axis, edges);
      if (edges.length > 4) trace.isDouble = true;
      for (let e = 0; e < edges.length; e += 4) {
        const a = numberOf(edges[e], edges[e + 1]),
          b = numberOf(edges[e + 2], edges[e + 3]);
        parent[find(a)] = find(b);
      }
    };
    const size = this.size[cube];
    for (let f = 0; f < 6; f++) {
      const axis = f >> 1;
      visit(this.key[cube] + (f & 1) * size * STEP[axis], size, axis);
    }
    const numbers = new Map<number, number>();
    for (let e = 0; e < parent.length; e++) {
      const root = find(e);
      if (!numbers.has(root)) numbers.set(root, numbers.size);
      trace.loop.push(numbers.get(root) as number);
    }
    trace.loops = numbers.size;
    return trace;
  }

  /**
   * The lines in which the surface crosses an undivided face with its low corner at a key: each goes from one cut edge
   * to another, round a run of outside nodes. Adds four nodes per line, the lower of each edge first.
   */
  faceTrace(key: number, size: number, axis: number, out: number[]): void {
    const u = STEP[(axis + 1) % 3] * size,
      v = STEP[(axis + 2) % 3] * size;
    ring.length = 0;
    this.#walk(key, key + u);
    this.#walk(key + u, key + u + v);
    this.#walk(key + u + v, key + v);
    this.#walk(key + v, key);
    const n = ring.length;
    for (let i = 0; i < n; i++) {
      const a = ring[i],
        b = ring[(i + 1) % n];
      if (!(this.value[a] < 0) || this.value[b] < 0) continue;
      let j = (i + 1) % n;
      while (!(this.value[ring[j]] < 0)) j = (j + 1) % n;
      const c = ring[(j + n - 1) % n],
        d = ring[j];
      this.#put(a, b, out);
      this.#put(c, d, out);
    }
  }

  #put(a: number, b: number, out: number[]): void {
    if (this.nodes.keys[a] < this.nodes.keys[b]) out.push(a, b);
    else out.push(b, a);
  }

  /** Put the nodes from a to before b on the ring. */
  #walk(a: number, b: number): void {
    const difference = Math.abs(b - a);
    const length = difference >= LAYER ? difference / LAYER : difference >= ROW ? difference / ROW : difference;
    if (length > 1) {
      const middle = (a + b) / 2;
      if (this.nodes.find(middle) >= 0) {
        this.#walk(a, middle);
        this.#walk(middle, b);
        return;
      }
    }
    ring.push(this.nodes.find(a));
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
    const pattern = this.pattern[cube];
    for (const [a, b, c, d] of FACE_CORNERS) {
      const one = (pattern >> a) & 1;
      if (((pattern >> b) & 1) !== one && ((pattern >> c) & 1) === one && ((pattern >> d) & 1) !== one) return true;
    }
    return false;
  }

  /** Where the surface crosses the line between two nodes on an axis, by straight interpolation. */
  crossing(from: number, to: number, out: Float64Array): void {
    const a = this.value[from],
      b = this.value[to];
    const t = a / (a - b);
    const low = this.nodes.keys[from],
      high = this.nodes.keys[to];
    for (let k = 0; k < 3; k++) {
      const x = this.coordinate(low, k);
      out[k] = x + t * (this.coordinate(high, k) - x);
    }
  }
}

/** Nodes round a face, scratch of `faceTrace`. */
const ring: number[] = [];
