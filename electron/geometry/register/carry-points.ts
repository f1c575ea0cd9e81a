/**
 * Carrying named points from a form to a raw scan it has been laid on. Where the body has changed, one pose for the
 * whole of it misses; so each point goes with the patch of form around it, which is fitted once more on its own, held
 * near the pose of the whole. The fit's own normal equations say how well the patch is fixed there: on a smooth crown it
 * may slide, on a nose it may not. The hold and the patch's size are own judgement, tried on invented heads.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { vertexNormals } from '../mesh/quantities.ts';
import { determinant3, transformPoint } from '../mesh/transform.ts';
import { findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { slideOnto, type Laid, type Samples, type Slid } from './lay-on.ts';

/** Radius of the patch that a point goes with, mm: an ear or a nose with what is round it. */
export const PATCH_RADIUS_MM = 32;
/** Standard deviation of a patch's own shift against the whole body's: within these, by how much the body has changed. */
const LEAST_SHIFT_MM = 0.2;
const MOST_SHIFT_MM = 3;
/** A body that changes bends, and a patch does not: this share of the hold, from trials on invented heads. */
const BENT_SHARE = 0.7;
/** A point's shift along the surface against what the distances across it show. */
const CHANGE_SPREAD = 2;
const PATCH_SAMPLES = 400;
const LEAST_SAMPLES = 20;
/** Noise of photographs comes in waves a few millimetres long: samples nearer than this tell nothing new (own judgement). */
const INDEPENDENT_MM = 4;

export interface CarriedPoint {
  /** In the scan's coordinates; on its surface, but where that is a hole. */
  readonly point: Vec3;
  /** Standard uncertainty of the carrying, all directions together, mm; that of the point itself is not in it. */
  readonly uMm: number;
  /** How far the scan's surface was from where the point came to lie, mm: large over a hole. */
  readonly offSurfaceMm: number;
  /** How far the patch went from where the pose of the whole body would have put it, mm. */
  readonly ownMoveMm: number;
}

/**
 * Carry points given in the form's frame (mm). `tree` is of the scan in its own coordinates; `laid` is from
 * layFormOnScan; `unitMm` is mm in one of the scan's units by that fit. O(points · patch · rounds · log faces).
 */
export function carryPoints(
  form: Mesh,
  points: readonly Vec3[],
  tree: Bvh,
  laid: Laid,
  run: RunContext = QUIET_RUN,
): CarriedPoint[] {
  const normals = vertexNormals(form);
  const unitMm = 1 / Math.cbrt(determinant3(laid.matrix));
  const near = nearestSlot();
  const patches = points.map((point) => patchOf(form, normals, point));
  const rounds = 2 * points.length;
  const fit = (patch: Samples, shiftMm: number, noise: number, done: number): Slid | undefined => {
    const tick = (): void => run.step('carry', done, rounds);
    tick();
    if (patch.points.length < LEAST_SAMPLES) return undefined;
    // Samples that repeat one another would outvote the hold: their noise counts for so much more.
    const hold = {
      turnRad: shiftMm / PATCH_RADIUS_MM,
      shift: shiftMm / unitMm,
      noise: noise / Math.sqrt(shareOfNew(patch)),
    };
    return slideOnto(patch, tree, laid.matrix, { hold }, tick);
  };
  // First with a loose hold: what the patches themselves cannot bring away is noise, the rest of the whole's is change.
  const loose = patches.map((patch, index) => fit(patch, MOST_SHIFT_MM, laid.rms, index));
  const left = loose.flatMap((one) => (one === undefined ? [] : [one.rms])).sort((a, b) => a - b);
  const noise = left[Math.floor(left.length / 2)] ?? laid.rms;
  const changeMm = CHANGE_SPREAD * Math.sqrt(Math.max(0, laid.rms ** 2 - noise ** 2)) * unitMm;
  const shiftMm = Math.min(MOST_SHIFT_MM, Math.max(LEAST_SHIFT_MM, changeMm));
  return points.map((point, index) => {
    const patch = patches[index];
    const whole = transformPoint(laid.matrix, point);
    const slid = fit(patch, shiftMm, noise, points.length + index);
    const own = slid === undefined ? whole : transformPoint(slid.matrix, point);
    const found = findNearest(tree, own[0], own[1], own[2], near);
    const onSurface: Vec3 = found && near.distance <= SNAP_NOISES * laid.rms ? [near.x, near.y, near.z] : own;
    return {
      point: onSurface,
      uMm: Math.hypot(
        slid === undefined ? MOST_SHIFT_MM : uncertaintyAt(slid, own, noise * unitMm, patch),
        noise * unitMm,
        BENT_SHARE * shiftMm,
      ),
      offSurfaceMm: found ? near.distance * unitMm : 0,
      ownMoveMm: Math.hypot(...own.map((x, k) => x - whole[k])) * unitMm,
    };
  });
}

export const CARRY_PHASES = { carry: 1 } as const;

function patchOf(form: Mesh, normals: Float64Array, [px, py, pz]: Vec3): Samples {
  const inside: number[] = [];
  for (let at = 0; at < form.positions.length; at += 3) {
    const [dx, dy, dz] = [form.positions[at] - px, form.positions[at + 1] - py, form.positions[at + 2] - pz];
    if (dx * dx + dy * dy + dz * dz < PATCH_RADIUS_MM ** 2) inside.push(at);
  }
  const step = Math.max(1, Math.floor(inside.length / PATCH_SAMPLES));
  const chosen = inside.filter((_, index) => index % step === 0);
  const triple = (array: Float64Array, at: number): Vec3 => [array[at], array[at + 1], array[at + 2]];
  return {
    points: chosen.map((at) => triple(form.positions, at)),
    normals: chosen.map((at) => triple(normals, at)),
  };
}

/** A surface farther off than this many times the noise is the rim of a hole, or hair. */
const SNAP_NOISES = 4;
/** Samples on a disc of the patch's size that are far enough apart to be independent. */
const INDEPENDENT_SAMPLES = (PATCH_RADIUS_MM / INDEPENDENT_MM) ** 2 * 2;
const shareOfNew = (patch: Samples): number => Math.min(1, INDEPENDENT_SAMPLES / patch.points.length);

/** Standard uncertainty of a point that goes with the patch: J (A / noise²)^-1 J^T, J = [-arm x, I]. */
function uncertaintyAt(slid: Slid, at: Vec3, rmsMm: number, patch: Samples): number {
  const { factor, centre, reach } = slid;
  if (!(reach > 0)) return MOST_SHIFT_MM;
  const arm = at.map((x, k) => (x - centre[k]) / reach);
  const rows = [
    [0, arm[2], -arm[1], 1, 0, 0],
    [-arm[2], 0, arm[0], 0, 1, 0],
    [arm[1], -arm[0], 0, 0, 0, 1],
  ];
  let variance = 0;
  for (const row of rows) {
    // |L^-1 j|² for each direction.
    for (let r = 0; r < 6; r++) {
      for (let k = 0; k < r; k++) row[r] -= factor[r * 6 + k] * row[k];
      row[r] /= factor[r * 6 + r];
      variance += row[r] ** 2;
    }
  }
  return (Math.sqrt(variance) * rmsMm) / Math.sqrt(shareOfNew(patch));
}
