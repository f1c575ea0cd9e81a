/** Places that a brush has touched on a body. Pure. */
import type { Vec3 } from '../../shared-types/mesh.ts';

/** Width of a brush that nobody has chosen: about a thumb (common practice, no source). */
export const BRUSH_MM = 18;
/** A dab nearer than this share of the brush to one already there adds nothing. */
const NEAR_SHARE = 0.3;

const near = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** The places after the brush touched one; erasing takes away the dabs it covers. The same list where nothing changes. */
export function dabbed(dabs: readonly Vec3[], brushMm: number, at: Vec3, isErasing: boolean): readonly Vec3[] {
  if (isErasing) {
    const left = dabs.filter((dab) => near(dab, at) > brushMm);
    return left.length === dabs.length ? dabs : left;
  }
  return dabs.some((dab) => near(dab, at) < NEAR_SHARE * brushMm) ? dabs : [...dabs, at];
}

/** 1 at each vertex under a dab, NaN elsewhere; undefined without dabs. O(vertices · dabs). */
export function dabMap(dabs: readonly Vec3[], brushMm: number, positions: Float32Array): Float32Array | undefined {
  if (dabs.length === 0) return undefined;
  return Float32Array.from({ length: positions.length / 3 }, (_, v) => {
    const at: Vec3 = [positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]];
    return dabs.some((dab) => near(dab, at) <= brushMm) ? 1 : NaN;
  });
}
