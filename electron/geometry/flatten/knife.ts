/** A surface that can be cut along lines drawn on it: the lines become edges, the surface stays the same. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import { shortestPath } from '../measure/shortest-path.ts';

/** A point nearer than this to a vertex is that vertex, mm: far under what a hand can cut. */
const SAME_POINT_MM = 1 / 64;
/** A plane that cuts an edge this near to an end, as a share of it, cuts at the end: no slivers. */
const NEAR_SHARE = 1 / 100;
/** A line that leaves the faces it is followed on by more than this is lost, mm. */
const LOST_MM = 1 / 4;

export class Knife {
  readonly positions: number[];
  readonly triangles: number[];
  readonly #facesOf: number[][] = [];
  /** Line each cut edge belongs to, by its two vertices. */
  readonly #cuts = new Map<string, number>();

  constructor(mesh: Mesh) {
    this.positions = Array.from(mesh.positions);
    this.triangles = Array.from(mesh.triangles);
    for (let v = 0; v < mesh.positions.length / 3; v++) this.#facesOf.push([]);
    for (const [corner, v] of this.triangles.entries()) this.#facesOf[v].push(Math.floor(corner / 3));
  }

  mesh(): Mesh {
    return { positions: Float64Array.from(this.positions), triangles: Uint32Array.from(this.triangles) };
  }

  copy(): Knife {
    const copy = new Knife(this.mesh());
    for (const [key, line] of this.#cuts) copy.#cuts.set(key, line);
    return copy;
  }

  /** Line of an edge that is cut, else -1. */
  cutOf(a: number, b: number): number {
    return this.#cuts.get(edgeKey(a, b)) ?? -1;
  }

  pointOf(v: number): Vec3 {
    return [this.positions[v * 3], this.positions[v * 3 + 1], this.positions[v * 3 + 2]];
  }

  /** The vertex at the place of the surface nearest to `point`, made there if need be. O(faces). */
  vertexAt(point: Vec3): number {
    const p = Float64Array.from(this.positions);
    const t = this.triangles;
    let best = Infinity;
    let face = -1;
    let weights: number[] = [];
    for (let f = 0; f < t.length; f += 3) {
      const square = nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, point[0], point[1], point[2]);
      if (!(square < best)) continue;
      best = square;
      face = f / 3;
      weights = Array.from(faceWeights);
    }
    const corners = t.slice(face * 3, face * 3 + 3);
    const foot = [0, 1, 2].map((k) => corners.reduce((sum, v, i) => sum + weights[i] * p[v * 3 + k], 0));
    return this.#insert(face, foot as unknown as Vec3);
  }

  /** The vertex of the surface's rim nearest to a vertex, made there if need be; undefined where none is within reach. O(faces). */
  rimNear(v: number, reachMm: number): number | undefined {
    const faces = new Map<string, readonly [number, number, number]>();
    for (let h = 0; h < this.triangles.length; h++) {
      const [a, b] = [this.triangles[h], this.triangles[h % 3 === 2 ? h - 2 : h + 1]];
      const key = edgeKey(a, b);
      faces.set(key, [a, b, (faces.get(key)?.[2] ?? 0) + 1]);
    }
    let best = { square: reachMm * reachMm, a: -1, b: -1, share: 0 };
    const goal = this.pointOf(v);
    for (const [a, b, count] of faces.values()) {
      if (count !== 1) continue;
      const foot = this.#footOn(a, b, goal);
      if (foot.square < best.square) best = { ...foot, a, b };
    }
    return best.a < 0 ? undefined : this.#onEdge(best.a, best.b, best.share);
  }

