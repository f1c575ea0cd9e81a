/**
 * The offset surface as a closed manifold mesh, followed from cube to cube.
 *
 * Only cubes the surface passes through are visited, so the cost grows with the area, not the volume. In folds, where
 * sheets meet too sharply for a cube, cubes are split until they resolve them (fold-cubes.ts). The mesh is dual to the
 * cubes (cube-mesh.ts).
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { FACE_CORNERS } from './cell-patches.ts';
import { CubeMesh, type TrackedSurface } from './cube-mesh.ts';
import { CubeTree, STEP, TRACK_PHASE } from './cube-tree.ts';
import { CubeVertices } from './cube-vertices.ts';
import { FoldCubes } from './fold-cubes.ts';
import type { SignedField } from './signed-field.ts';

/** Steps along a seed's normal to find a cut cube, in cells. */
const SEED_STEPS = [0, -0.5, 0.5, -1, 1, -1.5, 1.5, -2, 2] as const;
const STRIDE = 1023;

export class SurfaceTracker {
  readonly cell: number;
  readonly #run: RunContext;
  readonly #tree: CubeTree;
  #cuts = 0;

  readonly #stands: Uint8Array | undefined;

  /**
   * `depth`: how many times a cube may be split in folds. Where all a cube sees are faces that `stands` marks, the surface
   * is not followed: it is left open there.
   */
  constructor(
    field: SignedField,
    offset: number,
    cell: number,
    low: readonly number[],
    run: RunContext,
    depth = 0,
    stands?: Uint8Array,
  ) {
    this.cell = cell;
    this.#run = run;
    this.#stands = stands;
    this.#tree = new CubeTree(field, offset, cell, depth, low);
  }

  get cellCount(): number {
    return this.#cuts;
  }

  /** Whether the cube at a point of the surface, or one a few steps along the normal, was already followed. */
  knows(x: number, y: number, z: number, nx: number, ny: number, nz: number): boolean {
    for (const step of SEED_STEPS) {
      const s = step * this.cell;
      if (this.#tree.coarse(this.#tree.keyAt(x + s * nx, y + s * ny, z + s * nz)) >= 0) return true;
    }
    return false;
  }

  /** Follow the piece of the surface that passes through this point; false when no cut cube is near. */
  follow(x: number, y: number, z: number, nx: number, ny: number, nz: number): boolean {
    const tree = this.#tree;
    for (const step of SEED_STEPS) {
      const s = step * this.cell;
      const key = tree.keyAt(x + s * nx, y + s * ny, z + s * nz);
      if (tree.coarse(key) >= 0) return true;
      const first = tree.visit(key, -1);
      if (first >= 0) {
        this.#flood(first);
        return true;
      }
    }
    return false;
  }

  /** Visit the coarse cubes the surface leads to from this one and those after it. */
  #flood(first: number): void {
    const tree = this.#tree;
    for (let cube = first; cube < tree.count; cube++) {
      if ((cube & STRIDE) === 0) this.#run.step(TRACK_PHASE, cube / (cube + 20_000), 2);
      this.#cuts++;
      const pattern = tree.pattern[cube];
      if (this.#isOver(cube)) continue;
      const key = tree.key[cube];
      for (let f = 0; f < 6; f++) {
        const ring = FACE_CORNERS[f];
        const count =
          ((pattern >> ring[0]) & 1) +
          ((pattern >> ring[1]) & 1) +
          ((pattern >> ring[2]) & 1) +
          ((pattern >> ring[3]) & 1);
        if (count === 0 || count === 4) continue;
        const next = key + ((f & 1) === 1 ? STEP[f >> 1] : -STEP[f >> 1]) * tree.span;
        if (tree.coarse(next) < 0) tree.visit(next, tree.corners[cube * 8 + ring[0]]);
      }
    }
  }

  /** Whether all a cube sees stands. */
  #isOver(cube: number): boolean {
    const stands = this.#stands;
    if (stands === undefined) return false;
    const { corners, face } = this.#tree;
    for (let c = cube * 8; c < cube * 8 + 8; c++) if (stands[face[corners[c]]] !== 1) return false;
    return true;
  }

  /** The mesh of all that was followed. `exact` false leaves vertices at the mean of their crossings. */
  surface(exact: boolean): TrackedSurface {
    const tree = this.#tree;
    const vertices = new CubeVertices(tree);
    const mesh = new CubeMesh(vertices, this.#run);
    if (tree.span === 1) return mesh.make(exact, new Uint8Array(tree.count));
    const folds = new FoldCubes(
      vertices,
      (first) => this.#flood(first),
      this.#run,
      (cube) => this.#isOver(cube),
    );
    return mesh.make(exact, folds.inFold);
  }
}
