/** Small motions of a placed part, and how far a placement has come from another. */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { determinant3, invert, multiply, transformPoint } from '../mesh/transform.ts';

/**
 * The turn by a vector (its direction the axis, its length the angle in radians) about a fixed point, followed by a
 * shift. Rodrigues' formula.
 */
export function motion(about: Vec3, turn: Vec3, shift: Vec3): Matrix4 {
  const angle = Math.hypot(...turn);
  const [x, y, z] = angle > 0 ? turn.map((t) => t / angle) : [0, 0, 1];
  const s = Math.sin(angle),
    c = Math.cos(angle),
    d = 1 - c;
  const r = [
    c + x * x * d,
    x * y * d - z * s,
    x * z * d + y * s,
    y * x * d + z * s,
    c + y * y * d,
    y * z * d - x * s,
    z * x * d - y * s,
    z * y * d + x * s,
    c + z * z * d,
  ];
  const [px, py, pz] = about;
  const to = (k: number): number => about[k] + shift[k] - (r[k * 3] * px + r[k * 3 + 1] * py + r[k * 3 + 2] * pz);
  return [r[0], r[1], r[2], to(0), r[3], r[4], r[5], to(1), r[6], r[7], r[8], to(2), 0, 0, 0, 1];
}

/** The placement with the part grown by a factor about a point given in the placement's target coordinates. */
export function grown(placement: Matrix4, factor: number, about: Vec3): Matrix4 {
  return placement.map((value, i) => {
    const row = i >> 2;
    if (row === 3) return value;
    return (i & 3) === 3 ? about[row] + factor * (value - about[row]) : factor * value;
  });
}

/** Uniform factor of a placement. */
export function factorOf(placement: Matrix4): number {
  return Math.cbrt(Math.abs(determinant3(placement)));
}

/** How a placement differs from another: turn vector (radians) and shift of one point of the part, mm. */
export function apart(from: Matrix4, to: Matrix4, point: Vec3): { readonly turn: Vec3; readonly shift: Vec3 } {
  const way = multiply(to, invert(from));
  const f = factorOf(way);
  const r = way.map((value) => value / f);
  const cosine = Math.min(1, Math.max(-1, (r[0] + r[5] + r[10] - 1) / 2));
  const axis: Vec3 = [r[9] - r[6], r[2] - r[8], r[4] - r[1]];
  const length = Math.hypot(...axis);
  const angle = Math.acos(cosine);
  // At a half turn the axis cannot be read off this way; limits and reports are about small turns.
  const share = length > 0 ? angle / length : 0;
  const a = transformPoint(from, point),
    b = transformPoint(to, point);
  return { turn: [axis[0] * share, axis[1] * share, axis[2] * share], shift: [b[0] - a[0], b[1] - a[1], b[2] - a[2]] };
}

/** The 24 turns of a cube, as matrices about the origin. */
export function quarterTurns(): Matrix4[] {
  const turns: Matrix4[] = [];
  for (const [a, b] of [
    [0, 1],
    [0, 2],
    [1, 0],
    [1, 2],
    [2, 0],
    [2, 1],
  ]) {
    for (const sa of [1, -1]) {
      for (const sb of [1, -1]) {
        const m = new Array<number>(16).fill(0);
        m[a] = sa;
        m[4 + b] = sb;
        m[8 + (3 - a - b)] = 1;
        if (determinant3(m) < 0) m[8 + (3 - a - b)] = -1;
        m[15] = 1;
        turns.push(m);
      }
    }
  }
  return turns;
}
