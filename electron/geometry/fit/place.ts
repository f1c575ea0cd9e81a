/**
 * Where a part sits best on a body: the rigid placement with the largest least gap, or with the most even gap. Several
 * starts are climbed roughly on few points, the best of them on many, the last steps on whole faces.
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { IDENTITY, multiply, transformPoint, translation } from '../mesh/transform.ts';
import { facingBody } from './facing.ts';
import { cornersOf, FaceGaps, PointGaps } from './gap-points.ts';
import { evennessOf, evenStep, mostEven, nearOnes } from './most-even.ts';
import { boxOf, isLocked, moved, mostRoom, type Handle, type MostRoom, type PlacingLimits } from './most-room.ts';
import { areaPoints, edgeForCount, spreadOf, thinned, touchPoints, type AreaPoints } from './part-points.ts';
import { quarterTurns } from './pose.ts';
import { climbOn, searchRoom, spreadStarts, type RoomFoundAt, type SearchStart } from './room-search.ts';
import { solveLinear } from './small-lp.ts';
import { motionRows } from './step-programme.ts';
import type { FittingBody, WornPart } from './worn.ts';

export type Aim = 'least' | 'even';

export interface PlaceWish {
  /** The largest least gap; among placements equal in that, the most even. Or the most even one. */
  readonly aim: Aim;
  /** Part's coordinates (true mm) to the body's. Without it every quarter turn is tried. */
  readonly start?: Matrix4;
  readonly limits?: PlacingLimits;
  /** Move it in the body's middle plane only: no shift or tilt to a side. Limits given say it for themselves. */
  readonly inPlane?: boolean;
  /**
   * So much room near the start is enough: without limits, farther off is looked only where it is not found. Else an
   * open helmet wanders up a tapering head for a millimetre more, until nobody sees out of it.
   */
  readonly enoughMm?: number;
  /** Points of the part that count, in its own coordinates; all when absent. */
  readonly patch?: (x: number, y: number, z: number) => boolean;
  /** Few points and steps, for a table of many: the place is rough, often by a millimetre, the figures at it exact. */
  readonly quick?: boolean;
}

export interface Hold {
  /** On the part, body's coordinates. */
  readonly at: Vec3;
  readonly region: string;
  /** Of the push that keeps the part where it is. */
  readonly share: number;
}

export interface Placed {
  readonly placement: Matrix4;
  /** Least gap of the faces that count, mm; exact. */
  readonly leastMm: number;
  /** What holds it there; empty for the most even placement. */
  readonly holds: readonly Hold[];
  readonly heldByLimit: readonly string[];
  /** What a small motion could still win, to first order, and how small, mm. */
  readonly couldGainMm: number;
  readonly triedMm: number;
  readonly unevenMm: number;
  readonly meanMm: number;
  /** The limits within which it was looked for, and what they are counted from. */
  readonly searched: { readonly limits: PlacingLimits; readonly from: Matrix4 };
  readonly starts: number;
  /** Of the starts climbed to the end, those that came to the same figure within 0.2 mm. */
  readonly agreeing: number;
  /** Best figure of another orientation, where quarter turns were tried: its unevenness against this one's, as a ratio. */
  readonly nextPoseRatio: number | null;
}

export const PLACE_PHASES: Phases = { starts: 0.35, climb: 0.4, 'last steps': 0.25 };

const NO_LIMITS: PlacingLimits = { shiftMm: 1000, tiltRad: Math.PI };
/**
 * Without limits of the user's the largest least gap is looked for this far about the start, and about the most even
 * placement where that does not give enough: an open helmet lifted off the head has all the room in the world. Own judgement, no source.
 */
const NEAR_EVEN: PlacingLimits = { shiftMm: 6, tiltRad: Math.PI / 36 };

const LIMIT_NAMES = [
  'shift forward or back',
  'shift to the side',
  'shift up or down',
  'tilt to the side',
  'tilt forward or back',
  'turn about the vertical',
] as const;

