/**
 * Cubes of a `CubeTree` split where the surface is folded too sharply for them.
 *
 * A cube is too coarse when the surface passes it more than once, when its vertex cannot reach the offset within it, or
 * when the surface between its vertex and its neighbours' misses by much, all only where the form is seen in directions
 * as different as in a fold. A fold may go on into cubes that looked uncut: where the surface leaves a split cube, what
 * lies beside it is looked at too, split where the surface is hidden from its corners, and kept within twice the size.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { CellMap, roomFor } from './cell-map.ts';
import { EDGE_CORNER, PATCH_COUNT, PATCH_OF_EDGE } from './cell-patches.ts';
import { place } from './crease-solve.ts';
import { quadrantOf, STEP, TRACK_PHASE, type CubeTree } from './cube-tree.ts';
import { cutsOf, FOLD_COSINE, type CubeVertices } from './cube-vertices.ts';

/** Below this cosine vertices may lie so that the plainest triangles cut one another. */
const CURVED_COSINE = 0.8;
/** A vertex in a fold may miss by this share of its cube, or of the coarsest. */
const FOLD_MISS = 0.04;
const FOLD_MISS_COARSE = 0.018;
/** Cubes that would be many, for telling how far it is. */
const MANY = 20_000;

export class FoldCubes {
  /** Per cube 1 where it was found to see the form in rather different directions. */
  inFold = new Uint8Array(1 << 14);
  readonly #tree: CubeTree;
  readonly #vertices: CubeVertices;
  readonly #flood: (first: number) => void;
  readonly #run: RunContext;
  readonly #isOver: (cube: number) => boolean;
  /** Cubes to be looked at, those whose surroundings have changed, those in folds to be compared with neighbours. */
  readonly #queue: number[] = [];
  readonly #dirty = new Set<number>();
  readonly #touch = (cube: number): void => void this.#dirty.add(cube);
  readonly #folds: number[] = [];
  /** Edges looked at, by their first node and axis, in which round last, and four cubes they had about them when nothing missed. */
  readonly #edges = new CellMap();
  #round = 0;
  #lookedAt = new Int32Array(1 << 14);
  #fine = new Int32Array(1 << 16);

