/** Open surfaces of known development. */
import type { Mesh } from '../../shared-types/mesh.ts';

/** Part of a sphere about z within the angle x of its pole, in rings of six more vertices each; seen from outside. */
export function cap(radius: number, x: number, rings: number): Mesh {
  const positions: number[] = [0, 0, radius];
  const triangles: number[] = [];
  const first = [0];
  for (let k = 1; k <= rings; k++) {
    first.push(positions.length / 3);
    for (let i = 0; i < 6 * k; i++) {
      const down = (x * k) / rings;
      const turn = (2 * Math.PI * i) / (6 * k);
      positions.push(
        radius * Math.sin(down) * Math.cos(turn),
        radius * Math.sin(down) * Math.sin(turn),
        radius * Math.cos(down),
      );
    }
  }
  const at = (k: number, i: number): number => (k === 0 ? 0 : first[k] + (i % (6 * k)));
  for (let k = 1; k <= rings; k++) {
    for (let side = 0; side < 6; side++) {
      for (let j = 0; j < k; j++) {
        const inner = at(k - 1, side * (k - 1) + j);
        triangles.push(inner, at(k, side * k + j), at(k, side * k + j + 1));
        if (j < k - 1) triangles.push(inner, at(k, side * k + j + 1), at(k - 1, side * (k - 1) + j + 1));
      }
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** Side of a frustum about z, open at both ends, of plane quads in halves; seen from outside. */
export function tube(bottom: number, top: number, height: number, sides: number, rows: number): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let j = 0; j <= rows; j++) {
    for (let i = 0; i < sides; i++) {
      const radius = bottom + ((top - bottom) * j) / rows;
      const turn = (2 * Math.PI * i) / sides;
      positions.push(radius * Math.cos(turn), radius * Math.sin(turn), (height * j) / rows);
    }
  }
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < sides; i++) {
      const a = j * sides + i,
        b = j * sides + ((i + 1) % sides);
      triangles.push(a, b, b + sides, a, b + sides, a + sides);
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** A square of side `size` in the plane z = 0, its middle at the origin, in `count` by `count` squares; height by `z`. */
export function field(size: number, count: number, z: (x: number, y: number) => number = () => 0): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let j = 0; j <= count; j++) {
    for (let i = 0; i <= count; i++) {
      const x = (i / count - 0.5) * size,
        y = (j / count - 0.5) * size;
      positions.push(x, y, z(x, y));
    }
  }
  for (let j = 0; j < count; j++) {
    for (let i = 0; i < count; i++) {
      const a = j * (count + 1) + i;
      triangles.push(a, a + 1, a + count + 2, a, a + count + 2, a + count + 1);
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}
