/**
 * Keeps a collapse from carrying the surface too far: points of the dense surface are kept in lists at
 * the vertices they were merged into, and a collapse is refused when a point of the two vertices, or of
 * a neighbour, would then lie further than the limit from the faces round its vertex (in the manner of
 * Klein, Liebich and Strasser, "Mesh reduction with error control", 1996, with points for the surface).
 */
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import type { Surface } from './surface.ts';

export class DeviationGuard {
  readonly #points: Float64Array;
  readonly #first: Int32Array;
  /** Lists under way in `merged`. */
  readonly #moved: Int32Array;
  readonly #homes: number[] = [];
  readonly #next: Int32Array;
  readonly #limits: Float32Array;
  #limit2 = 0;

  /**
   * `vertexOf[i]`: vertex of the surface that point i (xyz triples, same frame) belongs to; -1 leaves it
   * out. `limitsMm[i]`: how far it may come to lie from the surface.
   */
  constructor(points: Float64Array, vertexOf: Int32Array, vertexCount: number, limitsMm: Float32Array) {
    this.#points = points;
    this.#limits = limitsMm;
    this.#first = new Int32Array(vertexCount).fill(-1);
    this.#moved = new Int32Array(vertexCount).fill(-1);
    this.#next = new Int32Array(vertexOf.length).fill(-1);
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
    let fine = this.#near(surface, u, u, v) && this.#near(surface, v, u, v);
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

  /** Whether the points of w lie near the faces at w, or else at u or v. */
  #near(surface: Surface, w: number, u: number, v: number): boolean {
    const points = this.#points;
    for (let i = this.#first[w]; i >= 0; i = this.#next[i]) {
      const x = points[i * 3],
        y = points[i * 3 + 1],
        z = points[i * 3 + 2];
      this.#limit2 = this.#limits[i] * this.#limits[i];
      if (this.#nearStar(surface, w, x, y, z)) continue;
      if (w !== u && this.#nearStar(surface, u, x, y, z)) continue;
      if (w !== v && this.#nearStar(surface, v, x, y, z)) continue;
      return false;
    }
    return true;
  }

  #nearStar(surface: Surface, w: number, x: number, y: number, z: number): boolean {
    const { positions: p, triangles: t, head, next } = surface;
    for (let c = head[w]; c >= 0; c = next[c]) {
      const f = c - (c % 3);
      if (nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z) <= this.#limit2) return true;
    }
    return false;
  }

  /**
   * v was merged into u. Their points go to the nearest corner of the nearest face round u, so that each
   * stays at the vertex whose faces it lies by, and every later change near it is looked at.
   */
  merged(surface: Surface, u: number, v: number): void {
    const { positions: p, triangles: t, head, next } = surface;
    const points = this.#points;
    for (const from of [u, v]) {
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
          const [w0, w1, w2] = faceWeights;
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
