/**
 * What a wearer sees through a part's real openings: rays from each pupil in all directions of the natural field. The
 * head is still and looks straight ahead; eyes that turn see more, and a visor's glass is taken as it is in the mesh.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { castRay, type Bvh } from '../spatial/bvh.ts';
import type { Eyes } from './eyes.ts';

const DEGREE = Math.PI / 180;

/** Steps between directions: from the line of sight outward, and around it, degrees. */
export const OUT_STEP_DEG = 1;
export const ROUND_STEP_DEG = 3;

/**
 * Limits of one eye's natural field, degrees: nasal, up, temporal, down (Rönne 1915 and Traquair 1938, as reported by
 * Spector, Clinical Methods, 3rd ed. 1990). Between these four the limit is carried over by ellipses.
 */
export const NATURAL_DEG = { nasal: 60, up: 70, temporal: 107, down: 80 } as const;

/** How far out the natural field goes in a direction around the line of sight (0 temporal, 90 up), degrees. */
export function naturalLimit(roundDeg: number): number {
  const [c, s] = [Math.cos(roundDeg * DEGREE), Math.sin(roundDeg * DEGREE)];
  const side = c >= 0 ? NATURAL_DEG.temporal : NATURAL_DEG.nasal;
  const height = s >= 0 ? NATURAL_DEG.up : NATURAL_DEG.down;
  return 1 / Math.hypot(c / side, s / height);
}

export interface EyeField {
  /** For each direction around (0 to the wearer's left, 90 up, in steps), how far out nothing is in the way, degrees. */
  readonly clearDeg: readonly number[];
  /** The same for the natural field. */
  readonly naturalDeg: readonly number[];
  /** Share of the natural field's solid angle that is seen, islands beyond an edge included. */
  readonly share: number;
}

export interface Field {
  readonly left: EyeField;
  readonly right: EyeField;
  /** Farthest of both eyes level to either side, and straight up and down, degrees. */
  readonly limitsDeg: { readonly left: number; readonly right: number; readonly up: number; readonly down: number };
  /** Of what either natural field holds, the share that at least one eye sees; of what both hold, that both see. */
  readonly eitherShare: number;
  readonly bothShare: number;
}

/** Directions looked into, as unit vectors in the form's frame. */
function direction(outDeg: number, roundDeg: number): Vec3 {
  const s = Math.sin(outDeg * DEGREE);
  return [Math.cos(outDeg * DEGREE), s * Math.cos(roundDeg * DEGREE), s * Math.sin(roundDeg * DEGREE)];
}

/**
 * The field of both eyes with a part in place (both in the form's frame). O(directions · log faces): about 25,000 rays.
 * An edge is found to within half a step, {@link OUT_STEP_DEG}; what an uncertain pupil does to it the caller adds.
 */
export function fieldOfView(part: Bvh, eyes: Eyes, tick?: () => void): Field {
  const left = lookFrom(part, eyes.left, 1, tick);
  const right = lookFrom(part, eyes.right, -1, tick);
  const either = { held: 0, seen: 0 };
  const both = { held: 0, seen: 0 };
  for (const [index, weight] of left.weights.entries()) {
    const [inLeft, inRight] = [left.natural[index], right.natural[index]];
    if (inLeft || inRight) {
      either.held += weight;
      if (left.seen[index] || right.seen[index]) either.seen += weight;
    }
    if (inLeft && inRight) {
      both.held += weight;
      if (left.seen[index] && right.seen[index]) both.seen += weight;
    }
  }
  const farthest = (roundDeg: number): number =>
    Math.max(left.field.clearDeg[roundDeg / ROUND_STEP_DEG], right.field.clearDeg[roundDeg / ROUND_STEP_DEG]);
  return {
    left: left.field,
    right: right.field,
    limitsDeg: { left: farthest(0), up: farthest(90), right: farthest(180), down: farthest(270) },
    eitherShare: either.seen / either.held,
    bothShare: both.seen / both.held,
  };
}

