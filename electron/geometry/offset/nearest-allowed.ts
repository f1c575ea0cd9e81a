/** The nearest point that a few half-spaces allow: a quadratic programme in three unknowns, by trying which ones bind. */

export interface HalfSpaces {
  /** Unit, xyz each: allowed is where a point's height along the normal is at least `heights`. */
  readonly normals: Float64Array;
  readonly heights: Float64Array;
  count: number;
  /** Which of them bound last, the others -1: tried first, since queries come close together. */
  readonly binding: Int32Array;
}

export const noneBinds = (): Int32Array => new Int32Array(3).fill(-1);

/** By so little a half-space may be missed, mm. */
const SLACK_MM = 2 ** -20;
/** Gram determinants below this are of planes that are one. */
const SAME = 2 ** -40;

const found = new Float64Array(3);

/**
 * The point nearest to (x, y, z) in all half-spaces, valid until the next call; undefined where there is none. At most
 * three bind (Karush 1939, Kuhn and Tucker 1951): with weights not below 0, the one point so found is the nearest.
 * O(count) where those bind that did last, else O(count⁴), for few.
 */
export function nearestAllowed(
  { normals: n, heights, count, binding }: HalfSpaces,
  x: number,
  y: number,
  z: number,
): Float64Array | undefined {
  const lack = (i: number, px: number, py: number, pz: number): number =>
    heights[i] - n[i * 3] * px - n[i * 3 + 1] * py - n[i * 3 + 2] * pz;
  const dot = (i: number, j: number): number =>
    n[i * 3] * n[j * 3] + n[i * 3 + 1] * n[j * 3 + 1] + n[i * 3 + 2] * n[j * 3 + 2];
  const isAllowed = (px: number, py: number, pz: number): boolean => {
    for (let i = 0; i < count; i++) if (lack(i, px, py, pz) > SLACK_MM) return false;
    found[0] = px;
    found[1] = py;
    found[2] = pz;
    return true;
  };
  const at = (i: number, a: number, j: number, b: number, k: number, c: number): boolean =>
    isAllowed(
      x + a * n[i * 3] + b * n[j * 3] + c * n[k * 3],
      y + a * n[i * 3 + 1] + b * n[j * 3 + 1] + c * n[k * 3 + 1],
      z + a * n[i * 3 + 2] + b * n[j * 3 + 2] + c * n[k * 3 + 2],
    );
  const one = (i: number): boolean => {
    const a = lack(i, x, y, z);
    return a > 0 && at(i, a, i, 0, i, 0);
  };
  const two = (i: number, j: number): boolean => {
    const g = dot(i, j);
    const det = 1 - g * g;
    if (!(det > SAME)) return false;
    const [p, q] = [lack(i, x, y, z), lack(j, x, y, z)];
    const [a, b] = [(p - g * q) / det, (q - g * p) / det];
    return a >= 0 && b >= 0 && at(i, a, j, b, j, 0);
  };
  const three = (i: number, j: number, k: number): boolean => {
    const [f, g, h] = [dot(i, j), dot(i, k), dot(j, k)];
    const det = 1 + 2 * f * g * h - f * f - g * g - h * h;
    if (!(det > SAME)) return false;
    const [p, q, r] = [lack(i, x, y, z), lack(j, x, y, z), lack(k, x, y, z)];
    const a = ((1 - h * h) * p + (g * h - f) * q + (f * h - g) * r) / det;
    const b = ((g * h - f) * p + (1 - g * g) * q + (f * g - h) * r) / det;
    const c = ((f * h - g) * p + (f * g - h) * q + (1 - f * f) * r) / det;
    return a >= 0 && b >= 0 && c >= 0 && at(i, a, j, b, k, c);
  };
  if (isAllowed(x, y, z)) return found;
  const [l, m, o] = binding;
  if (Math.max(l, m, o) < count && (o >= 0 ? three(l, m, o) : m >= 0 ? two(l, m) : l >= 0 && one(l))) return found;
  const bind = (i: number, j: number, k: number): Float64Array => {
    binding[0] = i;
    binding[1] = j;
    binding[2] = k;
    return found;
  };
  for (let i = 0; i < count; i++) if (one(i)) return bind(i, -1, -1);
  for (let i = 0; i < count; i++) for (let j = i + 1; j < count; j++) if (two(i, j)) return bind(i, j, -1);
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      for (let k = j + 1; k < count; k++) if (three(i, j, k)) return bind(i, j, k);
    }
  }
  return undefined;
}
