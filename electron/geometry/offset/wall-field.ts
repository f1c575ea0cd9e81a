/**
 * The distance from a liner whose foam differs from place to place, for the wall outside it. Another level of the liner's
 * own field is not so far away everywhere: where the thickness changes, the field grows by more or less than the way. There
 * the nearest point of the liner's level is sought by planes: each place tells the plane that touches the level through it,
 * and the next is the foot of the point on that plane. Elsewhere the field's own value serves.
 */
import { SignedField } from './signed-field.ts';
import type { ZonedField } from './zones.ts';

/** Slopes of the thickness are taken over so much, mm. */
const SLOPE_MM = 2 ** -6;
/** Nearer than this to the foam of a zone, or of no zone, it does not slope, mm. */
const FLAT_MM = 2 ** -20;
/** A place that moves by less is there: what it lies aside counts by its square only, mm. */
const THERE_MM = 2 ** -7;
const ROUNDS = 8;

export class WallField extends SignedField {
  readonly #made: ZonedField;
  readonly #levelMm: number;

  /** `made`: the field a liner was made from, at its level `levelMm`, which is this field's too. O(n). */
  constructor(made: ZonedField, levelMm: number) {
    super(made.mesh, undefined, made);
    this.#made = made;
    this.#levelMm = levelMm;
  }

  override get box(): SignedField['box'] {
    return this.#made.box;
  }

  override get isPlain(): boolean {
    return false;
  }

  /** As of the liner: near where the wall's outer side goes, not on it. */
  override shift(x: number, y: number, z: number, heightMm: number): number {
    return this.#made.shift(x, y, z, heightMm);
  }

  /** Signed distance from the liner, and its level more, mm; the foot lies as far away, through the nearest point. */
  override at(x: number, y: number, z: number, within = Infinity): number {
    const made = this.#made;
    const value = made.at(x, y, z, within);
    const { face, formMm, askedMm } = made;
    this.x = made.x;
    this.y = made.y;
    this.z = made.z;
    this.distance = value;
    const by = value === 0 ? 0 : (value - this.#levelMm) / value;
    const [qx, qy, qz] = [x - (x - this.x) * by, y - (y - this.y) * by, z - (z - this.z) * by];
    const height = made.heightMm;
    const isFlat =
      made.asker >= 0 || (this.#isFlat(x, y, z, height) && this.#isFlat(qx, qy, qz, height - value + this.#levelMm));
    if (!isFlat) this.#seek(x, y, z, qx, qy, qz);
    this.face = face;
    this.formMm = formMm;
    this.askedMm = askedMm;
    return this.distance;
  }

  /** Whether the foam at a place is that of a zone or of none. */
  #isFlat(x: number, y: number, z: number, height: number): boolean {
    const { zones, baseMm } = this.#made;
    const shift = this.#made.shift(x, y, z, height);
    if (Math.abs(shift) < FLAT_MM) return true;
    for (const { thicknessMm } of zones) if (Math.abs(shift - thicknessMm + baseMm) < FLAT_MM) return true;
    return false;
  }

  /** Put foot and distance by the point of the level nearest to (x, y, z), sought from (qx, qy, qz). */
  #seek(x: number, y: number, z: number, qx: number, qy: number, qz: number): void {
    const made = this.#made;
    for (let round = 0; round < ROUNDS; round++) {
      const value = made.at(qx, qy, qz);
      if (value === 0) return;
      let [gx, gy, gz] = [(qx - made.x) / value, (qy - made.y) / value, (qz - made.z) / value];
      const { heightMm: height, asker } = made;
      if (asker < 0) {
        const shift = made.shift(qx, qy, qz, height);
        const [nx, ny, nz] = [gx * SLOPE_MM, gy * SLOPE_MM, gz * SLOPE_MM];
        gx -= (made.shift(qx + SLOPE_MM, qy, qz, height + nx) - shift) / SLOPE_MM;
        gy -= (made.shift(qx, qy + SLOPE_MM, qz, height + ny) - shift) / SLOPE_MM;
        gz -= (made.shift(qx, qy, qz + SLOPE_MM, height + nz) - shift) / SLOPE_MM;
      }
      const steep = gx * gx + gy * gy + gz * gz;
      const along = (value - this.#levelMm + gx * (x - qx) + gy * (y - qy) + gz * (z - qz)) / steep;
      const [px, py, pz] = [qx, qy, qz];
      qx = x - along * gx;
      qy = y - along * gy;
      qz = z - along * gz;
      const size = Math.sqrt(steep);
      this.distance = this.#levelMm + along * size;
      const by = this.distance / size;
      this.x = x - gx * by;
      this.y = y - gy * by;
      this.z = z - gz * by;
      if ((qx - px) ** 2 + (qy - py) ** 2 + (qz - pz) ** 2 < THERE_MM * THERE_MM) return;
    }
  }
}
