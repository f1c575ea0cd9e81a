/**
 * Where within limits the least gap is largest, looked for from many starts. A helmet over nose, ears and chin has many
 * places from which every small motion loses room, and they differ by millimetres; so the starts are spread over all
 * that the limits allow. Each is climbed on few points of the part; where the whole of it comes nearer than those say,
 * the points that do so join them, for this start and all later ones (exchange method for infinitely many conditions:
 * Blankenship and Falk 1976). A dozen climbs cost little more than one on all points.
 */
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { invert, transformPoint } from '../mesh/transform.ts';
import type { SignedField } from '../offset/signed-field.ts';
import { PointGaps, type Contacts, type FaceGaps } from './gap-points.ts';
import {
  isLocked,
  moved,
  mostRoom,
  type Handle,
  type MostRoom,
  type MostRoomOptions,
  type PlacingLimits,
} from './most-room.ts';

export interface SearchStart {
  readonly placement: Matrix4;
  /** What its limits are counted from. */
  readonly from: Matrix4;
}

export interface RoomFoundAt extends SearchStart {
  /** Least gap of all points there, mm. */
  readonly leastMm: number;
}

const FEW_POINTS = 300;
const ROUGH_TRUST_MM = 8;
const AGAIN_TRUST_MM = 2;
const ROUGH_TOLERANCE_MM = 1 / 32;
const ROUGH_STEPS = 40;
/** All points may come this much nearer than the few before some of them join, mm. */
const WELL_ENOUGH_MM = 1 / 4;
const EXCHANGES = 3;
/** Of the points that come nearest so many join, spread over eight times as many. */
const JOINING = 25;
const JOINING_FROM = 200;
const JOINING_WITHIN_MM = 2;

/** Starts lie within this share of the limits, and no farther than they are usually worth. */
const SPREAD_SHARE = 0.8;
const MOST_SHIFT_MM = 12;
const MOST_TILT_RAD = (8 * Math.PI) / 180;

/** `count` placements spread evenly over what the limits allow about `from` (Halton 1960), the first `from` itself. */
export function spreadStarts(from: Matrix4, handle: Handle, limits: PlacingLimits, count: number): SearchStart[] {
  const shift = Math.min(MOST_SHIFT_MM, SPREAD_SHARE * limits.shiftMm);
  const tilt = handle.leverMm * Math.min(MOST_TILT_RAD, SPREAD_SHARE * limits.tiltRad);
  return Array.from({ length: count }, (_, i) => {
    const motion = PRIMES.map((prime, k) => {
      if (i === 0 || isLocked(limits, k)) return 0;
      return (k < 3 ? shift : tilt) * (2 * radicalInverse(i, prime) - 1);
    });
    return { placement: moved(from, handle, motion), from };
  });
}

const PRIMES = [2, 3, 5, 7, 11, 13] as const;

/** The digits of a number in a base, mirrored at the point: between 0 and 1. */
function radicalInverse(index: number, base: number): number {
  let [sum, share] = [0, 1];
  for (let rest = index; rest > 0; rest = Math.floor(rest / base)) {
    share /= base;
    sum += share * (rest % base);
  }
  return sum;
}

/**
 * Climb from every start; what each came to, the roomiest first. `all` and `points` are of the same points, which are
 * to have more than a few hundred members in no order of their own along the part. O(starts · steps · few points).
 */
export function searchRoom(
  points: Float64Array,
  all: PointGaps,
  field: SignedField,
  handle: Handle,
  limits: PlacingLimits,
  starts: readonly SearchStart[],
  tick: (share: number) => void,
): RoomFoundAt[] {
  const gaps = new PointGaps(everyNth(points, FEW_POINTS), field, () => tick(at / starts.length));
  let at = 0;
  const found = starts.map(({ placement, from }, i): RoomFoundAt => {
    at = i;
    const options = { limits, from, toleranceMm: ROUGH_TOLERANCE_MM, mostSteps: ROUGH_STEPS };
    let room = mostRoom(gaps, placement, handle, { ...options, trustMm: ROUGH_TRUST_MM });
    let leastMm = all.least(room.placement);
    for (let round = 0; round < EXCHANGES && leastMm < room.leastMm - WELL_ENOUGH_MM; round++) {
      const nearest = all.contacts(Math.min(JOINING_WITHIN_MM, room.leastMm - leastMm));
      gaps.add(joining(nearest, room.placement));
      room = mostRoom(gaps, room.placement, handle, { ...options, trustMm: AGAIN_TRUST_MM });
      leastMm = all.least(room.placement);
    }
    return { placement: room.placement, from, leastMm };
  });
  return found.sort((a, b) => b.leastMm - a.leastMm);
}

