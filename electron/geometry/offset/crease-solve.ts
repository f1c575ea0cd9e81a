/**
 * Where several sheets of an offset surface meet.
 *
 * A sheet is known by a foot: the point of the form it is seen from. For a place near a crease the foot of each sheet
 * is sought from a point drawn back toward the old foot, where no other sheet can be nearer; the place then moves by
 * the shortest step that brings it to the offset of all sheets at once (Gauss-Newton on the distances), and both are
 * renewed. So a crease is met exactly, however fine or rough the faces of the form are.
 *
 * For the first guess inside a cube, the tangent planes seen from its corners are solved together in the least-squares
 * sense (a quadric error function: Ju, Losasso, Schaefer and Warren 2002, "Dual contouring of Hermite data").
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { nearestOnFace } from '../measure/point-triangle.ts';
import type { SignedField } from './signed-field.ts';

/** Most faces taken together. */
export const MOST_SHEETS = 16;
/** Most tangent planes solved together. */
export const MOST_PLANES = 24;
/** Most sheets that meet in one place. */
export const MEETING = 3;
/** Pull to the present place, as a share of the weight of all planes. */
const PULL = 1 / 256;
/** How far toward its foot a place is drawn back to see its sheet alone. */
const DRAWN_BACK = 0.25;
const ROUNDS = 6;
/** Sheets seen within acos of this of one another are one smooth sheet. */
const SMOOTH = 0.999;
/** Below this distance a foot gives no direction. */
const LEAST_DISTANCE_MM = 2 ** -20;
/** Keeps the solve regular where sheets are nearly parallel. */
const REGULAR = 2 ** -20;

/** Place solved for; read and written by `meetPlanes` and `CreaseSolver`. */
export const place = new Float64Array(3);

/** Least distance from a point to the listed faces. O(count). */
export function nearestOfSheets(
  mesh: Mesh,
  sheets: Int32Array,
  count: number,
  x: number,
  y: number,
  z: number,
): number {
  const { positions: p, triangles: t } = mesh;
  let best = Infinity;
  for (let i = 0; i < count; i++) {
    const f = sheets[i] * 3;
    const d2 = nearestOnFace(p, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3, x, y, z);
    if (d2 < best) best = d2;
  }
  return Math.sqrt(best);
}

export class CreaseSolver {
  readonly field: SignedField;
  readonly offset: number;
  /** Feet of the sheets in use, xyz each, and how many: given before a solve, renewed by it. */
  readonly feet = new Float64Array(MEETING * 3);
  count = 0;
  readonly #toward = new Float64Array(MEETING * 3);
  readonly #miss = new Float64Array(MEETING);

  constructor(field: SignedField, offset: number) {
    this.field = field;
    this.offset = offset;
  }

  clear(): void {
    this.count = 0;
  }

  /** Take a sheet by its foot, unless it is full. */
  take(x: number, y: number, z: number): void {
    if (this.count === MEETING) return;
    const at = this.count++ * 3;
    this.feet[at] = x;
    this.feet[at + 1] = y;
    this.feet[at + 2] = z;
  }

  /**
   * Move `place` to where it is |offset| from all sheets taken, at most `reach` from where it was; sheets found to be
   * one are merged. Gives whether two or more were left and met within `accuracy`, mm.
   */
  solve(reach: number, accuracy: number): boolean {
    const [x0, y0, z0] = place;
    for (let round = 0; round < ROUNDS; round++) {
      const worst = this.#see();
      if (this.count < 2) return false;
      if (round > 1 && worst < accuracy) return true;
      this.#step();
      const dx = place[0] - x0,
        dy = place[1] - y0,
        dz = place[2] - z0;
      const moved = Math.sqrt(dx * dx + dy * dy + dz * dz);
      if (moved > reach) return false;
    }
    return this.#see() < accuracy && this.count > 1;
  }

