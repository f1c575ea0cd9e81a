/**
 * A triangle mesh that edges can be collapsed in: index arrays with a linked list of corners per vertex.
 *
 * Corner c belongs to face c/3 and runs on to the next corner of that face. A dead face has -1 at its
 * corners; a dead vertex has an empty list and its `parent` is the vertex it was merged into. Positions
 * are taken about the middle of the mesh, so that a scan far from its origin loses nothing.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { boundsOf } from '../mesh/quantities.ts';

export const INTERIOR = 0;
/** On an open border: stays on it. */
export const BORDER = 1;
/** Where more than one fan of faces meets, or more than two at an edge: never touched. */
export const LOCKED = 2;

/** Numbers per vertex quadric: A (6, upper triangle by rows), b (3), c; Q(x) = x·Ax + 2 b·x + c, in mm⁴. */
export const QUADRIC = 10;

/** Shape of a face: 4·sqrt(3)·area over the sum of squared edges, 1 for an equal-sided one. */
const LEAST_SHAPE = 0.06;
/** The same where the number of faces wanted is not reached otherwise: walls of thin sheets are meshed with needles. */
export const NEEDLE_SHAPE = 0.01;

/** What the quadric that begins at `i` amounts to at a place, mm⁴. */
export function quadricAt(q: Float64Array, i: number, x: number, y: number, z: number): number {
  return (
    x * (q[i] * x + 2 * (q[i + 1] * y + q[i + 2] * z + q[i + 6])) +
    y * (q[i + 3] * y + 2 * (q[i + 4] * z + q[i + 7])) +
    z * (q[i + 5] * z + 2 * q[i + 8]) +
    q[i + 9]
  );
}

export class Surface {
  readonly positions: Float64Array;
  readonly triangles: Int32Array;
  readonly head: Int32Array;
  readonly next: Int32Array;
  readonly kind: Uint8Array;
  readonly parent: Int32Array;
  readonly quadrics: Float64Array;
  /** What the quadric of each vertex amounts to where the vertex lies, mm⁴. */
  readonly own: Float64Array;
  readonly mark: Uint32Array;
  readonly origin: readonly [number, number, number];
  stamp = 0;
  /** Least shape of a face made by a collapse, unless it was worse before. */
  leastShape = LEAST_SHAPE;
  faceCount: number;
  vertexCount: number;

  /**
   * With quadrics, the mesh is taken to be about its middle already and they are used (not copied).
   * Steps 'prepare' of `run`.
   */
  constructor(
    mesh: { readonly positions: Float64Array; readonly triangles: Uint32Array },
    quadrics?: Float64Array,
    run: RunContext = QUIET_RUN,
  ) {
    const { min, max } = boundsOf(mesh.positions);
    const o = [0, 1, 2].map((k) => (quadrics === undefined && max[k] > min[k] ? (min[k] + max[k]) / 2 : 0));
    this.origin = [o[0], o[1], o[2]];
    const count = mesh.positions.length / 3;
    const positions = new Float64Array(mesh.positions);
    if (quadrics === undefined) for (let i = 0; i < positions.length; i++) positions[i] -= o[i % 3];
    const triangles = Int32Array.from(mesh.triangles);
    const head = new Int32Array(count).fill(-1);
    const next = new Int32Array(triangles.length);
    for (let c = triangles.length - 1; c >= 0; c--) {
      if ((c & 0xffff) === 0) run.step('prepare', 1, 4);
      const v = triangles[c];
      next[c] = head[v];
      head[v] = c;
    }
    this.positions = positions;
    this.triangles = triangles;
    this.head = head;
    this.next = next;
    this.faceCount = triangles.length / 3;
    this.vertexCount = 0;
    for (let v = 0; v < count; v++) if (head[v] >= 0) this.vertexCount++;
    this.parent = new Int32Array(count);
    for (let v = 0; v < count; v++) this.parent[v] = v;
    this.mark = new Uint32Array(count);
    this.kind = new Uint8Array(count);
    this.#classify(run);
    this.quadrics = quadrics ?? new Float64Array(count * QUADRIC);
    // The planes of a mesh's own faces pass through its vertices, so without quadrics it is nothing.
    this.own = new Float64Array(count);
    if (quadrics !== undefined) for (let v = 0; v < count; v++) this.own[v] = this.#quadricHere(v);
  }

