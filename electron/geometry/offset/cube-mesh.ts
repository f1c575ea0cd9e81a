/**
 * The mesh dual to the cubes of a `CubeTree`: a vertex for every loop in which the surface goes round a cube, a polygon
 * for every cut edge of the grid, between the three or four cubes round it (Ju, Losasso, Schaefer and Warren 2002, "Dual
 * contouring of Hermite data"). Closed whatever the sizes of the cubes, and manifold.
 *
 * In folds it cannot cut itself: where the line between two vertices does not pass through the face their cubes share,
 * the polygons there get a vertex on that face, and where a polygon would leave the tetrahedra between its edge and
 * those lines, it becomes a fan round a vertex on its edge (Ju and Udeshi 2006, "Intersection-free contouring on an
 * octree grid"). Where a cube has several vertices each stays in the middle of its own cut edges.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { roomFor } from './cell-map.ts';
import { EDGE_BETWEEN, EDGE_CORNER, PATCH_COUNT, PATCH_OF_EDGE } from './cell-patches.ts';
import { MOST_SHEETS, nearestOfSheets, place } from './crease-solve.ts';
import { quadrantOf, STEP, TRACK_PHASE, type CubeTree, type Trace } from './cube-tree.ts';
import { cutsOf, type CubeVertices } from './cube-vertices.ts';

const STRIDE = 1023;
/** Keys of cut edges, per cube: nodes times axes. */
const CUTS = 2 ** 27;
/** Sheets remembered per vertex. */
export const VERTEX_SHEETS = 8;

/** A mesh under work: polygons already cut into triangles, and the faces of the form each vertex answers to. */
export interface TrackedSurface {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  /** VERTEX_SHEETS per vertex, -1 where fewer. */
  readonly sheets: Int32Array;
  /** Edge of each vertex' cube, mm. */
  readonly sizes: Float32Array;
  /** Feet, xyz each, of the first vertices, where these are on the offset already or of no face. */
  readonly feet?: Float64Array;
  /** Face of the form each vertex sees, -1 where that was not asked; of a surface as the cubes give it. */
  readonly seen?: Int32Array;
}

export class CubeMesh {
  readonly #tree: CubeTree;
  readonly #vertices: CubeVertices;
  readonly #run: RunContext;
  #inFold: Uint8Array = new Uint8Array(0);
  #exact = true;
  #positions = new Float64Array(0);
  #sheets = new Int32Array(0);
  #sizes = new Float32Array(0);
  #seen = new Int32Array(0);
  #vertexCount = 0;
  #firstVertex = new Int32Array(0);
  /** Per unsplit cube: whether it is plain, and whole (`CubeTree.isPlain`, `isWhole`). */
  #plain = new Uint8Array(0);
  #whole = new Uint8Array(0);
  /** Vertex of a cube whose edges may be cut in two, by cube and cut edge. */
  readonly #vertexOfCut = new Map<number, number>();
  /** Vertices on lines from cube to cube. */
  readonly #ways = new Map<string, number>();

  constructor(vertices: CubeVertices, run: RunContext) {
    this.#tree = vertices.tree;
    this.#vertices = vertices;
    this.#run = run;
  }