/** Whole faces may come this much nearer than the points on them before the nearest are divided, mm. */
const FACES_MISS_MM = 1 / 32;
const DIVISIONS = 3;
const DIVIDED_WITHIN_MM = 1 / 2;
const DIVIDED_FACES = 250;
const DIVIDED_TO_MM = 2;

/**
 * Climb from each start on points of the part, and again with the faces that come nearest divided into finer points
 * until those say the same as the whole faces: a climb on faces alone is stuck where an ear pokes through the middle of
 * one. The best of all by whole faces. O(starts · steps · points).
 */
export function climbOn(
  points: PointGaps,
  faces: FaceGaps,
  handle: Handle,
  starts: readonly SearchStart[],
  options: MostRoomOptions,
): { readonly room: MostRoom; readonly from: Matrix4 } {
  let best: { readonly room: MostRoom; readonly from: Matrix4; readonly leastMm: number } | undefined;
  for (const { placement, from } of starts) {
    let room = mostRoom(points, placement, handle, { ...options, from });
    // Whole faces come no less near than the points on them.
    if (best !== undefined && room.leastMm <= best.leastMm) continue;
    let leastMm = faces.least(room.placement);
    for (let round = 0; round < DIVISIONS && leastMm < room.leastMm - FACES_MISS_MM; round++) {
      points.add(divided(faces.nearest(DIVIDED_WITHIN_MM, DIVIDED_FACES)));
      room = mostRoom(points, room.placement, handle, { ...options, from, trustMm: 1 / 2 });
      leastMm = faces.least(room.placement);
    }
    if (best === undefined || leastMm > best.leastMm) best = { room, from, leastMm };
  }
  if (best === undefined) throw new Error('nothing to climb from');
  return best;
}

/** Points on triangles of nine numbers each, no farther apart than told; their corners are not among them. */
function divided(corners: Float64Array): number[] {
  const points: number[] = [];
  for (let t = 0; t < corners.length; t += 9) {
    const edge = (a: number, b: number): number =>
      Math.hypot(...[0, 1, 2].map((k) => corners[t + 3 * a + k] - corners[t + 3 * b + k]));
    const n = Math.ceil(Math.max(edge(0, 1), edge(1, 2), edge(2, 0)) / DIVIDED_TO_MM);
    for (let i = 0; i <= n; i++) {
      for (let j = 0; j <= n - i; j++) {
        if ((i === 0 && j === 0) || i === n || j === n) continue;
        for (let k = 0; k < 3; k++) {
          const [a, b, c] = [corners[t + k], corners[t + 3 + k], corners[t + 6 + k]];
          points.push(a + (i / n) * (b - a) + (j / n) * (c - a));
        }
      }
    }
  }
  return points;
}

/** Some of the nearest contacts, in the part's coordinates. */
function joining({ count, gapMm, at }: Contacts, placement: Matrix4): number[] {
  const back = invert(placement);
  const order = Array.from({ length: count }, (_, i) => i).sort((a, b) => gapMm[a] - gapMm[b]);
  const near = order.slice(0, JOINING_FROM);
  const every = Math.max(1, Math.ceil(near.length / JOINING));
  return near
    .filter((_, i) => i % every === 0)
    .flatMap((i) => [...transformPoint(back, [at[3 * i], at[3 * i + 1], at[3 * i + 2]])]);
}

/** So many of the points that `count` remain, spread over their order. */
function everyNth(points: Float64Array, count: number): Float64Array {
  const n = points.length / 3;
  if (n <= count) return points;
  const kept = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const from = Math.floor(((i + 0.5) * n) / count);
    kept.set(points.subarray(3 * from, 3 * from + 3), 3 * i);
  }
  return kept;
}
