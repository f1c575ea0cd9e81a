/**
 * The rigid placement whose least gap is largest: successive linear programmes in a trust region (Madsen 1975, "An
 * algorithm for minimax solution of overdetermined systems of non-linear equations"). Each step asks for the small
 * motion after which the nearest contact is farthest, by the contacts' directions; it is taken when the true least gap
 * grows, else looked for closer by. At the end the multipliers of the last programme say which contacts hold the part:
 * their pushes are in balance, so that any small motion brings one of them nearer.
 */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { multiply, transformPoint } from '../mesh/transform.ts';
import type { Contacts, GapSource } from './gap-points.ts';
import { apart, motion } from './pose.ts';
import { bestStep, motionRows, type MotionBox, type Step } from './step-programme.ts';

/** How far a placement may go from where it starts: along and about each axis of the body's coordinates. */
export interface PlacingLimits {
  readonly shiftMm: number;
  readonly tiltRad: number;
  /** Only motions in the body's middle plane: forward and back, up and down, tilt about the side axis. */
  readonly inPlane?: boolean;
}

/** Motions that leave it: shift to the side, tilt to the side, turn about the vertical. */
const OUT_OF_PLANE: readonly number[] = [1, 3, 5];

export const isLocked = (limits: PlacingLimits, motionIndex: number): boolean =>
  limits.inPlane === true && OUT_OF_PLANE.includes(motionIndex);

/** What is needed to move a part about: its middle (part coordinates) and a lever that makes turns comparable to shifts. */
export interface Handle {
  readonly middle: Vec3;
  readonly leverMm: number;
}

export interface MostRoom {
  readonly placement: Matrix4;
  readonly leastMm: number;
  /** What holds it there: contacts, and motions that a limit stops (0 to 2 shifts along, 3 to 5 turns about x, y, z). */
  readonly pushes: Step['pushes'];
  readonly stopped: readonly number[];
  readonly contacts: Contacts;
  /** What any motion of up to `triedMm` could still win, to first order; more than the tolerance where it stopped early. */
  readonly couldGainMm: number;
  readonly triedMm: number;
}

export interface MostRoomOptions {
  readonly limits: PlacingLimits;
  /** Of the limits; the placement itself when absent. */
  readonly from?: Matrix4;
  readonly trustMm: number;
  /** The trust region grows no larger than this; near the end a small one asks of fewer faces. */
  readonly mostTrustMm?: number;
  readonly toleranceMm: number;
  readonly mostSteps: number;
}

/** Shares of the promised gain from which a step is good, and very good. */
const GOOD = 0.1;
const VERY_GOOD = 0.7;
const FAIR = 0.3;
const SHRINK = 0.35;
const SHRINK_A_LITTLE = 0.7;
const LARGEST_TRUST_MM = 30;

/** Box of the six motions: the trust region, cut by what the limits leave. */
export function boxOf(
  placement: Matrix4,
  from: Matrix4,
  handle: Handle,
  limits: PlacingLimits,
  trustMm: number,
): MotionBox {
  const { turn, shift } = apart(from, placement, handle.middle);
  const come = [...shift, ...turn.map((t) => t * handle.leverMm)];
  const most = [0, 1, 2].map(() => limits.shiftMm).concat([0, 1, 2].map(() => limits.tiltRad * handle.leverMm));
  const low = come.map((c, k) => (isLocked(limits, k) ? 0 : Math.min(0, Math.max(-trustMm, -most[k] - c))));
  const high = come.map((c, k) => (isLocked(limits, k) ? 0 : Math.max(0, Math.min(trustMm, most[k] - c))));
  const free = (k: number): boolean => !isLocked(limits, k);
  return {
    low,
    high,
    lowIsLimit: low.map((value, k) => free(k) && value > -trustMm),
    highIsLimit: high.map((value, k) => free(k) && value < trustMm),
  };
}

/** The placement after six small motions about the part's middle. */
export function moved(placement: Matrix4, handle: Handle, x: ArrayLike<number>): Matrix4 {
  const lever = handle.leverMm;
  const turn: Vec3 = [x[3] / lever, x[4] / lever, x[5] / lever];
  return multiply(motion(transformPoint(placement, handle.middle), turn, [x[0], x[1], x[2]]), placement);
}

/**
 * Climb from a placement to the nearest one with the largest least gap. A local method: several starts are the
 * caller's. O(steps · contacts).
 */
export function mostRoom(gaps: GapSource, start: Matrix4, handle: Handle, options: MostRoomOptions): MostRoom {
  const { limits, from = start, mostTrustMm = LARGEST_TRUST_MM, toleranceMm, mostSteps } = options;
  let placement = start;
  let least = gaps.least(placement);
  let trust = options.trustMm;
  let steps = 0;
  for (;;) {
    const about = transformPoint(placement, handle.middle);
    // A point at twice the lever from the middle moves by no more than this in the trust region.
    const reach = 2 * Math.sqrt(3) * trust * 3;
    const contacts = gaps.contacts(reach);
    const box = boxOf(placement, from, handle, limits, trust);
    const step = bestStep(motionRows(contacts, about, handle.leverMm), contacts.gapMm, box, [
      { low: least - 1, high: least + reach + 1, worth: 1, takes: () => 1 },
    ]);
    const gain = step === undefined ? 0 : step.further[0] - least;
    if (step === undefined || gain < toleranceMm || steps >= mostSteps || trust < toleranceMm) {
      const { pushes = [], limits: stopped = [] } = step ?? {};
      return { placement, leastMm: least, pushes, stopped, contacts, couldGainMm: Math.max(0, gain), triedMm: trust };
    }
    steps++;
    const next = moved(placement, handle, step.motion);
    const now = gaps.least(next);
    const share = (now - least) / gain;
    if (share > GOOD) {
      placement = next;
      least = now;
      if (share > VERY_GOOD) trust = Math.min(mostTrustMm, 2 * trust);
      else if (share < FAIR) trust *= SHRINK_A_LITTLE;
    } else {
      trust *= SHRINK;
      gaps.least(placement);
    }
  }
}