  /** `exact` false leaves vertices at the mean of their crossings; `inFold`: of `FoldCubes`. */
  make(exact: boolean, inFold: Uint8Array): TrackedSurface {
    this.#inFold = inFold;
    const triangles = Uint32Array.from(this.#triangles(exact));
    return {
      positions: this.#positions.slice(0, this.#vertexCount * 3),
      triangles,
      sheets: this.#sheets.slice(0, this.#vertexCount * VERTEX_SHEETS),
      sizes: this.#sizes.slice(0, this.#vertexCount),
      seen: this.#seen.slice(0, this.#vertexCount),
    };
  }

  /** The triangles between the cubes there are, their vertices in `#positions`. */
  #triangles(exact: boolean): number[] {
    const tree = this.#tree;
    this.#exact = exact;
    this.#vertexCount = 0;
    this.#vertexOfCut.clear();
    this.#ways.clear();
    this.#firstVertex = new Int32Array(tree.count).fill(-1);
    this.#plain = new Uint8Array(tree.count);
    this.#whole = new Uint8Array(tree.count);
    for (let cube = 0; cube < tree.count; cube++) {
      if (tree.child[cube] >= 0) continue;
      this.#plain[cube] = tree.isPlain(cube) ? 1 : 0;
      this.#whole[cube] = tree.isWhole(cube) ? 1 : 0;
    }
    const triangles: number[] = [];
    for (let cube = 0; cube < tree.count; cube++) {
      if ((cube & STRIDE) === 0) this.#run.step(TRACK_PHASE, tree.count + cube, 2 * tree.count);
      // All that touches a plain cube is as large: each of its edges is the low one of some cube.
      const isPlain = this.#plain[cube] === 1;
      if (tree.child[cube] >= 0) continue;
      const pattern = tree.pattern[cube];
      for (let edge = 0; edge < 12; edge++) {
        const low = EDGE_CORNER[edge];
        if (isPlain && low !== 0) continue;
        if (((pattern >> low) & 1) === ((pattern >> (low + (1 << (edge >> 2)))) & 1)) continue;
        if (!isPlain && !tree.isLeastEdge(cube, edge)) continue;
        this.#polygon(cube, edge, triangles);
      }
    }
    return triangles;
  }