  /**
   * Cut along the shortest way between the places of two vertices; where the surface is open, on whichever side of the
   * opening that way runs. The vertices of the cut, or undefined when no way leads there. O(faces + what the way needs).
   */
  cutBetween(from: number, to: number, line: number, tick: () => void): readonly number[] | undefined {
    const path = shortestPath(this.mesh(), this.pointOf(from), this.pointOf(to), tick);
    if (path === undefined || path.points.length < 6) return undefined;
    const goalAt = (i: number): Vec3 => [path.points[i], path.points[i + 1], path.points[i + 2]];
    const ends = this.#verticesAt(to);
    const reach = (start: number): number => this.#nearestEdge(start, goalAt(3)).square;
    let at = this.#verticesAt(from).reduce((best, start) => (reach(start) < reach(best) ? start : best), from);
    const chain = [at];
    for (let i = 3; i < path.points.length; i += 3) {
      const last = i + 3 >= path.points.length ? ends.find((end) => this.#joined(at, end)) : undefined;
      const next = last ?? this.#towards(at, goalAt(i));
      if (next === undefined) return undefined;
      if (next === at) continue;
      this.#cuts.set(edgeKey(at, next), line);
      chain.push(next);
      at = next;
    }
    return ends.includes(at) ? chain : undefined;
  }

  /** All vertices at the place of one: several where the surface is open along a cut. */
  #verticesAt(v: number): number[] {
    const p = this.positions;
    const found: number[] = [];
    for (let w = 0; w < p.length / 3; w++) {
      if (p[w * 3] === p[v * 3] && p[w * 3 + 1] === p[v * 3 + 1] && p[w * 3 + 2] === p[v * 3 + 2]) found.push(w);
    }
    return found;
  }

  /** Cut along edges that are there already. */
  cutAlong(chain: readonly number[], line: number): void {
    for (let i = 1; i < chain.length; i++) this.#cuts.set(edgeKey(chain[i - 1], chain[i]), line);
  }

  /**
   * Cut where a value at the vertices goes through 0, linear along edges; at vertices made by other cuts later the value
   * is asked anew. The cut stretches as chains of vertices. O(faces).
   */
  cutWhere(value: (point: Vec3) => number, line: number): readonly (readonly number[])[] {
    const values = Array.from({ length: this.positions.length / 3 }, (_, v) => value(this.pointOf(v)));
    for (let h = 0; h < this.triangles.length; h++) {
      const a = this.triangles[h],
        b = this.triangles[h % 3 === 2 ? h - 2 : h + 1];
      if (!(values[a] * values[b] < 0)) continue;
      const met = this.#onEdge(a, b, values[a] / (values[a] - values[b]), NEAR_SHARE);
      values[met] = 0;
      // The face now at this place may be crossed on its other edges, too.
      h = h - (h % 3) - 1;
    }
    const next = new Map<number, number[]>();
    for (let h = 0; h < this.triangles.length; h++) {
      const a = this.triangles[h],
        b = this.triangles[h % 3 === 2 ? h - 2 : h + 1];
      if (values[a] !== 0 || values[b] !== 0 || a > b) continue;
      const signs = this.#facesOf[a]
        .filter((face) => this.#facesOf[b].includes(face))
        .map((face) => Math.sign([0, 1, 2].reduce((sum, k) => sum + values[this.triangles[face * 3 + k]], 0)));
      if (signs.length !== 2 || signs[0] === signs[1]) continue;
      this.#cuts.set(edgeKey(a, b), line);
      next.set(a, [...(next.get(a) ?? []), b]);
      next.set(b, [...(next.get(b) ?? []), a]);
    }
    return chainsOf(next);
  }

  #joined(a: number, b: number): boolean {
    return this.#facesOf[a].some((face) => this.triangles.slice(face * 3, face * 3 + 3).includes(b));
  }

