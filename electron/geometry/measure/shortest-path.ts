/**
 * The shortest way along a surface between two points of it, exact on the mesh: what a tape laid on the skin reads.
 *
 * Windows of straight ways are carried from edge to edge, nearest first (Mitchell, Mount and Papadimitriou 1987; Chen
 * and Han 1990, with their one split for each angle; two filters of Xin and Wang 2009). Only the part of the surface is
 * looked at that a path no longer than one already known can reach; where that is still much, only a corridor along a
 * band pulled tight over the skin (280 mm over a head of 200,000 faces: 12 s whole, 1.5 s in the corridor, and within
 * 0.1 % of it). Tried without gain: a lower bound of the way ahead by a function that grows no faster than 1, which thin faces
 * drag far below the length.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { corridorAlong } from './corridor.ts';
import { LeastFirst } from './least-first.ts';
import { next, PatchShape } from './patch-shape.ts';
import { patchBetween, type SurfacePatch } from './surface-patch.ts';
import { pullTight, type Body } from './tight-band.ts';
import { WindowPool, type Window } from './window-pool.ts';

export interface SurfacePath {
  /** Along the surface, mesh units. No way on the mesh is shorter that stays within `within` of this one. */
  readonly length: number;
  /** Half the width of the corridor that was searched, mesh units; infinite when every way was. */
  readonly within: number;
  /** The path, xyz triples from the first point to the last, straight between them and on the surface. */
  readonly points: Float64Array;
}

/** How many times longer than the straight line a path may be at first; each failure makes room for more. */
const ROOM = [1.25, 1.7, 2.6, 5, 12, Infinity];
/** Rounding allowed for when windows are compared, relative to the size of the patch. */
const ROUNDING = 2 ** -36;
/** Work items between two ticks. */
const TICK_ITEMS = 512;
/** Faces up to which every way is looked at; on more, those in a corridor. */
const WHOLE_FACES = 12_000;
/** Half the corridor's width, as a share of the path's length, and at least so many edges; twice that if it hems in. */
const CORRIDOR_SHARE = 0.012;
const CORRIDOR_EDGES = 6;

/**
 * Shortest path between the places of the surface nearest to `from` and `to`. The mesh may be open, and a path may run
 * along its border, but not leap a crack. Undefined when no way leads there. `tick` is called every few milliseconds.
 * O(faces + n log n) for n windows, usually a few for each face that lies near the path. Where more than 12,000
 * faces could take part, only ways within a corridor are compared, and `within` says how wide it was.
 */
export function shortestPath(mesh: Mesh, from: Vec3, to: Vec3, tick?: () => void): SurfacePath | undefined {
  const straight = Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
  for (const room of ROOM) {
    // Points a little off the surface are put on it, so the straight line may be too short even for room 1.
    const patch = patchBetween(mesh, from, to, straight > 0 ? room * straight : 0, tick);
    if (patch.from < 0) continue;
    if (patch.from === patch.to) return { length: 0, within: Infinity, points: pointsOf(patch, [patch.from]) };
    const path = shortestOn(patch, tick);
    if (path === undefined) continue;
    // A path that stays within the room has seen all its rivals.
    if (path.length <= room * straight || room === Infinity) return path;
  }
  return undefined;
}

/**
 * A way from vertex to vertex between the places of the surface nearest to two points, xyz triples: a few percent longer
 * than need be, and a little off the surface where it crosses an edge. Undefined when there is none. O(n log n).
 */
export function roughPath(mesh: Mesh, from: Vec3, to: Vec3, tick?: () => void): Float64Array | undefined {
  const straight = Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
  for (const room of ROOM) {
    const patch = patchBetween(mesh, from, to, straight > 0 ? room * straight : 0, tick);
    if (patch.from < 0) continue;
    const known = alongEdges(new PatchShape(patch), true, tick);
    if (known !== undefined) return edgeChain(patch, known);
  }
  return undefined;
}

