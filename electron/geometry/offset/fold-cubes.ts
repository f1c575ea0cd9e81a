/**
 * Cubes of a `CubeTree` split where the surface is folded too sharply for them.
 *
 * A cube is too coarse when the surface passes it more than once, when its vertex cannot reach the offset within it, or
 * when the surface between its vertex and its neighbours' misses by much, all only where the form is seen in directions
 * as different as in a fold. A fold may go on into cubes that looked uncut: where the surface leaves a split cube, what
 * lies beside it is looked at too, split where the surface is hidden from its corners, and kept within twice the size.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { roomFor } from './cell-map.ts';
import { EDGE_CORNER, PATCH_COUNT, PATCH_OF_EDGE } from './cell-patches.ts';
import { place } from './crease-solve.ts';
import { STEP, TRACK_PHASE, type CubeTree } from './cube-tree.ts';
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
  readonly #folds: number[] = [];
  /** Edges, by their first node and axis, about which nothing missed, and the four cubes they had about them. */
  readonly #fine = new Map<number, Int32Array>();

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
    if (this.#isOver(cube)) return;
    const trace = tree.trace(cube);
    if (trace.loops === 0) return;
    const pattern = tree.pattern[cube];
    if (trace.loops > 1 || trace.isDouble || pattern === 0 || pattern === 255) {
      this.#split(cube);
      return;
    }
    for (let e = 0; e < trace.from.length; e++) {
      const axis = tree.axisOf(trace.from[e], trace.to[e]);
      const [u, v] = [STEP[(axis + 1) % 3], STEP[(axis + 2) % 3]];
      const low = tree.nodes.keys[trace.from[e]];
      for (const key of [low, low - u, low - v, low - u - v]) {
        if (tree.leafAt(key) >= 0) continue;
        const other = tree.visit(tree.coarseKey(key), trace.from[e], true);
        this.#queue.push(other);
        this.#dirty.add(other);
      }
    }
  }

  /** Split the largest cubes round an edge, or at a face, in a fold where the middle between their vertices misses. */
  #splitBetween(): void {
    const tree = this.#tree;
    const folds = this.#folds.splice(0);
    const bad = new Set<number>();
    const seen = new Set<number>();
    for (const [done, cube] of folds.entries()) {
      if ((done & 31) === 0) this.#run.step(TRACK_PHASE, tree.count / (tree.count + MANY), 2);
      if (tree.child[cube] >= 0) continue;
      for (let edge = 0; edge < 12; edge++) {
        if (PATCH_OF_EDGE[tree.pattern[cube] * 12 + edge] < 0 || !tree.isLeastEdge(cube, edge)) continue;
        const from = tree.corners[cube * 8 + EDGE_CORNER[edge]];
        const name = from * 3 + (edge >> 2);
        if (seen.has(name)) continue;
        seen.add(name);
        const size = this.#around(from, edge >> 2);
        if (size === 1) continue;
        const known = this.#fine.get(name);
        if (known !== undefined && known.every((one, k) => one === around[k])) continue;
        let count = 0;
        let x = 0,
          y = 0,
          z = 0;
        let misses = false;
        for (let k = 0; k < 4; k++) {
          const one = around[k],
            next = around[(k + 1) & 3];
          if (one === next) continue;
          if (one < 0 || next < 0 || PATCH_COUNT[tree.pattern[one]] !== 1 || PATCH_COUNT[tree.pattern[next]] !== 1) {
            count = 0;
            break;
          }
          const here = this.#vertices.placeOf(one),
            there = this.#vertices.placeOf(next);
          x += here[0];
          y += here[1];
          z += here[2];
          count++;
          if (tree.size[one] === size || tree.size[next] === size) {
            for (let c = 0; c < 3; c++) place[c] = (here[c] + there[c]) / 2;
            misses ||= this.#vertices.isCutOff(from);
          }
        }
        if (count === 0) continue;
        place[0] = x / count;
        place[1] = y / count;
        place[2] = z / count;
        if (misses || this.#vertices.isCutOff(from)) {
          for (const one of around) if (tree.size[one] === size) bad.add(one);
        } else {
          this.#fine.set(name, around.slice());
        }
      }
    }
    for (const cube of folds) if (!bad.has(cube)) this.#folds.push(cube);
    for (const cube of bad) if (tree.child[cube] < 0) this.#split(cube);
  }

  /** Find the cubes round the edge at a node along an axis; gives the size of the largest. */
  #around(from: number, axis: number): number {
    const tree = this.#tree;
    const key = tree.nodes.keys[from];
    const u = STEP[(axis + 1) % 3],
      v = STEP[(axis + 2) % 3];
    let size = 0;
    for (let k = 0; k < 4; k++) {
      around[k] = tree.leafAt(key - (k === 1 || k === 2 ? u : 0) - (k === 2 || k === 3 ? v : 0));
      if (around[k] >= 0) size = Math.max(size, tree.size[around[k]]);
    }
    return size;
  }

  #split(cube: number): void {
    const tree = this.#tree;
    tree.split(cube);
    for (let c = 0; c < 8; c++) {
      this.#queue.push(tree.child[cube] + c);
      this.#dirty.add(tree.child[cube] + c);
    }
    // Cubes as large or larger that touch it have edges cut in two now.
    const size = tree.size[cube];
    const beside = [-1, 0, size] as const;
    for (const x of beside) {
      for (const y of beside) {
        for (const z of beside) {
          const other = tree.leafAt(tree.key[cube] + x * STEP[0] + y * STEP[1] + z * STEP[2]);
          if (other >= 0) this.#dirty.add(other);
        }
      }
    }
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
      for (let quadrant = 0; quadrant < 4; quadrant++) {
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
    vertices.places.set(cube, place.slice());
    this.#folds.push(cube);
    return false;
  }
}

/** Scratch. */
const cuts: number[] = [];
const around = new Int32Array(4);
