/**
 * Words for places on a form. A head form (frame: origin midway between the tragions, x forward, y left, z up) has the
 * names a maker uses; heights go by the height of the vertex over the tragions, so that they fit any head. The bounds
 * between regions are own judgement, no source. Any other form is divided into thirds along each axis.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { Bounds } from '../mesh/quantities.ts';

/** Vertex over tragion: 100 to 160 mm covers adults and children (ISO 7250-1 "tragion to vertex", ranges from memory). */
const HEAD_TOP_MM = [95, 175] as const;
/** Least breadth of a head, and how far the nose stands before the tragions, mm (from memory). Shoulders may be on it. */
const HEAD_BREADTH_MM = 115;
const NOSE_MM = [70, 170] as const;
/** A head form ends at its neck or shoulders; a torso, from the foot of the neck down, goes deeper, mm. Own judgement. */
const DEEPEST_MM = -330;

export function looksLikeHead({ min, max }: Bounds): boolean {
  const breadth = max[1] - min[1];
  const middle = Math.abs(max[1] + min[1]) / 2;
  return (
    max[2] > HEAD_TOP_MM[0] &&
    max[2] < HEAD_TOP_MM[1] &&
    max[0] > NOSE_MM[0] &&
    max[0] < NOSE_MM[1] &&
    breadth > HEAD_BREADTH_MM &&
    middle < breadth / 6 &&
    min[2] < -max[2] / 3 &&
    min[2] > DEEPEST_MM
  );
}

/** No upright head, with whatever hair, has its top or its foremost point over the origin outside these, mm. Own judgement. */
const ANY_TOP_MM = [70, 270] as const;
const ANY_FRONT_MM = [50, 200] as const;
/** Nor does it reach so far aside down to the jaw; shoulders lie lower, but for a torso's, which is told from the neck's foot. */
const ANY_ASIDE_MM = 170;
const JAW_MM = -100;

/** Surely no upright head form: a torso, an arm or a leg in its own frame, or a head in none. O(vertices). */
export function isNoHead(positions: Float64Array): boolean {
  let [front, top, aside] = [-Infinity, -Infinity, 0];
  for (let at = 0; at < positions.length; at += 3) {
    front = Math.max(front, positions[at]);
    top = Math.max(top, positions[at + 2]);
    if (positions[at + 2] > JAW_MM) aside = Math.max(aside, Math.abs(positions[at + 1]));
  }
  const isIn = (mm: number, [least, most]: readonly [number, number]): boolean => mm > least && mm < most;
  return !isIn(top, ANY_TOP_MM) || !isIn(front, ANY_FRONT_MM) || aside > ANY_ASIDE_MM;
}

/** Heights over the tragions as shares of the vertex height. */
const CROWN = 0.72;
const BROW = 0.28;
const NOSE = -0.38;
const CHIN = -0.95;

/** The region of a point. The answer is one of a short closed list of words. O(1). */
export function regionOf([x, y, z]: Vec3, bounds: Bounds, head = looksLikeHead(bounds)): string {
  if (!head) return thirdsOf([x, y, z], bounds);
  const height = z / bounds.max[2];
  const side = y > 0 ? 'left' : 'right';
  // 0 straight ahead, pi straight behind.
  const aside = Math.atan2(Math.abs(y), x);
  const front = aside < Math.PI / 4;
  const back = aside > (3 * Math.PI) / 4;
  if (height > CROWN) return 'crown';
  if (height > BROW) return front ? 'forehead' : back ? 'back of the head' : `${side} temple`;
  if (height > CHIN) {
    if (front) return height > NOSE ? 'eyes and nose' : 'mouth and chin';
    if (back) return height > NOSE ? 'back of the head' : 'nape';
    if (height > NOSE) return aside < (3 * Math.PI) / 8 ? `${side} cheek` : `${side} ear`;
    return `${side} jaw`;
  }
  return front ? 'throat' : back ? 'nape' : `${side} side of the neck`;
}

function thirdsOf(at: Vec3, { min, max }: Bounds): string {
  const share = at.map((value, axis) => (2 * (value - min[axis])) / (max[axis] - min[axis]) - 1);
  const words: string[] = [];
  const third = 1 / 3;
  if (share[2] > third) words.push('upper');
  if (share[2] < -third) words.push('lower');
  if (share[0] > third) words.push('front');
  if (share[0] < -third) words.push('back');
  if (share[1] > third) words.push('left');
  if (share[1] < -third) words.push('right');
  if (words.length === 0) return 'middle';
  // "At the lower" says nothing.
  return words.length === 1 && share[2] ** 2 > third ** 2 ? `${words[0]} part` : words.join(' ');
}