function edgeChain(patch: SurfacePatch, known: AlongEdges): Float64Array {
  const chain: number[] = [patch.to];
  while (chain[chain.length - 1] !== patch.from) chain.push(known.previous[chain[chain.length - 1]]);
  return pointsOf(patch, chain.toReversed());
}

function shortestOn(patch: SurfacePatch, tick?: () => void): SurfacePath | undefined {
  const shape = new PatchShape(patch);
  const isSmall = patch.triangles.length <= 3 * WHOLE_FACES;
  const known = alongEdges(shape, !isSmall, tick);
  if (known === undefined) return undefined;
  if (isSmall) {
    const { length, points } = new Windows(shape, known, tick).find();
    return { length, points, within: Infinity };
  }
  const band = pullTight(skinOf(patch, tick), edgeChain(patch, known), true, tick);
  let edges = 0;
  for (const length of shape.edge) edges += length;
  const mean = edges / shape.edge.length;
  for (let within = Math.max(CORRIDOR_SHARE * band.length, CORRIDOR_EDGES * mean); ; within *= 2) {
    const corridor = corridorAlong(patch, band.points, within, tick);
    const part = new PatchShape(corridor.patch);
    const start = alongEdges(part, false, tick);
    if (start === undefined) continue;
    const { over, ...found } = new Windows(part, start, tick).find();
    const isWhole = corridor.patch.triangles.length === patch.triangles.length;
    if (isWhole || !over.some((v) => corridor.hems[v] === 1)) {
      return { ...found, within: isWhole ? Infinity : within };
    }
  }
}

/** The surface of a patch for a band that clings to it: nowhere inside. */
function skinOf({ positions, triangles }: SurfacePatch, tick?: () => void): Body {
  const tree = buildBvh({ positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) }, tick);
  const slot = nearestSlot();
  return Object.assign(slot, {
    at: (x: number, y: number, z: number): number => {
      findNearest(tree, x, y, z, slot);
      return slot.distance;
    },
  });
}

function pointsOf(patch: SurfacePatch, vertices: readonly number[]): Float64Array {
  return Float64Array.from(vertices.flatMap((v) => patch.positions.slice(v * 3, v * 3 + 3)));
}

interface AlongEdges {
  readonly distance: Float64Array;
  /** Vertex before each on the way there. */
  readonly previous: Int32Array;
}

/**
 * Shortest paths along edges until the goal is reached (Dijkstra 1959), or undefined when it is not. With `hops` they may
 * also go straight across the edge opposite a vertex to the next one: far less bound to the way the edges run.
 */
function alongEdges(shape: PatchShape, hops: boolean, tick?: () => void): AlongEdges | undefined {
  const { patch, start, leaving, edge } = shape;
  const { positions: p, triangles: t } = patch;
  const count = p.length / 3;
  const distance = new Float64Array(count).fill(Infinity);
  const previous = new Int32Array(count).fill(-1);
  distance[patch.from] = 0;
  const heap = new LeastFirst();
  heap.push(0, patch.from);
  for (let turn = 0; heap.size > 0; turn++) {
    if (turn % TICK_ITEMS === 0) tick?.();
    const here = heap.least;
    const v = heap.take();
    if (v === patch.to) return { distance, previous };
    if (here > distance[v]) continue;
    const reach = (w: number, by: number): void => {
      const there = here + by;
      if (!(there < distance[w])) return;
      distance[w] = there;
      previous[w] = v;
      heap.push(there, w);
    };
    for (let at = start[v]; at < start[v + 1]; at++) {
      const out = leaving[at];
      // Both edges of the face that meet here: one of them may be on a border.
      for (const [h, w] of [
        [out, t[next(out)]],
        [next(next(out)), t[next(next(out))]],
      ]) {
        reach(w, edge[h]);
      }
      const across = next(out);
      if (!hops || !shape.goesOn(across)) continue;
      // In the plane of the other face the vertex is the apex turned by half a turn.
      const twin = shape.twin[across];
      const x = edge[across] - shape.apexX[across],
        y = -shape.apexY[across];
      const rise = shape.apexY[twin] - y,
        run = shape.apexX[twin] - x;
      const crossing = rise > 0 ? x - (y / rise) * run : -1;
      if (crossing > 0 && crossing < edge[across]) reach(t[next(next(twin))], Math.hypot(run, rise));
    }
  }
  return undefined;
}

