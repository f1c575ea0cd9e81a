/**
 * Where the surface is met in a cube, on a face or on an edge of the grid of a `CubeTree`.
 *
 * A vertex goes to where the sheets seen from the nodes of its cut edges meet (crease-solve.ts), but stays in its cube;
 * in a fold it is brought nearer by the field itself, without leaving the cube.
 */
import { PATCH_COUNT, PATCH_OF_EDGE, EDGE_CORNER } from './cell-patches.ts';
import { roomFor } from './cell-map.ts';
import { addPlane, clearPlanes, CreaseSolver, meetPlanes, MOST_PLANES, place } from './crease-solve.ts';
import type { CubeTree } from './cube-tree.ts';
import type { SignedField } from './signed-field.ts';

/** How near the wall of its cube a vertex may come, in cubes. */
const WALL = 1 / 64;
/** A grid point nearer the form than this share of a cell has no sure direction. */
const LEAST_SHARE = 1 / 4096;
/** Directions to the form more than acos of this apart may have a fold between them. */
export const FOLD_COSINE = 0.7;
/** What may be missed between vertices in a fold, as a share of the coarsest cube: 0.1 mm at the standard tolerance. */
const CUT_OFF = 0.037;
/** How near the offset a vertex in a fold is brought, the same way. */
const ACCURACY = 1 / 256;
const SETTLE_ROUNDS = 3;
/** Numbers kept of a vertex: its place, its foot and the face. */
const PLACED = 7;
/** Steps to find where an edge of the grid is crossed. */
const EDGE_ROUNDS = 6;

/** Its functions read and write `place` of crease-solve.ts. */
export class CubeVertices {
  readonly tree: CubeTree;
  readonly field: SignedField;
  readonly offset: number;
  readonly cell: number;
  /** Where the vertices of cubes in folds, and of their neighbours, go, and their feet, xyz each, and the faces these lie on. */
  placed = new Float64Array(1 << 14);
  /** Per cube the end of its own there, or 0. */
  #endOf = new Int32Array(1 << 14);
  #end = 0;
  readonly #solver: CreaseSolver;
  readonly #accuracy: number;
  /** Nearer than this to a point of the form nothing is cut off, mm squared, with room for rounding. */
  readonly #sure2: number;

  constructor(tree: CubeTree) {
    this.tree = tree;
    this.field = tree.field;
    this.offset = tree.offset;
    this.cell = tree.cell;
    this.#solver = new CreaseSolver(tree.field, tree.offset);
    this.#accuracy = ACCURACY * tree.cell;
    this.#sure2 = (1 - 2 ** -40) * (Math.abs(tree.offset) + CUT_OFF * tree.cell) ** 2;
  }

  /** Put `place` where the vertex of a loop of cut edges goes. */
  placeVertex(cube: number, loop: readonly number[], exact: boolean): void {
    const tree = this.tree;
    let x = 0,
      y = 0,
      z = 0;
    for (let e = 0; e < loop.length; e += 2) {
      tree.crossing(loop[e], loop[e + 1], point);
      x += point[0];
      y += point[1];
      z += point[2];
    }
    const n = loop.length / 2;
    place[0] = x / n;
    place[1] = y / n;
    place[2] = z / n;
    if (!exact || this.isCrowded(cube)) return;
    // Each node's own tangent plane of its offset.
    clearPlanes();
    let planes = 0;
    for (let e = 0; e < loop.length && planes < MOST_PLANES; e++) {
      const node = loop[e];
      let known = false;
      for (let d = 0; d < e; d++) if (loop[d] === node) known = true;
      const distance = tree.value[node] + this.offset;
      if (known || Math.abs(distance) < this.cell * LEAST_SHARE) continue;
      const fx = tree.foot[node * 3],
        fy = tree.foot[node * 3 + 1],
        fz = tree.foot[node * 3 + 2];
      const nx = (tree.place[node * 3] - fx) / distance,
        ny = (tree.place[node * 3 + 1] - fy) / distance,
        nz = (tree.place[node * 3 + 2] - fz) / distance;
      addPlane(fx + this.offset * nx, fy + this.offset * ny, fz + this.offset * nz, nx, ny, nz);
      planes++;
    }
    meetPlanes();
    this.#keepIn(cube);
  }

  /** Whether the surface passes a split cube's child more than once: its vertices stay where they are apart. */
  isCrowded(cube: number): boolean {
    const tree = this.tree;
    return tree.size[cube] < tree.span && (PATCH_COUNT[tree.pattern[cube]] > 1 || tree.hasDoubleFace(cube));
  }

