/**
 * Signed distance to a closed surface, negative inside. The sign is that of the angle-weighted normal of the nearest
 * feature (Baerentzen and Aanaes 2005, "Signed distance computation using the angle weighted pseudonormal"); where
 * that says nothing (a face without area) crossings of a ray are counted.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { boundsOf, faceNormals, vertexNormals, type Bounds } from '../mesh/quantities.ts';
import { findTwins } from '../mesh/twins.ts';
import { buildBvh, castRay, findNearest, nearestSlot, type Bvh, type RayHit } from '../spatial/bvh.ts';

/** Slack on a distance known to be enough, for rounding. */
const LIMIT_SLACK = 1 + 2 ** -30;
/** Cosine below which the normal does not say on which side a point lies. */
const DOUBTFUL_COSINE = 2 ** -30;
/** Steps past a crossing before the next is sought, mm. */
const RAY_STEP_MM = 2 ** -24;
const MOST_CROSSINGS = 4096;

export class SignedField {
  readonly mesh: Mesh;
  readonly tree: Bvh;
  /** Foot of the last query: the nearest point of the surface, its face, and the signed distance. */
  x = 0;
  y = 0;
  z = 0;
  face = 0;
  distance = 0;
  /** Signed distance to the form itself at the last query; differs from `distance` where zones shift it. */
  formMm = 0;
  /** By how much that value is less than the form's alone: more where something else asks for room, mm. */
  askedMm = 0;
  readonly #normals: Float64Array;
  readonly #twin: Int32Array;
  #corner: Float64Array | undefined;
  readonly #slot = nearestSlot();

  /** The mesh must be closed and consistently oriented outward. `like`: a field of the same mesh, to share what was built. O(n log n). */
  constructor(mesh: Mesh, tick?: () => void, like?: SignedField) {
    this.mesh = mesh;
    if (like !== undefined) {
      this.tree = like.tree;
      this.#normals = like.#normals;
      this.#twin = like.#twin;
      this.#corner = like.cornerNormals;
      return;
    }
    this.tree = buildBvh(mesh, tick);
    this.#normals = faceNormals(mesh);
    this.#twin = findTwins(mesh.triangles, mesh.positions.length / 3).twin;
  }

  /** Signed distance at a point, mm; the foot goes to the fields. `within`: a distance known to suffice. */
  at(x: number, y: number, z: number, within = Infinity): number {
    return this.formAt(x, y, z, within);
  }

  /** The same to the form itself, whatever a derived field asks for; the foot is on the form. */
  formAt(x: number, y: number, z: number, within = Infinity): number {
    const slot = this.#slot;
    if (!findNearest(this.tree, x, y, z, slot, within * LIMIT_SLACK)) findNearest(this.tree, x, y, z, slot);
    return this.#found(x, y, z);
  }

  /** Whether the surface lies nearer than `limitMm`; then all is filled as by `at`, else nothing. */
  isNearer(x: number, y: number, z: number, limitMm: number): boolean {
    if (!findNearest(this.tree, x, y, z, this.#slot, limitMm)) return false;
    this.#found(x, y, z);
    return true;
  }

  #found(x: number, y: number, z: number): number {
    const slot = this.#slot;
    this.x = slot.x;
    this.y = slot.y;
    this.z = slot.z;
    this.face = slot.face;
    const inside = this.#inside(x, y, z, slot.face, slot.feature, slot.distance);
    this.distance = this.formMm = inside ? -slot.distance : slot.distance;
    return this.distance;
  }

  /** The level surface at t lies in this box widened by t, mm; t is at least 0. O(n). */
  get box(): Bounds {
    return boundsOf(this.mesh.positions);
  }

  /** Whether the values are plain distances to the form. */
  get isPlain(): boolean {
    return true;
  }

  /** What is wanted above the constant offset at a point so high over the form, mm: nothing here. */
  shift(_x: number, _y: number, _z: number, _heightMm: number): number {
    return 0;
  }

  /** Unit normal of a face, one component. */
  normal(face: number, k: number): number {
    return this.#normals[face * 3 + k];
  }

  /** Unit vertex normals weighted by angle, xyz each. */
  get cornerNormals(): Float64Array {
    return (this.#corner ??= vertexNormals(this.mesh));
  }

  #inside(x: number, y: number, z: number, face: number, feature: number, distance: number): boolean {
    const n = this.#normals;
    const dx = x - this.x,
      dy = y - this.y,
      dz = z - this.z;
    let at = face * 3;
    let nx = n[at],
      ny = n[at + 1],
      nz = n[at + 2];
    if (feature >= 4) {
      const corner = this.cornerNormals;
      const v = this.mesh.triangles[at + feature - 4] * 3;
      nx = corner[v];
      ny = corner[v + 1];
      nz = corner[v + 2];
    } else if (feature >= 1) {
      const twin = this.#twin[at + (feature % 3)];
      if (twin >= 0) {
        at = twin - (twin % 3);
        nx += n[at];
        ny += n[at + 1];
        nz += n[at + 2];
      }
    }
    const dot = dx * nx + dy * ny + dz * nz;
    if (Math.abs(dot) > distance * DOUBTFUL_COSINE) return dot < 0;
    return distance > 0 && this.#insideByRay(x, y, z);
  }

  #insideByRay(x: number, y: number, z: number): boolean {
    const hit: RayHit = { face: -1, t: 0 };
    let t = 0;
    let crossings = 0;
    while (crossings < MOST_CROSSINGS && castRay(this.tree, x, y, z, 0.5377, 0.2811, 0.7949, hit, t)) {
      t = hit.t + RAY_STEP_MM;
      crossings++;
    }
    return crossings % 2 === 1;
  }
}
