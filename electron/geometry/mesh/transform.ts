import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';

export const IDENTITY: Matrix4 = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** The product a · b: first b, then a. */
export function multiply(a: Matrix4, b: Matrix4): Matrix4 {
  const product = new Array<number>(16).fill(0);
  for (let row = 0; row < 4; row++) {
    for (let column = 0; column < 4; column++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += a[row * 4 + k] * b[k * 4 + column];
      product[row * 4 + column] = sum;
    }
  }
  return product;
}

export function scaling(factor: number): Matrix4 {
  return [factor, 0, 0, 0, 0, factor, 0, 0, 0, 0, factor, 0, 0, 0, 0, 1];
}

export function translation(by: Vec3): Matrix4 {
  return [1, 0, 0, by[0], 0, 1, 0, by[1], 0, 0, 1, by[2], 0, 0, 0, 1];
}

/** The point that `m` (affine) takes `p` to. */
export function transformPoint(m: Matrix4, p: Vec3): Vec3 {
  return [
    m[0] * p[0] + m[1] * p[1] + m[2] * p[2] + m[3],
    m[4] * p[0] + m[5] * p[1] + m[6] * p[2] + m[7],
    m[8] * p[0] + m[9] * p[1] + m[10] * p[2] + m[11],
  ];
}

/** The turn of a unit quaternion (Hamilton 1844), its real part last. */
export function turnOf(x: number, y: number, z: number, w: number): Matrix4 {
  const first = [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w), 0];
  const second = [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w), 0];
  const third = [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y), 0];
  return first.concat(second, third, [0, 0, 0, 1]);
}

/** Determinant of the upper left 3 by 3: negative means a mirror. */
export function determinant3(m: Matrix4): number {
  return m[0] * (m[5] * m[10] - m[6] * m[9]) - m[1] * (m[4] * m[10] - m[6] * m[8]) + m[2] * (m[4] * m[9] - m[5] * m[8]);
}

/** Adjugate of a 3 by 3 matrix, both row by row: its inverse times its determinant. */
export const adjugate3 = (m: ArrayLike<number>): number[] => [
  m[4] * m[8] - m[5] * m[7],
  m[2] * m[7] - m[1] * m[8],
  m[1] * m[5] - m[2] * m[4],
  m[5] * m[6] - m[3] * m[8],
  m[0] * m[8] - m[2] * m[6],
  m[2] * m[3] - m[0] * m[5],
  m[3] * m[7] - m[4] * m[6],
  m[1] * m[6] - m[0] * m[7],
  m[0] * m[4] - m[1] * m[3],
];

/** Inverse of an affine matrix. Throws on a singular one (our own mistake, never the user's). */
export function invert(m: Matrix4): Matrix4 {
  const det = determinant3(m);
  if (!Number.isFinite(det) || det === 0) throw new Error('singular matrix');
  const c = adjugate3([m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]]).map((x) => x / det);
  const t = [0, 1, 2].map((r) => -(c[r * 3] * m[3] + c[r * 3 + 1] * m[7] + c[r * 3 + 2] * m[11]));
  return [c[0], c[1], c[2], t[0], c[3], c[4], c[5], t[1], c[6], c[7], c[8], t[2], 0, 0, 0, 1];
}

/** The mesh moved by an affine matrix; a mirror also turns the faces so that outside stays outside. */
export function transformMesh(m: Matrix4, mesh: Mesh): Mesh {
  const p = mesh.positions;
  const positions = new Float64Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    const x = p[i],
      y = p[i + 1],
      z = p[i + 2];
    positions[i] = m[0] * x + m[1] * y + m[2] * z + m[3];
    positions[i + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
    positions[i + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
  }
  if (determinant3(m) >= 0) return { ...mesh, positions };
  const triangles = mesh.triangles.slice();
  for (let f = 0; f < triangles.length; f += 3) {
    const keep = triangles[f + 1];
    triangles[f + 1] = triangles[f + 2];
    triangles[f + 2] = keep;
  }
  return { ...mesh, positions, triangles };
}

/** The mesh with its coordinates rounded to single precision, as mesh files hold them. */
export function roundToSingle(mesh: Mesh): Mesh {
  // By way of a single-precision array: several times faster than rounding one by one.
  return { ...mesh, positions: new Float64Array(new Float32Array(mesh.positions)) };
}
