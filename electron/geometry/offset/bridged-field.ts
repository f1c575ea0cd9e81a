/**
 * A form whose hollows are bridged: its offset at foam thickness, closed by a ball that rolls over it (morphological
 * closing; Serra 1982, "Image Analysis and Mathematical Morphology").
 *
 * With E all that lies a reach (foam and ball together) or more from the form, the bridged body is what no ball about a
 * point of E covers: its field is the reach less the distance to E. From most places E is nearest straight away from the
 * foot, and the field is the plain distance. Only where another part of the form is too near for the ball there is a
 * hollow; there the nearest point of E is sought from the nearest of a coarse surface at the reach. Each foot met on
 * the way bounds E by a ball of its own that E cannot enter; the place moves to the nearest that their tangent planes
 * leave free (sequential quadratic programming), until no foot is nearer than the reach. So the field is as exact as the
 * distances, and the coarse surface only says where to begin. The bridged surface has no creases: where the foam meets
 * in one, the ball rounds it.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import type { Bounds } from '../mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { takeKeepOuts, withKeepOuts, type KeepOutField } from './keep-out.ts';
import { nearestAllowed, type HalfSpaces } from './nearest-allowed.ts';
import { previewOfField } from './preview.ts';
import { SignedField } from './signed-field.ts';

/** Nearer to the reach than this is there, mm. */
const THERE_MM = 2 ** -9;
/** Longest step of a place on its way, as a share of the reach: it must neither leap over a tongue of E nor into the form. */
const MOST_STEP = 1 / 5;
/** A place that moves less no longer moves, mm: what it misses then is of second order. */
const STEADY_MM = 2 ** -6;
const ROUNDS = 24;
/** Feet that bound a place at most; nearer the form than this a foot gives no direction, mm. */
const MOST_FEET = 8;
const LEAST_DISTANCE_MM = 2 ** -20;
/** A place that misses the reach by more was not found, mm. */
const LOST_MM = 2 ** -5;