  /** `flood` visits what the surface leads to from a coarse cube and those after it. */
  constructor(
    vertices: CubeVertices,
    flood: (first: number) => void,
    run: RunContext,
    isOver: (cube: number) => boolean,
  ) {
    this.#isOver = isOver;
    this.#tree = vertices.tree;
    this.#vertices = vertices;
    this.#flood = flood;
    this.#run = run;
    for (let cube = 0; cube < this.#tree.count; cube++) this.#queue.push(cube);
    this.#refine();
  }

  /** Split cubes until they resolve the folds, and those beside them until the surface passes each in one loop. */
  #refine(): void {
    const tree = this.#tree;
    const queue = this.#queue;
    for (let done = 0; ; ) {
      for (; done < queue.length; done++) {
        const cube = queue[done];
        if ((done & 255) === 0) this.#run.step(TRACK_PHASE, tree.count / (tree.count + MANY), 2);
        if (tree.child[cube] >= 0) continue;
        const pattern = tree.pattern[cube];
        if (pattern === 0 || pattern === 255) continue;
        if (tree.size[cube] > 1 && this.#isTooCoarse(cube)) this.#split(cube);
        else if (tree.size[cube] < tree.span) this.#meetNeighbours(cube);
      }
      const before = tree.count;
      this.#splitBetween();
      if (tree.count > before) continue;
      const dirty = [...this.#dirty];
      this.#dirty.clear();
      for (const [done, cube] of dirty.entries()) {
        if ((done & 63) === 0) this.#run.step(TRACK_PHASE, tree.count / (tree.count + MANY), 2);
        if (tree.child[cube] < 0 && tree.size[cube] > 1) this.#lookRound(cube);
      }
      if (tree.count > before) continue;
      queue.length = 0;
      return;
    }
  }

  /** Split a cube that the surface passes in several loops, or hidden from its corners; find those it leads to. */
  #lookRound(cube: number): void {
    const tree = this.#tree;
    const pattern = tree.pattern[cube];
    const isUncut = pattern === 0 || pattern === 255;
    if (tree.isWhole(cube)) {
      if (isUncut || this.#isOver(cube)) return;
      if (PATCH_COUNT[pattern] > 1 || tree.hasDoubleFace(cube)) {
        this.#split(cube);
        return;
      }
      cutsOf(tree, cube, 0, cuts);
      for (let e = 0; e < cuts.length; e += 2) this.#meetEdge(cuts[e], cuts[e + 1]);
      return;
    }
    if (this.#isOver(cube)) return;
    const trace = tree.trace(cube);
    if (trace.loops === 0) return;
    if (trace.loops > 1 || trace.isDouble || isUncut) {
      this.#split(cube);
      return;
    }
    for (let e = 0; e < trace.from.length; e++) this.#meetEdge(trace.from[e], trace.to[e]);
  }

  /** Make the coarse cubes there are not yet round a cut edge of the grid. */
  #meetEdge(from: number, to: number): void {
    const tree = this.#tree;
    const axis = tree.axisOf(from, to);
    const low = tree.nodes.keys[from];
    // Within a coarse cube all four lie in it.
    const u = tree.isAtWall(low, (axis + 1) % 3) ? STEP[(axis + 1) % 3] : 0,
      v = tree.isAtWall(low, (axis + 2) % 3) ? STEP[(axis + 2) % 3] : 0;
    if (u === 0 && v === 0) return;
    for (let quadrant = 0; quadrant < 4; quadrant++) {
      if ((u === 0 && (quadrant & 1) === 1) || (v === 0 && quadrant > 1)) continue;
      const key = tree.coarseKey(low - (quadrant & 1) * u - (quadrant >> 1) * v);
      if (tree.coarse(key) >= 0) continue;
      const other = tree.visit(key, from, true);
      this.#queue.push(other);
      this.#dirty.add(other);
    }
  }

  /** Split the largest cubes round an edge, or at a face, in a fold where the middle between their vertices misses. */
  #splitBetween(): void {
    const tree = this.#tree;
    const folds = this.#folds.splice(0);
    const bad = new Set<number>();
    const round = ++this.#round;
    for (const [done, cube] of folds.entries()) {
      if ((done & 31) === 0) this.#run.step(TRACK_PHASE, tree.count / (tree.count + MANY), 2);
      if (tree.child[cube] >= 0) continue;
      for (let edge = 0; edge < 12; edge++) {
        if (PATCH_OF_EDGE[tree.pattern[cube] * 12 + edge] < 0 || !tree.isLeastEdge(cube, edge)) continue;
        const from = tree.corners[cube * 8 + EDGE_CORNER[edge]];
        const name = from * 3 + (edge >> 2);
        let at = this.#edges.find(name);
        if (at < 0) {
          at = this.#edges.add(name);
          this.#lookedAt = roomFor(this.#lookedAt, at + 1);
          this.#fine = roomFor(this.#fine, (at + 1) * 4);
        }
        if (this.#lookedAt[at] === round) continue;
        this.#lookedAt[at] = round;
        const size = this.#around(cube, edge);
        if (size === 1) continue;
        const fine = this.#fine.subarray(at * 4, at * 4 + 4);
        if (around.every((one, k) => one === fine[k])) continue;
        if (!this.#meetAround()) continue;
        if (this.#missesBetween(from, size)) {
          for (const one of around) if (tree.size[one] === size) bad.add(one);
        } else {
          fine.set(around);
        }
      }
    }
    for (const cube of folds) if (!bad.has(cube)) this.#folds.push(cube);
    for (const cube of bad) if (tree.child[cube] < 0) this.#split(cube);
  }

  /** Find the cubes round an edge of a cube; gives the size of the largest. */
  #around(cube: number, edge: number): number {
    const tree = this.#tree;
    const corner = EDGE_CORNER[edge];
    const key = tree.nodes.keys[tree.corners[cube * 8 + corner]];
    const [u, v] = [((edge >> 2) + 1) % 3, ((edge >> 2) + 2) % 3];
    const own = quadrantOf(corner, u, v);
    let size = 0;
    for (let k = 0; k < 4; k++) {
      around[k] = k === own ? cube : tree.leafAt(key - (k === 1 || k === 2 ? STEP[u] : 0) - (k > 1 ? STEP[v] : 0));
      if (around[k] >= 0) size = Math.max(size, tree.size[around[k]]);
    }
    return size;
  }

  /** Find the vertices of the cubes in `around`, each once; false where one of them is not there or has several. */
  #meetAround(): boolean {
    const tree = this.#tree;
    met.length = metSizes.length = 0;
    for (const one of around) if (one < 0 || PATCH_COUNT[tree.pattern[one]] !== 1) return false;
    for (let k = 0; k < 4; k++) {
      const one = around[k];
      if (one === around[(k + 1) & 3]) continue;
      met.push(this.#vertices.placeOf(one));
      metSizes.push(tree.size[one]);
    }
    return true;
  }

  /** Whether the middle of the vertices met misses, or one between two, of which one is of a cube so large. */
  #missesBetween(near: number, size: number): boolean {
    const count = met.length;
    const { placed } = this.#vertices;
    let x = 0,
      y = 0,
      z = 0;
    for (let k = 0; k < count; k++) {
      const next = k + 1 < count ? k + 1 : 0;
      const here = met[k],
        there = met[next];
      x += placed[here];
      y += placed[here + 1];
      z += placed[here + 2];
      if (metSizes[k] !== size && metSizes[next] !== size) continue;
      for (let c = 0; c < 3; c++) place[c] = (placed[here + c] + placed[there + c]) / 2;
      if (this.#vertices.isCutOff(near, met)) return true;
    }
    place[0] = x / count;
    place[1] = y / count;
    place[2] = z / count;
    return this.#vertices.isCutOff(near, met);
  }

  #split(cube: number): void {
    const tree = this.#tree;
    const first = tree.count;
    for (let child = first; child < first + 8; child++) {
      this.#queue.push(child);
      this.#dirty.add(child);
    }
    tree.split(cube, this.#touch);
  }

  /** The cubes round the cut edges of a split cube's child are cut too, and at most twice as large. */
  #meetNeighbours(cube: number): void {
    const tree = this.#tree;
    const size = tree.size[cube];
    const pattern = tree.pattern[cube];
    for (let edge = 0; edge < 12; edge++) {
      const corner = EDGE_CORNER[edge];
      const axis = edge >> 2;
      if (((pattern >> corner) & 1) === ((pattern >> (corner + (1 << axis))) & 1)) continue;
      const u = (axis + 1) % 3,
        v = (axis + 2) % 3;
      const node = tree.corners[cube * 8 + corner];
      const low = tree.nodes.keys[node];
      const own = ((corner >> u) & 1) + 2 * ((corner >> v) & 1);
      for (let quadrant = 0; quadrant < 4; quadrant++) {
        if (quadrant === own) continue;
        const key = low - (quadrant & 1) * STEP[u] - (quadrant >> 1) * STEP[v];
        let other = tree.leafAt(key);
        if (other < 0) {
          const first = tree.count;
          other = tree.visit(tree.coarseKey(key), node, true);
          this.#queue.push(other);
          if (tree.pattern[other] !== 0 && tree.pattern[other] !== 255) {
            this.#flood(first);
            for (let next = first + 1; next < tree.count; next++) this.#queue.push(next);
          }
        }
        for (; tree.size[other] > size; other = tree.leafAt(key)) {
          const uncut = tree.pattern[other] === 0 || tree.pattern[other] === 255;
          if (!uncut && tree.size[other] <= 2 * size) break;
          this.#split(other);
        }
      }
    }
  }

  /** Whether the surface passes a cube more than once, or its vertex would miss for the fold it is in. */
  #isTooCoarse(cube: number): boolean {
    const tree = this.#tree;
    const vertices = this.#vertices;
    if (PATCH_COUNT[tree.pattern[cube]] > 1 || tree.hasDoubleFace(cube)) return true;
    const cosine = vertices.cosineOf(cube);
    this.inFold = roomFor(this.inFold, cube + 1);
    if (cosine < CURVED_COSINE) this.inFold[cube] = 1;
    if (cosine > FOLD_COSINE) return false;
    cutsOf(tree, cube, 0, cuts);
    vertices.placeVertex(cube, cuts, true);
    const miss = Math.abs(vertices.settleIn(cube));
    if (miss > Math.max(FOLD_MISS_COARSE * tree.cell, FOLD_MISS * tree.size[cube] * tree.unit)) return true;
    vertices.keepPlace(cube);
    this.#folds.push(cube);
    return false;
  }
}

/** Scratch. */
const cuts: number[] = [];
const around = new Int32Array(4);
/** Vertices of the cubes round an edge, as `CubeVertices.placeOf` gives them, and the sizes of these. */
const met: number[] = [];
const metSizes: number[] = [];
