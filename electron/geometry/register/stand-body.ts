/**
 * Standing up what is no head: limbs, torsos, parts. Each frame is fixed by landmarks; where there are none, a guess by
 * principal axes says how little it is worth.
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { openEnd, standByGuess, type Stood } from './stand-up.ts';
import { eigenSymmetric } from './similarity.ts';
import { cross, dot } from '../mesh/vector.ts';

const sub = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const along = (a: Vec3, way: Vec3, far: number): Vec3 => [
  a[0] + far * way[0],
  a[1] + far * way[1],
  a[2] + far * way[2],
];
const middle = (points: readonly Vec3[]): Vec3 =>
  [0, 1, 2].map((k) => points.reduce((sum, p) => sum + p[k], 0) / points.length) as unknown as Vec3;

/** Sine below which two directions count as one. */
const IN_LINE = 2 ** -10;

/**
 * The rigid frame with `up` as z and x as near `ahead` as may be, `origin` at 0; undefined where the two are one
 * direction or none.
 */
function frameOf(origin: Vec3, up: Vec3, ahead: Vec3): Matrix4 | undefined {
  const upLength = Math.hypot(...up);
  const aheadLength = Math.hypot(...ahead);
  if (!(upLength > 0) || !(aheadLength > 0)) return undefined;
  const z = along([0, 0, 0], up, 1 / upLength);
  const level = along(ahead, z, -dot(ahead, z));
  const levelLength = Math.hypot(...level);
  if (!(levelLength > IN_LINE * aheadLength)) return undefined;
  const x = along([0, 0, 0], level, 1 / levelLength);
  const y = cross(z, x);
  return [...x, -dot(x, origin), ...y, -dot(y, origin), ...z, -dot(z, origin), 0, 0, 0, 1];
}

/**
 * A limb: origin in the middle of its lower joint, z to the middle of the upper joint (toward the trunk), x toward
 * `ahead` (the thumb's side of the wrist, the kneecap). Undefined when `ahead` lies on that line. O(1).
 */
export function standLimb(lower: readonly Vec3[], upper: readonly Vec3[], ahead: Vec3): Matrix4 | undefined {
  const origin = middle(lower);
  return frameOf(origin, sub(middle(upper), origin), sub(ahead, origin));
}

export interface TorsoLandmarks {
  readonly suprasternale: Vec3;
  readonly cervicale: Vec3;
  readonly xiphion: Vec3;
  readonly midback: Vec3;
}

/**
 * A torso: z from the middle between the end of the breastbone and the spine behind it to the middle between the pit
 * of the neck and the seventh neck bone, x forward in the plane of these, origin at the upper of the two middles. The
 * axes are the thorax frame of the International Society of Biomechanics (Wu et al., J. Biomech. 38, 2005, 981-992;
 * from memory, not read), with its axes named as ours. Undefined when the four lie in one line. O(1).
 */
export function standTorso({ suprasternale, cervicale, xiphion, midback }: TorsoLandmarks): Matrix4 | undefined {
  const top = middle([suprasternale, cervicale]);
  const bottom = middle([xiphion, midback]);
  return frameOf(top, sub(top, bottom), sub(middle([suprasternale, xiphion]), middle([cervicale, midback])));
}

/** A part: three points chosen by the maker: its origin, a point ahead of it along x, and one to its left. O(1). */
export function standPart(origin: Vec3, ahead: Vec3, left: Vec3): Matrix4 | undefined {
  const x = sub(ahead, origin);
  return frameOf(origin, cross(x, sub(left, origin)), x);
}

/** Vertices looked at by a guess. */
const GUESS_POINTS = 4000;
/** Slices along a limb. */
const SLICES = 24;
/** Share of a limb's length at its far end that is looked at for where it points: hand or foot. */
const END_SHARE = 0.3;
/** The lower joint is the thinnest place within these shares of the length from the far end. */
const JOINT_FROM = 0.15;
const JOINT_TO = 0.6;
const SURE_END = 0.5;
const DOUBTFUL_END = 0.25;

function somePoints({ positions: p }: Mesh): Vec3[] {
  const stride = Math.max(1, Math.floor(p.length / 3 / GUESS_POINTS));
  const points: Vec3[] = [];
  for (let v = 0; v < p.length; v += stride * 3) points.push([p[v], p[v + 1], p[v + 2]]);
  return points;
}

/** Principal directions about the middle, the longest first. */
function principal(points: readonly Vec3[]): { centre: Vec3; axes: Vec3[] } {
  const centre = middle(points);
  const covariance = new Float64Array(9);
  for (const q of points) {
    const d = sub(q, centre);
    for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) covariance[r * 3 + c] += d[r] * d[c];
  }
  return { centre, axes: eigenSymmetric(Array.from(covariance), 3).vectors as unknown as Vec3[] };
}

/**
 * A guess for a limb: z along its longest direction, toward its open or cut end (else the thicker one); x the way its
 * far end reaches out farthest, thumb or toes; origin in the middle of its thinnest place. A person has to look at it:
 * a forearm without a hand has no far end that says anything. O(vertices).
 */