  /** Make the vertices of a cube. */
  #makeVertices(cube: number): void {
    const tree = this.#tree;
    this.#firstVertex[cube] = this.#vertexCount;
    if (this.#whole[cube] === 1) {
      for (let patch = 0; patch < PATCH_COUNT[tree.pattern[cube]]; patch++) {
        cutsOf(tree, cube, patch, cuts);
        this.#addVertex(cube, cuts);
      }
      return;
    }
    const trace = tree.trace(cube);
    for (let loop = 0; loop < trace.loops; loop++) {
      loopOf(trace, loop, cuts);
      for (let e = 0; e < cuts.length; e += 2) {
        this.#vertexOfCut.set(this.#cutKey(cube, cuts[e], cuts[e + 1]), this.#vertexCount);
      }
      this.#addVertex(cube, cuts);
    }
  }

  #cutKey(cube: number, from: number, to: number): number {
    return cube * CUTS + from * 3 + this.#tree.axisOf(from, to);
  }

  /** The vertex of a cube to which a cut edge belongs. */
  #vertexOf(cube: number, from: number, to: number): number {
    const tree = this.#tree;
    if (this.#firstVertex[cube] < 0) this.#makeVertices(cube);
    if (this.#whole[cube] === 0) return this.#vertexOfCut.get(this.#cutKey(cube, from, to)) as number;
    let low = 0;
    while (low < 8 && tree.corners[cube * 8 + low] !== from) low++;
    if (low === 8) throw new RangeError(`cube ${cube} has no corner at node ${from}`);
    const edge = EDGE_BETWEEN[low * 8 + low + (1 << tree.axisOf(from, to))];
    return this.#firstVertex[cube] + PATCH_OF_EDGE[tree.pattern[cube] * 12 + edge];
  }

  /** The face of a cut edge of a cube, unless another cube round that edge gives it. */
  #polygon(cube: number, edge: number, triangles: number[]): void {
    const tree = this.#tree;
    const axis = edge >> 2;
    const u = (axis + 1) % 3,
      v = (axis + 2) % 3;
    const low = EDGE_CORNER[edge];
    const from = tree.corners[cube * 8 + low],
      to = tree.corners[cube * 8 + low + (1 << axis)];
    const key = tree.nodes.keys[from];
    // Cubes counter-clockwise seen from the axis' far end.
    const own = quadrantOf(low, u, v);
    for (let k = 0; k < 4; k++) {
      const du = k === 1 || k === 2 ? STEP[u] : 0,
        dv = k > 1 ? STEP[v] : 0;
      around[k] = k === own ? cube : tree.leafAt(key - du - dv);
      // The surface was not followed so far (track-surface.ts), or the polygon is of another cube as large.
      if (around[k] < 0 || (k < own && tree.size[around[k]] === tree.size[cube])) return;
    }
    let corners = 0;
    let isPlain = true;
    const isSmooth = around.every((one) => this.#inFold[one] !== 1);
    let isStraight = true;
    for (let k = 0; k < 4; k++) {
      const one = around[k],
        next = around[(k + 1) & 3];
      if (one === next) continue;
      ring[corners++] = this.#vertexOf(one, from, to);
      if (this.#plain[one] === 0) isPlain = false;
      // To the next cube the way leads through a face of the grid, across u or v.
      const extra = this.#wayThrough(one, next, k === 0 || k === 2 ? u : v, k === 0 || k === 1 ? 0 : 1, from, to);
      if (extra < 0) continue;
      ring[corners++] = extra;
      isStraight = false;
    }
    if (!(tree.value[from] < 0)) ring.subarray(0, corners).reverse();
    if (isPlain && isSmooth) this.#cut(ring, corners, triangles);
    else this.#cutSafely(ring, corners, isStraight, from, to, triangles);
  }

  /**
   * The vertex on the face between two cubes that the polygon of this edge needs, or -1: where they are joined through
   * it by several lines, or the straight line between their vertices leaves it. `side`: 1 when the way leads to the high
   * side of the axis.
   */
  #wayThrough(a: number, b: number, axis: number, side: number, from: number, to: number): number {
    const tree = this.#tree;
    const small = tree.size[a] <= tree.size[b] ? a : b;
    const isPlain = this.#plain[a] + this.#plain[b] === 2 && this.#inFold[a] !== 1 && this.#inFold[b] !== 1;
    if (isPlain && !tree.hasDoubleFace(small)) return -1;
    // The face lies at that side of the first cube, so at the other of the second.
    const high = small === a ? side : 1 - side;
    const size = tree.size[small];
    const faceKey = tree.key[small] + high * size * STEP[axis];
    const vertexA = this.#vertexOf(a, from, to),
      vertexB = this.#vertexOf(b, from, to);
    const isCrowded = this.#vertices.isCrowded(a) || this.#vertices.isCrowded(b);
    if (!isCrowded && !tree.hasDoubleFace(small) && (isPlain || this.#passes(vertexA, vertexB, faceKey, size, axis)))
      return -1;
    lines.length = 0;
    tree.faceTrace(faceKey, size, axis, lines);
    if (isPlain && lines.length < 8) return -1;
    for (let l = 0; l < lines.length; l += 4) {
      const isOurs = (lines[l] === from && lines[l + 1] === to) || (lines[l + 2] === from && lines[l + 3] === to);
      if (!isOurs) continue;
      const name = `${faceKey}/${axis}/${l}`;
      const known = this.#ways.get(name);
      if (known !== undefined) return known;
      // In the middle between the two edges the line joins.
      const vertex = this.#newVertex(size * tree.unit);
      place.fill(0);
      for (const e of [l, l + 2]) {
        tree.crossing(lines[e], lines[e + 1], point);
        for (let k = 0; k < 3; k++) place[k] += point[k] / 2;
      }
      // One of several lines on a face stays straight, so that none meets another.
      if (lines.length === 4) {
        const [one, other] = tree.value[lines[0]] < 0 ? [lines[1], lines[0]] : [lines[0], lines[1]];
        this.#vertices.settleOnFace(one, other);
      }
      this.#positions.set(place, vertex * 3);
      const sheets = this.#sheets;
      for (let s = 0; s < VERTEX_SHEETS; s++) {
        sheets[vertex * VERTEX_SHEETS + s] = sheets[vertexA * VERTEX_SHEETS + s];
      }
      this.#ways.set(name, vertex);
      return vertex;
    }
    return -1;
  }

  /** Whether the straight line between two vertices passes through a face of the grid. */
  #passes(a: number, b: number, faceKey: number, size: number, axis: number): boolean {
    const tree = this.#tree;
    const p = this.#positions;
    const [i, j] = a < b ? [a * 3, b * 3] : [b * 3, a * 3];
    const at = tree.coordinate(faceKey, axis);
    const t = (at - p[i + axis]) / (p[j + axis] - p[i + axis]);
    if (!(t >= 0 && t <= 1)) return false;
    for (const k of [(axis + 1) % 3, (axis + 2) % 3]) {
      const x = p[i + k] + t * (p[j + k] - p[i + k]) - tree.coordinate(faceKey, k);
      if (x < 0 || x > size * tree.unit) return false;
    }
    return true;
  }

  /**
   * Cut the polygon of an edge of the grid into triangles that stay in the tetrahedra between that edge and the lines
   * from cube to cube, which no other polygon enters; where no diagonal does, in a fan round a vertex on the edge.
   */
  #cutSafely(
    ring: Int32Array,
    corners: number,
    isStraight: boolean,
    from: number,
    to: number,
    triangles: number[],
  ): void {
    const tree = this.#tree;
    const p = this.#positions;
    for (const [k, node] of [from, to].entries()) {
      for (let c = 0; c < 3; c++) ends[k * 3 + c] = tree.place[node * 3 + c];
    }
    if (isStraight && corners === 3 && meets(ends, 0, 3, p, ring[0] * 3, ring[1] * 3, p, ring[2] * 3)) {
      triangles.push(ring[0], ring[1], ring[2]);
      return;
    }
    if (isStraight && corners === 4) {
      const [a, b, c, d] = ring;
      const isSafe = (v: number, w: number, x: number, y: number): boolean =>
        meets(p, v * 3, w * 3, ends, 0, 3, p, x * 3) || meets(p, v * 3, w * 3, ends, 0, 3, p, y * 3);
      const ac = isSafe(a, c, b, d),
        bd = isSafe(b, d, a, c);
      if (ac && (!bd || this.#missBetween(a, c) <= this.#missBetween(b, d))) {
        triangles.push(a, b, c, a, c, d);
        return;
      }
      if (bd) {
        triangles.push(b, c, d, b, d, a);
        return;
      }
    }
    const middle = this.#newVertex(tree.unit);
    this.#vertices.meetEdge(from, to);
    this.#positions.set(place, middle * 3);
    this.#sheets[middle * VERTEX_SHEETS] = tree.face[from];
    for (let k = 0; k < corners; k++) triangles.push(middle, ring[k], ring[(k + 1) % corners]);
  }

  #newVertex(sizeMm: number): number {
    const vertex = this.#vertexCount++;
    if (this.#vertexCount > this.#sizes.length) {
      const room = Math.max(1 << 14, 2 * this.#vertexCount);
      this.#positions = roomFor(this.#positions, room * 3);
      this.#sheets = roomFor(this.#sheets, room * VERTEX_SHEETS);
      this.#sizes = roomFor(this.#sizes, room);
      this.#seen = roomFor(this.#seen, room);
    }
    this.#positions.fill(0, vertex * 3, vertex * 3 + 3);
    this.#sheets.fill(-1, vertex * VERTEX_SHEETS, (vertex + 1) * VERTEX_SHEETS);
    this.#sizes[vertex] = sizeMm;
    this.#seen[vertex] = -1;
    return vertex;
  }

  /** A new vertex of a cube for a loop of cut edges, two nodes each. */
  #addVertex(cube: number, loop: readonly number[]): void {
    const exact = this.#exact;
    const tree = this.#tree;
    const vertex = this.#newVertex(tree.size[cube] * tree.unit);
    const first = vertex * VERTEX_SHEETS;
    let count = 0;
    for (let e = 0; e < loop.length && count < VERTEX_SHEETS; e++) {
      const face = tree.face[loop[e]];
      let known = face < 0;
      for (let s = 0; s < count; s++) if (this.#sheets[first + s] === face) known = true;
      if (!known) this.#sheets[first + count++] = face;
    }
    const isPlaced = this.#vertices.isPlaced(cube);
    if (exact && isPlaced && this.#whole[cube] === 1) this.#seen[vertex] = this.#vertices.recall(cube);
    else {
      this.#vertices.placeVertex(cube, loop, exact);
      const isFine = tree.size[cube] < tree.span || isPlaced;
      if (exact && isFine && !this.#vertices.isCrowded(cube)) {
        this.#vertices.settleIn(cube);
        this.#seen[vertex] = this.#vertices.seen;
      }
    }
    this.#positions.set(place, vertex * 3);
  }

  /** Cut a polygon into triangles: a quad along the diagonal that keeps nearer the offset, others in a fan. */
  #cut(ring: Int32Array, corners: number, triangles: number[]): void {
    if (corners === 4) {
      const [a, b, c, d] = ring;
      if (this.#missBetween(a, c) <= this.#missBetween(b, d)) triangles.push(a, b, c, a, c, d);
      else triangles.push(b, c, d, b, d, a);
      return;
    }
    // Begin at a vertex of the second kind, so that no triangle lies between the same two vertices twice.
    let start = 0;
    for (let k = 0; k < corners; k++) if (ring[k] > ring[start]) start = k;
    for (let k = 1; k + 1 < corners; k++) {
      triangles.push(ring[start], ring[(start + k) % corners], ring[(start + k + 1) % corners]);
    }
  }

  /** By how much the middle between two vertices misses the offset of the sheets of both. */
  #missBetween(a: number, b: number): number {
    const p = this.#positions;
    const sheets = this.#sheets;
    let count = 0;
    for (const v of [a, b]) {
      for (let s = v * VERTEX_SHEETS; s < (v + 1) * VERTEX_SHEETS && sheets[s] >= 0; s++) scratch[count++] = sheets[s];
    }
    const x = (p[a * 3] + p[b * 3]) / 2,
      y = (p[a * 3 + 1] + p[b * 3 + 1]) / 2,
      z = (p[a * 3 + 2] + p[b * 3 + 2]) / 2;
    const wanted = this.#tree.offset + this.#tree.field.shift(x, y, z, this.#tree.offset);
    return Math.abs(nearestOfSheets(this.#tree.field.mesh, scratch, count, x, y, z) - Math.abs(wanted));
  }
}

/** The cut edges of one loop, two nodes each. */
function loopOf(trace: Trace, loop: number, out: number[]): void {
  out.length = 0;
  for (let e = 0; e < trace.from.length; e++) if (trace.loop[e] === loop) out.push(trace.from[e], trace.to[e]);
}

/** Whether the line from p[i] to p[j] meets the triangle q[a], q[b], r[c]; places are given by their first coordinate. */
function meets(
  p: Float64Array,
  i: number,
  j: number,
  q: Float64Array,
  a: number,
  b: number,
  r: Float64Array,
  c: number,
): boolean {
  const x = volume(p, i, p, j, q, a, q, b),
    y = volume(p, i, p, j, q, b, r, c),
    z = volume(p, i, p, j, r, c, q, a);
  if (!((x > 0 && y > 0 && z > 0) || (x < 0 && y < 0 && z < 0))) return false;
  return volume(q, a, q, b, r, c, p, i) * volume(q, a, q, b, r, c, p, j) < 0;
}

/** Six times the signed volume of a tetrahedron. */
function volume(
  p: Float64Array,
  a: number,
  q: Float64Array,
  b: number,
  r: Float64Array,
  c: number,
  s: Float64Array,
  d: number,
): number {
  const ux = q[b] - p[a],
    uy = q[b + 1] - p[a + 1],
    uz = q[b + 2] - p[a + 2];
  const vx = r[c] - p[a],
    vy = r[c + 1] - p[a + 1],
    vz = r[c + 2] - p[a + 2];
  const wx = s[d] - p[a],
    wy = s[d + 1] - p[a + 1],
    wz = s[d + 2] - p[a + 2];
  return ux * (vy * wz - vz * wy) + uy * (vz * wx - vx * wz) + uz * (vx * wy - vy * wx);
}

/** Scratch. */
const ends = new Float64Array(6);
const scratch = new Int32Array(MOST_SHEETS);
const cuts: number[] = [];
const lines: number[] = [];
const around = new Int32Array(4);
const ring = new Int32Array(8);
const point = new Float64Array(3);
