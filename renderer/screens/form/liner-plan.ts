/** What is wanted of a liner while it is being thought over, and the parameters that come of it. Pure. */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { DEGREES_PER_RADIAN } from '../../../shared-types/units.ts';

export interface OpeningPlane {
  readonly point: Vec3;
  /** Points to the side that stays. */
  readonly normal: Vec3;
}

export interface LinerPlan {
  /** A length that cannot be read at the moment is undefined. */
  readonly foamMm: number | undefined;
  readonly hasBridge: boolean;
  readonly bridgeMm: number | undefined;
  readonly hasWall: boolean;
  readonly wallMm: number | undefined;
  readonly opening: OpeningPlane | undefined;
}

/** Under the notches of the ears: about the jaw. Common practice, no source, as are the other lengths here. */
export const OPEN_BELOW_MM = 90;

export const FIRST_PLAN: LinerPlan = {
  foamMm: 8,
  hasBridge: false,
  bridgeMm: 12,
  hasWall: false,
  wallMm: 3,
  opening: undefined,
};

/** A level plane so far below the origin of a form, which lies between the ears. */
export const levelBelow = (mm: number): OpeningPlane => ({ point: [0, 0, -mm], normal: [0, 0, 1] });

/** How far below the origin the plane passes; infinite for one that stands upright. */
export function belowOf({ point, normal }: OpeningPlane): number {
  const [x, y, z] = point;
  const [nx, ny, nz] = normal;
  return -(z + (nx * x + ny * y) / nz);
}

export function tiltDegrees({ normal }: OpeningPlane): number {
  const [x, y, z] = normal;
  return Math.atan2(Math.hypot(x, y), z) * DEGREES_PER_RADIAN;
}

/** For `form.line`; undefined while a wanted length is not there. */
export function parametersOf(plan: LinerPlan): Record<string, unknown> | undefined {
  const { foamMm, hasBridge, bridgeMm, hasWall, wallMm, opening } = plan;
  if (foamMm === undefined || (hasBridge && bridgeMm === undefined) || (hasWall && wallMm === undefined)) {
    return undefined;
  }
  return {
    foamMm,
    ...(hasBridge ? { bridgeMm } : {}),
    ...(hasWall ? { wallMm } : {}),
    ...(opening === undefined ? {} : { opening: { plane: [...opening.point, ...opening.normal] } }),
  };
}
