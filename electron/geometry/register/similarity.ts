/**
 * Best fit of one set of points onto another by turning, shifting and, if wished, scaling; never by mirroring.
 * B. K. P. Horn 1987, "Closed-form solution of absolute orientation using unit quaternions": the quaternion is
 * always a proper turn, so the mirror that a bare singular-value solution can return (S. Umeyama 1991) cannot occur.
 */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { turnOf } from '../mesh/transform.ts';

export interface SimilarityFit {
  readonly matrix: Matrix4;
  readonly scale: number;
  /** Mean squared distance left, target units squared. */
  readonly meanSquare: number;
}

/** Share of the spread across the main line below which points count as one line. */
const LINE_SHARE = 2 ** -30;

/** Eigenvalues (descending) and unit eigenvectors (rows) of a symmetric n by n matrix, by Jacobi rotations. */
export function eigenSymmetric(matrix: readonly number[], n: number): { values: number[]; vectors: number[][] } {
  const a = Array.from(matrix);
  const v: number[] = Array.from({ length: n * n }, (_, i) => (i % (n + 1) === 0 ? 1 : 0));
  for (let sweep = 0; sweep < 60; sweep++) {
    let off = 0;
    let on = 0;
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++)
        if (i === j) on += a[i * n + j] ** 2;
        else off += a[i * n + j] ** 2;
    if (off <= on * 2 ** -100) break;
    for (let p = 0; p < n; p++) {
      for (let q = p + 1; q < n; q++) {
        if (a[p * n + q] === 0) continue;
        const theta = (a[q * n + q] - a[p * n + p]) / (2 * a[p * n + q]);
        const t = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.hypot(theta, 1));
        const c = 1 / Math.hypot(t, 1),
          s = t * c;
        for (let k = 0; k < n; k++) {
          const kp = a[k * n + p],
            kq = a[k * n + q];
          a[k * n + p] = c * kp - s * kq;
          a[k * n + q] = s * kp + c * kq;
        }
        for (let k = 0; k < n; k++) {
          const pk = a[p * n + k],
            qk = a[q * n + k];
          a[p * n + k] = c * pk - s * qk;
          a[q * n + k] = s * pk + c * qk;
          const vp = v[p * n + k],
            vq = v[q * n + k];
          v[p * n + k] = c * vp - s * vq;
          v[q * n + k] = s * vp + c * vq;
        }
      }
    }
  }
  const order = Array.from({ length: n }, (_, i) => i).sort((i, j) => a[j * n + j] - a[i * n + i]);
  return { values: order.map((i) => a[i * n + i]), vectors: order.map((i) => v.slice(i * n, i * n + n)) };
}

/**
 * The matrix taking `from` nearest to `to`, pair by pair. Undefined for fewer than three pairs or points in one line,
 * where the turn is not fixed. O(points).
 */
export function fitSimilarity(
  from: readonly Vec3[],
  to: readonly Vec3[],
  withScale: boolean,
): SimilarityFit | undefined {
  const n = from.length;
  if (n < 3 || to.length !== n) return undefined;
  const mean = (list: readonly Vec3[]): number[] => [0, 1, 2].map((k) => list.reduce((sum, q) => sum + q[k], 0) / n);
  const cf = mean(from),
    ct = mean(to);
  const m = new Float64Array(9);
  const spread = new Float64Array(9);
  let ff = 0;
  let tt = 0;
  for (let i = 0; i < n; i++) {
    const f = from[i].map((x, k) => x - cf[k]),
      t = to[i].map((x, k) => x - ct[k]);
    for (let r = 0; r < 3; r++) {
      ff += f[r] * f[r];
      tt += t[r] * t[r];
      for (let c = 0; c < 3; c++) {
        m[r * 3 + c] += f[r] * t[c];
        spread[r * 3 + c] += f[r] * f[c];
      }
    }
  }
  const { values } = eigenSymmetric(Array.from(spread), 3);
  if (!(values[1] > LINE_SHARE * values[0])) return undefined;
  const [xx, xy, xz, yx, yy, yz, zx, zy, zz] = m;
  const quaternion = eigenSymmetric(
    [
      xx + yy + zz,
      yz - zy,
      zx - xz,
      xy - yx,
      yz - zy,
      xx - yy - zz,
      xy + yx,
      zx + xz,
      zx - xz,
      xy + yx,
      yy - xx - zz,
      yz + zy,
      xy - yx,
      zx + xz,
      yz + zy,
      zz - xx - yy,
    ],
    4,
  );
  const [w, x, y, z] = quaternion.vectors[0];
  const turn = turnOf(x, y, z, w);
  const along = quaternion.values[0];
  const scale = withScale ? along / ff : 1;
  const meanSquare = Math.max(0, (withScale ? tt - (along * along) / ff : tt + ff - 2 * along) / n);
  const r = turn.map((q) => q * scale);
  const shift = [0, 1, 2].map((k) => ct[k] - (r[k * 4] * cf[0] + r[k * 4 + 1] * cf[1] + r[k * 4 + 2] * cf[2]));
  return {
    matrix: [r[0], r[1], r[2], shift[0], r[4], r[5], r[6], shift[1], r[8], r[9], r[10], shift[2], 0, 0, 0, 1],
    scale,
    meanSquare,
  };
}
