/**
 * Keeps a collapse from carrying the surface too far, either way. From dense to light: points of the dense surface are kept in lists at
 * the vertices they were merged into, and a collapse is refused when a point of the two vertices, or of
 * a neighbour, would then lie further than the limit from the faces round its vertex (in the manner of
 * Klein, Liebich and Strasser, "Mesh reduction with error control", 1996, with points for the surface). From
 * light to dense: the middle of each face made anew, and where that is not quite near more of it, must have the dense
 * surface near, which is looked up in a grid. Both are samples: what lies between them is for the measurement.
 */
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import type { NearGrid } from '../spatial/near-grid.ts';
import type { Surface } from './surface.ts';

/** The dense surface, to be met by the faces of the light one. */
export interface DenseSide {
  readonly grid: NearGrid;
  /** Added to a position of the surface it is where the grid has it. */
  readonly origin: readonly number[];
  /** Per vertex of the surface: how far its faces may come to lie from the dense surface, mm. */
  readonly limitsMm: Float32Array;
  /** A face held closer than this is looked at in more places. */
  readonly closeMm: number;
  /** Whether the middles of edges are looked at as well as those of faces. */
  readonly edges: boolean;
}

/** A face whose middle lies within this share of what it may is looked at nowhere else, or only at an edge. */
const EASY = 0.5;
/** Weights of more places on a face, by threes: between centre and corners, the far edge, quarters of the near ones. */
const CLOSE_WEIGHTS = [
  [4, 1, 1],
  [1, 4, 1],
  [1, 1, 4],
  [3, 3, 0],
  [3, 0, 3],
  [0, 3, 3],
  [4.5, 1.5, 0],
  [1.5, 4.5, 0],
  [4.5, 0, 1.5],
  [1.5, 0, 4.5],
  [2, 3, 1],
  [2, 1, 3],
].flatMap((w) => w.map((x) => x / 6));

/** Passes over all points in `settle`: a point starts within a face or two of its own. */
const SETTLING_ROUNDS = 1;
/** Vertices between two ticks. */
const STRIDE = 512;

/** Whether v or a neighbour of it is marked. */
function touches(surface: Surface, v: number, marked: Uint8Array): boolean {
  const { triangles: t, head, next } = surface;
  if (marked[v]) return true;
  for (let c = head[v]; c >= 0; c = next[c]) {
    if (marked[t[c % 3 === 2 ? c - 2 : c + 1]] || marked[t[c % 3 === 0 ? c + 2 : c - 1]]) return true;
  }
  return false;
}

export class DeviationGuard {
  readonly #points: Float64Array;
  readonly #first: Int32Array;
  /** Lists under way in `merged`. */
  readonly #moved: Int32Array;
  readonly #homes: number[] = [];
  readonly #next: Int32Array;
  readonly #limits: Float32Array;
  #limit2 = 0;
  readonly #dense: DenseSide | undefined;
  /** Point, face, old and new home, found by `allows` for points of the neighbours. */
  readonly #found: number[] = [];
  /** First corner of the face each point was last found by; -1 at first. */
  readonly #face: Int32Array;

  /**
   * `vertexOf[i]`: vertex of the surface that point i (xyz triples, same frame) belongs to; -1 leaves it
   * out. `limitsMm[i]`: how far it may come to lie from the surface.
   */
  constructor(
    points: Float64Array,
    vertexOf: Int32Array,
    vertexCount: number,
    limitsMm: Float32Array,
    dense?: DenseSide,
  ) {
    this.#dense = dense;
    this.#points = points;
    this.#limits = limitsMm;
    this.#first = new Int32Array(vertexCount).fill(-1);
    this.#moved = new Int32Array(vertexCount).fill(-1);
    this.#next = new Int32Array(vertexOf.length).fill(-1);
    this.#face = new Int32Array(vertexOf.length).fill(-1);
    for (let i = vertexOf.length - 1; i >= 0; i--) {
      const v = vertexOf[i];
      if (v < 0) continue;
      this.#next[i] = this.#first[v];
      this.#first[v] = i;
    }
  }

  /** Whether merging u and v at `placed` keeps every point near. Leaves the surface as it was. */
  allows(surface: Surface, u: number, v: number, placed: Float64Array): boolean {
    const { positions: p, triangles: t, head, next, mark } = surface;
    this.#found.length = 0;
    const ui = u * 3,
      vi = v * 3;
    const ux = p[ui],
      uy = p[ui + 1],
      uz = p[ui + 2],
      vx = p[vi],
      vy = p[vi + 1],
      vz = p[vi + 2];
    p[ui] = p[vi] = placed[0];
    p[ui + 1] = p[vi + 1] = placed[1];
    p[ui + 2] = p[vi + 2] = placed[2];
    let fine =
      this.#near(surface, u, u, v) &&
      this.#near(surface, v, u, v) &&
      this.#onDense(surface, u, v) &&
      this.#onDense(surface, v, u);
    const stamp = (surface.stamp += 2);
    mark[u] = mark[v] = stamp;
    for (let end = 0; end < 2 && fine; end++) {
      for (let c = head[end === 0 ? u : v]; c >= 0 && fine; c = next[c]) {
        for (let side = 0; side < 2 && fine; side++) {
          const w = side === 0 ? t[c % 3 === 2 ? c - 2 : c + 1] : t[c % 3 === 0 ? c + 2 : c - 1];
          if (mark[w] === stamp) continue;
          mark[w] = stamp;
          fine = this.#near(surface, w, u, v);
        }
      }
    }
    p[ui] = ux;
    p[ui + 1] = uy;
    p[ui + 2] = uz;
    p[vi] = vx;
    p[vi + 1] = vy;
    p[vi + 2] = vz;
    return fine;
  }

