/**
 * The method of conjugate gradients (Hestenes and Stiefel 1952) for a symmetric positive (semi)definite system given by
 * its product with a vector, scaled by its diagonal. Any partial answer from a start of 0 is a direction of descent,
 * which is why it serves inside a minimiser that checks each step itself.
 */
export interface SparseProduct {
  /** out = A x. */
  multiply(x: Float64Array, out: Float64Array): void;
  /** The diagonal of A; where it is 0 the unknown stays as it is. */
  readonly diagonal: Float64Array;
}

/**
 * Improve `x` until the residual has shrunk to `share` of the right side's size or `most` rounds are over.
 * O(rounds · entries). Gives the residual's share reached.
 */
export function conjugateGradient(
  system: SparseProduct,
  right: Float64Array,
  x: Float64Array,
  share: number,
  most: number,
  tick: () => void,
): number {
  const n = x.length;
  const r = new Float64Array(n);
  const z = new Float64Array(n);
  const d = new Float64Array(n);
  const q = new Float64Array(n);
  const inverse = Float64Array.from(system.diagonal, (value) => (value > 0 ? 1 / value : 0));
  system.multiply(x, q);
  let size = 0;
  let rz = 0;
  for (let i = 0; i < n; i++) {
    if (inverse[i] === 0) continue;
    r[i] = right[i] - q[i];
    z[i] = r[i] * inverse[i];
    d[i] = z[i];
    rz += r[i] * z[i];
    size += right[i] * right[i] * inverse[i];
  }
  if (size === 0) return 0;
  const goal = share * share * size;
  for (let round = 0; round < most && rz > goal; round++) {
    tick();
    system.multiply(d, q);
    let dq = 0;
    for (let i = 0; i < n; i++) if (inverse[i] !== 0) dq += d[i] * q[i];
    // Down to rounding a semidefinite system has directions without height.
    if (!(dq > 0)) break;
    const step = rz / dq;
    let next = 0;
    for (let i = 0; i < n; i++) {
      if (inverse[i] === 0) continue;
      x[i] += step * d[i];
      r[i] -= step * q[i];
      z[i] = r[i] * inverse[i];
      next += r[i] * z[i];
    }
    const turn = next / rz;
    rz = next;
    for (let i = 0; i < n; i++) d[i] = z[i] + turn * d[i];
  }
  return Math.sqrt(rz / size);
}
