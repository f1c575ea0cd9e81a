/**
 * The rigid placement whose gap is most even over given points of the part: least squares of the gap about its own
 * mean, by Gauss and Newton's method with Levenberg's damping (1944), within limits.
 */
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { transformPoint } from '../mesh/transform.ts';
import type { SignedField } from '../offset/signed-field.ts';
import { boxOf, moved, type Handle, type PlacingLimits } from './most-room.ts';
import type { AreaPoints } from './part-points.ts';

export interface Evenness {
  readonly meanMm: number;
  /** Root mean square of the gap about its mean, by area. */
  readonly unevenMm: number;
  readonly leastMm: number;
}

export interface MostEven extends Evenness {
  readonly placement: Matrix4;
  readonly steps: number;
}

const MOTIONS = 6;
const FIRST_DAMPING = 1 / 1024;
const MOST_DAMPING = 2 ** 20;
const STRIDE = 127;
/** Points farther from the body than so many usual gaps do not speak for evenness: a flared rim must not tilt a helmet. */
const REACH = 2;
const NO_HANDLE: Handle = { middle: [0, 0, 0], leverMm: 1 };

/** Normal equations of the gap about its mean, by the six motions of `moved`. */
interface Slopes {
  readonly matrix: Float64Array;
  readonly right: Float64Array;
}

const slopesSlot = (): Slopes => ({ matrix: new Float64Array(MOTIONS * MOTIONS), right: new Float64Array(MOTIONS) });

/** Gaps and, where slopes are wanted, directions of one placement, then their sums. */
function judge(
  points: AreaPoints,
  body: SignedField,
  placement: Matrix4,
  handle: Handle,
  tick: () => void,
  slopes?: Slopes,
): Evenness {
  const n = points.face.length;
  const m = placement;
  const about = transformPoint(placement, handle.middle);
  const gaps = new Float64Array(n);
  const rows = slopes === undefined ? undefined : new Float64Array(MOTIONS * n);
  let [total, sum, square, least] = [0, 0, 0, Infinity];
  for (let i = 0; i < n; i++) {
    if ((i & STRIDE) === 0) tick();
    const x = points.at[3 * i],
      y = points.at[3 * i + 1],
      z = points.at[3 * i + 2];
    const px = m[0] * x + m[1] * y + m[2] * z + m[3],
      py = m[4] * x + m[5] * y + m[6] * z + m[7],
      pz = m[8] * x + m[9] * y + m[10] * z + m[11];
    const gap = (gaps[i] = body.at(px, py, pz));
    const weight = points.areaMm2[i];
    total += weight;
    sum += weight * gap;
    square += weight * gap * gap;
    if (gap < least) least = gap;
    if (rows === undefined || gap === 0) continue;
    const nx = (px - body.x) / gap,
      ny = (py - body.y) / gap,
      nz = (pz - body.z) / gap;
    const rx = px - about[0],
      ry = py - about[1],
      rz = pz - about[2];
    const row = i * MOTIONS;
    rows[row] = nx;
    rows[row + 1] = ny;
    rows[row + 2] = nz;
    rows[row + 3] = (ry * nz - rz * ny) / handle.leverMm;
    rows[row + 4] = (rz * nx - rx * nz) / handle.leverMm;
    rows[row + 5] = (rx * ny - ry * nx) / handle.leverMm;
  }
  const meanMm = sum / total;
  if (slopes !== undefined && rows !== undefined) fillSlopes(slopes, rows, gaps, points.areaMm2, meanMm);
  return { meanMm, unevenMm: Math.sqrt(Math.max(0, square / total - meanMm * meanMm)), leastMm: least };
}

function fillSlopes(
  { matrix, right }: Slopes,
  rows: Float64Array,
  gaps: Float64Array,
  areas: Float64Array,
  meanMm: number,
): void {
  matrix.fill(0);
  right.fill(0);
  const mean = new Float64Array(MOTIONS);
  let total = 0;
  for (let i = 0; i < gaps.length; i++) {
    const off = gaps[i] - meanMm;
    const weight = areas[i];
    total += weight;
    for (let r = 0, at = i * MOTIONS; r < MOTIONS; r++) {
      const w = weight * rows[at + r];
      mean[r] += w;
      right[r] += w * off;
      for (let c = 0; c <= r; c++) matrix[r * MOTIONS + c] += w * rows[at + c];
    }
  }
  for (let r = 0; r < MOTIONS; r++) {
    right[r] /= total;
    for (let c = 0; c <= r; c++) {
      matrix[r * MOTIONS + c] = matrix[r * MOTIONS + c] / total - (mean[r] / total) * (mean[c] / total);
      matrix[c * MOTIONS + r] = matrix[r * MOTIONS + c];
    }
  }
}

/** How even the gap is with the part so placed. O(points · log faces). */
export function evennessOf(points: AreaPoints, body: SignedField, placement: Matrix4, tick: () => void): Evenness {
  return judge(points, body, placement, NO_HANDLE, tick);
}