  /** Take `place` back into a cube. */
  #keepIn(cube: number): void {
    const tree = this.tree;
    const size = tree.size[cube] * tree.unit;
    for (let k = 0; k < 3; k++) {
      const low = tree.place[tree.corners[cube * 8] * 3 + k];
      place[k] = Math.min(low + (1 - WALL) * size, Math.max(low + WALL * size, place[k]));
    }
  }

  /** By how much `place` misses; `near` is a node nearby. */
  missAt(near: number): number {
    const { foot } = this.tree;
    return this.#missFrom(foot[near * 3], foot[near * 3 + 1], foot[near * 3 + 2]);
  }

  /** The same, a point of the form nearby given. */
  #missFrom(fx: number, fy: number, fz: number): number {
    const [x, y, z] = place;
    const dx = x - fx,
      dy = y - fy,
      dz = z - fz;
    return this.field.at(x, y, z, Math.sqrt(dx * dx + dy * dy + dz * dz)) - this.offset;
  }

  /**
   * Move `place` within a cube in a fold to where it misses least: onto the sheet it sees, or where that meets the one it
   * sees from there. Gives by how much it misses.
   */
  settleIn(cube: number): number {
    const { field } = this;
    const solver = this.#solver;
    const near = this.tree.corners[cube * 8];
    const accuracy = this.#accuracy;
    let best = this.missAt(near);
    keep(field);
    const take = (miss: number): void => {
      if (Math.abs(miss) >= Math.abs(best)) return;
      best = miss;
      keep(field);
    };
    solver.clear();
    for (let round = 0; round < SETTLE_ROUNDS && Math.abs(best) > accuracy; round++) {
      const { x, y, z, distance } = field;
      if (distance === 0) break;
      solver.take(x, y, z);
      const by = -(distance - this.offset) / distance;
      place[0] += (place[0] - x) * by;
      place[1] += (place[1] - y) * by;
      place[2] += (place[2] - z) * by;
      this.#keepIn(cube);
      take(this.#missFrom(x, y, z));
    }
    if (Math.abs(best) > accuracy) {
      place.set(bestPlace.subarray(0, 3));
      if (solver.solve(2 * this.tree.size[cube] * this.tree.unit, accuracy)) {
        this.#keepIn(cube);
        take(this.missAt(near));
      }
    }
    place.set(bestPlace.subarray(0, 3));
    return best;
  }

  /** Keep where `settleIn` has put the vertex of a cube; gives the place in `placed`. */
  keepPlace(cube: number): number {
    const at = this.#end;
    this.#end += PLACED;
    this.placed = roomFor(this.placed, this.#end);
    this.placed.set(bestPlace, at);
    this.#endOf = roomFor(this.#endOf, cube + 1);
    this.#endOf[cube] = this.#end;
    return at;
  }

  isPlaced(cube: number): boolean {
    return this.#endOf[cube] > 0;
  }

  /** Put `place` where the vertex of a cube that is placed goes; gives the face it sees. */
  recall(cube: number): number {
    const at = this.#endOf[cube] - PLACED;
    for (let k = 0; k < 3; k++) place[k] = this.placed[at + k];
    return this.placed[at + 6];
  }

  /** The face seen from where `settleIn` has put a vertex. */
  get seen(): number {
    return bestPlace[6];
  }

  /** Whether `place` lies farther from the form than it may: the fold goes deeper there. The vertices `around` (in `placed`) are near. */
  isCutOff(near: number, around: readonly number[]): boolean {
    // The form is no farther than any of its points.
    if (this.field.isPlain) {
      const { placed } = this;
      for (const at of around) {
        const dx = place[0] - placed[at + 3],
          dy = place[1] - placed[at + 4],
          dz = place[2] - placed[at + 5];
        if (dx * dx + dy * dy + dz * dz < this.#sure2) return false;
      }
    }
    const miss = this.missAt(near);
    return (this.offset < 0 ? -miss : miss) > CUT_OFF * this.cell;
  }

  /** Where the one vertex of a cube goes: the place in `placed`. */
  placeOf(cube: number): number {
    if (this.isPlaced(cube)) return this.#endOf[cube] - PLACED;
    cutsOf(this.tree, cube, 0, cuts);
    this.placeVertex(cube, cuts, true);
    this.settleIn(cube);
    return this.keepPlace(cube);
  }

  /** The largest angle between the directions in which a cube's corners see the form, by its cosine. */
  cosineOf(cube: number): number {
    const { tree } = this;
    const { value, foot } = tree;
    const low = tree.corners[cube * 8] * 3;
    const x = tree.place[low],
      y = tree.place[low + 1],
      z = tree.place[low + 2];
    const edge = tree.size[cube] * tree.unit;
    let count = 0;
    for (let c = 0; c < 8; c++) {
      const node = tree.corners[cube * 8 + c];
      const distance = value[node] + this.offset;
      if (Math.abs(distance) < this.cell * LEAST_SHARE) continue;
      const at = count++ * 3;
      ways[at] = (x + (c & 1) * edge - foot[node * 3]) / distance;
      ways[at + 1] = (y + ((c >> 1) & 1) * edge - foot[node * 3 + 1]) / distance;
      ways[at + 2] = (z + (c >> 2) * edge - foot[node * 3 + 2]) / distance;
    }
    return leastCosine(count);
  }

  /** Put `place` where the surface crosses the line between two nodes, more nearly than straight interpolation. */
  meetEdge(from: number, to: number): void {
    const tree = this.tree;
    const axis = tree.axisOf(from, to);
    tree.crossing(from, to, place);
    let low = tree.place[from * 3 + axis],
      high = tree.place[to * 3 + axis];
    let atLow = tree.value[from],
      atHigh = tree.value[to];
    for (let round = 0; round < EDGE_ROUNDS; round++) {
      const miss = this.missAt(from);
      if (Math.abs(miss) < this.#accuracy) return;
      if (miss < 0 === atLow < 0) [low, atLow] = [place[axis], miss];
      else [high, atHigh] = [place[axis], miss];
      // Halved where straight interpolation creeps.
      place[axis] = round % 2 === 0 ? low + ((high - low) * atLow) / (atLow - atHigh) : (low + high) / 2;
    }
  }

  /** Move `place`, on a face of the grid, toward the node on its other side until it meets the surface. */
  settleOnFace(outside: number, inside: number): void {
    const tree = this.tree;
    let miss = this.missAt(outside);
    const node = miss < 0 ? outside : inside;
    const end = tree.place.slice(node * 3, node * 3 + 3);
    const begin = place.slice();
    let low = 0,
      high = 1;
    let atLow = miss,
      atHigh = tree.value[node];
    for (let round = 0; round < EDGE_ROUNDS && Math.abs(miss) > this.#accuracy; round++) {
      const t = round % 2 === 0 ? low + ((high - low) * atLow) / (atLow - atHigh) : (low + high) / 2;
      for (let k = 0; k < 3; k++) place[k] = begin[k] + t * (end[k] - begin[k]);
      miss = this.missAt(outside);
      if (miss < 0 === atLow < 0) [low, atLow] = [t, miss];
      else [high, atHigh] = [t, miss];
    }
  }
}

/** Take `place` and its foot for the best. */
function keep(field: SignedField): void {
  bestPlace.set(place);
  bestPlace[3] = field.x;
  bestPlace[4] = field.y;
  bestPlace[5] = field.z;
  bestPlace[6] = field.face;
}

/** Between the first so many directions in `ways`. */
function leastCosine(count: number): number {
  let least = 1;
  for (let i = 3; i < count * 3; i += 3) {
    for (let j = 0; j < i; j += 3) {
      const cosine = ways[i] * ways[j] + ways[i + 1] * ways[j + 1] + ways[i + 2] * ways[j + 2];
      if (cosine < least) least = cosine;
    }
  }
  return least;
}

/** The cut edges of one patch of a cube, two nodes each. */
export function cutsOf(tree: CubeTree, cube: number, patch: number, out: number[]): void {
  out.length = 0;
  const pattern = tree.pattern[cube];
  for (let edge = 0; edge < 12; edge++) {
    if (PATCH_OF_EDGE[pattern * 12 + edge] !== patch) continue;
    const low = EDGE_CORNER[edge];
    out.push(tree.corners[cube * 8 + low], tree.corners[cube * 8 + low + (1 << (edge >> 2))]);
  }
}

/** Scratch. */
const ways = new Float64Array(8 * 3);
const cuts: number[] = [];
const point = new Float64Array(3);
/** The best place met so far, its foot and its face. */
const bestPlace = new Float64Array(PLACED);
