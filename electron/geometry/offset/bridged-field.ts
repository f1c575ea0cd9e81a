/**
 * A form whose hollows are bridged: its offset at foam thickness, closed by a ball that rolls over it (morphological
 * closing; Serra 1982, "Image Analysis and Mathematical Morphology").
 *
 * With E all that lies a reach (foam and ball together) or more from the form, the bridged body is what no ball about a
 * point of E covers: how high a place lies over it is the reach less the distance to E. From most places E is nearest
 * straight away from the foot, and the height is the plain one. Only where another part of the form is too near for the
 * ball there is a hollow; there the nearest point of E is sought from the nearest of a coarse surface at the reach. Each
 * foot met on the way bounds E by a ball of its own that E cannot enter; the place moves to the nearest that their tangent
 * planes leave free (sequential quadratic programming), until no foot is nearer than the reach. So the height is as exact as
 * the distances, and the coarse surface only says where to begin. The bridged surface has no creases: where the foam meets
 * in one, the ball rounds it.
 *
 * Zones lay their foam over the bridged body, as they do over a form. The reach follows them: at a place of E it is the
 * foam of that place and the ball, and a place is so high over the body as the largest ball over it covers it deep (the
 * reach of that ball less the way to its middle, as in a power diagram; Aurenhammer 1987). Where the foam is the same all
 * round a hollow, the ball on the liner is the one asked for; where it changes by so much between them, larger or smaller by
 * that; and where nothing is hollow the height is the plain one, whatever the zones. The body on its way in, where it asks
 * for room, is bridged with the seated one.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { vertexNormals } from '../mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { nearestAllowed, noneBinds, type HalfSpaces } from './nearest-allowed.ts';
import { previewOfField } from './preview.ts';
import { RoomyField, type Built, type RoomWishes } from './roomy-field.ts';

/** Nearer to the reach than this is there, mm. */
const THERE_MM = 2 ** -9;
/** Longest step of a place on its way, as a share of the reach: it must neither leap over a tongue of E nor into the form. */
const MOST_STEP = 1 / 5;
/** A place that would gain less by moving on stays, mm. */
const GAIN_MM = 2 ** -9;
/** Where the nearest of the coarse surface lies so near to where a ball stood last, the search goes on from that ball, mm. */
const SAME_BALL_MM = 4;
/** Feet that touch it but for so much are kept for the next, mm. */
const KEPT_MM = 0.5;
/** Feet nearer to each other than this are one, mm. */
const SAME_FOOT_MM = 0.1;
const ROUNDS = 24;
/** Feet that bound a place at most; nearer the form than this a foot gives no direction, mm. */
const MOST_FEET = 8;
const LEAST_DISTANCE_MM = 2 ** -20;
/** A place that misses the reach by more was not found, mm. */
const LOST_MM = 2 ** -5;
/** A vertex of the coarse surface is sharp where a face leans from its normal by acos of this. */
const SHARP_COSINE = 0.95;
/** Sharp vertices drawn out between two looks for a stop, less one (a mask). */
const STRIDE = 31;
/** To look at: slack so many times as large, and a coarse surface of cubes so many times as large. */
const COARSE_SLACK = 32;
const FAR_COARSER = 2;
/** Where the foam differs, the reach straight out is found in so many rounds; and its slope over so much, mm. */
const REACH_ROUNDS = 6;
const SLOPE_MM = 2 ** -6;
/** Nearer to the foam of a zone, or beside zones, it does not slope, mm. */
const FLAT_MM = 2 ** -20;

