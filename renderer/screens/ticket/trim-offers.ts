/** What is usually cut off a scan, by the part of the body it is of. Pure. */
import type { Bounds } from '../../../electron/geometry/mesh/quantities.ts';
import type { RegionName } from '../../../shared-types/measures/index.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { PlaneNumbers } from './frames.ts';

/** A cut offered: level, so far up the scan, or upright beside the body, so far out from its middle; what it keeps. */
export interface CutOffer {
  readonly label: string;
  readonly hint?: string;
  readonly normal: Vec3;
  /** Share of the height, from the lowest point, or of the half breadth, from the middle. */
  readonly share: number;
}
const ABOVE: Vec3 = [0, 0, 1];
const BELOW: Vec3 = [0, 0, -1];

/** What is usually cut off each part of the body, and about where a scan of it has that. Common practice, no source. */
export const CUTS_OFFERED: Readonly<
  Record<RegionName, { readonly what: string; readonly cuts: readonly [CutOffer, ...CutOffer[]] }>
> = {
  head: {
    what: 'the shoulders, a stand, a chair',
    cuts: [{ label: 'Cut at the neck', hint: 'a level cut low on the scan, to be moved', normal: ABOVE, share: 0.2 }],
  },
  torso: {
    what: 'ragged hips, the neck, the arms, a chair',
    cuts: [
      { label: 'Cut at the hips', normal: ABOVE, share: 0.08 },
      { label: 'Cut at the neck', normal: BELOW, share: 0.94 },
      { label: 'Cut the left arm', normal: [0, -1, 0], share: 0.85 },
      { label: 'Cut the right arm', normal: [0, 1, 0], share: 0.85 },
    ],
  },
  arm: { what: 'the upper arm, a table', cuts: [{ label: 'Cut at the upper arm', normal: BELOW, share: 0.94 }] },
  leg: {
    what: 'the thigh, the ground',
    cuts: [
      { label: 'Cut above the knee', normal: BELOW, share: 0.94 },
      { label: 'Cut at the sole', normal: ABOVE, share: 0.01 },
    ],
  },
};

export const isUpright = (normal: readonly number[]): boolean => Math.abs(normal[1]) > Math.SQRT1_2;

/** Where a cut offered first lies on a standing scan with these bounds: a point on it, and the normal to what it keeps. */
export function cutOffered({ normal, share }: CutOffer, { min, max }: Bounds): PlaneNumbers {
  const middle = (min[1] + max[1]) / 2;
  const halfBreadth = (max[1] - min[1]) / 2;
  return isUpright(normal)
    ? [0, middle - normal[1] * share * halfBreadth, min[2], ...normal]
    : [0, 0, min[2] + share * (max[2] - min[2]), ...normal];
}
