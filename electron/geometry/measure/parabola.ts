/** Smoothing of an evenly spaced line by local parabolas. */

/**
 * Weight of the point `distance` steps off in the value at the middle of the least-squares parabola through the
 * 2 half + 1 points about it (Savitzky and Golay 1964). `half` is 1 or more; at 1 the parabola goes through all.
 */
export function parabolaWeight(distance: number, half: number): number {
  const spread = 3 * (3 * half * half + 3 * half - 1 - 5 * distance * distance);
  return spread / ((2 * half + 1) * (2 * half + 3) * (2 * half - 1));
}