export class BridgedField extends RoomyField {
  readonly radiusMm: number;
  /** Whether the last value is bridged, and the ball's middle there. */
  isBridged = false;
  readonly centre = new Float64Array(3).fill(Infinity);
  readonly #far: Bvh | undefined;
  readonly #isMade: boolean = false;
  /** How many times as far off what is there may be. */
  readonly #slack: number = 1;
  readonly #slot = nearestSlot();
  readonly #bounds: HalfSpaces = {
    normals: new Float64Array(MOST_FEET * 3),
    heights: new Float64Array(MOST_FEET),
    count: 0,
    binding: noneBinds(),
  };
  readonly #feet = new Float64Array(MOST_FEET * 3);
  /** By how much the height over each foot is more than the distance from it. */
  readonly #beyond = new Float64Array(MOST_FEET);
  readonly #slope = new Float64Array(3);
  #isThere = false;

  /**
   * `radiusMm` of the ball that rolls over the foam of the wishes. Volumes left free stand in the liner as they are, not
   * bridged themselves. `isCoarse`, to look at: within about 0.1 mm, and a narrow place between hollows may be missed.
   * O(n log n).
   */
  constructor(
    mesh: Mesh,
    radiusMm: number,
    wishes: RoomWishes,
    run: RunContext,
    { isCoarse = false, built }: { readonly isCoarse?: boolean; readonly built?: Built } = {},
  ) {
    super(mesh, wishes, () => run.step('surface', 0, 1), built);
    this.radiusMm = radiusMm;
    this.#slack = isCoarse ? COARSE_SLACK : 1;
    const far = previewOfField(this, this.baseMm + radiusMm, run, isCoarse ? FAR_COARSER : 1);
    const tick = (): void => run.step('surface', 0, 1);
    if (!isCoarse) this.#drawOut(far, tick);
    this.#far = far.triangles.length === 0 ? undefined : buildBvh(far, tick);
    this.#isMade = true;
  }

  override at(x: number, y: number, z: number, within = Infinity): number {
    const { centre } = this;
    let height = this.heightAt(x, y, z, within + this.mostMm);
    const { formMm, face, beyondMm, asker } = this;
    let ux = x - this.x,
      uy = y - this.y,
      uz = z - this.z;
    const away = Math.sqrt(ux * ux + uy * uy + uz * uz);
    const size = height < beyondMm ? -away : away;
    const isSure = away > LEAST_DISTANCE_MM;
    ux = isSure ? ux / size : this.normal(face, 0);
    uy = isSure ? uy / size : this.normal(face, 1);
    uz = isSure ? uz / size : this.normal(face, 2);
    this.isBridged = false;
    const left = this.#far === undefined ? 0 : this.#leftTo(x, y, z, ux, uy, uz, height);
    const reach = height + left;
    if (left > 0 && height > -reach) {
      const out = this.heightAt(x + left * ux, y + left * uy, z + left * uz, Math.abs(formMm) + left);
      if (out < reach - this.#slack * THERE_MM) {
        const depth = this.#deepest(x, y, z);
        if (depth < height) {
          height = depth;
          this.isBridged = true;
          const [cx, cy, cz] = [centre[0] - x, centre[1] - y, centre[2] - z];
          const way = Math.sqrt(cx * cx + cy * cy + cz * cz);
          [ux, uy, uz] = [cx / way, cy / way, cz / way];
        }
      }
    }
    this.formMm = formMm;
    this.face = face;
    this.asker = asker;
    this.heightMm = height;
    this.askedMm = formMm - height;
    const value = height - this.shift(x, y, z, height);
    this.x = x - ux * value;
    this.y = y - uy * value;
    this.z = z - uz * value;
    this.distance = value;
    if (!this.#isMade || this.keepOuts.length === 0) return value;
    this.takeKeepOuts(x, y, z);
    return this.distance;
  }

  /** Foam and ball at a place, mm: the zones as they are at the height of the ball's middle. */
  #reachAt(x: number, y: number, z: number): number {
    const reach = this.baseMm + this.radiusMm;
    return this.mostMm === 0 ? reach : reach + this.shift(x, y, z, reach);
  }

  /** How far it is along a unit direction, in which the height grows as the way, to where it is the reach. */
  #leftTo(x: number, y: number, z: number, ux: number, uy: number, uz: number, height: number): number {
    let left = this.#reachAt(x, y, z) - height;
    if (this.mostMm === 0) return left;
    for (let round = 0; round < REACH_ROUNDS; round++) {
      const next = this.#reachAt(x + left * ux, y + left * uy, z + left * uz) - height;
      const by = Math.abs(next - left);
      left = next;
      if (by < THERE_MM / 2) break;
    }
    return left;
  }

  /** How the reach grows from a place, per mm. */
  #slopeAt(x: number, y: number, z: number, reach: number): void {
    const slope = this.#slope;
    slope.fill(0);
    const shift = reach - this.baseMm - this.radiusMm;
    const isFlat = (one: number): boolean => Math.abs(shift - one) < FLAT_MM;
    if (isFlat(0) || this.zones.some(({ thicknessMm }) => isFlat(thicknessMm - this.baseMm))) return;
    slope[0] = (this.#reachAt(x + SLOPE_MM, y, z) - reach) / SLOPE_MM;
    slope[1] = (this.#reachAt(x, y + SLOPE_MM, z) - reach) / SLOPE_MM;
    slope[2] = (this.#reachAt(x, y, z + SLOPE_MM) - reach) / SLOPE_MM;
  }

  /**
   * How deep the largest ball about a point of E covers a place, mm, its middle in `centre`; Infinity where none was found.
   * Between two balls that cover it equally the answer may depend on where the last one stood.
   */
  #deepest(x: number, y: number, z: number): number {
    const { centre } = this;
    const begin = this.#slot;
    findNearest(this.#far as Bvh, x, y, z, begin);
    const { x: bx, y: by, z: bz } = begin;
    // Queries come close together: most balls stand beside the last one.
    const goesOn = (bx - centre[0]) ** 2 + (by - centre[1]) ** 2 + (bz - centre[2]) ** 2 < SAME_BALL_MM * SAME_BALL_MM;
    const count = goesOn ? this.#keepFeet(this.#bounds.count) : 0;
    let best = goesOn ? this.#search(x, y, z, centre[0], centre[1], centre[2], count) : Infinity;
    if (best === Infinity) best = this.#search(x, y, z, bx, by, bz, 0);
    return best === Infinity ? Infinity : -best;
  }

  /** Move the vertices of the coarse surface of E on to the ends of narrow tongues and ridges that it cuts short. */
  #drawOut({ positions: p, triangles: t }: Mesh, tick: () => void): void {
    const { centre } = this;
    const normals = vertexNormals({ positions: p, triangles: t });
    const isSharp = new Uint8Array(p.length / 3);
    for (let h = 0; h < t.length; h += 3) {
      const size = faceCross(p, t, h);
      const [x, y, z] = faceCrossOut;
      for (const v of t.subarray(h, h + 3)) {
        const along = x * normals[v * 3] + y * normals[v * 3 + 1] + z * normals[v * 3 + 2];
        if (along < SHARP_COSINE * size) isSharp[v] = 1;
      }
    }
    let drawn = 0;
    for (let v = 0; v < isSharp.length; v++) {
      if (isSharp[v] === 0) continue;
      if ((drawn++ & STRIDE) === 0) tick();
      const [x, y, z] = p.subarray(v * 3, v * 3 + 3);
      const [px, py, pz] = [0, 1, 2].map((k) => p[v * 3 + k] - this.radiusMm * normals[v * 3 + k]);
      if (this.#search(px, py, pz, x, y, z, 0) < Infinity) p.set(centre, v * 3);
    }
  }

  /**
   * Move a place of E, or near it, to where its ball covers the point deepest, from (qx, qy, qz) and `count` feet on; gives
   * the way to it less its reach, or Infinity.
   */
  #search(x: number, y: number, z: number, qx: number, qy: number, qz: number, count: number): number {
    const { centre } = this;
    const feet = this.#feet;
    const beyond = this.#beyond;
    const bounds = this.#bounds;
    const slope = this.#slope;
    let isThere = count > 0 && this.#isThere;
    this.#isThere = false;
    const slack = this.#slack;
    let best = Infinity;
    for (let round = 0, within = Infinity; round < ROUNDS; round++) {
      const reach = this.#reachAt(qx, qy, qz);
      // Where the last ball ended nothing is nearer than the reach.
      const d = isThere ? reach : this.heightAt(qx, qy, qz, within);
      const way = Math.sqrt((x - qx) ** 2 + (y - qy) ** 2 + (z - qz) ** 2);
      // What a place too near the form wants is put on top.
      const told = way - reach + Math.max(0, reach - d);
      if (d > reach - slack * LOST_MM && told < best) {
        best = told;
        [centre[0], centre[1], centre[2]] = [qx, qy, qz];
      }
      if (!isThere && d - this.beyondMm > LEAST_DISTANCE_MM) count = this.#takeFoot(count, qx, qy, qz);
      this.#slopeAt(qx, qy, qz, reach);
      for (let i = 0; i < count; i++) {
        let nx = qx - feet[i * 3],
          ny = qy - feet[i * 3 + 1],
          nz = qz - feet[i * 3 + 2];
        const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
        nx = nx / size - slope[0];
        ny = ny / size - slope[1];
        nz = nz / size - slope[2];
        // As high over this foot as the reach is there, both grown as from here.
        const wants = reach - beyond[i] - size;
        const steep = Math.sqrt(nx * nx + ny * ny + nz * nz);
        bounds.normals[i * 3] = nx / steep;
        bounds.normals[i * 3 + 1] = ny / steep;
        bounds.normals[i * 3 + 2] = nz / steep;
        bounds.heights[i] = (nx * qx + ny * qy + nz * qz + wants) / steep;
      }
      bounds.count = count;
      const next = nearestAllowed(bounds, x + way * slope[0], y + way * slope[1], z + way * slope[2]);
      if (next === undefined) break;
      const dx = next[0] - qx,
        dy = next[1] - qy,
        dz = next[2] - qz;
      const step = Math.sqrt(dx * dx + dy * dy + dz * dz);
      if (d > reach - slack * THERE_MM) {
        const [nx, ny, nz] = next;
        const left = Math.sqrt((x - nx) ** 2 + (y - ny) ** 2 + (z - nz) ** 2);
        if (told - left + reach + slope[0] * dx + slope[1] * dy + slope[2] * dz < slack * GAIN_MM) {
          this.#isThere = told === best;
          break;
        }
      }
      const by = Math.min(1, (MOST_STEP * reach) / step);
      qx += dx * by;
      qy += dy * by;
      qz += dz * by;
      within = (isThere ? reach + KEPT_MM : Math.abs(this.formMm)) + Math.min(step, MOST_STEP * reach);
      isThere = false;
    }
    return best;
  }

  /** Keep those of the last feet that touch the ball about `centre`, and give how many. */
  #keepFeet(count: number): number {
    const feet = this.#feet;
    const [x, y, z] = this.centre;
    const most = this.#reachAt(x, y, z) + KEPT_MM;
    let kept = 0;
    for (let i = 0; i < count; i++) {
      const way = Math.hypot(x - feet[i * 3], y - feet[i * 3 + 1], z - feet[i * 3 + 2]);
      if (way + this.#beyond[i] > most) continue;
      feet.copyWithin(kept * 3, i * 3, i * 3 + 3);
      this.#beyond[kept++] = this.#beyond[i];
    }
    return kept;
  }

  /** Keep the foot just found beside the others, in place of one it hardly differs from or, in a full set, of the highest over. */
  #takeFoot(count: number, qx: number, qy: number, qz: number): number {
    const feet = this.#feet;
    const { x, y, z } = this;
    let at = count;
    let most = 0;
    for (let i = 0; i < count; i++) {
      const [fx, fy, fz] = [feet[i * 3], feet[i * 3 + 1], feet[i * 3 + 2]];
      if ((fx - x) ** 2 + (fy - y) ** 2 + (fz - z) ** 2 < SAME_FOOT_MM * SAME_FOOT_MM) {
        at = i;
        break;
      }
      const far = Math.sqrt((qx - fx) ** 2 + (qy - fy) ** 2 + (qz - fz) ** 2) + this.#beyond[i];
      if (count === MOST_FEET && far > most) [most, at] = [far, i];
    }
    feet[at * 3] = x;
    feet[at * 3 + 1] = y;
    feet[at * 3 + 2] = z;
    this.#beyond[at] = this.beyondMm;
    return Math.max(count, at + 1);
  }
}