interface Looked {
  readonly field: EyeField;
  readonly natural: Uint8Array;
  readonly seen: Uint8Array;
  /** Solid angle of each direction. */
  readonly weights: Float64Array;
}

/** `side` is 1 for the left eye, whose temporal side is the wearer's left. */
function lookFrom(part: Bvh, eye: Vec3, side: 1 | -1, tick?: () => void): Looked {
  const rounds = 360 / ROUND_STEP_DEG;
  const outs = Math.ceil(Math.max(NATURAL_DEG.temporal, NATURAL_DEG.nasal) / OUT_STEP_DEG);
  const natural = new Uint8Array(rounds * outs);
  const seen = new Uint8Array(rounds * outs);
  const weights = new Float64Array(rounds * outs);
  const clearDeg: number[] = [];
  const naturalDeg: number[] = [];
  const hit = { face: -1, t: 0 };
  let [held, free] = [0, 0];
  for (let round = 0; round < rounds; round++) {
    tick?.();
    const roundDeg = round * ROUND_STEP_DEG;
    const limit = naturalLimit(side > 0 ? roundDeg : 180 - roundDeg);
    naturalDeg.push(limit);
    let clear: number | undefined;
    for (let out = 0; out < outs; out++) {
      const outDeg = (out + 1 / 2) * OUT_STEP_DEG;
      const index = round * outs + out;
      weights[index] =
        ROUND_STEP_DEG * DEGREE * (Math.cos(out * OUT_STEP_DEG * DEGREE) - Math.cos((out + 1) * OUT_STEP_DEG * DEGREE));
      if (outDeg > limit) break;
      natural[index] = 1;
      held += weights[index];
      const [x, y, z] = direction(outDeg, roundDeg);
      if (castRay(part, eye[0], eye[1], eye[2], x, y, z, hit)) {
        clear ??= out * OUT_STEP_DEG;
        continue;
      }
      seen[index] = 1;
      free += weights[index];
    }
    clearDeg.push(clear ?? limit);
  }
  return { field: { clearDeg, naturalDeg, share: free / held }, natural, seen, weights };
}

/**
 * How near the floor can be seen past the part's edge, standing upright on level ground with the head still: distance
 * from below the eye, mm, for each azimuth (0 ahead, positive to the left). Undefined where the floor is hidden out to
 * `farMm`. What shows through a gap beyond the edge does not count: nobody walks by it. O(azimuths · steps).
 */
export function nearestFloor(
  field: Pick<Field, 'left' | 'right'>,
  eyeHeightMm: number,
  azimuthsDeg: readonly number[],
  farMm: number,
): (number | undefined)[] {
  return azimuthsDeg.map((azimuth) => {
    const [c, s] = [Math.cos(azimuth * DEGREE), Math.sin(azimuth * DEGREE)];
    for (let away = FLOOR_FROM_MM; away < farMm; away *= FLOOR_STEP) {
      const far = Math.hypot(away, eyeHeightMm);
      const roundDeg = (Math.atan2(-eyeHeightMm, away * s) / DEGREE + 360) % 360;
      const outDeg = Math.acos((away * c) / far) / DEGREE;
      if ([field.left, field.right].some((eye) => outDeg < clearAt(eye, roundDeg))) return away;
    }
    return undefined;
  });
}

/** Nearest place on the floor that is looked for, mm, and the ratio from one to the next. */
const FLOOR_FROM_MM = 150;
const FLOOR_STEP = 1.02;

/** How far out it is clear in a direction between two that were looked into. */
function clearAt({ clearDeg }: EyeField, roundDeg: number): number {
  const at = roundDeg / ROUND_STEP_DEG;
  const low = Math.floor(at) % clearDeg.length;
  const share = at - Math.floor(at);
  return (1 - share) * clearDeg[low] + share * clearDeg[(low + 1) % clearDeg.length];
}
