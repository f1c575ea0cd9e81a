/**
 * The room a body takes while a part is put on along a straight line: everything it has passed, from where it sits out
 * through the opening, down to the level of its own lowest point.
 *
 * Swept along a line, each face becomes a prism open to one end, and the room is what they cover together. It is bounded
 * by the body itself, by walls under the edges at which the body turns away from the line, and by a floor: all other walls
 * lie between two prisms. So a point is in the room where a face that looks against the line lies over it (looked up in a
 * grid of cells across the line), and the room is nearer than the body only by such a wall or by the floor (a tree over
 * these edges, whose boxes reach down to the floor, finds the nearest; a ray's distance to an edge is exact).
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf, type Bounds } from '../mesh/quantities.ts';
import { findTwins, nextHalfedge } from '../mesh/twins.ts';
import { buildBvh, type Bvh } from '../spatial/bvh.ts';

const STACK = 128;
const STRIDE = 4095;
/** Cells a face lies over, at most on average: slivers lie over many, and cells are larger then. */
const MOST_CELLS = 16;

export class SweptBody {
  /** Of the last query: the nearest point of the swept room. */
  x = 0;
  y = 0;
  z = 0;
  /** Over the edges under which walls stand, each a face without area. */
  readonly #walls: Bvh;
  /** Rows of the turn: across, across, and against the direction. */
  readonly #turn: readonly number[];
  readonly #lowest: number;
  /** The body's vertices, turned. */
  readonly #turned: Float64Array;
  readonly #above: CellsAbove;
  readonly #stack = new Uint32Array(STACK);
  // Of the nearest point so far, turned.
  #best = 0;
  #u = 0;
  #v = 0;
  #w = 0;

  /** `direction`: in which the part is put on, any length above 0; the body passes the part the other way. O(n log n). */
  constructor(body: Mesh, direction: Vec3, tick?: () => void) {
    const size = Math.hypot(...direction);
    const w: Vec3 = [-direction[0] / size, -direction[1] / size, -direction[2] / size];
    const [u, v] = across(w);
    this.#turn = [...u, ...v, ...w];
    const positions = new Float64Array(body.positions.length);
    for (let i = 0; i < positions.length; i += 3) {
      const [x, y, z] = [body.positions[i], body.positions[i + 1], body.positions[i + 2]];
      for (let k = 0; k < 3; k++) positions[i + k] = this.#row(k, x, y, z);
    }
    tick?.();
    this.#turned = positions;
    this.#lowest = boundsOf(positions).min[2];
    // Under what looks along the direction lies nothing that what looks against it, above, does not cover too.
    const t = body.triangles;
    const faces = new Uint32Array(t.length);
    let count = 0;
    for (let h = 0; h < t.length; h += 3) {
      const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
      if (cross2(positions, b, c, positions[a], positions[a + 1]) <= 0) continue;
      faces.set(t.subarray(h, h + 3), count);
      count += 3;
    }
    const above = faces.subarray(0, count);
    this.#above = new CellsAbove(positions, above, tick);
    // Two faces that both look up lie on either side of the edge they share: no wall stands free under it.
    const { twin } = findTwins(above, positions.length / 3);
    tick?.();
    const edges = new Uint32Array(count * 3);
    let ends = 0;
    for (let h = 0; h < count; h++) {
      if (twin[h] >= 0) continue;
      edges[ends++] = above[h];
      edges[ends++] = edges[ends++] = above[nextHalfedge(h)];
    }
    this.#walls = buildBvh({ positions, triangles: edges.subarray(0, ends) }, tick);
  }

  /** Around the body and where it goes. O(n). */
  get box(): Bounds {
    const p = this.#turned;
    const m = this.#turn;
    const ends = new Float64Array(p.length * 2);
    for (let i = 0; i < p.length; i += 3) {
      for (const [at, w] of [p[i + 2], this.#lowest].entries()) {
        for (let k = 0; k < 3; k++) ends[i * 2 + at * 3 + k] = m[k] * p[i] + m[3 + k] * p[i + 1] + m[6 + k] * w;
      }
    }
    return boundsOf(ends);
  }

  #row(k: number, x: number, y: number, z: number): number {
    const m = this.#turn;
    return m[k * 3] * x + m[k * 3 + 1] * y + m[k * 3 + 2] * z;
  }