export class BridgedField extends SignedField {
  readonly reachMm: number;
  /** Whether the last value is bridged, and the ball's middle there. */
  isBridged = false;
  readonly centre = new Float64Array(3);
  readonly #besideMm: number;
  readonly #levelMm: number;
  readonly #keepOuts: readonly KeepOutField[];
  readonly #far: Bvh | undefined;
  readonly #slot = nearestSlot();
  readonly #bounds: HalfSpaces = {
    normals: new Float64Array(MOST_FEET * 3),
    heights: new Float64Array(MOST_FEET),
    count: 0,
  };
  readonly #feet = new Float64Array(MOST_FEET * 3);

  /**
   * `foamMm` from the form and a ball of `radiusMm`; values and feet are told as if the form lay `besideMm` deeper, so that
   * a form that is to be bridged at its own surface has a thickness. The level `foamMm + besideMm` clears `keepOuts` too:
   * they stand in it as they are, not bridged themselves. O(n log n).
   */
  constructor(
    mesh: Mesh,
    foamMm: number,
    radiusMm: number,
    run: RunContext,
    besideMm = 0,
    keepOuts: readonly KeepOutField[] = [],
  ) {
    super(mesh, () => run.step('surface', 0, 1));
    this.reachMm = foamMm + radiusMm;
    this.#besideMm = besideMm;
    this.#levelMm = foamMm + besideMm;
    this.#keepOuts = keepOuts;
    const far = previewOfField(new SignedField(mesh), this.reachMm, run);
    this.#far = far.triangles.length === 0 ? undefined : buildBvh(far);
  }

  override at(x: number, y: number, z: number, within = Infinity): number {
    const { reachMm, centre } = this;
    const form = super.formAt(x, y, z, within);
    const face = this.face;
    let ux = x - this.x,
      uy = y - this.y,
      uz = z - this.z;
    const away = Math.sqrt(ux * ux + uy * uy + uz * uz);
    const size = form < 0 ? -away : away;
    const isSure = away > LEAST_DISTANCE_MM;
    ux = isSure ? ux / size : this.normal(face, 0);
    uy = isSure ? uy / size : this.normal(face, 1);
    uz = isSure ? uz / size : this.normal(face, 2);
    let value = form;
    this.isBridged = false;
    const left = reachMm - form;
    if (form > -reachMm && left > 0 && this.#far !== undefined) {
      if (super.formAt(x + left * ux, y + left * uy, z + left * uz, reachMm) < reachMm - THERE_MM) {
        const bridged = reachMm - this.#nearestFree(x, y, z);
        if (bridged < value) {
          value = bridged;
          this.isBridged = true;
          ux = (centre[0] - x) / (reachMm - value);
          uy = (centre[1] - y) / (reachMm - value);
          uz = (centre[2] - z) / (reachMm - value);
        }
      }
    }
    this.formMm = form;
    this.face = face;
    value += this.#besideMm;
    this.x = x - ux * value;
    this.y = y - uy * value;
    this.z = z - uz * value;
    this.distance = value;
    if (this.#keepOuts.length === 0) return value;
    takeKeepOuts(this, this.#keepOuts, this.#levelMm, x, y, z);
    return this.distance;
  }

  override get box(): Bounds {
    return withKeepOuts(super.box, this.#keepOuts, this.#levelMm);
  }

  override get isOfForm(): boolean {
    return this.#keepOuts.length === 0;
  }

  override shift(): number {
    return -this.#besideMm;
  }

  /** Distance from a point to E, the nearest point of which goes to `centre`; 0 where none was found: the plain distance counts. */
  #nearestFree(x: number, y: number, z: number): number {
    const { reachMm, centre } = this;
    const feet = this.#feet;
    const bounds = this.#bounds;
    findNearest(this.#far as Bvh, x, y, z, this.#slot);
    let [qx, qy, qz] = [this.#slot.x, this.#slot.y, this.#slot.z];
    let count = 0;
    let best = Infinity;
    for (let round = 0, step = Infinity, within = Infinity; round < ROUNDS; round++) {
      const d = super.formAt(qx, qy, qz, within);
      // What a place too near the form wants is put on top.
      const told = Math.sqrt((x - qx) ** 2 + (y - qy) ** 2 + (z - qz) ** 2) + Math.max(0, reachMm - d);
      if (d > reachMm - LOST_MM && told < best) {
        best = told;
        [centre[0], centre[1], centre[2]] = [qx, qy, qz];
      }
      if (step < STEADY_MM && d > reachMm - THERE_MM) break;
      if (d > LEAST_DISTANCE_MM) count = this.#takeFoot(count, qx, qy, qz);
      for (let i = 0; i < count; i++) {
        const nx = qx - feet[i * 3],
          ny = qy - feet[i * 3 + 1],
          nz = qz - feet[i * 3 + 2];
        const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
        bounds.normals[i * 3] = nx / size;
        bounds.normals[i * 3 + 1] = ny / size;
        bounds.normals[i * 3 + 2] = nz / size;
        bounds.heights[i] = reachMm + (nx * feet[i * 3] + ny * feet[i * 3 + 1] + nz * feet[i * 3 + 2]) / size;
      }
      bounds.count = count;
      const next = nearestAllowed(bounds, x, y, z);
      if (next === undefined) break;
      const dx = next[0] - qx,
        dy = next[1] - qy,
        dz = next[2] - qz;
      step = Math.sqrt(dx * dx + dy * dy + dz * dz);
      const by = Math.min(1, (MOST_STEP * reachMm) / step);
      qx += dx * by;
      qy += dy * by;
      qz += dz * by;
      within = Math.sqrt((qx - this.x) ** 2 + (qy - this.y) ** 2 + (qz - this.z) ** 2);
    }
    return best === Infinity ? 0 : best;
  }

  /** Keep the foot just found beside the others, or in place of the one farthest from a full set. */
  #takeFoot(count: number, qx: number, qy: number, qz: number): number {
    const feet = this.#feet;
    let at = count;
    if (count === MOST_FEET) {
      let most = 0;
      for (let i = 0; i < count; i++) {
        const far = Math.hypot(qx - feet[i * 3], qy - feet[i * 3 + 1], qz - feet[i * 3 + 2]);
        if (far > most) [most, at] = [far, i];
      }
    }
    feet[at * 3] = this.x;
    feet[at * 3 + 1] = this.y;
    feet[at * 3 + 2] = this.z;
    return Math.max(count, at + 1);
  }
}