/** In `#by`: nothing leads there yet; below it, a window (its number is NO_WAY - 1 - by); from 0 on, a vertex. */
const NO_WAY = -1;

class Windows {
  readonly #patch: SurfacePatch;
  readonly #shape: PatchShape;
  readonly #tick: (() => void) | undefined;
  readonly #known: AlongEdges;
  /** Through each half-edge, the shortest way yet to the apex across, and where it crosses. */
  readonly #toApex: Float64Array;
  readonly #crossing: Float64Array;
  readonly #distance: Float64Array;
  /** How each vertex was reached: by a window, or along an edge from a vertex; see NO_WAY. */
  readonly #by: Int32Array;
  readonly #heap = new LeastFirst();
  readonly #windows = new WindowPool();
  readonly #slack: number;
  #bound: number;

  constructor(shape: PatchShape, known: AlongEdges, tick: (() => void) | undefined) {
    this.#patch = shape.patch;
    this.#shape = shape;
    this.#known = known;
    this.#bound = known.distance[shape.patch.to];
    this.#toApex = new Float64Array(shape.edge.length).fill(Infinity);
    this.#crossing = new Float64Array(shape.edge.length);
    this.#tick = tick;
    this.#slack = Math.max(...shape.size) * ROUNDING;
    const count = shape.patch.positions.length / 3;
    this.#distance = new Float64Array(count).fill(Infinity);
    this.#by = new Int32Array(count).fill(NO_WAY);
  }

  /** The shortest way, and the vertices it passes from its end to its start. */
  find(): { readonly length: number; readonly points: Float64Array; readonly over: readonly number[] } {
    const { from, to, positions } = this.#patch;
    this.#distance[from] = 0;
    // The way along edges is there already, should none be shorter.
    const { distance, previous } = this.#known;
    for (let v = to; v !== from; v = previous[v]) this.#reach(v, distance[v], previous[v]);
    this.#leave(from);
    for (let turn = 0; this.#heap.size > 0 && this.#heap.least <= this.#distance[to]; turn++) {
      if (turn % TICK_ITEMS === 0) this.#tick?.();
      const key = this.#heap.least;
      const item = this.#heap.take();
      if (item < 0) {
        const vertex = -1 - item;
        if (key <= this.#distance[vertex]) this.#leave(vertex);
      } else {
        this.#enter(item);
      }
    }
    const over: number[] = [];
    return { length: this.#distance[to], points: Float64Array.from(this.#trace(to, positions, over)), over };
  }

  /** Everything that goes straight on from a vertex. */
  #leave(vertex: number): void {
    const { triangles: t } = this.#patch;
    const before = this.#distance[vertex];
    for (let at = this.#shape.start[vertex]; at < this.#shape.start[vertex + 1]; at++) {
      const h = this.#shape.leaving[at];
      const across = next(h);
      this.#reach(t[across], before + this.#shape.edge[h], vertex);
      const last = next(across);
      this.#reach(t[last], before + this.#shape.edge[last], vertex);
      if (!this.#shape.goesOn(across)) continue;
      const twin = this.#shape.twin[across];
      // In the plane of the twin, which runs the other way, the vertex is the apex turned by half a turn.
      this.#add({
        halfedge: twin,
        x0: 0,
        x1: this.#shape.edge[across],
        bendX: this.#shape.edge[across] - this.#shape.apexX[across],
        bendY: -this.#shape.apexY[across],
        before,
        bend: vertex,
        parent: -1,
      });
    }
  }

