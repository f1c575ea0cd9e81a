/**
 * The room a body takes while a part is put on along a straight line: everything it has passed, from where it sits out
 * through the opening, down to the level of its own lowest point.
 *
 * Swept along a line, each face becomes a prism open to one end; the distance to it is that of a ray to the face, which
 * is taken exactly: to the face itself, or across the line to the part of an edge the ray runs past. A tree over the
 * faces, turned so that the line stands upright, finds the least (the box of a node swept is a box again).
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { nearestOnFace, faceWeights } from '../measure/point-triangle.ts';
import { boundsOf, type Bounds } from '../mesh/quantities.ts';
import { buildBvh, type Bvh } from '../spatial/bvh.ts';

const STACK = 128;

export class SweptBody {
  /** Of the last query: the nearest point of the swept room. */
  x = 0;
  y = 0;
  z = 0;
  readonly #tree: Bvh;
  /** Rows of the turn: across, across, and against the direction. */
  readonly #turn: readonly number[];
  readonly #lowest: number;
  /** The body's vertices, turned. */
  readonly #turned: Float64Array;
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
    const above = new Uint32Array(t.length);
    let count = 0;
    for (let h = 0; h < t.length; h += 3) {
      const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
      if (cross2(positions, b, c, positions[a], positions[a + 1]) <= 0) continue;
      above.set(t.subarray(h, h + 3), count);
      count += 3;
    }
    this.#tree = buildBvh({ positions, triangles: above.subarray(0, count) }, tick);
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
   * foot says nothing. Expected O(log n).
   */
  at(x: number, y: number, z: number, within = Infinity): number {
    const u = this.#row(0, x, y, z),
      v = this.#row(1, x, y, z),
      w = this.#row(2, x, y, z);
    // Below the lowest point of the body the room ends flat: its nearest point lies on that level.
    const level = Math.max(w, this.#lowest);
    const below = level - w;
    this.#best = within * within - below * below;
    if (this.#best <= 0) return within;
    const limit = this.#best;
    this.#find(u, v, level);
    if (this.#best >= limit) return within;
    if (this.#best === 0) [this.#u, this.#v, this.#w] = [u, v, level];
    const m = this.#turn;
    this.x = m[0] * this.#u + m[3] * this.#v + m[6] * this.#w;
    this.y = m[1] * this.#u + m[4] * this.#v + m[7] * this.#w;
    this.z = m[2] * this.#u + m[5] * this.#v + m[8] * this.#w;
    return Math.sqrt(this.#best + below * below);
  }

  #find(u: number, v: number, w: number): void {
    const { bounds, right, count, corners, nodeCount } = this.#tree;
    if (nodeCount === 0) return;
    const stack = this.#stack;
    const far = (node: number): number => {
      const at = node * 6;
      const du = u < bounds[at] ? bounds[at] - u : u > bounds[at + 3] ? u - bounds[at + 3] : 0;
      const dv = v < bounds[at + 1] ? bounds[at + 1] - v : v > bounds[at + 4] ? v - bounds[at + 4] : 0;
      const dw = w > bounds[at + 5] ? w - bounds[at + 5] : 0;
      return du * du + dv * dv + dw * dw;
    };
    let top = 0;
    stack[top++] = 0;
    while (top > 0 && this.#best > 0) {
      const node = stack[--top];
      if (far(node) >= this.#best) continue;
      const n = count[node];
      if (n === 0) {
        const [a, b] = [node + 1, right[node]];
        if (far(a) < far(b)) {
          stack[top++] = b;
          stack[top++] = a;
        } else {
          stack[top++] = a;
          stack[top++] = b;
        }
        continue;
      }
      for (let slot = right[node]; slot < right[node] + n && this.#best > 0; slot++)
        this.#face(corners, slot * 9, u, v, w);
    }
  }

  /** Take the prism below one face, if it is nearer. */
  #face(c: Float64Array, at: number, u: number, v: number, w: number): void {
    // The point lies in the prism when it is beneath the face and within its outline as seen along the line.
    const ab = cross2(c, at, at + 3, u, v),
      bc = cross2(c, at + 3, at + 6, u, v),
      ca = cross2(c, at + 6, at, u, v);
    const twice = ab + bc + ca;
    if (twice !== 0 && ab * twice >= 0 && bc * twice >= 0 && ca * twice >= 0) {
      if (w <= (bc * c[at + 2] + ca * c[at + 5] + ab * c[at + 8]) / twice) {
        this.#best = 0;
        return;
      }
    }
    const near = nearestOnFace(c, at, at + 3, at + 6, u, v, w);
    if (near < this.#best) {
      const [a, b, d] = faceWeights;
      this.#best = near;
      this.#u = a * c[at] + b * c[at + 3] + d * c[at + 6];
      this.#v = a * c[at + 1] + b * c[at + 4] + d * c[at + 7];
      this.#w = a * c[at + 2] + b * c[at + 5] + d * c[at + 8];
    }
    this.#edge(c, at, at + 3, u, v, w);
    this.#edge(c, at + 3, at + 6, u, v, w);
    this.#edge(c, at + 6, at, u, v, w);
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
