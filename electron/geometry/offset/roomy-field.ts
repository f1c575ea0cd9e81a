/**
 * The field a liner is made from when more than the seated body has to find room in it: zones of their own thickness,
 * volumes to be left free, and the body on its way in.
 *
 * Where the way in asks for more room than the seat, the liner stands off the body: the foam there holds nothing, and
 * that is the ease lost. With foam that gives, only what it cannot give is asked for.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { boxOver, type Bounds } from '../mesh/quantities.ts';
import { KeepOutField, putFoot, takeKeepOuts, withKeepOuts, type KeepOut } from './keep-out.ts';
import type { SignedField } from './signed-field.ts';
import { SweptBody } from './swept-body.ts';
import { ZonedField, type Zone } from './zones.ts';

export interface RoomWishes {
  readonly foamMm: number;
  readonly zones: readonly Zone[];
  readonly keepOuts: readonly KeepOut[];
  /** The direction in which the part is put on, and how much the foam gives on the way, mm. */
  readonly clear: { readonly direction: Vec3; readonly giveMm: number } | undefined;
}

/** What was built of a form before: a field of it, and its room swept along the direction of a way in. */
export interface Built {
  readonly field: SignedField;
  readonly swept: SweptBody | undefined;
}

/** Where the way in asks for less more than this, mm, the seated body counts: mostly both are the same place of it. */
const SAME_MM = 2 ** -20;

export class RoomyField extends ZonedField {
  readonly keepOuts: readonly KeepOutField[];
  /** Of the last height: what it has beyond the distance from its foot, mm. */
  protected beyondMm = 0;
  readonly #swept: SweptBody | undefined;
  readonly #giveMm: number;

  /** O(n log n). */
  constructor(mesh: Mesh, { foamMm, zones, keepOuts, clear }: RoomWishes, tick?: () => void, built?: Built) {
    super(mesh, foamMm, zones, tick, built?.field);
    this.keepOuts = keepOuts.map((one) => new KeepOutField(one, tick));
    if (clear !== undefined) this.#swept = built?.swept ?? new SweptBody(mesh, clear.direction, tick);
    this.#giveMm = clear?.giveMm ?? 0;
  }

  override get box(): Bounds {
    const seated = super.box;
    const passed = this.#swept === undefined ? seated : boxOver(seated, this.#swept.box, this.mostMm);
    return withKeepOuts(passed, this.keepOuts, this.baseMm);
  }

  /** Whether the way in has its room. */
  get isCleared(): boolean {
    return this.#swept !== undefined;
  }

  /**
   * Height over the seated body, or over its way in and what the foam gives, whichever is less, mm; the foot is the nearest
   * point itself, `beyondMm` nearer than the height says.
   */
  protected heightAt(x: number, y: number, z: number, within: number): number {
    const height = this.formAt(x, y, z, within);
    this.asker = -1;
    this.beyondMm = 0;
    const swept = this.#swept;
    if (swept === undefined) return height;
    const distance = swept.at(x, y, z, Math.max(0, height - this.#giveMm));
    if (distance + this.#giveMm > height - SAME_MM) return height;
    this.asker = -2;
    this.beyondMm = this.#giveMm;
    this.x = swept.x;
    this.y = swept.y;
    this.z = swept.z;
    return distance + this.#giveMm;
  }

  override at(x: number, y: number, z: number, within = Infinity): number {
    const height = this.heightAt(x, y, z, within + this.mostMm);
    this.heightMm = this.formMm;
    putFoot(this, x, y, z, this, height - this.beyondMm, height - this.shift(x, y, z, this.formMm));
    this.askedMm = this.formMm - height;
    this.takeKeepOuts(x, y, z);
    return this.distance;
  }

  /** Let volumes left free ask for room at the place of the last query. */
  protected takeKeepOuts(x: number, y: number, z: number): void {
    const before = this.distance;
    const keepOut = takeKeepOuts(this, this.keepOuts, this.baseMm, x, y, z);
    if (keepOut < 0) return;
    this.asker = keepOut;
    this.askedMm += before - this.distance;
  }
}

/** How far a liner stands off the body because of one thing that asked for room. */
export interface AskedRoom {
  /** The keep-out's name, or undefined for the way in. */
  readonly keepOut: string | undefined;
  /** Beyond the foam asked for, sampled at face middles: largest, and mean over the area concerned. */
  readonly addedMaxMm: number;
  readonly addedMeanMm: number;
  /** Of the liner's faces concerned, and the room added under them. */
  readonly areaMm2: number;
  readonly addedVolumeMm3: number;
}

/** Less is the liner's own tolerance, mm. */
const LEAST_ADDED_MM = 0.2;

/**
 * What the way in and each keep-out made of a liner, in that order (the way in only when it was to be cleared), on its
 * faces whose vertices all remain (`kept` is 1). O(faces log n).
 */
export function measureRoom(field: RoomyField, liner: Mesh, kept: Uint8Array, tick: () => void): readonly AskedRoom[] {
  const { positions: p, triangles: t } = liner;
  const sums = [undefined, ...field.keepOuts].map((one) => ({ name: one?.name, most: 0, area: 0, volume: 0 }));
  for (let h = 0; h < t.length; h += 3) {
    if (h % 3072 === 0) tick();
    if (kept[t[h]] + kept[t[h + 1]] + kept[t[h + 2]] < 3) continue;
    const [a, b, c] = [t[h] * 3, t[h + 1] * 3, t[h + 2] * 3];
    const x = (p[a] + p[b] + p[c]) / 3,
      y = (p[a + 1] + p[b + 1] + p[c + 1]) / 3,
      z = (p[a + 2] + p[b + 2] + p[c + 2]) / 3;
    field.at(x, y, z);
    if (field.asker === -1) continue;
    const added = field.formMm - field.baseMm - field.shift(x, y, z, field.formMm);
    if (added < LEAST_ADDED_MM) continue;
    const one = sums[field.asker === -2 ? 0 : field.asker + 1];
    const area = faceCross(p, t, h) / 2;
    one.most = Math.max(one.most, added);
    one.area += area;
    one.volume += area * added;
  }
  return (field.isCleared ? sums : sums.slice(1)).map(({ name, most, area, volume }) => ({
    keepOut: name,
    addedMaxMm: most,
    addedMeanMm: area === 0 ? 0 : volume / area,
    areaMm2: area,
    addedVolumeMm3: volume,
  }));
}
