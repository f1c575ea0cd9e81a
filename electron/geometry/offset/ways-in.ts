/**
 * What the opening lets through, and what would help where the body does not pass: a wider opening, a split, a flare.
 * Straight ways only. All from the depths found on the liner's vertices (donning.ts), in its own frame, mm.
 */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { DONNING_PHASE, findUndercuts, type Donning } from './donning.ts';
import type { SignedField } from './signed-field.ts';

/** Levels at which widths are taken, between the opening and the other end. */
const LEVELS = 80;
const STRIDE = 4095;
/** A wider opening is asked for with so much to spare, mm. */
const SPARE_MM = 0.5;

/** Extents across the way in: from side to side, and front to back (or up and down for a way in along either). */
export interface Across {
  readonly sideMm: number;
  readonly frontMm: number;
}

export interface LeastOpening {
  /** Narrowest of the liner between its opening and the level where the body is largest, each direction by itself. */
  readonly liner: Across;
  /** Largest section of the body above the opening. */
  readonly body: Across;
  /** How much larger the body is than the least opening, the worse of both; 0 when it passes with ease. */
  readonly shortMm: number;
}

/** Side to side and front to back as seen along a way in: the form's y and what is square to both. */
export function acrossOf(direction: Vec3): readonly [Vec3, Vec3] {
  const size = Math.hypot(...direction);
  const w: Vec3 = [direction[0] / size, direction[1] / size, direction[2] / size];
  // Put on from the side, up takes the place of y.
  const e: Vec3 = Math.abs(w[1]) < Math.SQRT1_2 ? [0, 1, 0] : [0, 0, 1];
  const along = e[0] * w[0] + e[1] * w[1] + e[2] * w[2];
  const side: Vec3 = [e[0] - along * w[0], e[1] - along * w[1], e[2] - along * w[2]];
  const length = Math.hypot(...side);
  const s: Vec3 = [side[0] / length, side[1] / length, side[2] / length];
  return [s, [s[1] * w[2] - s[2] * w[1], s[2] * w[0] - s[0] * w[2], s[0] * w[1] - s[1] * w[0]]];
}

/**
 * The least opening of a liner against the largest section of the body above it, for a way in along `direction`
 * through the opening `plane`. Undefined when the plane does not cut the body. A tilted plane counts by its middle. O(faces · levels a face crosses).
 */
export function leastOpening(
  body: Mesh,
  liner: Mesh,
  direction: Vec3,
  plane: Plane,
  tick?: () => void,
): LeastOpening | undefined {
  const [side, front] = acrossOf(direction);
  const size = Math.hypot(...direction);
  const way = direction.map((c) => c / size);
  // Heights run against the way in, from the middle of where the opening cuts the body to the body's far end.
  const heightOf = (p: Float64Array, v: number): number => -(p[v] * way[0] + p[v + 1] * way[1] + p[v + 2] * way[2]);
  const { positions, triangles } = body;
  const overOf = (v: number): number =>
    (positions[v] - plane.point[0]) * plane.normal[0] +
    (positions[v + 1] - plane.point[1]) * plane.normal[1] +
    (positions[v + 2] - plane.point[2]) * plane.normal[2];
  let high = -Infinity;
  let [sum, cuts] = [0, 0];
  for (let h = 0; h < triangles.length; h++) {
    const a = triangles[h] * 3,
      b = triangles[h - (h % 3) + ((h + 1) % 3)] * 3;
    const [over, next] = [overOf(a), overOf(b)];
    if (over > 0) high = Math.max(high, heightOf(positions, a));
    if (over > 0 === next > 0) continue;
    sum += heightOf(positions, a) + (over / (over - next)) * (heightOf(positions, b) - heightOf(positions, a));
    cuts++;
  }
  const low = sum / cuts;
  if (!(high > low)) return undefined;
  const step = (high - low) / LEVELS;
  const extentsOf = ({ positions: p, triangles: t }: Mesh): Float64Array => {
    const extents = new Float64Array(LEVELS * 4);
    for (let level = 0; level < LEVELS; level++) extents.set([Infinity, -Infinity, Infinity, -Infinity], level * 4);
    for (let h = 0; h < t.length; h++) {
      if ((h & STRIDE) === 0) tick?.();
      const a = t[h] * 3,
        b = t[h - (h % 3) + ((h + 1) % 3)] * 3;
      const ha = heightOf(p, a),
        hb = heightOf(p, b);
      if (!(ha < hb)) continue;
      const first = Math.max(0, Math.ceil((ha - low) / step - 0.5));
      for (let level = first; level < LEVELS && low + (level + 0.5) * step <= hb; level++) {
        const s = (low + (level + 0.5) * step - ha) / (hb - ha);
        const [x, y, z] = [0, 1, 2].map((k) => p[a + k] + s * (p[b + k] - p[a + k]));
        for (const [at, axis] of [side, front].entries()) {
          const along = x * axis[0] + y * axis[1] + z * axis[2];
          const to = level * 4 + at * 2;
          extents[to] = Math.min(extents[to], along);
          extents[to + 1] = Math.max(extents[to + 1], along);
        }
      }
    }
    return extents;
  };
  const [ofBody, ofLiner] = [extentsOf(body), extentsOf(liner)];
  const pick = (at: number): { body: number; liner: number } => {
    let [most, where] = [0, 0];
    for (let level = 0; level < LEVELS; level++) {
      const wide = ofBody[level * 4 + at + 1] - ofBody[level * 4 + at];
      if (wide > most) [most, where] = [wide, level];
    }
    let least = Infinity;
    for (let level = 0; level <= where; level++) {
      const wide = ofLiner[level * 4 + at + 1] - ofLiner[level * 4 + at];
      if (wide > 0) least = Math.min(least, wide);
    }
    return { body: most, liner: Number.isFinite(least) ? least : 0 };
  };
  const [s, f] = [pick(0), pick(2)];
  return {
    liner: { sideMm: s.liner, frontMm: f.liner },
    body: { sideMm: s.body, frontMm: f.body },
    shortMm: Math.max(0, s.body - s.liner, f.body - f.liner),
  };
}