  /** Renew the feet, directions and misses; merge what has become one sheet. Gives the largest miss. */
  #see(): number {
    const { field, feet } = this;
    const d = this.#toward;
    const wanted = Math.abs(this.offset);
    const [x, y, z] = place;
    let kept = 0;
    let worst = 0;
    for (let i = 0; i < this.count; i++) {
      const at = i * 3;
      const qx = x + (feet[at] - x) * DRAWN_BACK,
        qy = y + (feet[at + 1] - y) * DRAWN_BACK,
        qz = z + (feet[at + 2] - z) * DRAWN_BACK;
      const rx = qx - feet[at],
        ry = qy - feet[at + 1],
        rz = qz - feet[at + 2];
      field.at(qx, qy, qz, Math.sqrt(rx * rx + ry * ry + rz * rz));
      const ux = x - field.x,
        uy = y - field.y,
        uz = z - field.z;
      const distance = Math.sqrt(ux * ux + uy * uy + uz * uz);
      if (distance < LEAST_DISTANCE_MM) continue;
      const to = kept * 3;
      d[to] = ux / distance;
      d[to + 1] = uy / distance;
      d[to + 2] = uz / distance;
      let known = false;
      for (let j = 0; j < to; j += 3) {
        if (d[to] * d[j] + d[to + 1] * d[j + 1] + d[to + 2] * d[j + 2] > SMOOTH) known = true;
      }
      if (known) continue;
      feet[to] = field.x;
      feet[to + 1] = field.y;
      feet[to + 2] = field.z;
      const miss = wanted - distance;
      this.#miss[kept++] = miss;
      if (Math.abs(miss) > worst) worst = Math.abs(miss);
    }
    this.count = kept;
    return worst;
  }

  /** The shortest step that mends all misses to first order. */
  #step(): void {
    const d = this.#toward;
    const m = this.#miss;
    const dot = (i: number, j: number): number =>
      d[i * 3] * d[j * 3] + d[i * 3 + 1] * d[j * 3 + 1] + d[i * 3 + 2] * d[j * 3 + 2];
    const one = 1 + REGULAR;
    const isSolved =
      this.count === 2
        ? solveSymmetric(one, dot(0, 1), 0, one, 0, 1, m[0], m[1], 0)
        : solveSymmetric(one, dot(0, 1), dot(0, 2), one, dot(1, 2), one, m[0], m[1], m[2]);
    if (!isSolved) return;
    const shares = [solved[0], solved[1], solved[2]];
    for (let i = 0; i < this.count; i++) {
      for (let k = 0; k < 3; k++) place[k] += shares[i] * d[i * 3 + k];
    }
  }
}

/** Result of the last `solveSymmetric`. */
export const solved = new Float64Array(3);

/** Solve [a b c; b d e; c e f] solved = r by cofactors; false where it is singular (a pull keeps it regular). */
export function solveSymmetric(
  a: number,
  b: number,
  c: number,
  d: number,
  e: number,
  f: number,
  r0: number,
  r1: number,
  r2: number,
): boolean {
  const m00 = d * f - e * e,
    m01 = c * e - b * f,
    m02 = b * e - c * d;
  const m11 = a * f - c * c,
    m12 = b * c - a * e,
    m22 = a * d - b * b;
  const det = a * m00 + b * m01 + c * m02;
  if (!(det > 0)) return false;
  solved[0] = (m00 * r0 + m01 * r1 + m02 * r2) / det;
  solved[1] = (m01 * r0 + m11 * r1 + m12 * r2) / det;
  solved[2] = (m02 * r0 + m12 * r1 + m22 * r2) / det;
  return true;
}

/** Tangent planes gathered by `addPlane`, relative to a centre: xyz of the normal and the distance along it. */
const planes = new Float64Array(4 * MOST_PLANES);
let planeCount = 0;

export function clearPlanes(): void {
  planeCount = 0;
}

/** Take a plane through (px, py, pz) with unit normal n into the next `meetPlanes`; at most MOST_PLANES. */
export function addPlane(px: number, py: number, pz: number, nx: number, ny: number, nz: number): void {
  const at = planeCount++ * 4;
  planes[at] = nx;
  planes[at + 1] = ny;
  planes[at + 2] = nz;
  planes[at + 3] = px * nx + py * ny + pz * nz;
}

/** Move `place` to where the gathered planes meet, in the least-squares sense with a small pull to where it is. */
export function meetPlanes(): void {
  const pull = PULL * 4 * planeCount;
  let a = pull,
    b = 0,
    c = 0,
    d = pull,
    e = 0,
    f = pull,
    r0 = 0,
    r1 = 0,
    r2 = 0;
  for (let at = 0; at < planeCount * 4; at += 4) {
    const nx = planes[at],
      ny = planes[at + 1],
      nz = planes[at + 2];
    const miss = planes[at + 3] - place[0] * nx - place[1] * ny - place[2] * nz;
    a += nx * nx;
    b += nx * ny;
    c += nx * nz;
    d += ny * ny;
    e += ny * nz;
    f += nz * nz;
    r0 += miss * nx;
    r1 += miss * ny;
    r2 += miss * nz;
  }
  if (!solveSymmetric(a, b, c, d, e, f, r0, r1, r2)) return;
  place[0] += solved[0];
  place[1] += solved[1];
  place[2] += solved[2];
}