  /** A way to a vertex: kept when it is the shortest yet. */
  #reach(vertex: number, distance: number, by: number): void {
    if (!(distance < this.#distance[vertex])) return;
    this.#distance[vertex] = distance;
    this.#by[vertex] = by;
    if (vertex === this.#patch.to) this.#bound = Math.min(this.#bound, distance);
    else if (this.#shape.bends[vertex]) this.#heap.push(distance, -1 - vertex);
  }

  #add(window: Window): void {
    const { halfedge: h, x0, x1, bendX, bendY, before } = window;
    const { positions: p, triangles: t, to } = this.#patch;
    if (!(x1 - x0 > this.#slack)) return;
    const a = t[h],
      b = t[next(h)];
    const edge = this.#shape.edge[h];
    const end0 = before + Math.hypot(x0 - bendX, bendY),
      end1 = before + Math.hypot(x1 - bendX, bendY);
    // Shorter over one end of the edge, for all of the window (Xin and Wang 2009).
    if (end1 > this.#distance[a] + x1 + this.#slack || end0 > this.#distance[b] + edge - x0 + this.#slack) return;
    const beside = bendX < x0 ? end0 : bendX > x1 ? end1 : before - bendY;
    // From the window on at least straight to the goal: from its middle, less half its width, at the least.
    const s = (x0 + x1) / (2 * edge);
    const ahead = Math.sqrt(
      (p[a * 3] + s * (p[b * 3] - p[a * 3]) - p[to * 3]) ** 2 +
        (p[a * 3 + 1] + s * (p[b * 3 + 1] - p[a * 3 + 1]) - p[to * 3 + 1]) ** 2 +
        (p[a * 3 + 2] + s * (p[b * 3 + 2] - p[a * 3 + 2]) - p[to * 3 + 2]) ** 2,
    );
    if (beside + ahead - (x1 - x0) / 2 > this.#bound + this.#slack) return;
    this.#heap.push(beside, this.#windows.add(window));
  }

  /** Carry a window across its face to the other two edges. */
  #enter(number: number): void {
    const { halfedge: h, x0, x1, bendX, bendY, before, bend } = this.#windows.get(number);
    const { triangles: t } = this.#patch;
    const edge = this.#shape.edge[h],
      cx = this.#shape.apexX[h],
      cy = this.#shape.apexY[h];
    const a = t[h],
      b = t[next(h)],
      c = t[next(next(h))];
    // What was kept while it was shortest need not be any more.
    const end0 = before + Math.hypot(x0 - bendX, bendY),
      end1 = before + Math.hypot(x1 - bendX, bendY);
    if (end1 > this.#distance[a] + x1 + this.#slack || end0 > this.#distance[b] + edge - x0 + this.#slack) return;
    /** Above zero when the apex lies left of the ray from the bend through x. */
    const apexLeft = (x: number): number => (x - bendX) * (cy - bendY) + bendY * (cx - bendX);
    /** Share of the way from (px, py) to (qx, qy) at which the ray from the bend through x meets it. */
    const meets = (x: number, px: number, py: number, qx: number, qy: number): number => {
      const dx = x - bendX,
        dy = -bendY;
      const down = dx * (qy - py) - dy * (qx - px);
      const up = dy * (px - bendX) - dx * (py - bendY);
      return down === 0 ? 0 : Math.min(1, Math.max(0, up / down));
    };
    const left0 = apexLeft(x0) >= 0,
      left1 = apexLeft(x1) >= 0;
    const straight = Math.hypot(cx - bendX, cy - bendY);
    // An apex on the border of two windows must not slip between them.
    const near = this.#slack * straight;
    let onLeft = !left0,
      onRight = left1;
    if (apexLeft(x0) <= near && apexLeft(x1) >= -near) {
      this.#reach(c, before + straight, NO_WAY - 1 - number);
      // Of the ways to the apex through this edge only the shortest goes on to both sides of it: another would have
      // to cross it (Chen and Han 1990).
      const crossing = bendX - (bendY / (cy - bendY)) * (cx - bendX);
      if (before + straight < this.#toApex[h]) {
        this.#toApex[h] = before + straight;
        this.#crossing[h] = crossing;
      } else if (before + straight > this.#toApex[h] + this.#slack && onLeft && onRight) {
        if (crossing < this.#crossing[h]) onRight = false;
        else onLeft = false;
      }
    }
    const rightEdge = next(h),
      leftEdge = next(rightEdge);
    // Rays that pass the apex on its right side go through the edge from b to the apex.
    if (onRight && this.#shape.goesOn(rightEdge)) {
      const length = this.#shape.edge[rightEdge];
      const ex = (edge - cx) / (length || 1),
        ey = -cy / (length || 1);
      const far = length * (1 - meets(x1, edge, 0, cx, cy));
      const close = left0 ? length * (1 - meets(x0, edge, 0, cx, cy)) : 0;
      this.#add({
        halfedge: this.#shape.twin[rightEdge],
        x0: close,
        x1: far,
        bendX: (bendX - cx) * ex + (bendY - cy) * ey,
        bendY: Math.min(0, ex * (bendY - cy) - ey * (bendX - cx)),
        before,
        bend,
        parent: number,
      });
    }
    if (onLeft && this.#shape.goesOn(leftEdge)) {
      const length = this.#shape.edge[leftEdge];
      const ex = cx / (length || 1),
        ey = cy / (length || 1);
      const close = length * meets(x0, 0, 0, cx, cy);
      const far = left1 ? length : length * meets(x1, 0, 0, cx, cy);
      this.#add({
        halfedge: this.#shape.twin[leftEdge],
        x0: close,
        x1: far,
        bendX: bendX * ex + bendY * ey,
        bendY: Math.min(0, ex * bendY - ey * bendX),
        before,
        bend,
        parent: number,
      });
    }
  }

  /** The path to a vertex, from the start, as xyz triples; the vertices it passes are added to `over`. */
  #trace(to: number, p: readonly number[], over: number[]): number[] {
    const { triangles: t, from } = this.#patch;
    const back: [number, number, number][] = [];
    let vertex = to;
    for (;;) {
      back.push([p[vertex * 3], p[vertex * 3 + 1], p[vertex * 3 + 2]]);
      over.push(vertex);
      if (vertex === from) break;
      const by = this.#by[vertex];
      if (by === NO_WAY) throw new Error('the path has no beginning');
      if (by > NO_WAY) {
        vertex = by;
        continue;
      }
      let here = this.#windows.get(NO_WAY - 1 - by);
      vertex = here.bend;
      // The goal in the window's plane: at first the apex of the face it enters.
      let x = this.#shape.apexX[here.halfedge],
        y = this.#shape.apexY[here.halfedge];
      for (;;) {
        const { halfedge: h, bendX, bendY, x0, x1 } = here;
        const share = y - bendY > 0 ? -bendY / (y - bendY) : 0;
        const at = Math.min(x1, Math.max(x0, bendX + share * (x - bendX)));
        const a = t[h] * 3,
          b = t[next(h)] * 3;
        const s = at / this.#shape.edge[h];
        back.push([0, 1, 2].map((k) => p[a + k] + s * (p[b + k] - p[a + k])) as [number, number, number]);
        if (here.parent < 0) break;
        here = this.#windows.get(here.parent);
        const cx = this.#shape.apexX[here.halfedge],
          cy = this.#shape.apexY[here.halfedge];
        const length = this.#shape.edge[h];
        if (this.#shape.twin[next(here.halfedge)] === h) {
          x = cx + ((this.#shape.edge[here.halfedge] - cx) * at) / length;
          y = cy - (cy * at) / length;
        } else {
          x = (cx * at) / length;
          y = (cy * at) / length;
        }
      }
    }
    return back.toReversed().flat();
  }
}