  /**
   * Distance from a point to the swept room, mm, 0 inside; where it is `within` or more, `within` is given and the
   * foot says nothing. `within` is the distance to the body itself, or less. Expected O(log n).
   */
  at(x: number, y: number, z: number, within: number): number {
    const u = this.#row(0, x, y, z),
      v = this.#row(1, x, y, z),
      w = this.#row(2, x, y, z);
    // Below the lowest point of the body the room ends flat: its nearest point lies on that level.
    const level = Math.max(w, this.#lowest);
    const below = level - w;
    this.#best = within * within - below * below;
    if (this.#best <= 0) return within;
    const limit = this.#best;
    if (this.#above.covers(u, v, level)) {
      this.#best = 0;
      [this.#u, this.#v, this.#w] = [u, v, level];
    } else {
      this.#find(u, v, level);
      if (this.#best >= limit) return within;
    }
    const m = this.#turn;
    this.x = m[0] * this.#u + m[3] * this.#v + m[6] * this.#w;
    this.y = m[1] * this.#u + m[4] * this.#v + m[7] * this.#w;
    this.z = m[2] * this.#u + m[5] * this.#v + m[8] * this.#w;
    return Math.sqrt(this.#best + below * below);
  }

  #find(u: number, v: number, w: number): void {
    const { bounds, right, count, corners, nodeCount } = this.#walls;
    if (nodeCount === 0) return;
    const stack = this.#stack;
    let top = 0;
    stack[top++] = 0;
    while (top > 0) {
      const node = stack[--top];
      if (farAcross(bounds, node * 6, u, v, w) >= this.#best) continue;
      const n = count[node];
      if (n > 0) {
        for (let at = right[node] * 9; at < (right[node] + n) * 9; at += 9) this.#edge(corners, at, at + 3, u, v, w);
        continue;
      }
      const [a, b] = [node + 1, right[node]];
      const isNearer = farAcross(bounds, a * 6, u, v, w) < farAcross(bounds, b * 6, u, v, w);
      stack[top++] = isNearer ? b : a;
      stack[top++] = isNearer ? a : b;
    }
  }

  /** Take the wall below the part of an edge that lies above the point. */
  #edge(c: Float64Array, a: number, b: number, u: number, v: number, w: number): void {
    const au = c[a],
      av = c[a + 1],
      aw = c[a + 2];
    const eu = c[b] - au,
      ev = c[b + 1] - av,
      ew = c[b + 2] - aw;
    let low = 0,
      high = 1;
    if (ew !== 0) {
      const s = (w - aw) / ew;
      if (ew > 0) low = Math.max(low, s);
      else high = Math.min(high, s);
    } else if (aw < w) {
      return;
    }
    if (low > high) return;
    const size = eu * eu + ev * ev;
    let s = size > 0 ? ((u - au) * eu + (v - av) * ev) / size : low;
    s = Math.min(high, Math.max(low, s));
    const du = u - au - s * eu,
      dv = v - av - s * ev;
    const near = du * du + dv * dv;
    if (near >= this.#best) return;
    this.#best = near;
    this.#u = au + s * eu;
    this.#v = av + s * ev;
    this.#w = w;
  }
}

/** Squared distance to a node's box, drawn down without end. */
function farAcross(bounds: Float32Array, at: number, u: number, v: number, w: number): number {
  const du = u < bounds[at] ? bounds[at] - u : u > bounds[at + 3] ? u - bounds[at + 3] : 0;
  const dv = v < bounds[at + 1] ? bounds[at + 1] - v : v > bounds[at + 4] ? v - bounds[at + 4] : 0;
  const dw = w > bounds[at + 5] ? w - bounds[at + 5] : 0;
  return du * du + dv * dv + dw * dw;
}

/** Faces that look up, by the cells of a flat grid they lie over: about one face a cell, and each in a few of them. */
class CellsAbove {
  readonly #p: Float64Array;
  readonly #faces: Uint32Array;
  readonly #low: readonly [number, number];
  #cell: number;
  readonly #wide: number;
  readonly #deep: number;
  /** Of each cell: where its faces begin in `#inCell`, and how high the highest of them reaches. */
  readonly #first: Uint32Array;
  readonly #top: Float64Array;
  readonly #inCell: Uint32Array;

  /** O(n). */
  constructor(positions: Float64Array, faces: Uint32Array, tick?: () => void) {
    this.#p = positions;
    this.#faces = faces;
    const { min, max } = boundsOf(positions);
    this.#low = [min[0], min[1]];
    const [wide, deep] = [max[0] - min[0], max[1] - min[1]];
    // Long and narrow, it is as many cells long as it has faces at most.
    const count = Math.max(1, faces.length / 3);
    this.#cell = Math.max(Math.sqrt((wide * deep) / count), Math.max(wide, deep) / count) || 1;
    while (this.#countOfEntries() > MOST_CELLS * count) this.#cell *= 2;
    this.#wide = Math.floor(wide / this.#cell) + 1;
    this.#deep = Math.floor(deep / this.#cell) + 1;
    const first = new Uint32Array(this.#wide * this.#deep + 1);
    const top = new Float64Array(first.length).fill(-Infinity);
    this.#eachCell(tick, (at, h) => {
      first[at + 1]++;
      for (let k = h; k < h + 3; k++) top[at] = Math.max(top[at], positions[faces[k] * 3 + 2]);
    });
    for (let at = 1; at < first.length; at++) first[at] += first[at - 1];
    const next = first.slice();
    const inCell = new Uint32Array(first[first.length - 1]);
    this.#eachCell(tick, (at, face) => {
      inCell[next[at]++] = face;
    });
    this.#first = first;
    this.#top = top;
    this.#inCell = inCell;
  }

  #column(u: number): number {
    return Math.floor((u - this.#low[0]) / this.#cell);
  }

  #row(v: number): number {
    return Math.floor((v - this.#low[1]) / this.#cell);
  }

  /** Each face with the columns and rows its box reaches over. */
  #eachBox(take: (face: number, left: number, right: number, near: number, far: number) => void): void {
    const p = this.#p;
    const t = this.#faces;
    for (let h = 0; h < t.length; h += 3) {
      const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
      const left = this.#column(Math.min(p[a], p[b], p[c])),
        right = this.#column(Math.max(p[a], p[b], p[c]));
      const near = this.#row(Math.min(p[a + 1], p[b + 1], p[c + 1])),
        far = this.#row(Math.max(p[a + 1], p[b + 1], p[c + 1]));
      take(h, left, right, near, far);
    }
  }

  #countOfEntries(): number {
    let count = 0;
    this.#eachBox((_face, left, right, near, far) => (count += (right - left + 1) * (far - near + 1)));
    return count;
  }

  #eachCell(tick: (() => void) | undefined, take: (cell: number, face: number) => void): void {
    this.#eachBox((face, left, right, near, far) => {
      if (((face / 3) & STRIDE) === 0) tick?.();
      for (let row = near; row <= far; row++) {
        for (let column = left; column <= right; column++) take(row * this.#wide + column, face);
      }
    });
  }

  /** Whether a face lies over a point, or through it. Expected O(1). */
  covers(u: number, v: number, w: number): boolean {
    const column = this.#column(u),
      row = this.#row(v);
    if (column < 0 || row < 0 || column >= this.#wide || row >= this.#deep) return false;
    const cell = row * this.#wide + column;
    if (w > this.#top[cell]) return false;
    const p = this.#p;
    const t = this.#faces;
    for (let i = this.#first[cell]; i < this.#first[cell + 1]; i++) {
      const h = this.#inCell[i];
      const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
      const ab = cross2(p, a, b, u, v);
      if (ab < 0) continue;
      const bc = cross2(p, b, c, u, v);
      if (bc < 0) continue;
      const ca = cross2(p, c, a, u, v);
      if (ca < 0) continue;
      if (w * (ab + bc + ca) <= bc * p[a + 2] + ca * p[b + 2] + ab * p[c + 2]) return true;
    }
    return false;
  }
}

/** Twice the area of the point with an edge, seen along the line. */
function cross2(c: Float64Array, a: number, b: number, u: number, v: number): number {
  return (c[a] - u) * (c[b + 1] - v) - (c[a + 1] - v) * (c[b] - u);
}

/** Two unit directions that make a right-handed frame with the unit direction `w`. */
function across(w: Vec3): readonly [Vec3, Vec3] {
  const least = [0, 1, 2].reduce((k, j) => (Math.abs(w[j]) < Math.abs(w[k]) ? j : k));
  const e = [0, 0, 0];
  e[least] = 1;
  const u: Vec3 = [w[1] * e[2] - w[2] * e[1], w[2] * e[0] - w[0] * e[2], w[0] * e[1] - w[1] * e[0]];
  const size = Math.hypot(...u);
  const unit: Vec3 = [u[0] / size, u[1] / size, u[2] / size];
  const v: Vec3 = [w[1] * unit[2] - w[2] * unit[1], w[2] * unit[0] - w[0] * unit[2], w[0] * unit[1] - w[1] * unit[0]];
  return [unit, v];
}