/** Points in the rough and the full climb. */
const ROUGH_POINTS = 350;
const FULL_POINTS = 4000;
/** Starts of the search for room: about each of two places without limits of the user's, and within such limits. */
const FREE_STARTS = 7;
const LIMITED_STARTS = 12;
/** Of what they came to, so many are climbed on all points. */
const CLIMBED_ON = 3;
const ROUGH_TOLERANCE_MM = 0.05;
const FULL_TOLERANCE_MM = 1 / 512;
/** From where the search ended: it has been far about already. */
const CLIMB_ON = { trustMm: 1, mostTrustMm: 2, toleranceMm: 1 / 64 };
/** A start in another orientation has to be so much better than the part as its file has it. */
const CLEARLY_BETTER = 0.75;
/** On whole faces, which differ from their points by little: a larger step would ask of many. */
const LAST_STEPS = { trustMm: 1 / 8, mostTrustMm: 1 / 2, mostSteps: 40 };
/** A gap this much below the largest counts as equal when the most even placement is looked for, mm. */
const EQUAL_MM = 1 / 64;
const AGREEING_MM = 0.2;
/** Long faces are divided to this, mm. */
const LONGEST_MM = 8;
/** Of a patch of a single point, that turns move by nothing, mm. */
const LEAST_LEVER_MM = 1;

/** A placement on few points, what it reached (more is better), and what its limits are counted from. */
interface Rough {
  readonly placement: Matrix4;
  readonly figure: number;
  readonly from: Matrix4;
}

interface Ready {
  readonly points: AreaPoints;
  readonly touch: Float64Array;
  readonly corners: Float64Array;
  readonly handle: Handle;
}

/** The faces that look at the body from a placement, as points; all of the part when none does. */
export function readyFrom(
  part: WornPart,
  body: FittingBody,
  placement: Matrix4,
  wish: PlaceWish,
  tick: () => void,
): Ready {
  const facing = facingBody(part.mesh, part.tree, placement, body.field, tick);
  const ready = readyOf(part, facing, wish);
  return wish.patch === undefined ? { ...ready, points: nearOnes(ready.points, body.field, placement, tick) } : ready;
}

function readyOf(part: WornPart, facing: Uint8Array, wish: PlaceWish): Ready {
  const { mesh } = part;
  const wanted = wish.patch === undefined ? everyFace(part) : facesIn(mesh, wish.patch);
  const seen = wanted.map((one, f) => one & facing[f]);
  // Where nothing of it looks at the body, all that is wanted counts.
  const chosen = seen.includes(1) ? seen : wanted;
  const points = areaPoints(mesh, chosen, LONGEST_MM);
  const { middle, radiusMm } = spreadOf(points);
  return {
    points: thinned(points, FULL_POINTS),
    touch: touchPoints(mesh, chosen, LONGEST_MM),
    corners: cornersOf(mesh, chosen),
    handle: { middle, leverMm: Math.max(LEAST_LEVER_MM, radiusMm) },
  };
}

/** 1 for each face whose middle lies in the patch, else 0. */
export function facesIn({ positions: p, triangles: t }: Mesh, patch: NonNullable<PlaceWish['patch']>): Uint8Array {
  return Uint8Array.from({ length: t.length / 3 }, (_, f) => {
    const [a, b, c] = [t[f * 3] * 3, t[f * 3 + 1] * 3, t[f * 3 + 2] * 3];
    const [x, y, z] = [0, 1, 2].map((k) => (p[a + k] + p[b + k] + p[c + k]) / 3);
    return patch(x, y, z) ? 1 : 0;
  });
}

/** The part's middle over the middle of the body, at three heights, in each quarter turn. */
function poseStarts(body: FittingBody, middle: Vec3): Matrix4[] {
  const { min, max } = body.bounds;
  const starts: Matrix4[] = [];
  for (const turn of quarterTurns()) {
    const at = transformPoint(turn, middle);
    for (const share of [0.3, 0.5, 0.75]) {
      const to = [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, min[2] + share * (max[2] - min[2])];
      starts.push(multiply(translation([to[0] - at[0], to[1] - at[1], to[2] - at[2]]), turn));
    }
  }
  return starts;
}

