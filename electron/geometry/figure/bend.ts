/**
 * A smooth, mirror-symmetric field of displacement that gives wanted measures: the mean of a Gaussian process given
 * linear functionals of it (Rasmussen and Williams 2006, "Gaussian Processes for Machine Learning", 2.2), the same as
 * the smoothest field in the kernel's own norm that meets them within their stated slack.
 *
 * The kernel is stretches along the three axes, a nod and a shift in the mirror plane, and soft bells, broad to
 * narrow: what stretches can do is cheapest, what needs a fold cannot be had. Measures are functionals: sums of
 * gradient times displacement over points, all in the neutral head's own coordinates.
 *
 * A field need not be quite symmetric: `lopsided` is the spread of its antimirrored part as a share of that of the
 * mirror-symmetric part; above 0 the mirror plane may shift and turn as well.
 */

/** Points and gradients: x, y, z, gx, gy, gz each. */
export type Pulls = Float64Array;
const STRIDE = 6;

/** Prior spread of a stretch, as a share, and of the shift (mm) and nod (radians) that set the frame. */
const STRETCH = 0.2;
const SHIFT_MM = 20;
const NOD = 0.2;
/** Of a lopsided field: how far its mirror plane may shift (mm) and roll or turn (radians). */
const ASIDE_MM = 3;
const ROLL = 0.05;
/** Reach and height of the bells, mm. */
const BELLS: readonly (readonly [reach: number, height: number])[] = [
  [170, 9],
  [75, 4],
  [42, 2.5],
];
const BELL_FACTORS = BELLS.map(([reach, height]) => [-1 / (2 * reach * reach), height * height] as const);

/** Value of the bells at a squared distance. */
function bells(square: number): number {
  let sum = 0;
  for (const [factor, height] of BELL_FACTORS) sum += height * Math.exp(factor * square);
  return sum;
}

/**
 * Adds to `out` the displacement at p that a unit pull g at q makes: the kernel made symmetric in the mirror plane, so
 * that the field at (x, -y, z) is the mirror image of that at (x, y, z), with as much of its opposite as `lopsided` says.
 */
function addKernel(
  out: Float64Array,
  px: number,
  py: number,
  pz: number,
  pulls: Pulls,
  at: number,
  times: number,
  lopsided: number,
): void {
  const [qx, qy, qz] = [pulls[at], pulls[at + 1], pulls[at + 2]];
  const [gx, gy, gz] = [times * pulls[at + 3], times * pulls[at + 4], times * pulls[at + 5]];
  const flat = (px - qx) ** 2 + (pz - qz) ** 2;
  const aside = lopsided * lopsided;
  const here = ((1 + aside) / 2) * bells(flat + (py - qy) ** 2);
  const there = ((1 - aside) / 2) * bells(flat + (py + qy) ** 2);
  const [even, odd] = [here + there, here - there];
  const stretch = STRETCH * STRETCH;
  const nod = NOD * NOD * (qz * gx - qx * gz);
  const shift = SHIFT_MM * SHIFT_MM;
  out[0] += (even + stretch * px * qx + shift) * gx + nod * pz;
  out[1] += (odd + stretch * py * qy) * gy;
  out[2] += (even + stretch * pz * qz + shift) * gz - nod * px;
  if (lopsided === 0) return;
  const roll = ROLL * ROLL * (qy * gz - qz * gy);
  const turn = ROLL * ROLL * (qx * gy - qy * gx);
  out[0] -= turn * py;
  out[1] += ASIDE_MM * ASIDE_MM * gy - roll * pz + turn * px;
  out[2] += roll * py;
}

const field = new Float64Array(3);

/** Covariance of two functionals under the kernel. O(points times points). */
export function covarianceOf(a: Pulls, b: Pulls, lopsided = 0): number {
  let sum = 0;
  for (let at = 0; at < a.length; at += STRIDE) {
    field.fill(0);
    for (let other = 0; other < b.length; other += STRIDE) {
      addKernel(field, a[at], a[at + 1], a[at + 2], b, other, 1, lopsided);
    }
    sum += a[at + 3] * field[0] + a[at + 4] * field[1] + a[at + 5] * field[2];
  }
  return sum;
}

/** Row-major matrix of `covarianceOf` all pairs. */
export function covariancesOf(functionals: readonly Pulls[], lopsided = 0, tick?: () => void): Float64Array {
  const n = functionals.length;
  const matrix = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    tick?.();
    for (let j = 0; j <= i; j++) {
      matrix[i * n + j] = matrix[j * n + i] = covarianceOf(functionals[i], functionals[j], lopsided);
    }
  }
  return matrix;
}

/** The lower triangle L with L L^T = C + diag(slack^2). O(n^3 / 6). */
export interface Factor {
  readonly count: number;
  readonly lower: Float64Array;
}

/**
 * Cholesky's factor of a row-major covariance with slack. Undefined when it is not positive definite, which needs two
 * functionals that are the same and a slack of none.
 */
export function factorWithSlack(
  covariance: Float64Array,
  slack: readonly number[],
  tick?: () => void,
): Factor | undefined {
  const n = slack.length;
  const l = covariance.slice();
  for (let i = 0; i < n; i++) l[i * n + i] += slack[i] ** 2;
  for (let i = 0; i < n; i++) {
    tick?.();
    for (let j = 0; j <= i; j++) {
      let sum = l[i * n + j];
      for (let k = 0; k < j; k++) sum -= l[i * n + k] * l[j * n + k];
      if (i !== j) l[i * n + j] = sum / l[j * n + j];
      else if (sum > 0) l[i * n + i] = Math.sqrt(sum);
      else return undefined;
    }
  }
  return { count: n, lower: l };
}

/** x with L x = wanted. O(n^2). */
export function solveLower({ count: n, lower: l }: Factor, wanted: ArrayLike<number>): Float64Array {
  const x = Float64Array.from(wanted);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < i; k++) x[i] -= l[i * n + k] * x[k];
    x[i] /= l[i * n + i];
  }
  return x;
}

/** x with L L^T x = wanted. O(n^2). */
export function solveFactored(factor: Factor, wanted: ArrayLike<number>): Float64Array {
  const { count: n, lower: l } = factor;
  const x = solveLower(factor, wanted);
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) x[i] -= l[k * n + i] * x[k];
    x[i] /= l[i * n + i];
  }
  return x;
}

/** Positions moved by the field of `weights` times functionals; only the first `count` vertices. O(vertices times points). */
export function displaced(
  positions: Float64Array,
  count: number,
  functionals: readonly Pulls[],
  weights: ArrayLike<number>,
  tick?: () => void,
  lopsided = 0,
): Float64Array {
  const moved = positions.slice();
  for (let vertex = 0; vertex < count; vertex++) {
    if (vertex % TICK_VERTICES === 0) tick?.();
    const at = vertex * 3;
    field.fill(0);
    functionals.forEach((pulls, i) => {
      for (let other = 0; other < pulls.length; other += STRIDE) {
        addKernel(field, positions[at], positions[at + 1], positions[at + 2], pulls, other, weights[i], lopsided);
      }
    });
    for (let k = 0; k < 3; k++) moved[at + k] += field[k];
  }
  return moved;
}
const TICK_VERTICES = 32;