export interface WaysIn {
  /** Move the opening's plane so far along its normal and nothing holds back any more; what is left of the liner's points. */
  readonly widen: { readonly raiseMm: number; readonly leftShare: number };
  /** Halves put on from either side of a plane midway, along the way in: its normal, and what each must give at most. */
  readonly split: { readonly normal: Vec3; readonly deepestMm: number; readonly passes: boolean };
  /** Let the lower part out: from the opening up to this height over it, by so much at most (what `clear` does). */
  readonly flare: { readonly upToMm: number; readonly byMm: number };
}

/**
 * What would help where foam that gives `giveMm` does not let the body pass; undefined when it passes, or when no plane
 * is among the openings. `kept`: 1 for each vertex of the liner that remains. Split halves are asked along the side and
 * front directions only. O(4 undercut searches).
 */
export function waysIn(
  field: SignedField,
  foamMm: number,
  liner: Mesh,
  kept: Uint8Array,
  asked: { readonly direction: Vec3; readonly plane: Plane; readonly giveMm: number; readonly donning: Donning },
  run: RunContext,
): WaysIn | undefined {
  const { direction, plane, giveMm, donning } = asked;
  if (donning.deepestMm <= giveMm) return undefined;
  const { positions: p } = liner;
  const size = Math.hypot(...plane.normal);
  const over = (v: number): number =>
    ((p[v * 3] - plane.point[0]) * plane.normal[0] +
      (p[v * 3 + 1] - plane.point[1]) * plane.normal[1] +
      (p[v * 3 + 2] - plane.point[2]) * plane.normal[2]) /
    size;
  let upToMm = 0;
  for (let v = 0; v < kept.length; v++) if (donning.depthMm[v] > giveMm) upToMm = Math.max(upToMm, over(v));
  const raiseMm = upToMm + SPARE_MM;
  let [left, all] = [0, 0];
  for (let v = 0; v < kept.length; v++) {
    if (kept[v] === 0) continue;
    all++;
    if (over(v) > raiseMm) left++;
  }
  let split: WaysIn['split'] | undefined;
  for (const normal of acrossOf(direction)) {
    const along = (v: number): number => p[v * 3] * normal[0] + p[v * 3 + 1] * normal[1] + p[v * 3 + 2] * normal[2];
    let [low, high] = [Infinity, -Infinity];
    for (let v = 0; v < kept.length; v++) {
      if (kept[v] === 0) continue;
      low = Math.min(low, along(v));
      high = Math.max(high, along(v));
    }
    const middle = (low + high) / 2;
    let deepest = 0;
    for (const sign of [1, -1]) {
      run.step(DONNING_PHASE, 1, 1);
      const half = kept.map((stays, v) => (stays === 1 && sign * (along(v) - middle) > 0 ? 1 : 0));
      // The half on the positive side comes from there: it is put on against the normal.
      const from: Vec3 = [-sign * normal[0], -sign * normal[1], -sign * normal[2]];
      deepest = Math.max(deepest, findUndercuts(field, foamMm, liner, from, half, run).deepestMm);
    }
    if (split === undefined || deepest < split.deepestMm) {
      split = { normal, deepestMm: deepest, passes: deepest <= giveMm };
    }
  }
  return {
    widen: { raiseMm, leftShare: all === 0 ? 0 : left / all },
    split: split as WaysIn['split'],
    flare: { upToMm, byMm: donning.deepestMm - giveMm },
  };
}
