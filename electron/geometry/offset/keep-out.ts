/**
 * Volumes a liner has to leave free beside the body: spectacles, a fan, a microphone. Each has a signed distance and
 * the nearest point of its surface; lengths in mm, in the form's own coordinates.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf, boxOver, type Bounds } from '../mesh/quantities.ts';
import { SignedField } from './signed-field.ts';

export type KeepOutShape =
  | { readonly kind: 'ball'; readonly centre: Vec3; readonly radiusMm: number }
  /** All within a radius of the line between two points. */
  | { readonly kind: 'capsule'; readonly from: Vec3; readonly to: Vec3; readonly radiusMm: number }
  | { readonly kind: 'box'; readonly min: Vec3; readonly max: Vec3 }
  /** Closed and outward. */
  | { readonly kind: 'mesh'; readonly mesh: Mesh };

export interface KeepOut {
  readonly name: string;
  readonly shape: KeepOutShape;
  /** Room between it and the liner. */
  readonly clearanceMm: number;
}

/** A keep-out ready to be asked: after `at`, the nearest point of its surface. */
export class KeepOutField {
  readonly name: string;
  readonly clearanceMm: number;
  x = 0;
  y = 0;
  z = 0;
  readonly #shape: KeepOutShape;
  readonly #mesh: SignedField | undefined;

  constructor({ name, shape, clearanceMm }: KeepOut, tick?: () => void) {
    this.name = name;
    this.clearanceMm = clearanceMm;
    this.#shape = shape;
    this.#mesh = shape.kind === 'mesh' ? new SignedField(shape.mesh, tick) : undefined;
  }

  /** Around the volume. O(1); for a mesh O(n). */
  get box(): Bounds {
    const shape = this.#shape;
    if (shape.kind === 'mesh') return boundsOf(shape.mesh.positions);
    if (shape.kind === 'box') return shape;
    const ends = shape.kind === 'ball' ? shape.centre : [...shape.from, ...shape.to];
    const middle = boundsOf(Float64Array.from(ends));
    return boxOver(middle, middle, shape.radiusMm);
  }

  /** Signed distance at a point, negative inside. O(1); for a mesh O(log n). */
  at(x: number, y: number, z: number): number {
    const shape = this.#shape;
    if (shape.kind === 'mesh') {
      const field = this.#mesh as SignedField;
      const distance = field.at(x, y, z);
      [this.x, this.y, this.z] = [field.x, field.y, field.z];
      return distance;
    }
    if (shape.kind === 'box') return this.#box(shape.min, shape.max, x, y, z);
    const from = shape.kind === 'ball' ? shape.centre : shape.from;
    const to = shape.kind === 'ball' ? shape.centre : shape.to;
    const [ex, ey, ez] = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
    const size = ex * ex + ey * ey + ez * ez;
    const along = size > 0 ? ((x - from[0]) * ex + (y - from[1]) * ey + (z - from[2]) * ez) / size : 0;
    const s = Math.min(1, Math.max(0, along));
    const [cx, cy, cz] = [from[0] + s * ex, from[1] + s * ey, from[2] + s * ez];
    const [dx, dy, dz] = [x - cx, y - cy, z - cz];
    const length = Math.hypot(dx, dy, dz);
    // At the very middle every direction is as good.
    const by = length > 0 ? shape.radiusMm / length : 0;
    [this.x, this.y, this.z] = length > 0 ? [cx + dx * by, cy + dy * by, cz + dz * by] : [cx, cy, cz + shape.radiusMm];
    return length - shape.radiusMm;
  }

  #box(min: Vec3, max: Vec3, x: number, y: number, z: number): number {
    this.x = Math.min(max[0], Math.max(min[0], x));
    this.y = Math.min(max[1], Math.max(min[1], y));
    this.z = Math.min(max[2], Math.max(min[2], z));
    const out = Math.hypot(x - this.x, y - this.y, z - this.z);
    if (out > 0) return out;
    const depths = [x - min[0], max[0] - x, y - min[1], max[1] - y, z - min[2], max[2] - z];
    const side = depths.indexOf(Math.min(...depths));
    const wall = side % 2 === 0 ? min[side >> 1] : max[side >> 1];
    if (side < 2) this.x = wall;
    else if (side < 4) this.y = wall;
    else this.z = wall;
    return -depths[side];
  }
}

/**
 * Take volumes left free into the last value of a field whose level `baseMm` is to clear them: where one is nearer, value
 * and foot become its own. Gives its number, or -1. O(volumes).
 */
export function takeKeepOuts(
  field: SignedField,
  keepOuts: readonly KeepOutField[],
  baseMm: number,
  x: number,
  y: number,
  z: number,
): number {
  let asker = -1;
  for (const [number, keepOut] of keepOuts.entries()) {
    const distance = keepOut.at(x, y, z);
    const value = distance + baseMm - keepOut.clearanceMm;
    if (value >= field.distance) continue;
    asker = number;
    putFoot(field, x, y, z, keepOut, distance, value);
  }
  return asker;
}

/** A field's box and the volumes it keeps free, with what they ask for beyond the level `baseMm`. */
export const withKeepOuts = (box: Bounds, keepOuts: readonly KeepOutField[], baseMm: number): Bounds =>
  keepOuts.reduce((all, one) => boxOver(all, one.box, Math.max(0, one.clearanceMm - baseMm)), box);

/** Put a field's foot on the line to the nearest point, as far away as the value says. */
export function putFoot(
  field: SignedField,
  x: number,
  y: number,
  z: number,
  near: { readonly x: number; readonly y: number; readonly z: number },
  distance: number,
  value: number,
): void {
  const by = distance === 0 ? 0 : value / distance;
  field.x = x - (x - near.x) * by;
  field.y = y - (y - near.y) * by;
  field.z = z - (z - near.z) * by;
  field.distance = value;
}
