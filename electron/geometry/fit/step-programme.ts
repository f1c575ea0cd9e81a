/**
 * One step of placing as a linear programme: the small motion, and what else a step may change, by which every contact
 * keeps or gets its room. Each motion costs a little, so that what wins nothing is not moved: without that the answer of
 * a programme is always a corner, and a part would drift along every direction that makes no difference.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { Contacts } from './gap-points.ts';
import { solveLinear } from './small-lp.ts';

export const MOTIONS = 6;
/** A millimetre of motion has to win this much. */
const WORTH_MOVING = 2 ** -9;

/** Bounds of the six motions, mm (turns at the lever), and which of them a limit sets rather than the trust region. */
export interface MotionBox {
  readonly low: readonly number[];
  readonly high: readonly number[];
  readonly lowIsLimit: readonly boolean[];
  readonly highIsLimit: readonly boolean[];
}

/** Something else that a step may change. */
export interface Further {
  readonly low: number;
  readonly high: number;
  /** What a unit of it is worth. */
  readonly worth: number;
  /** How much of a contact's room a unit takes. */
  takes(contact: number): number;
}

export interface Step {
  readonly motion: Float64Array;
  readonly further: Float64Array;
  /** Contacts that hold the step, with what a mm of room there would be worth, largest first. */
  readonly pushes: readonly { readonly contact: number; readonly worth: number }[];
  /** Motions that a limit, not the trust region, stops. */
  readonly limits: readonly number[];
}

/** How much of its contact's room each motion about `about` takes, six numbers a contact. */
export function motionRows({ count, at, opens }: Contacts, about: Vec3, leverMm: number): Float64Array {
  const rows = new Float64Array(count * MOTIONS);
  for (let i = 0; i < count; i++) {
    const nx = opens[3 * i],
      ny = opens[3 * i + 1],
      nz = opens[3 * i + 2];
    const rx = at[3 * i] - about[0],
      ry = at[3 * i + 1] - about[1],
      rz = at[3 * i + 2] - about[2];
    const row = i * MOTIONS;
    rows[row] = -nx;
    rows[row + 1] = -ny;
    rows[row + 2] = -nz;
    rows[row + 3] = -(ry * nz - rz * ny) / leverMm;
    rows[row + 4] = -(rz * nx - rx * nz) / leverMm;
    rows[row + 5] = -(rx * ny - ry * nx) / leverMm;
  }
  return rows;
}

/** Rows to begin with, and how many of those broken join in a round. */
const FIRST_ROWS = 500;
const MORE_ROWS = 200;
const ROUNDS = 40;
/** A row broken by less than this is kept, mm. */
const KEPT_MM = 2 ** -24;

/**
 * The best step: `room` is what each contact has to spare, mm. Undefined where no step keeps all contacts' room. Of
 * many contacts few matter: a programme of some is solved, those it breaks join, and again (Kelley 1960).
 */
export function bestStep(
  rows: Float64Array,
  room: Float64Array,
  box: MotionBox,
  further: readonly Further[],
): Step | undefined {
  const count = room.length;
  const stride = Math.max(1, Math.floor(count / FIRST_ROWS));
  const chosen: number[] = [];
  const inSet = new Uint8Array(count);
  const join = (i: number): void => {
    if (inSet[i] === 1) return;
    inSet[i] = 1;
    chosen.push(i);
  };
  for (let i = 0; i < count; i += stride) join(i);
  const taken = further.map((unit) => Float64Array.from({ length: count }, (_, i) => unit.takes(i)));
  for (let round = 0; ; round++) {
    const step = stepOf(rows, room, box, further, taken, chosen);
    if (step === undefined || chosen.length === count || round === ROUNDS) return step;
    const broken: { i: number; by: number }[] = [];
    for (let i = 0; i < count; i++) {
      let by = -room[i];
      for (let k = 0; k < MOTIONS; k++) by += rows[MOTIONS * i + k] * step.motion[k];
      for (let k = 0; k < further.length; k++) by += taken[k][i] * step.further[k];
      if (by > KEPT_MM && inSet[i] === 0) broken.push({ i, by });
    }
    if (broken.length === 0) return step;
    broken.sort((a, b) => b.by - a.by);
    for (const { i } of broken.slice(0, MORE_ROWS)) join(i);
  }
}

/** The programme of the chosen contacts. */
function stepOf(
  rows: Float64Array,
  room: Float64Array,
  box: MotionBox,
  further: readonly Further[],
  taken: readonly Float64Array[],
  chosen: readonly number[],
): Step | undefined {
  // Each motion as one forward and one back, so that its size can cost.
  const n = 2 * MOTIONS + further.length;
  const all = new Float64Array(n * chosen.length);
  chosen.forEach((i, r) => {
    for (let k = 0; k < MOTIONS; k++) {
      all[n * r + k] = rows[MOTIONS * i + k];
      all[n * r + MOTIONS + k] = -rows[MOTIONS * i + k];
    }
    for (let k = 0; k < further.length; k++) all[n * r + 2 * MOTIONS + k] = taken[k][i];
  });
  const answer = solveLinear({
    unknowns: n,
    objective: [...new Array<number>(2 * MOTIONS).fill(-WORTH_MOVING), ...further.map(({ worth }) => worth)],
    low: [...new Array<number>(2 * MOTIONS).fill(0), ...further.map(({ low }) => low)],
    high: [...box.high, ...box.low.map((value) => -value), ...further.map(({ high }) => high)],
    rows: all,
    bounds: Float64Array.from(chosen, (i) => room[i]),
  });
  if (answer === undefined) return undefined;
  const { x, held } = answer;
  const motion = Float64Array.from({ length: MOTIONS }, (_, k) => x[k] - x[MOTIONS + k]);
  const stopped = held
    .map(({ condition }) => -1 - n - condition)
    .filter((k) => k >= 0 && k < 2 * MOTIONS)
    .filter((k) => (k < MOTIONS ? box.highIsLimit[k] : box.lowIsLimit[k - MOTIONS]));
  return {
    motion,
    further: x.subarray(2 * MOTIONS),
    pushes: held
      .filter(({ condition }) => condition >= 0)
      .map(({ condition, multiplier }) => ({ contact: chosen[condition], worth: multiplier })),
    limits: [...new Set(stopped.map((k) => k % MOTIONS))],
  };
}