  /** The vertex at `goal`, which lies on a face of vertex `at`: joined to it by an edge afterwards. */
  #towards(at: number, goal: Vec3): number | undefined {
    const { square, a, b, share } = this.#nearestEdge(at, goal);
    return square > LOST_MM * LOST_MM ? undefined : this.#onEdge(a, b, share);
  }

  /** Of the edges of the faces at a vertex, the one nearest to a point, and where on it. */
  #nearestEdge(at: number, goal: Vec3): { square: number; a: number; b: number; share: number } {
    let best = { square: Infinity, a: at, b: at, share: 0 };
    for (const face of this.#facesOf[at]) {
      for (let k = 0; k < 3; k++) {
        const a = this.triangles[face * 3 + k],
          b = this.triangles[face * 3 + ((k + 1) % 3)];
        const foot = this.#footOn(a, b, goal);
        if (foot.square < best.square) best = { ...foot, a, b };
      }
    }
    return best;
  }

  /** Where on an edge a point is nearest, as a share of it, and the squared distance. */
  #footOn(a: number, b: number, goal: Vec3): { square: number; share: number } {
    const p = this.positions;
    let along = 0,
      size = 0;
    for (let i = 0; i < 3; i++) {
      const edge = p[b * 3 + i] - p[a * 3 + i];
      along += edge * (goal[i] - p[a * 3 + i]);
      size += edge * edge;
    }
    const share = size > 0 ? Math.min(1, Math.max(0, along / size)) : 0;
    let square = 0;
    for (let i = 0; i < 3; i++) {
      square += (p[a * 3 + i] + share * (p[b * 3 + i] - p[a * 3 + i]) - goal[i]) ** 2;
    }
    return { square, share };
  }

  /** The vertex on an edge at a share of it, made there unless an end is near. */
  #onEdge(a: number, b: number, share: number, nearShare = 0): number {
    const length = Math.hypot(...[0, 1, 2].map((k) => this.positions[b * 3 + k] - this.positions[a * 3 + k]));
    if (share * length < SAME_POINT_MM || share < nearShare) return a;
    if ((1 - share) * length < SAME_POINT_MM || 1 - share < nearShare) return b;
    const made = this.#newVertex(a, b, share);
    for (const face of this.#facesOf[a].filter((one) => this.#facesOf[b].includes(one))) {
      const corners = this.triangles.slice(face * 3, face * 3 + 3);
      this.#replace(face, b, made);
      this.#addFace(corners.map((v) => (v === a ? made : v)));
      this.#facesOf[made].push(face);
      this.#facesOf[b] = this.#facesOf[b].filter((one) => one !== face);
    }
    const line = this.cutOf(a, b);
    if (line >= 0) {
      this.#cuts.delete(edgeKey(a, b));
      this.#cuts.set(edgeKey(a, made), line);
      this.#cuts.set(edgeKey(made, b), line);
    }
    return made;
  }

  #insert(face: number, point: Vec3): number {
    const corners = this.triangles.slice(face * 3, face * 3 + 3);
    const p = this.positions;
    for (const v of corners) {
      if (Math.hypot(p[v * 3] - point[0], p[v * 3 + 1] - point[1], p[v * 3 + 2] - point[2]) < SAME_POINT_MM) return v;
    }
    for (let k = 0; k < 3; k++) {
      const a = corners[k],
        b = corners[(k + 1) % 3];
      const edge = [0, 1, 2].map((i) => p[b * 3 + i] - p[a * 3 + i]);
      const off = [0, 1, 2].map((i) => point[i] - p[a * 3 + i]);
      const size = edge.reduce((sum, x) => sum + x * x, 0);
      const share = size > 0 ? edge.reduce((sum, x, i) => sum + x * off[i], 0) / size : 0;
      const apart = Math.hypot(...off.map((x, i) => x - share * edge[i]));
      if (apart < SAME_POINT_MM && share >= 0 && share <= 1) return this.#onEdge(a, b, share);
    }
    const made = p.length / 3;
    p.push(...point);
    this.#facesOf.push([]);
    const [a, b, c] = corners;
    this.#replace(face, c, made);
    this.#facesOf[c] = this.#facesOf[c].filter((one) => one !== face);
    this.#facesOf[made].push(face);
    this.#addFace([b, c, made]);
    this.#addFace([c, a, made]);
    return made;
  }

  #newVertex(a: number, b: number, share: number): number {
    const p = this.positions;
    const made = p.length / 3;
    for (let k = 0; k < 3; k++) p.push(p[a * 3 + k] + share * (p[b * 3 + k] - p[a * 3 + k]));
    this.#facesOf.push([]);
    return made;
  }

  #replace(face: number, from: number, to: number): void {
    for (let k = face * 3; k < face * 3 + 3; k++) if (this.triangles[k] === from) this.triangles[k] = to;
  }

  #addFace(corners: readonly number[]): void {
    const face = this.triangles.length / 3;
    this.triangles.push(...corners);
    for (const v of corners) this.#facesOf[v].push(face);
  }
}

/** Chains of a graph whose vertices have two neighbours or, at ends, one; a closed chain ends where it began. */
function chainsOf(next: Map<number, number[]>): readonly (readonly number[])[] {
  const chains: number[][] = [];
  const walk = (start: number): void => {
    const chain = [start];
    let at = start;
    for (;;) {
      const ways = next.get(at) as number[];
      const to = ways.shift();
      if (to === undefined) break;
      const back = next.get(to) as number[];
      back.splice(back.indexOf(at), 1);
      chain.push(to);
      at = to;
    }
    if (chain.length > 1) chains.push(chain);
  };
  for (const [v, ways] of next) if (ways.length === 1) walk(v);
  for (const [v, ways] of next) if (ways.length > 0) walk(v);
  return chains;
}

function edgeKey(a: number, b: number): string {
  return a < b ? `${a},${b}` : `${b},${a}`;
}