  /**
   * Marks in `beyond` the vertices of the surface round which a point or a face lies further off than it may,
   * after the vertices were moved; returns how many marks it made. With `only`, looks no further than a face from
   * the vertices marked there. O(points).
   */
  markBeyond(surface: Surface, beyond: Uint8Array, tick: () => void, only?: Uint8Array): number {
    const { positions: p, triangles: t } = surface;
    const points = this.#points;
    let marks = 0;
    const mark = (v: number): void => {
      if (beyond[v] === 0) marks++;
      beyond[v] = 1;
    };
    for (let v = 0; v < this.#first.length; v++) {
      if (v % STRIDE === 0) tick();
      if (surface.head[v] < 0 || (only !== undefined && !touches(surface, v, only))) continue;
      for (let i = this.#first[v]; i >= 0; i = this.#next[i]) {
        const f = this.#face[i];
        const x = points[i * 3],
          y = points[i * 3 + 1],
          z = points[i * 3 + 2];
        this.#limit2 = this.#limits[i] * this.#limits[i];
        if (f >= 0 && t[f] >= 0 && nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z) <= this.#limit2)
          continue;
        if (this.#nearStar(surface, v, -1, -1, x, y, z) >= 0) continue;
        mark(v);
        if (f >= 0 && t[f] >= 0) for (let k = 0; k < 3; k++) mark(t[f + k]);
      }
      if (beyond[v] === 0 && !this.#onDense(surface, v, v)) mark(v);
    }
    return marks;
  }

  /** Whether the faces at u, but those that also have v, lie near the dense surface. */
  #onDense(surface: Surface, u: number, v: number): boolean {
    if (this.#dense === undefined) return true;
    const { grid, limitsMm, closeMm, edges } = this.#dense;
    const { origin } = this.#dense;
    const ox = origin[0],
      oy = origin[1],
      oz = origin[2];
    const { positions: p, triangles: t, head, next } = surface;
    const limit = Math.min(limitsMm[u], limitsMm[v]);
    const x = p[u * 3] + ox,
      y = p[u * 3 + 1] + oy,
      z = p[u * 3 + 2] + oz;
    for (let c = head[u]; c >= 0; c = next[c]) {
      const va = t[c % 3 === 2 ? c - 2 : c + 1],
        vb = t[c % 3 === 0 ? c + 2 : c - 1];
      if (va === v || vb === v) continue;
      const a = va * 3,
        b = vb * 3;
      const ax = p[a] + ox,
        ay = p[a + 1] + oy,
        az = p[a + 2] + oz;
      const near = Math.min(limit, limitsMm[va], limitsMm[vb]);
      const bx = p[b] + ox,
        by = p[b + 1] + oy,
        bz = p[b + 2] + oz;
      const mx = (x + ax + bx) / 3,
        my = (y + ay + by) / 3,
        mz = (z + az + bz) / 3;
      const close = near < closeMm;
      if (!close && grid.within(mx, my, mz, near * EASY)) {
        if (edges && !grid.within((x + ax) / 2, (y + ay) / 2, (z + az) / 2, near)) return false;
        continue;
      }
      if (!grid.within(mx, my, mz, near)) return false;
      for (let k = 0; k < CLOSE_WEIGHTS.length; k += 3) {
        const w = CLOSE_WEIGHTS[k],
          wa = CLOSE_WEIGHTS[k + 1],
          wb = CLOSE_WEIGHTS[k + 2];
        if (!grid.within(w * x + wa * ax + wb * bx, w * y + wa * ay + wb * by, w * z + wa * az + wb * bz, near))
          return false;
      }
    }
    return true;
  }

  /** Whether the points of w lie near the faces at w, or else at u or v. */
  #near(surface: Surface, w: number, u: number, v: number): boolean {
    const points = this.#points;
    const { positions: p, triangles: t } = surface;
    const ring = w !== u && w !== v;
    for (let i = this.#first[w]; i >= 0; i = this.#next[i]) {
      const f = this.#face[i];
      const a = f < 0 ? -1 : t[f];
      if (a >= 0 && ring) {
        const b = t[f + 1],
          c = t[f + 2];
        // Its face is not one of those that change.
        if (a !== u && a !== v && b !== u && b !== v && c !== u && c !== v) continue;
      }
      const x = points[i * 3],
        y = points[i * 3 + 1],
        z = points[i * 3 + 2];
      this.#limit2 = this.#limits[i] * this.#limits[i];
      // The faces that have both ends go; any other is as good a first guess as the last one.
      if (
        a >= 0 &&
        !this.#goes(t, f, u, v) &&
        nearestOnFace(p, a * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z) <= this.#limit2
      )
        continue;
      let home = w;
      let found = this.#nearStar(surface, w, u, v, x, y, z);
      if (found < 0 && w !== u) found = this.#nearStar(surface, (home = u), u, v, x, y, z);
      if (found < 0 && w !== v) {
        found = this.#nearStar(surface, v, u, v, x, y, z);
        home = u;
      }
      if (found < 0) return false;
      if (ring) this.#found.push(i, found, w, home);
    }
    return true;
  }

  /** Whether the face is one of those at the edge from u to v. */
  #goes(t: Int32Array, f: number, u: number, v: number): boolean {
    return (t[f] === u || t[f + 1] === u || t[f + 2] === u) && (t[f] === v || t[f + 1] === v || t[f + 2] === v);
  }