/** Small tilts and shifts about a placement, a fixed set. */
function nearStarts(start: Matrix4, handle: Handle, limits: PlacingLimits): Matrix4[] {
  const [s, t] = [8, handle.leverMm / 8];
  return [
    [0, 0, 0, 0, 0, 0],
    [s, 0, 0, 0, t, 0],
    [-s, 0, 0, 0, -t, 0],
    [0, 0, s, 0, -t, t],
    [0, s, s, t, 0, 0],
    [0, -s, 0, -t, 0, -t],
  ].map((x) =>
    moved(
      start,
      handle,
      x.map((value, k) => (isLocked(limits, k) ? 0 : value)),
    ),
  );
}

/** How badly a rough placement fits: uneven, or in the body. */
const badness = (even: { unevenMm: number; leastMm: number }): number => even.unevenMm + Math.max(0, -even.leastMm) / 4;

/** The orientation and rough place of a part about which nothing is known but its shape. */
function findPose(
  part: WornPart,
  body: FittingBody,
  wish: PlaceWish,
  tick: (share: number) => void,
): { start: Matrix4; nextPoseRatio: number } {
  const every = everyFace(part);
  const { handle } = readyOf(part, every, wish);
  const few = thinned(areaPoints(part.mesh, every, edgeForCount(part.mesh, 4 * ROUGH_POINTS)), ROUGH_POINTS);
  // The part as its file has it comes first, and has to be clearly worse to be turned.
  const starts = [IDENTITY, ...poseStarts(body, handle.middle)];
  const found = starts.map((start, i) => {
    const options = { limits: NO_LIMITS, toleranceMm: 1, mostSteps: 10 };
    const even = mostEven(few, body.field, start, handle, options, () => tick(i / starts.length));
    return { start: even.placement, bad: badness(even) };
  });
  const [kept] = found;
  found.sort((a, b) => a.bad - b.bad);
  const best = found[0].bad > CLEARLY_BETTER * kept.bad ? kept : found[0];
  const other = found.find((one) => turnedFrom(one.start, best.start));
  return { start: best.start, nextPoseRatio: other === undefined ? 0 : best.bad / other.bad };
}

const everyFace = (part: WornPart): Uint8Array => new Uint8Array(part.mesh.triangles.length / 3).fill(1);

/** Whether two placements differ by more than about 45 degrees. */
function turnedFrom(a: Matrix4, b: Matrix4): boolean {
  let trace = 0;
  for (const k of [0, 1, 2, 4, 5, 6, 8, 9, 10]) trace += a[k] * b[k];
  return (trace - 1) / 2 < Math.SQRT1_2;
}

/**
 * Place a part. Where it cannot be kept out of the body the least gap is negative and the placement the one that goes
 * in least. Limits are counted from `start`, or from the orientation found. The method climbs from several starts and
 * proves a local best only: `holds`, `couldGainMm` and `agreeing` say how far to trust it. An open part on a body that
 * narrows towards it can always be lifted for more room: then a limit holds it, and is named.
 */
