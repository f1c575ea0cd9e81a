/** The largest extent of a body in a direction, as between the parallel jaws of a sliding calliper. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { eachKept } from './clip-face.ts';
import { surfaceNear } from './end-uncertainty.ts';

export interface Breadth {
  /** Mesh units. */
  readonly length: number;
  /** Where the jaws touch, at the low end of the direction and at the high one. */
  readonly from: Vec3;
  readonly to: Vec3;
  /** By how much roughness makes that longer, about, and the standard uncertainty of the length by it. */
  readonly excess: number;
  readonly u: number;
}

/** Share of the length within which the surface about a contact shows how rough it is. */
const NEAR_SHARE = 1 / 18;
/**
 * A jaw rests on what stands out most: on balls of a head's size roughened in waves of 5 mm, 0.8 to 1.5 standard
 * deviations beyond the smooth surface (test/outside/measures.test.ts), with a scatter of about a third of one.
 */
const STANDS_OUT = 1.15;
const SCATTER = 0.35;

/**
 * Extent along `direction` of the part of the mesh on the sides that the normals of `above` point to; what is cut there
 * is taken to be the body's end. The mesh may be open. Undefined when nothing is left. `tick` is called every few
 * milliseconds. O(faces · planes).
 */
export function breadthAlong(
  mesh: Mesh,
  direction: Vec3,
  above: readonly Plane[] = [],
  tick?: () => void,
): Breadth | undefined {
  const size = Math.hypot(...direction);
  const way: Vec3 = [direction[0] / size, direction[1] / size, direction[2] / size];
  let [low, high] = [Infinity, -Infinity];
  let from: Vec3 | undefined;
  let to: Vec3 | undefined;
  eachKept(
    mesh,
    above,
    (corners) => {
      for (const corner of corners) {
        const at = corner[0] * way[0] + corner[1] * way[1] + corner[2] * way[2];
        if (at < low) {
          low = at;
          from = corner;
        }
        if (at > high) {
          high = at;
          to = corner;
        }
      }
    },
    tick,
  );
  if (from === undefined || to === undefined) return undefined;
  const length = high - low;
  const roughness = [from, to].map((end) => surfaceNear(mesh, end, tick, NEAR_SHARE * length)?.roughness ?? 0);
  const excess = STANDS_OUT * (roughness[0] + roughness[1]);
  const u = Math.hypot(excess / Math.sqrt(12), SCATTER * Math.hypot(roughness[0], roughness[1]));
  return { length, from, to, excess, u };
}
