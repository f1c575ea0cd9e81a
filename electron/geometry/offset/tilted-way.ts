/**
 * A short way in with one tilt: the part comes straight along its direction, tipped, and is then righted into its seat
 * about an axis at its rim, as a helmet is put on brow first. Of a few axes and angles the one is found along which the
 * foam has to give least.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { DONNING_PHASE, StraightWay } from './donning.ts';
import type { SignedField } from './signed-field.ts';
import { acrossOf } from './ways-in.ts';

/** Angles tried, and steps in which the righting is followed, degrees. */
const ANGLE_STEP = 5;
const FOLLOW_STEP = 1.25;
/** Vertices by which ways are compared; the best one is then followed at every vertex. */
const COMPARED = 600;
/** A tilt that gains less than this share of the straight way's depth is not worth it. */
const WORTH = 0.2;
const RADIANS = Math.PI / 180;
const STRIDE = 63;

export interface TiltedWay {
  /** Unit axis the part is tipped about, through this point, before it comes straight; by the right-hand rule. */
  readonly axis: Vec3;
  readonly pivot: Vec3;
  readonly degrees: number;
  /** How much the foam must give along it at most, at the liner's vertices. */
  readonly deepestMm: number;
}

/**
 * The best way in with one tilt of up to `mostDegrees`; undefined when none asks for a fifth less than the straight one,
 * which asks for `straightMm`. `kept`: 1 for each vertex of the liner that remains; `foamMm` as for `findUndercuts`. Axes run side
 * to side and front to back through the four ends of the liner nearest the opening; the righting is followed in steps
 * of 1.25 degrees. O(ways · 600 log n + vertices log n).
 */
export function bestTilt(
  field: SignedField,
  foamMm: number,
  liner: Mesh,
  direction: Vec3,
  kept: Uint8Array,
  limits: { readonly mostDegrees: number; readonly straightMm: number },
  run: RunContext,
): TiltedWay | undefined {
  const { positions: p } = liner;
  const size = Math.hypot(...direction);
  const back: Vec3 = [-direction[0] / size, -direction[1] / size, -direction[2] / size];
  const tick = (): void => run.step(DONNING_PHASE, 1, 1);
  const way = new StraightWay(field, direction, tick);
  const vertices = Array.from(kept.keys()).filter((v) => kept[v] === 1);
  const thickness = new Float64Array(kept.length);
  for (const [at, v] of vertices.entries()) {
    if ((at & STRIDE) === 0) tick();
    const over = field.formAt(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    thickness[v] = Math.min(over, foamMm + field.shift(p[v * 3], p[v * 3 + 1], p[v * 3 + 2], over));
  }
  const deepestOf = (among: readonly number[], axis: Vec3, pivot: Vec3, degrees: number, enough: number): number => {
    const steps = Math.max(1, Math.ceil(Math.abs(degrees) / FOLLOW_STEP));
    let deepest = 0;
    for (const [at, v] of among.entries()) {
      if ((at & STRIDE) === 0) tick();
      const from: Vec3 = [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
      for (let step = 1; step <= steps; step++) {
        const [x, y, z] = turned(from, axis, pivot, (degrees * RADIANS * step) / steps);
        const over = field.formAt(x, y, z);
        deepest = Math.max(deepest, thickness[v] - over);
        if (step === steps) deepest = Math.max(deepest, way.depthAt(x, y, z, thickness[v], over));
      }
      if (deepest >= enough) break;
    }
    return deepest;
  };
  const some = vertices.filter((_, at) => at % Math.max(1, Math.floor(vertices.length / COMPARED)) === 0);
  const [side, front] = acrossOf(direction);
  let best: { axis: Vec3; pivot: Vec3; degrees: number } | undefined;
  let least = Math.min(limits.straightMm, deepestOf(some, side, [0, 0, 0], 0, Infinity));
  for (const [axis, other] of [
    [side, front],
    [front, side],
  ]) {
    for (const end of [-1, 1]) {
      const pivot = endOf(p, vertices, other, end, back);
      for (let angle = ANGLE_STEP; angle <= limits.mostDegrees; angle += ANGLE_STEP) {
        for (const degrees of [angle, -angle]) {
          const deepest = deepestOf(some, axis, pivot, degrees, least);
          if (deepest < least) [least, best] = [deepest, { axis, pivot, degrees }];
        }
      }
    }
  }
  if (best === undefined) return undefined;
  const deepestMm = deepestOf(vertices, best.axis, best.pivot, best.degrees, Infinity);
  return deepestMm < (1 - WORTH) * limits.straightMm ? { ...best, deepestMm } : undefined;
}

/** The vertex farthest along `other` (or against it) and low on the way in: an end of the rim. */
function endOf(p: Float64Array, vertices: readonly number[], other: Vec3, end: number, back: Vec3): Vec3 {
  let [most, at] = [-Infinity, vertices[0]];
  for (const v of vertices) {
    const along = (d: Vec3): number => p[v * 3] * d[0] + p[v * 3 + 1] * d[1] + p[v * 3 + 2] * d[2];
    const far = end * along(other) - along(back);
    if (far > most) [most, at] = [far, v];
  }
  return [p[at * 3], p[at * 3 + 1], p[at * 3 + 2]];
}

/** A point turned about an axis (Rodrigues 1840). */
export function turned([x, y, z]: Vec3, [ax, ay, az]: Vec3, [px, py, pz]: Vec3, radians: number): Vec3 {
  const [dx, dy, dz] = [x - px, y - py, z - pz];
  const [c, s] = [Math.cos(radians), Math.sin(radians)];
  const along = (1 - c) * (ax * dx + ay * dy + az * dz);
  return [
    px + c * dx + s * (ay * dz - az * dy) + along * ax,
    py + c * dy + s * (az * dx - ax * dz) + along * ay,
    pz + c * dz + s * (ax * dy - ay * dx) + along * az,
  ];
}