export function placePart(part: WornPart, body: FittingBody, wish: PlaceWish, run: RunContext = QUIET_RUN): Placed {
  const { field } = body;
  const step = (phase: string, share: number): void => run.step(phase, share, 1);
  const pose =
    wish.start === undefined ? findPose(part, body, wish, (share) => step('starts', share * 0.6)) : undefined;
  const start = pose?.start ?? (wish.start as Matrix4);
  const limits = wish.limits ?? (wish.inPlane === true ? { ...NO_LIMITS, inPlane: true } : NO_LIMITS);
  const near = wish.limits ?? (wish.inPlane === true ? { ...NEAR_EVEN, inPlane: true } : NEAR_EVEN);
  const rough = readyFrom(part, body, start, wish, () => step('starts', 0.6));
  const few = thinned(rough.points, ROUGH_POINTS);
  const tickStarts = (): void => step('starts', 0.8);
  const isFree = wish.limits === undefined;
  const evenStarts = wish.quick === true ? 2 : undefined;
  // Within limits of the user's the most even place is only one start among others.
  const starts = nearStarts(start, rough.handle, limits).slice(0, wish.aim === 'least' && !isFree ? 1 : evenStarts);
  let climbed = starts.map((other): Rough => {
    // Past the limits no start may lie.
    const within = outside(start, other, rough.handle, limits) ? start : other;
    const options = { limits, from: start, toleranceMm: ROUGH_TOLERANCE_MM, mostSteps: 20 };
    const even = mostEven(few, field, within, rough.handle, options, tickStarts);
    return { placement: even.placement, figure: -even.unevenMm, from: start };
  });
  climbed.sort((a, b) => b.figure - a.figure);
  if (wish.aim === 'least') {
    const [even] = climbed;
    const many = wish.quick === true ? 1 : isFree ? FREE_STARTS : LIMITED_STARTS;
    const spread = (about: Matrix4): SearchStart[] => spreadStarts(about, rough.handle, near, many);
    const all = new PointGaps(rough.touch, field, tickStarts);
    const search = (from: readonly SearchStart[], begun: number): RoomFoundAt[] =>
      searchRoom(rough.touch, all, field, rough.handle, near, from, (share) =>
        step('starts', begun + (1 - begun) * share),
      );
    let found: RoomFoundAt[];
    if (isFree) {
      // Where the part was put by hand counts as much as where the ease is most even, and first.
      found = search(spread(start), 0.7);
      if (wish.enoughMm === undefined || found[0].leastMm < wish.enoughMm)
        found = [...search(spread(even.placement), 0.85), ...found].sort((a, b) => b.leastMm - a.leastMm);
    } else {
      const two = [start, even.placement].map((placement) => ({ placement, from: start }));
      found = search([...two, ...spread(start).slice(1)], 0.7);
    }
    climbed = found.map(({ placement, leastMm, from: within }) => ({ placement, figure: leastMm, from: within }));
  }
  const [best] = climbed;
  const { figure: bestFigure } = best;
  const common = {
    starts: climbed.length,
    agreeing: climbed.filter(({ figure }) => figure > bestFigure - AGREEING_MM).length,
    nextPoseRatio: pose?.nextPoseRatio ?? null,
  };
  // From the better place other faces look at the body.
  const fine = readyFrom(part, body, best.placement, wish, () => step('climb', 0));
  const { handle } = fine;
  const tickClimb = (): void => step('climb', 0.5);
  if (wish.aim === 'even') {
    const even = mostEven(
      wish.quick === true ? thinned(fine.points, ROUGH_POINTS) : fine.points,
      field,
      best.placement,
      handle,
      { limits, from: start, toleranceMm: FULL_TOLERANCE_MM, mostSteps: 40 },
      tickClimb,
    );
    const gaps = new FaceGaps(fine.corners, field, () => step('last steps', 0.5));
    const leastMm = gaps.least(even.placement);
    const { placement, unevenMm, meanMm } = even;
    const none = { holds: [], heldByLimit: [], couldGainMm: 0, triedMm: 0 };
    const searched = { limits, from: best.from };
    return { placement, leastMm, unevenMm, meanMm, ...none, ...common, searched };
  }
  const { touch } = fine;
  const tolerance = wish.quick === true ? ROUGH_TOLERANCE_MM : FULL_TOLERANCE_MM;
  const options = { limits: near, trustMm: 3, toleranceMm: tolerance, mostSteps: wish.quick === true ? 20 : 40 };
  const gaps = new FaceGaps(fine.corners, field, tickClimb);
  const ends = climbed.slice(0, wish.quick === true ? 1 : CLIMBED_ON);
  const points = new PointGaps(touch, field, tickClimb);
  const ended = climbOn(points, gaps, handle, ends, { ...options, ...CLIMB_ON });
  const { from } = ended;
  let { room } = ended;
  if (wish.quick !== true) {
    const tickLast = (): void => step('last steps', 0.5);
    room = mostRoom(gaps, room.placement, handle, { ...options, from, ...LAST_STEPS });
    const evened = evenAmongEquals(gaps, points, fine, body, room, near, from, tickLast);
    // Its own certificate: what holds the part where it came to lie.
    room = mostRoom(gaps, evened, handle, {
      ...options,
      from,
      trustMm: 1 / 16,
      mostTrustMm: 1 / 8,
      toleranceMm: EQUAL_MM,
      mostSteps: 4,
    });
  }
  // What a few points say of the least gap is too good; what whole faces say costs little once.
  const leastMm = wish.quick === true ? gaps.least(room.placement) : room.leastMm;
  const even = evennessOf(fine.points, field, room.placement, tickClimb);
  return {
    placement: room.placement,
    leastMm,
    unevenMm: even.unevenMm,
    meanMm: even.meanMm,
    holds: holdsOf(body, room),
    heldByLimit: limitNames(room),
    couldGainMm: room.couldGainMm,
    triedMm: room.triedMm,
    ...common,
    searched: { limits: near, from },
  };
}

