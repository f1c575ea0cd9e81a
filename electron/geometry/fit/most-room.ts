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
import { solveLinear, type Held } from './small-lp.ts';

/** How far a placement may go from where it starts: along and about each axis of the body's coordinates. */
export interface PlacingLimits {
  readonly shiftMm: number;
  readonly tiltRad: number;
  /** Only motions that keep a mirror-even part even: forward and back, up and down, tilt about the side axis. */
  readonly even?: boolean;
}

/** Motions that break evenness: shift to the side, tilt to the side, turn about the vertical. */
const UNEVEN: readonly number[] = [1, 3, 5];

export const isLocked = (limits: PlacingLimits, motionIndex: number): boolean =>
  limits.even === true && UNEVEN.includes(motionIndex);

/** What is needed to move a part about: its middle (part coordinates) and a lever that makes turns comparable to shifts. */
export interface Handle {
  readonly middle: Vec3;
  readonly leverMm: number;
}

export interface MostRoom {
  readonly placement: Matrix4;
  readonly leastMm: number;
  /** What holds it there: rows are contacts, bounds the limits or the trust region. */
  readonly held: readonly Held[];
  readonly contacts: Contacts;
  /** Motions whose box a limit cut. */
  readonly cut: readonly boolean[];
  /** What any motion of up to `triedMm` could still win, to first order; more than the tolerance where it stopped early. */
  readonly couldGainMm: number;
  readonly triedMm: number;
}

export interface MostRoomOptions {
  readonly limits: PlacingLimits;
  /** Of the limits; the placement itself when absent. */
  readonly from?: Matrix4;
  readonly trustMm: number;
  readonly toleranceMm: number;
  readonly mostSteps: number;
}

const MOTIONS = 6;
/** Shares of the promised gain from which a step is good, and very good. */
const GOOD = 0.1;
const VERY_GOOD = 0.7;
const SHRINK = 0.35;
const LARGEST_TRUST_MM = 30;

/** Rows of -J x (and of the least gap, when it is an unknown) <= gap, for motions about `about`. */
export function rowsOf(contacts: Contacts, about: Vec3, leverMm: number, withLeast: boolean): Float64Array {
  const n = withLeast ? MOTIONS + 1 : MOTIONS;
  const rows = new Float64Array(contacts.count * n);
  const { at, opens } = contacts;
  for (let i = 0; i < contacts.count; i++) {
    const [nx, ny, nz] = [opens[3 * i], opens[3 * i + 1], opens[3 * i + 2]];
    const rx = at[3 * i] - about[0],
      ry = at[3 * i + 1] - about[1],
      rz = at[3 * i + 2] - about[2];
    const row = i * n;
    rows[row] = -nx;
    rows[row + 1] = -ny;
    rows[row + 2] = -nz;
    rows[row + 3] = -(ry * nz - rz * ny) / leverMm;
    rows[row + 4] = -(rz * nx - rx * nz) / leverMm;
    rows[row + 5] = -(rx * ny - ry * nx) / leverMm;
    if (withLeast) rows[row + MOTIONS] = 1;
  }
  return rows;
}

/** Box of the six motions: the trust region, cut by what the limits leave. */
export function boxOf(
  placement: Matrix4,
  from: Matrix4,
  handle: Handle,
  limits: PlacingLimits,
  trustMm: number,
): { readonly low: number[]; readonly high: number[]; readonly cut: boolean[] } {
  const { turn, shift } = apart(from, placement, handle.middle);
  const come = [...shift, ...turn.map((t) => t * handle.leverMm)];
  const most = [0, 1, 2].map(() => limits.shiftMm).concat([0, 1, 2].map(() => limits.tiltRad * handle.leverMm));
  const low = come.map((c, k) => (isLocked(limits, k) ? 0 : Math.min(0, Math.max(-trustMm, -most[k] - c))));
  const high = come.map((c, k) => (isLocked(limits, k) ? 0 : Math.max(0, Math.min(trustMm, most[k] - c))));
  return { low, high, cut: come.map((_, k) => !isLocked(limits, k) && (low[k] > -trustMm || high[k] < trustMm)) };
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
  const { limits, from = start, toleranceMm, mostSteps } = options;
  const lever = handle.leverMm;
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
    const answer = solveLinear({
      unknowns: MOTIONS + 1,
      objective: [0, 0, 0, 0, 0, 0, 1],
      low: [...box.low, least - 1],
      high: [...box.high, least + reach + 1],
      rows: rowsOf(contacts, about, lever, true),
      bounds: contacts.gapMm,
    });
    const gain = answer === undefined ? 0 : answer.x[MOTIONS] - least;
    const last = gain < toleranceMm || steps >= mostSteps || trust < toleranceMm;
    if (!last && answer !== undefined) {
      steps++;
      const next = moved(placement, handle, answer.x);
      const now = gaps.least(next);
      const share = (now - least) / gain;
      if (share > GOOD) {
        placement = next;
        least = now;
        if (share > VERY_GOOD) trust = Math.min(LARGEST_TRUST_MM, 2 * trust);
        else if (share < 0.3) trust *= 0.7;
      } else {
        trust *= SHRINK;
        gaps.least(placement);
      }
      continue;
    }
    const held = answer?.held ?? [];
    return { placement, leastMm: least, held, contacts, cut: box.cut, couldGainMm: Math.max(0, gain), triedMm: trust };
  }
}