  /** First corner of a face at w that lies within the limit and stays; -1 when none does. */
  #nearStar(surface: Surface, w: number, u: number, v: number, x: number, y: number, z: number): number {
    const { positions: p, triangles: t, head, next } = surface;
    for (let c = head[w]; c >= 0; c = next[c]) {
      const f = c - (c % 3);
      if (this.#goes(t, f, u, v)) continue;
      if (nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z) <= this.#limit2) return f;
    }
    return -1;
  }

  /** What the last `allows` found for points of neighbours comes true: their faces, and for some a new home. */
  #settleFound(u: number): void {
    const found = this.#found;
    for (let k = 0; k < found.length; k += 4) {
      const i = found[k];
      this.#face[i] = found[k + 1];
      if (found[k + 3] === found[k + 2]) continue;
      // Take it out of its list.
      const from = found[k + 2];
      let at = this.#first[from];
      if (at === i) this.#first[from] = this.#next[i];
      else {
        while (this.#next[at] !== i) at = this.#next[at];
        this.#next[at] = this.#next[i];
      }
      this.#next[i] = this.#first[u];
      this.#first[u] = i;
    }
    found.length = 0;
  }

  /**
   * v was merged into u. Their points go to the nearest corner of the nearest face round u, so that each
   * stays at the vertex whose faces it lies by, and every later change near it is looked at.
   */
  merged(surface: Surface, u: number, v: number): void {
    if (this.#dense !== undefined) {
      const { limitsMm } = this.#dense;
      limitsMm[u] = Math.min(limitsMm[u], limitsMm[v]);
    }
    this.#settleFound(u);
    this.#rehome(surface, u, v);
  }

  /** Bring each point to the vertex whose faces it lies by, as `merged` does. O(points). */
  settle(surface: Surface, tick: () => void): void {
    for (let round = 0; round < SETTLING_ROUNDS; round++)
      for (let v = 0; v < this.#first.length; v++) {
        if (v % STRIDE === 0) tick();
        if (this.#first[v] >= 0) this.#rehome(surface, v, v);
      }
  }

  #rehome(surface: Surface, u: number, v: number): void {
    const { positions: p, triangles: t, head, next } = surface;
    const points = this.#points;
    for (let end = 0; end < 2; end++) {
      const from = end === 0 ? u : v;
      let i = this.#first[from];
      this.#first[from] = -1;
      while (i >= 0) {
        const after = this.#next[i];
        let least = Infinity;
        let home = u;
        for (let c = head[u]; c >= 0; c = next[c]) {
          const f = c - (c % 3);
          const d = nearestOnFace(
            p,
            t[f] * 3,
            t[f + 1] * 3,
            t[f + 2] * 3,
            points[i * 3],
            points[i * 3 + 1],
            points[i * 3 + 2],
          );
          if (d >= least) continue;
          least = d;
          this.#face[i] = f;
          const w0 = faceWeights[0],
            w1 = faceWeights[1],
            w2 = faceWeights[2];
          home = w0 >= w1 && w0 >= w2 ? t[f] : w1 >= w2 ? t[f + 1] : t[f + 2];
        }
        // What goes to u while u's own list is read was taken off first, so nothing is met twice.
        this.#next[i] = this.#moved[home];
        this.#moved[home] = i;
        this.#homes.push(home);
        i = after;
      }
    }
    for (const home of this.#homes) {
      let i = this.#moved[home];
      this.#moved[home] = -1;
      while (i >= 0) {
        const after = this.#next[i];
        this.#next[i] = this.#first[home];
        this.#first[home] = i;
        i = after;
      }
    }
    this.#homes.length = 0;
  }
}
