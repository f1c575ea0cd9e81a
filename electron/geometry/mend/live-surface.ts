/**
 * A closed surface under repair: faces are taken out and put in without the rest being touched, and what the new
 * ones meet is looked up in one tree over the old faces and a small tree for each patch. A trial can be taken back.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { buildBvh, visitBox, type Bvh } from '../spatial/bvh.ts';
import { facesMeet, findSelfIntersections, overPositions } from '../spatial/self-intersections.ts';
import { isFlat } from './weld.ts';

/** Room kept for new faces and vertices, as a share of the old, and at least. */
const ROOM_SHARE = 1 / 16;
const LEAST_ROOM = 4096;

/** Coarse cells along each side of the surface's box, by which patches are found. */
const CELLS = 24;

/** Faces put in together, with a tree of their own. */
interface PatchTree {
  readonly tree: Bvh;
  readonly first: number;
}

/** What a trial did, for taking it back. */
interface Trial {
  readonly removed: readonly number[];
  readonly vertexCount: number;
  readonly faceCount: number;
}

export class LiveSurface {
  positions: Float64Array;
  triangles: Uint32Array;
  vertexCount: number;
  faceCount: number;
  /** 1 for a face that stands. */
  alive: Uint8Array;
  readonly #base: Bvh;
  #colours: Uint8Array | undefined;
  /** Corners at each vertex, as linked lists, dead ones among them. */
  #head: Int32Array;
  #next: Int32Array;
  readonly #patches: PatchTree[] = [];
  /** Patches by the coarse cells their boxes reach into. */
  readonly #patchesIn = new Map<number, number[]>();
  #trial: (Trial & { patch: PatchTree | undefined }) | undefined;

  /** `tick` is called every few milliseconds while the tree is built. */
  constructor(mesh: Mesh, tick?: () => void) {
    this.vertexCount = mesh.positions.length / 3;
    this.faceCount = mesh.triangles.length / 3;
    const vertexRoom = Math.ceil(this.vertexCount * (1 + ROOM_SHARE)) + LEAST_ROOM;
    const faceRoom = Math.ceil(this.faceCount * (1 + ROOM_SHARE)) + LEAST_ROOM;
    this.positions = new Float64Array(vertexRoom * 3);
    this.positions.set(mesh.positions);
    this.triangles = new Uint32Array(faceRoom * 3);
    this.triangles.set(mesh.triangles);
    this.alive = new Uint8Array(faceRoom).fill(1, 0, this.faceCount);
    this.#colours = mesh.colours === undefined ? undefined : new Uint8Array(vertexRoom * 3);
    if (mesh.colours !== undefined) this.#colours?.set(mesh.colours);
    this.#head = new Int32Array(vertexRoom).fill(-1);
    this.#next = new Int32Array(faceRoom * 3);
    for (let corner = mesh.triangles.length - 1; corner >= 0; corner--) this.#link(corner);
    this.#base = buildBvh(mesh, tick);
  }

