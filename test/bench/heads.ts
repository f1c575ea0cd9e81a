/** A closed, detailed, head-sized body with about the number of faces asked for, the same each time. */
import type { Mesh } from '../../shared-types/mesh.ts';

/** A bump at a direction: how high (mm) and how wide (radians). */
type Bump = readonly [x: number, y: number, z: number, heightMm: number, width: number];

const BUMPS: readonly Bump[] = [
  [1, 0, -0.1, 22, 0.16], // nose
  [0.93, 0.33, 0.14, -7, 0.14], // eye sockets
  [0.93, -0.33, 0.14, -7, 0.14],
  [0.95, 0, 0.3, 4, 0.3], // brow
  [0.9, 0, -0.42, 4, 0.12], // lips
  [0.86, 0, -0.47, -3, 0.05],
  [0.8, 0, -0.75, 9, 0.22], // chin
  [0.05, 1, 0, 16, 0.1], // ears
  [0.05, -1, 0, 16, 0.1],
  [0.07, 0.99, 0, -9, 0.05],
  [0.07, -0.99, 0, -9, 0.05],
  [-0.7, 0, -0.7, -10, 0.3], // nape
];

function radiusAt(x: number, y: number, z: number): number {
  let radius = 1 / Math.hypot(x / 97, y / 76, z / 112);
  for (const [bx, by, bz, height, width] of BUMPS) {
    const cosine = (x * bx + y * by + z * bz) / Math.hypot(bx, by, bz);
    const angle = Math.acos(Math.min(1, Math.max(-1, cosine)));
    radius += height * Math.exp(-((angle / width) ** 2));
  }
  // Strands and skin folds: detail down to about 5 mm.
  radius +=
    0.7 * Math.sin(17 * x + 5 * z) * Math.sin(13 * y - 4 * z) + 0.25 * Math.sin(41 * z + 9 * y) * Math.cos(37 * x);
  return radius;
}

/** Sphere-like grid on the six sides of a cube (12·n² faces), each vertex moved out to the head. */
export function headOf(faces: number): Mesh {
  const n = Math.max(2, Math.round(Math.sqrt(faces / 12)));
  const index = new Map<number, number>();
  const points: number[] = [];
  const triangles: number[] = [];
  const side = n + 1;
  const vertexAt = (i: number, j: number, k: number): number => {
    const key = (i * side + j) * side + k;
    let vertex = index.get(key);
    if (vertex === undefined) {
      vertex = points.length / 3;
      index.set(key, vertex);
      const [x, y, z] = [i, j, k].map((c) => Math.tan((Math.PI / 4) * ((2 * c) / n - 1)));
      const length = Math.hypot(x, y, z);
      const radius = radiusAt(x / length, y / length, z / length) / length;
      points.push(x * radius, y * radius, z * radius);
    }
    return vertex;
  };
  const quad = (a: number, b: number, c: number, d: number): void => {
    triangles.push(a, b, c, a, c, d);
  };
  for (let u = 0; u < n; u++) {
    for (let v = 0; v < n; v++) {
      const around = (make: (u: number, v: number) => number): void =>
        quad(make(u, v), make(u + 1, v), make(u + 1, v + 1), make(u, v + 1));
      around((a, b) => vertexAt(n, a, b));
      around((a, b) => vertexAt(0, b, a));
      around((a, b) => vertexAt(b, n, a));
      around((a, b) => vertexAt(a, 0, b));
      around((a, b) => vertexAt(a, b, n));
      around((a, b) => vertexAt(b, a, 0));
    }
  }
  return { positions: Float64Array.from(points), triangles: Uint32Array.from(triangles) };
}