export function guessLimb(mesh: Mesh, tick?: () => void): Stood | undefined {
  const points = somePoints(mesh);
  if (points.length < 4) return undefined;
  const { centre, axes } = principal(points);
  const [axis] = axes;
  const end = openEnd(mesh, tick);
  const towardEnd = end === undefined ? 0 : dot(end.normal, axis);
  const heights = points.map((q) => dot(sub(q, centre), axis));
  let [low, high] = [Infinity, -Infinity];
  for (const h of heights) {
    low = Math.min(low, h);
    high = Math.max(high, h);
  }
  if (!(high > low)) return undefined;
  const slices = slicesOf(points, heights, low, high);
  const thick = (from: number, to: number): number =>
    slices.slice(from, to).reduce((sum, slice) => sum + (slice?.radius ?? 0), 0);
  const isSure = Math.abs(towardEnd) > SURE_END;
  const isUp = isSure ? towardEnd > 0 : thick(SLICES / 2, SLICES) > thick(0, SLICES / 2);
  const up: Vec3 = isUp ? axis : [-axis[0], -axis[1], -axis[2]];
  const fromFar = isUp ? slices : slices.toReversed();
  let thinnest: Slice | undefined;
  for (const slice of fromFar.slice(Math.floor(JOINT_FROM * SLICES), Math.ceil(JOINT_TO * SLICES))) {
    if (slice !== undefined && (thinnest === undefined || slice.radius < thinnest.radius)) thinnest = slice;
  }
  const origin = thinnest?.centre ?? centre;
  const far = points.filter((_, i) => (isUp ? heights[i] - low : high - heights[i]) < END_SHARE * (high - low));
  const ahead = reachOf(far, origin, up);
  const matrix = frameOf(origin, up, ahead ?? axes[1]);
  if (matrix === undefined) return undefined;
  return { matrix, method: 'guess', confidence: isSure ? SURE_END : DOUBTFUL_END };
}

interface Slice {
  readonly centre: Vec3;
  /** Mean distance from the centre. */
  readonly radius: number;
}

function slicesOf(
  points: readonly Vec3[],
  heights: readonly number[],
  low: number,
  high: number,
): (Slice | undefined)[] {
  const groups = Array.from({ length: SLICES }, (): Vec3[] => []);
  points.forEach((q, i) =>
    groups[Math.min(SLICES - 1, Math.floor((SLICES * (heights[i] - low)) / (high - low)))].push(q),
  );
  return groups.map((group) => {
    if (group.length === 0) return undefined;
    const centre = middle(group);
    return { centre, radius: group.reduce((sum, q) => sum + Math.hypot(...sub(q, centre)), 0) / group.length };
  });
}

/** The level direction in which these points reach farthest from the limb's line. */
function reachOf(points: readonly Vec3[], origin: Vec3, up: Vec3): Vec3 | undefined {
  let most = 0;
  let found: Vec3 | undefined;
  for (const q of points) {
    const d = sub(q, origin);
    const level = along(d, up, -dot(d, up));
    const far = Math.hypot(...level);
    if (far > most) [most, found] = [far, level];
  }
  return found;
}

/** Shares of a torso's height: its ends, and where its middle is compared with the neck's. */
const TORSO_END = 0.12;
const CHEST_FROM = 0.55;
const CHEST_TO = 0.75;
/** A neck is narrower than hips by at least this much. */
const NECK_TO_HIPS = 0.75;
const SURE_TORSO = 0.4;
const DOUBTFUL_TORSO = 0.15;

/**
 * A guess for a torso: the mirror plane as for any body; up, its longest way in that plane, toward the narrower end;
 * forward, the way the neck stands before the chest's middle, which is little to go by. Origin in the middle of the
 * top. Cost as for `standByGuess`.
 */
export function guessTorso(mesh: Mesh, tick?: (share: number) => void): Stood | undefined {
  const first = standByGuess(mesh, tick);
  if (first === undefined) return undefined;
  const side: Vec3 = [first.matrix[4], first.matrix[5], first.matrix[6]];
  const points = somePoints(mesh);
  const { centre, axes } = principal(points.map((q) => along(q, side, -dot(q, side))));
  const heights = points.map((q) => dot(sub(q, centre), axes[0]));
  let [low, high] = [Infinity, -Infinity];
  for (const h of heights) {
    low = Math.min(low, h);
    high = Math.max(high, h);
  }
  const between = (from: number, to: number): Vec3[] =>
    points.filter((_, i) => {
      const share = (heights[i] - low) / (high - low);
      return share >= from && share <= to;
    });
  const breadthOf = (some: readonly Vec3[]): number => {
    const aside = some.map((q) => dot(q, side));
    return (
      aside.reduce((most, x) => Math.max(most, x), -Infinity) - aside.reduce((least, x) => Math.min(least, x), Infinity)
    );
  };
  const [lowEnd, highEnd] = [between(0, TORSO_END), between(1 - TORSO_END, 1)];
  const [lowBreadth, highBreadth] = [breadthOf(lowEnd), breadthOf(highEnd)];
  const isUp = highBreadth < lowBreadth;
  const neck = middle(isUp ? highEnd : lowEnd);
  const chest = isUp ? between(CHEST_FROM, CHEST_TO) : between(1 - CHEST_TO, 1 - CHEST_FROM);
  const up: Vec3 = isUp ? axes[0] : [-axes[0][0], -axes[0][1], -axes[0][2]];
  const across = cross(side, up);
  const isForward = chest.length === 0 || dot(sub(neck, middle(chest)), across) >= 0;
  const matrix = frameOf(neck, up, isForward ? across : [-across[0], -across[1], -across[2]]);
  if (matrix === undefined) return undefined;
  const isNarrow = Math.min(lowBreadth, highBreadth) < NECK_TO_HIPS * Math.max(lowBreadth, highBreadth);
  return { matrix, method: 'guess', confidence: isNarrow ? SURE_TORSO : DOUBTFUL_TORSO };
}
