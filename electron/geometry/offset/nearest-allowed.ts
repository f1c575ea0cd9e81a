/** The nearest point that a few half-spaces allow: a quadratic programme in three unknowns, by trying which ones bind. */

export interface HalfSpaces {
  /** Unit, xyz each: allowed is where a point's height along the normal is at least `heights`. */
  readonly normals: Float64Array;
  readonly heights: Float64Array;
  count: number;
}

/** By so little a half-space may be missed, mm. */
const SLACK_MM = 2 ** -20;
/** Gram determinants below this are of planes that are one. */
const SAME = 2 ** -40;

const found = new Float64Array(3);

/**
 * The point nearest to (x, y, z) in all half-spaces, valid until the next call; undefined where there is none. At most
 * three bind (Karush 1939, Kuhn and Tucker 1951): with weights not below 0, the one point so found is the nearest.
 * O(count⁴), for few.
 */
export function nearestAllowed(
  { normals: n, heights, count }: HalfSpaces,
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
  if (isAllowed(x, y, z)) return found;
  for (let i = 0; i < count; i++) {
    const a = lack(i, x, y, z);
    if (a > 0 && at(i, a, i, 0, i, 0)) return found;
  }
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      const g = dot(i, j);
      const det = 1 - g * g;
      if (!(det > SAME)) continue;
      const [p, q] = [lack(i, x, y, z), lack(j, x, y, z)];
      const [a, b] = [(p - g * q) / det, (q - g * p) / det];
      if (a >= 0 && b >= 0 && at(i, a, j, b, j, 0)) return found;
    }
  }
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      for (let k = j + 1; k < count; k++) {
        const [f, g, h] = [dot(i, j), dot(i, k), dot(j, k)];
        const det = 1 + 2 * f * g * h - f * f - g * g - h * h;
        if (!(det > SAME)) continue;
        const [p, q, r] = [lack(i, x, y, z), lack(j, x, y, z), lack(k, x, y, z)];
        const a = ((1 - h * h) * p + (g * h - f) * q + (f * h - g) * r) / det;
        const b = ((g * h - f) * p + (1 - g * g) * q + (f * g - h) * r) / det;
        const c = ((f * h - g) * p + (f * g - h) * q + (1 - f * f) * r) / det;
        if (a >= 0 && b >= 0 && c >= 0 && at(i, a, j, b, k, c)) return found;
      }
    }
  }
  return undefined;
}
