/** Where the pupils of a head form are taken to be. A form has closed lids: the place is a guess with its spread. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { castRay, type Bvh } from '../spatial/bvh.ts';

/**
 * Half the distance between the pupils: mean of the 2012 survey's men and women, 64.0 and 61.7 mm, standard deviation
 * 3.5 (NATICK/TR-15/007).
 */
export const HALF_PUPILS_MM = 31.4;
/**
 * Height of the pupils over the Frankfurt plane, which passes the lower rims of the eye sockets: half the height of a
 * socket's opening, 34 mm. From memory, no source at hand; the spread is a guess too.
 */
export const OVER_FRANKFURT_MM = 17;
/** How far the entrance pupil lies behind the lid: 3 mm behind the front of the eye, from memory. */
const BEHIND_LID_MM = 3;
/** Spread (standard uncertainty) of a pupil's place found so, mm. */
export const PUPIL_U_MM = 3;

export interface Eyes {
  readonly left: Vec3;
  readonly right: Vec3;
  /** Whether they were told by the user or guessed from the form. */
  readonly guessed: boolean;
}

/**
 * Pupils of an upright head form in its frame (origin between the tragions, x forward, y left, Frankfurt plane level):
 * where a level ray from the front meets the lids. Undefined when it meets nothing there. O(log faces).
 */
export function findEyes(tree: Bvh, halfMm = HALF_PUPILS_MM, overMm = OVER_FRANKFURT_MM): Eyes | undefined {
  const at = (y: number): Vec3 | undefined => {
    const hit = { face: -1, t: 0 };
    if (!castRay(tree, FAR_MM, y, overMm, -1, 0, 0, hit)) return undefined;
    return [FAR_MM - hit.t - BEHIND_LID_MM, y, overMm];
  };
  const [left, right] = [at(halfMm), at(-halfMm)];
  return left === undefined || right === undefined ? undefined : { left, right, guessed: true };
}

/** Before any head. */
const FAR_MM = 1000;
