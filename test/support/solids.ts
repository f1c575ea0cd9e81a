/** Exact bodies for tests: closed, outward, indexed. Sizes in mm. */
import type { Mesh } from '../../shared-types/mesh.ts';

function meshOf(positions: number[], triangles: number[]): Mesh {
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

/** Regular icosahedron with its vertices on a sphere of `radius`. */
export function icosahedron(radius: number): Mesh {
  const g = (1 + Math.sqrt(5)) / 2;
  const points = [
    [-1, g, 0],
    [1, g, 0],
    [-1, -g, 0],
    [1, -g, 0],
    [0, -1, g],
    [0, 1, g],
    [0, -1, -g],
    [0, 1, -g],
    [g, 0, -1],
    [g, 0, 1],
    [-g, 0, -1],
    [-g, 0, 1],
  ];
  const s = radius / Math.hypot(1, g);
  const triangles = [
    0, 11, 5, 0, 5, 1, 0, 1, 7, 0, 7, 10, 0, 10, 11, 1, 5, 9, 5, 11, 4, 11, 10, 2, 10, 7, 6, 7, 1, 8, 3, 9, 4, 3, 4, 2,
    3, 2, 6, 3, 6, 8, 3, 8, 9, 4, 9, 5, 2, 4, 11, 6, 2, 10, 8, 6, 7, 9, 8, 1,
  ];
  return meshOf(
    points.flat().map((x) => x * s),
    triangles,
  );
}

/** Split each face in four `times` over; new vertices at edge middles, passed through `place`. */
export function subdivide(
  mesh: Mesh,
  times: number,
  place: (x: number, y: number, z: number) => readonly number[],
): Mesh {
  let positions = Array.from(mesh.positions);
  let triangles = Array.from(mesh.triangles);
  for (let round = 0; round < times; round++) {
    const middles = new Map<number, number>();
    const count = positions.length / 3;
    const middle = (a: number, b: number): number => {
      const key = Math.min(a, b) * count + Math.max(a, b);
      let vertex = middles.get(key);
      if (vertex === undefined) {
        vertex = positions.length / 3;
        const at = [0, 1, 2].map((k) => (positions[a * 3 + k] + positions[b * 3 + k]) / 2);
        positions.push(...place(at[0], at[1], at[2]));
        middles.set(key, vertex);
      }
      return vertex;
    };
    const next: number[] = [];
    for (let f = 0; f < triangles.length; f += 3) {
      const [a, b, c] = [triangles[f], triangles[f + 1], triangles[f + 2]];
      const [ab, bc, ca] = [middle(a, b), middle(b, c), middle(c, a)];
      next.push(a, ab, ca, ab, b, bc, ca, bc, c, ab, bc, ca);
    }
    triangles = next;
    positions = positions.slice();
  }
  return meshOf(positions, triangles);
}

/** Sphere by subdividing an icosahedron: 20·4^levels faces, vertices exactly on the sphere. */
export function sphere(radius: number, levels: number): Mesh {
  return subdivide(icosahedron(radius), levels, (x, y, z) => {
    const s = radius / Math.hypot(x, y, z);
    return [x * s, y * s, z * s];
  });
}

/** Ellipsoid with semi-axes a, b, c, its vertices exactly on it. */
export function ellipsoid(a: number, b: number, c: number, levels: number): Mesh {
  const unit = sphere(1, levels);
  return { ...unit, positions: unit.positions.map((x, i) => x * [a, b, c][i % 3]) };
}

/** Box centred on the origin with the given edge lengths: 12 faces. */
export function box(x: number, y: number, z: number): Mesh {
  const positions: number[] = [];
  for (let i = 0; i < 8; i++) positions.push(((i & 1) - 0.5) * x, (((i >> 1) & 1) - 0.5) * y, ((i >> 2) - 0.5) * z);
  return meshOf(
    positions,
    [0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5],
  );
}

/** Closed cylinder along z, centred, with `sides` facets and `rings` rows. */
export function cylinder(radius: number, height: number, sides: number, rings = 1): Mesh {
  return frustum(radius, radius, height, sides, rings);
}

/** Closed frustum along z: radius `bottom` at -height/2, `top` at +height/2. */
export function frustum(bottom: number, top: number, height: number, sides: number, rings = 1): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let row = 0; row <= rings; row++) {
    const r = bottom + ((top - bottom) * row) / rings;
    for (let s = 0; s < sides; s++) {
      const angle = (2 * Math.PI * s) / sides;
      positions.push(r * Math.cos(angle), r * Math.sin(angle), -height / 2 + (height * row) / rings);
    }
  }
  for (let row = 0; row < rings; row++) {
    for (let s = 0; s < sides; s++) {
      const a = row * sides + s,
        b = row * sides + ((s + 1) % sides);
      triangles.push(a, b, a + sides, b, b + sides, a + sides);
    }
  }
  const low = positions.length / 3;
  positions.push(0, 0, -height / 2, 0, 0, height / 2);
  const last = rings * sides;
  for (let s = 0; s < sides; s++) {
    const n = (s + 1) % sides;
    triangles.push(low, n, s, low + 1, last + s, last + n);
  }
  return meshOf(positions, triangles);
}

/** Torus about z: ring radius `ring`, tube radius `tube`. */
export function torus(ring: number, tube: number, around: number, across: number): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i < around; i++) {
    const a = (2 * Math.PI * i) / around;
    for (let j = 0; j < across; j++) {
      const b = (2 * Math.PI * j) / across;
      const r = ring + tube * Math.cos(b);
      positions.push(r * Math.cos(a), r * Math.sin(a), tube * Math.sin(b));
    }
  }
  for (let i = 0; i < around; i++) {
    for (let j = 0; j < across; j++) {
      const a = i * across + j,
        b = i * across + ((j + 1) % across);
      const c = ((i + 1) % around) * across + j,
        d = ((i + 1) % around) * across + ((j + 1) % across);
      triangles.push(a, c, b, b, c, d);
    }
  }
  return meshOf(positions, triangles);
}

/** A square post of half-width 20 from z = -60 to 0 under a square head of half-width 30 up to z = 30. */
export function keyhole(): Mesh {
  const positions: number[] = [];
  for (const [half, z] of [
    [20, -60],
    [20, 0],
    [30, 0],
    [30, 30],
  ]) {
    positions.push(-half, -half, z, half, -half, z, half, half, z, -half, half, z);
  }
  const triangles: number[] = [0, 2, 1, 0, 3, 2, 12, 13, 14, 12, 14, 15];
  for (let ring = 0; ring < 12; ring += 4) {
    for (let k = 0; k < 4; k++) {
      const [a, b] = [ring + k, ring + ((k + 1) % 4)];
      triangles.push(a, b, b + 4, a, b + 4, a + 4);
    }
  }
  return meshOf(positions, triangles);
}

/** The same surface looking the other way: the wall of a void. */
export const inward = (mesh: Mesh): Mesh => ({
  ...mesh,
  triangles: mesh.triangles.map((_, i, t) => t[i % 3 === 1 ? i + 1 : i % 3 === 2 ? i - 1 : i] as number),
});