  #link(corner: number): void {
    const v = this.triangles[corner];
    this.#next[corner] = this.#head[v];
    this.#head[v] = corner;
  }

  /** Call `visit` with each corner of a standing face at the vertex. */
  forCorners(v: number, visit: (corner: number) => void): void {
    for (let corner = this.#head[v]; corner >= 0; corner = this.#next[corner])
      if (this.alive[(corner / 3) | 0]) visit(corner);
  }

  /** Standing face with a half-edge from a to b, or -1. */
  faceWithEdge(a: number, b: number): number {
    const t = this.triangles;
    for (let corner = this.#head[a]; corner >= 0; corner = this.#next[corner]) {
      const face = (corner / 3) | 0;
      if (this.alive[face] && t[corner % 3 === 2 ? corner - 2 : corner + 1] === b) return face;
    }
    return -1;
  }

  hasEdge(a: number, b: number): boolean {
    return this.faceWithEdge(a, b) >= 0 || this.faceWithEdge(b, a) >= 0;
  }

  isFlatFace(face: number): boolean {
    const t = this.triangles;
    return isFlat(this.positions, t[face * 3] * 3, t[face * 3 + 1] * 3, t[face * 3 + 2] * 3);
  }

  /** All pairs of old faces that meet, two by two. Only before the first change. */
  allPairs(tick: (done: number, total: number) => void): number[] {
    return findSelfIntersections(
      { positions: this.positions, triangles: this.triangles.subarray(0, this.faceCount * 3) },
      { ...QUIET_RUN, step: (_phase, done, total) => tick(done, total) },
      Infinity,
      undefined,
      this.#base,
    );
  }

  /**
   * Take faces out and put others in. `points` are new vertices (xyz, single precision), `like` old vertices whose
   * colours they take; `faces` holds vertex numbers, the new ones from `vertexCount` on.
   */
  attempt(
    removed: readonly number[],
    points: readonly number[],
    like: readonly number[],
    faces: readonly number[],
  ): void {
    if (this.#trial !== undefined) throw new Error('the trial before was neither kept nor taken back');
    this.#makeRoom(points.length / 3, faces.length / 3);
    const trial = { removed, vertexCount: this.vertexCount, faceCount: this.faceCount, patch: undefined };
    for (const face of removed) this.alive[face] = 0;
    this.positions.set(points, this.vertexCount * 3);
    for (let i = 0; i < like.length; i++) {
      this.#head[this.vertexCount + i] = -1;
      const colours = this.#colours;
      colours?.set(colours.subarray(like[i] * 3, like[i] * 3 + 3), (this.vertexCount + i) * 3);
    }
    this.vertexCount += points.length / 3;
    this.triangles.set(faces, this.faceCount * 3);
    for (let i = 0; i < faces.length; i++) this.#link(this.faceCount * 3 + i);
    this.alive.fill(1, this.faceCount, this.faceCount + faces.length / 3);
    this.faceCount += faces.length / 3;
    this.#trial = trial;
  }

  keep(): void {
    const trial = this.#trial;
    if (trial === undefined) throw new Error('no trial to keep');
    if (this.faceCount > trial.faceCount) {
      const patch = trial.patch ?? this.#treeOf(trial.faceCount);
      for (const cell of this.#cellsOf(patch.tree)) {
        const list = this.#patchesIn.get(cell);
        if (list === undefined) this.#patchesIn.set(cell, [this.#patches.length]);
        else list.push(this.#patches.length);
      }
      this.#patches.push(patch);
    }
    this.#trial = undefined;
  }

  takeBack(): void {
    const trial = this.#trial;
    if (trial === undefined) throw new Error('no trial to take back');
    for (let corner = this.faceCount * 3 - 1; corner >= trial.faceCount * 3; corner--)
      this.#head[this.triangles[corner]] = this.#next[corner];
    this.faceCount = trial.faceCount;
    this.vertexCount = trial.vertexCount;
    for (const face of trial.removed) this.alive[face] = 1;
    this.#trial = undefined;
  }

  /**
   * What is wrong with the faces of the trial: pairs that meet (a face of the trial first), flat faces paired with
   * themselves; at most `limit` pairs.
   */
  faultsOfTrial(limit: number): number[] {
    const trial = this.#trial;
    if (trial === undefined) throw new Error('no trial to look at');
    const pairs: number[] = [];
    for (let face = trial.faceCount; face < this.faceCount; face++) if (this.isFlatFace(face)) pairs.push(face, face);
    if (pairs.length >= 2 * limit || this.faceCount === trial.faceCount) return pairs;
    const own = (trial.patch = this.#treeOf(trial.faceCount));
    const { alive, positions: p, triangles: t } = this;
    return overPositions(p, () => {
      const enough = (f: number, g: number): boolean => {
        if (facesMeet(t, f * 3, g * 3)) pairs.push(f, g);
        return pairs.length < limit * 2;
      };
      const near = new Set<number>();
      for (const cell of this.#cellsOf(own.tree)) for (const n of this.#patchesIn.get(cell) ?? []) near.add(n);
      const trees = [{ tree: this.#base, first: 0 }, ...Array.from(near, (n) => this.#patches[n])].filter(({ tree }) =>
        boxesTouch(tree, own.tree),
      );
      for (let f = trial.faceCount; f < this.faceCount; f++) {
        const [a, b, c] = [t[f * 3] * 3, t[f * 3 + 1] * 3, t[f * 3 + 2] * 3];
        const low = [0, 1, 2].map((k) => Math.min(p[a + k], p[b + k], p[c + k])) as [number, number, number];
        const high = [0, 1, 2].map((k) => Math.max(p[a + k], p[b + k], p[c + k])) as [number, number, number];
        if (!visitBox(own.tree, low, high, (g) => g + own.first <= f || enough(f, g + own.first))) return pairs;
        for (const { tree, first } of trees)
          if (!visitBox(tree, low, high, (g) => alive[g + first] === 0 || enough(f, g + first))) return pairs;
      }
      return pairs;
    });
  }

  /** Numbers of the coarse cells that a tree's box reaches into. */
  #cellsOf({ bounds }: Bvh): number[] {
    const whole = this.#base.bounds;
    const span = (k: number): [number, number] => {
      const size = Math.max(whole[k + 3] - whole[k], Number.MIN_VALUE);
      const cell = (x: number): number => Math.max(0, Math.min(CELLS - 1, Math.floor(((x - whole[k]) / size) * CELLS)));
      return [cell(bounds[k]), cell(bounds[k + 3])];
    };
    const [x, y, z] = [span(0), span(1), span(2)];
    const cells: number[] = [];
    for (let i = x[0]; i <= x[1]; i++)
      for (let j = y[0]; j <= y[1]; j++) for (let k = z[0]; k <= z[1]; k++) cells.push((i * CELLS + j) * CELLS + k);
    return cells;
  }

  #treeOf(first: number): PatchTree {
    const triangles = this.triangles.subarray(first * 3, this.faceCount * 3);
    return { tree: buildBvh({ positions: this.positions, triangles }), first };
  }

  #makeRoom(vertices: number, faces: number): void {
    if ((this.vertexCount + vertices) * 3 > this.positions.length) {
      const room = Math.ceil((this.vertexCount + vertices) * 1.5);
      this.positions = grown(this.positions, new Float64Array(room * 3));
      this.#head = grown(this.#head, new Int32Array(room));
      if (this.#colours !== undefined) this.#colours = grown(this.#colours, new Uint8Array(room * 3));
    }
    if ((this.faceCount + faces) * 3 > this.triangles.length) {
      const room = Math.ceil((this.faceCount + faces) * 1.5);
      this.triangles = grown(this.triangles, new Uint32Array(room * 3));
      this.#next = grown(this.#next, new Int32Array(room * 3));
      this.alive = grown(this.alive, new Uint8Array(room));
    }
  }

  /** The standing faces, without vertices nobody uses. */
  toMesh(): Mesh {
    const positions = this.positions.slice(0, this.vertexCount * 3);
    const triangles = this.triangles.slice(0, this.faceCount * 3);
    const colours = this.#colours?.slice(0, this.vertexCount * 3);
    const mesh: Mesh = colours === undefined ? { positions, triangles } : { positions, triangles, colours };
    return keepFaces(mesh, this.alive.subarray(0, this.faceCount));
  }
}

function grown<T extends Float64Array | Int32Array | Uint32Array | Uint8Array>(old: T, wider: T): T {
  wider.set(old);
  return wider;
}

function boxesTouch(a: Bvh, b: Bvh): boolean {
  for (let k = 0; k < 3; k++) if (a.bounds[k] > b.bounds[k + 3] || b.bounds[k] > a.bounds[k + 3]) return false;
  return a.nodeCount > 0 && b.nodeCount > 0;
}