/** What the most even placement makes small, and the step of the six motions of `moved` that it would take. */
export function evenStep(
  points: AreaPoints,
  body: SignedField,
  placement: Matrix4,
  handle: Handle,
  tick: () => void,
): Evenness & { readonly step: Float64Array; readonly weights: readonly number[] } {
  const slopes = slopesSlot();
  const even = judge(points, body, placement, handle, tick, slopes);
  const step = dampedStep(slopes.matrix, slopes.right, FIRST_DAMPING, [0, 1, 2, 3, 4, 5]);
  return { ...even, step, weights: step.reduce<number[]>((all, _, k) => [...all, slopes.matrix[k * MOTIONS + k]], []) };
}

/** The points no farther from the body than twice the usual gap (the median by area) at a placement, at least half of them. */
export function nearOnes(points: AreaPoints, body: SignedField, placement: Matrix4, tick: () => void): AreaPoints {
  const n = points.face.length;
  const m = placement;
  const gaps = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    if ((i & STRIDE) === 0) tick();
    const [x, y, z] = [points.at[3 * i], points.at[3 * i + 1], points.at[3 * i + 2]];
    gaps[i] = body.at(
      m[0] * x + m[1] * y + m[2] * z + m[3],
      m[4] * x + m[5] * y + m[6] * z + m[7],
      m[8] * x + m[9] * y + m[10] * z + m[11],
    );
  }
  const order = Array.from(gaps.keys()).sort((a, b) => gaps[a] - gaps[b]);
  const half = points.areaMm2.reduce((sum, area) => sum + area, 0) / 2;
  let sum = 0;
  const middle = order.findIndex((i) => (sum += points.areaMm2[i]) >= half);
  const reach = Math.max(gaps[order[middle]], REACH * gaps[order[middle]]);
  const kept = Array.from(gaps.keys()).filter((i) => gaps[i] <= reach);
  return {
    at: Float64Array.from(kept.flatMap((i) => [...points.at.subarray(3 * i, 3 * i + 3)])),
    areaMm2: Float64Array.from(kept, (i) => points.areaMm2[i]),
    face: Uint32Array.from(kept, (i) => points.face[i]),
  };
}

/** x of (matrix + damping · diagonal) x = -right over the free unknowns; the others stay nothing. */
function dampedStep(matrix: Float64Array, right: Float64Array, damping: number, free: readonly number[]): Float64Array {
  const n = free.length;
  const a = free.map((r) => [...free.map((c) => matrix[r * MOTIONS + c]), -right[r]]);
  const mean = free.reduce((sum, r) => sum + matrix[r * MOTIONS + r], 0) / Math.max(1, n);
  free.forEach((r, i) => (a[i][i] += damping * (matrix[r * MOTIONS + r] + mean / 16) + Number.MIN_VALUE));
  for (let i = 0; i < n; i++) {
    let best = i;
    for (let j = i + 1; j < n; j++) if (Math.abs(a[j][i]) > Math.abs(a[best][i])) best = j;
    [a[i], a[best]] = [a[best], a[i]];
    if (a[i][i] === 0) continue;
    for (let j = 0; j < n; j++) {
      if (j === i) continue;
      const f = a[j][i] / a[i][i];
      for (let k = i; k <= n; k++) a[j][k] -= f * a[i][k];
    }
  }
  const x = new Float64Array(MOTIONS);
  free.forEach((r, i) => (x[r] = a[i][i] === 0 ? 0 : a[i][n] / a[i][i]));
  return x;
}

/**
 * Go from a placement to the nearest one with the most even gap. A local method: several starts are the caller's.
 * Ends when a step moves no point by more than about `toleranceMm`. O(steps · points · log faces).
 */
export function mostEven(
  points: AreaPoints,
  body: SignedField,
  start: Matrix4,
  handle: Handle,
  options: {
    readonly limits: PlacingLimits;
    readonly from?: Matrix4;
    readonly toleranceMm: number;
    readonly mostSteps: number;
  },
  tick: () => void,
): MostEven {
  const { limits, from = start, toleranceMm, mostSteps } = options;
  const slopes = slopesSlot();
  let placement = start;
  let now = judge(points, body, placement, handle, tick, slopes);
  let damping = FIRST_DAMPING;
  let steps = 0;
  while (steps < mostSteps && damping < MOST_DAMPING) {
    steps++;
    const { low, high } = boxOf(placement, from, handle, limits, handle.leverMm / 2);
    // A motion that a limit stops is left out, and the others are looked for again.
    let free = [0, 1, 2, 3, 4, 5];
    let step = dampedStep(slopes.matrix, slopes.right, damping, free);
    for (let round = 0; round < MOTIONS; round++) {
      const stopped = free.filter(
        (k) => (step[k] > high[k] && high[k] < toleranceMm) || (step[k] < low[k] && -low[k] < toleranceMm),
      );
      if (stopped.length === 0) break;
      free = free.filter((k) => !stopped.includes(k));
      step = dampedStep(slopes.matrix, slopes.right, damping, free);
    }
    step = step.map((value, k) => Math.min(high[k], Math.max(low[k], value)));
    const next = moved(placement, handle, step);
    const trial = slopesSlot();
    const then = judge(points, body, next, handle, tick, trial);
    const better = then.unevenMm < now.unevenMm;
    if (better) {
      placement = next;
      now = then;
      slopes.matrix.set(trial.matrix);
      slopes.right.set(trial.right);
    }
    if (Math.max(...step.map(Math.abs)) < toleranceMm) break;
    damping *= better ? 1 / 8 : 8;
  }
  return { ...now, placement, steps };
}