/** The contacts that hold a placement, with their shares of the push, largest first. */
export function holdsOf(body: FittingBody, { pushes, contacts }: Pick<MostRoom, 'pushes' | 'contacts'>): Hold[] {
  const total = pushes.reduce((sum, { worth }) => sum + worth, 0);
  return pushes.map(({ contact: i, worth }) => {
    const at: Vec3 = [contacts.at[3 * i], contacts.at[3 * i + 1], contacts.at[3 * i + 2]];
    return { at, share: worth / total, region: body.region(at) };
  });
}

/** The limits that hold it, in words. */
export const limitNames = ({ stopped }: Pick<MostRoom, 'stopped'>): string[] => stopped.map((k) => LIMIT_NAMES[k]);

function outside(start: Matrix4, near: Matrix4, handle: Handle, limits: PlacingLimits): boolean {
  const { low, high } = boxOf(near, start, handle, limits, Infinity);
  return low.some((value, k) => !isLocked(limits, k) && (value === 0 || high[k] === 0));
}

const EVENING_STEPS = 12;

/**
 * Among the placements whose least gap is as large but for 1/64 mm, towards the most even one: as far along its own
 * step as the contacts allow, by linear programmes. Unknowns are the six motions and how far each misses its step.
 */
function evenAmongEquals(
  exact: FaceGaps,
  gaps: PointGaps,
  ready: Ready,
  body: FittingBody,
  room: MostRoom,
  limits: PlacingLimits,
  from: Matrix4,
  tick: () => void,
): Matrix4 {
  const { points, handle } = ready;
  const few = thinned(points, FULL_POINTS / 4);
  let { placement } = room;
  let trust = 4;
  gaps.least(placement);
  // The points tell which way is free, whole faces whether it is.
  let wanted = evenStep(few, body.field, placement, handle, tick);
  for (let round = 0; round < EVENING_STEPS && trust > EQUAL_MM; round++) {
    const contacts = gaps.contacts(2 * Math.sqrt(3) * trust * 3);
    const box = boxOf(placement, from, handle, limits, trust);
    const close = motionRows(contacts, transformPoint(placement, handle.middle), handle.leverMm);
    const rows = new Float64Array(12 * (contacts.count + 12));
    const bounds = new Float64Array(contacts.count + 12);
    for (let i = 0; i < contacts.count; i++) {
      rows.set(close.subarray(6 * i, 6 * i + 6), 12 * i);
      bounds[i] = Math.max(0, contacts.gapMm[i] - room.leastMm + EQUAL_MM);
    }
    for (let k = 0; k < 6; k++) {
      for (const sign of [1, -1]) {
        const i = contacts.count + 2 * k + (sign > 0 ? 0 : 1);
        rows[12 * i + k] = sign;
        rows[12 * i + 6 + k] = -1;
        bounds[i] = sign * wanted.step[k];
      }
    }
    const far = Math.max(...wanted.step.map(Math.abs)) + 2 * trust;
    const answer = solveLinear({
      unknowns: 12,
      objective: [0, 0, 0, 0, 0, 0, ...wanted.weights.map((weight) => -weight)],
      low: [...box.low, 0, 0, 0, 0, 0, 0],
      high: [...box.high, far, far, far, far, far, far],
      rows,
      bounds,
    });
    if (answer === undefined) break;
    const step = answer.x.subarray(0, 6);
    const next = moved(placement, handle, step);
    const { unevenMm } = evennessOf(few, body.field, next, tick);
    if (unevenMm < wanted.unevenMm && exact.least(next) > room.leastMm - 2 * EQUAL_MM) {
      placement = next;
      gaps.least(placement);
      wanted = evenStep(few, body.field, placement, handle, tick);
      if (Math.max(...step.map(Math.abs)) < EQUAL_MM) break;
    } else {
      trust /= 3;
      gaps.least(placement);
    }
  }
  return placement;
}