  /** Interior, border or locked, from the fan of faces at each vertex. */
  #classify(run: RunContext): void {
    const { triangles, head, next, kind } = this;
    for (let v = 0; v < head.length; v++) {
      if (v % 4096 === 0) run.step('prepare', 1 + v / head.length, 4);
      const first = head[v];
      if (first < 0) continue;
      let count = 0;
      for (let c = first; c >= 0; c = next[c]) count++;
      // Walk round: the face that goes on where this one ends.
      let at = first,
        walked = 1,
        forks = 0,
        closed = false;
      while (walked <= count) {
        const end = triangles[at % 3 === 0 ? at + 2 : at - 1];
        let onward = -1,
          found = 0;
        for (let c = first; c >= 0; c = next[c]) {
          if (triangles[c % 3 === 2 ? c - 2 : c + 1] === end) {
            onward = c;
            found++;
          }
        }
        if (found > 1) forks++;
        if (onward < 0) break;
        if (onward === first) {
          closed = true;
          break;
        }
        at = onward;
        walked++;
      }
      if (forks > 0 || walked > count) kind[v] = LOCKED;
      else if (closed) kind[v] = walked === count ? INTERIOR : LOCKED;
      else {
        // Open: walk the other way from the first face too.
        at = first;
        for (;;) {
          const start = triangles[at % 3 === 2 ? at - 2 : at + 1];
          let back = -1,
            found = 0;
          for (let c = first; c >= 0; c = next[c]) {
            if (triangles[c % 3 === 0 ? c + 2 : c - 1] === start) {
              back = c;
              found++;
            }
          }
          if (found > 1) forks++;
          if (back < 0 || walked > count) break;
          at = back;
          walked++;
        }
        kind[v] = forks > 0 || walked !== count ? LOCKED : BORDER;
      }
    }
  }

  #quadricHere(v: number): number {
    const { positions: p, quadrics: q } = this;
    const cost = quadricAt(q, v * QUADRIC, p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    return cost > 0 ? cost : 0;
  }

  /** The vertex that `v` has been merged into, directly or over others. */
  find(v: number): number {
    const { parent } = this;
    while (parent[v] !== v) {
      parent[v] = parent[parent[v]];
      v = parent[v];
    }
    return v;
  }

  /**
   * Merge v into u at (x, y, z). The caller has checked that it may be done. Quadrics are added.
   */
  collapse(u: number, v: number, x: number, y: number, z: number): void {
    const { positions, triangles, head, next, quadrics } = this;
    let moved = -1;
    let c = head[v];
    while (c >= 0) {
      const after = next[c];
      const c1 = c % 3 === 2 ? c - 2 : c + 1;
      const c2 = c % 3 === 0 ? c + 2 : c - 1;
      const a = triangles[c1];
      const b = triangles[c2];
      if (a === u || b === u) {
        // The face goes; take it from the third vertex's list.
        const third = a === u ? b : a;
        const gone = a === u ? c2 : c1;
        let at = head[third];
        if (at === gone) head[third] = next[gone];
        else {
          while (next[at] !== gone) at = next[at];
          next[at] = next[gone];
        }
        triangles[c] = triangles[c1] = triangles[c2] = -1;
        this.faceCount--;
      } else {
        triangles[c] = u;
        next[c] = moved;
        moved = c;
      }
      c = after;
    }
    // Old list of u without its dead corners, in front of what came over.
    let last = -1;
    c = head[u];
    head[u] = -1;
    while (c >= 0) {
      const after = next[c];
      if (triangles[c] >= 0) {
        if (last < 0) head[u] = c;
        else next[last] = c;
        last = c;
      }
      c = after;
    }
    if (last < 0) head[u] = moved;
    else next[last] = moved;
    head[v] = -1;
    this.parent[v] = u;
    this.vertexCount--;
    positions[u * 3] = x;
    positions[u * 3 + 1] = y;
    positions[u * 3 + 2] = z;
    const qu = u * QUADRIC;
    const qv = v * QUADRIC;
    for (let k = 0; k < QUADRIC; k++) quadrics[qu + k] += quadrics[qv + k];
    this.own[u] = this.#quadricHere(u);
    if (this.kind[v] > this.kind[u]) this.kind[u] = this.kind[v];
  }

  /**
   * The live faces as compact arrays (about `origin`), the quadrics beside them, and for each vertex of
   * this surface the number of the compact vertex it was merged into (-1 when it had no face).
   */
  compact(): { positions: Float64Array; triangles: Uint32Array; quadrics: Float64Array; vertexOf: Int32Array } {
    const { head, triangles: t, parent } = this;
    const vertexOf = new Int32Array(head.length).fill(-1);
    let count = 0;
    for (let v = 0; v < head.length; v++) if (head[v] >= 0) vertexOf[v] = count++;
    const positions = new Float64Array(count * 3);
    const quadrics = new Float64Array(count * QUADRIC);
    for (let v = 0; v < head.length; v++) {
      if (head[v] < 0) continue;
      const to = vertexOf[v];
      for (let k = 0; k < 3; k++) positions[to * 3 + k] = this.positions[v * 3 + k];
      for (let k = 0; k < QUADRIC; k++) quadrics[to * QUADRIC + k] = this.quadrics[v * QUADRIC + k];
    }
    const triangles = new Uint32Array(this.faceCount * 3);
    let at = 0;
    for (let c = 0; c < t.length; c += 3) {
      if (t[c] < 0) continue;
      triangles[at++] = vertexOf[t[c]];
      triangles[at++] = vertexOf[t[c + 1]];
      triangles[at++] = vertexOf[t[c + 2]];
    }
    for (let v = 0; v < head.length; v++) {
      if (head[v] < 0 && parent[v] !== v) vertexOf[v] = vertexOf[this.find(v)];
    }
    return { positions, triangles, quadrics, vertexOf };
  }

  /** The live faces as a mesh in the coordinates this surface was made from, without colours. */
  toMesh(): Mesh {
    const { positions, triangles } = this.compact();
    for (let i = 0; i < positions.length; i++) positions[i] += this.origin[i % 3];
    return { positions, triangles };
  }
}
