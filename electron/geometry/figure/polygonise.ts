/**
 * The surface where a field is zero, as a closed mesh of about a wanted number of faces.
 *
 * The surface is followed from cube to cube, each cube cut in six tetrahedra along its diagonal, so every case is
 * plain and the mesh is manifold whatever the field. Vertices are then evened out along the surface and set on it;
 * where that would fold the mesh (found exactly) they go back to their places on the tetrahedra's edges, where no
 * crossing is possible.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';

/** Negative inside, mm or near it; continuous. */
export type Field = (x: number, y: number, z: number) => number;

/** Corners of the six tetrahedra of a cube (bit 0: x, 1: y, 2: z), all of positive volume. */
const TETRAHEDRA: readonly (readonly [number, number, number, number])[] = [
  [0, 1, 3, 7],
  [0, 3, 2, 7],
  [0, 2, 6, 7],
  [0, 6, 4, 7],
  [0, 4, 5, 7],
  [0, 5, 1, 7],
];
/** Orders of a tetrahedron's corners that keep its orientation, with the named ones in front. */
const EVEN_FIRST: readonly (readonly [number, number, number, number])[] = [
  [0, 1, 2, 3],
  [1, 0, 3, 2],
  [2, 3, 0, 1],
  [3, 2, 1, 0],
];
const EVEN_PAIR: Readonly<Record<number, readonly [number, number, number, number]>> = {
  3: [0, 1, 2, 3],
  5: [0, 2, 3, 1],
  9: [0, 3, 1, 2],
  6: [1, 2, 0, 3],
  10: [1, 3, 2, 0],
  12: [2, 3, 0, 1],
};
/** Grid coordinates fit in this many steps per axis, keys in 52 bits. */
const SPAN = 2048;
/** A vertex this near to a grid point (share of the edge) would make needles. */
const EDGE_MARGIN = 0.04;

const TRIAL_MM = 5;
const TRIALS = 4;
const COUNT_MARGIN = 0.04;

interface Raw {
  readonly positions: number[];
  readonly triangles: number[];
}

function follow(field: Field, start: Vec3, step: number): Raw {
  const half = SPAN / 2;
  const values = new Map<number, number>();
  const keyOf = (i: number, j: number, k: number): number => ((i + half) * SPAN + (j + half)) * SPAN + (k + half);
  const valueAt = (i: number, j: number, k: number): number => {
    const key = keyOf(i, j, k);
    let value = values.get(key);
    if (value === undefined) {
      value = field(i * step, j * step, k * step);
      values.set(key, value);
    }
    return value;
  };
  const onEdge = new Map<number, number>();
  const positions: number[] = [];
  const triangles: number[] = [];
  const vertexOn = (i: number, j: number, k: number, low: number, high: number): number => {
    const edge = low ^ high;
    const bi = i + (low & 1),
      bj = j + ((low >> 1) & 1),
      bk = k + (low >> 2);
    const key = keyOf(bi, bj, bk) * 8 + edge;
    const known = onEdge.get(key);
    if (known !== undefined) return known;
    const dx = (edge & 1) * step,
      dy = ((edge >> 1) & 1) * step,
      dz = (edge >> 2) * step;
    let from = 0,
      to = 1,
      atFrom = valueAt(bi, bj, bk),
      atTo = valueAt(bi + (edge & 1), bj + ((edge >> 1) & 1), bk + (edge >> 2));
    let t = atFrom / (atFrom - atTo);
    for (let round = 0; round < 2; round++) {
      const value = field(bi * step + t * dx, bj * step + t * dy, bk * step + t * dz);
      if (value < 0 === atFrom < 0) {
        from = t;
        atFrom = value;
      } else {
        to = t;
        atTo = value;
      }
      if (atFrom === atTo) break;
      t = from + ((to - from) * atFrom) / (atFrom - atTo);
    }
    t = Math.min(1 - EDGE_MARGIN, Math.max(EDGE_MARGIN, t));
    const vertex = positions.length / 3;
    positions.push(bi * step + t * dx, bj * step + t * dy, bk * step + t * dz);
    onEdge.set(key, vertex);
    return vertex;
  };
  const first: [number, number, number] = [
    Math.floor(start[0] / step),
    Math.floor(start[1] / step),
    Math.floor(start[2] / step),
  ];
  const seen = new Set<number>([keyOf(...first)]);
  const queue: number[] = [...first];
  const inside = new Uint8Array(8);
  while (queue.length > 0) {
    const k = queue.pop() as number,
      j = queue.pop() as number,
      i = queue.pop() as number;
    let mask = 0;
    for (let corner = 0; corner < 8; corner++) {
      inside[corner] = valueAt(i + (corner & 1), j + ((corner >> 1) & 1), k + (corner >> 2)) < 0 ? 1 : 0;
      mask |= inside[corner] << corner;
    }
    if (mask === 0 || mask === 255) continue;
    for (const tetrahedron of TETRAHEDRA) {
      let within = 0,
        count = 0;
      for (let corner = 0; corner < 4; corner++) {
        if (inside[tetrahedron[corner]]) {
          within |= 1 << corner;
          count++;
        }
      }
      if (count === 0 || count === 4) continue;
      const between = (a: number, b: number): number =>
        vertexOn(i, j, k, Math.min(tetrahedron[a], tetrahedron[b]), Math.max(tetrahedron[a], tetrahedron[b]));
      if (count === 2) {
        const [a, b, c, d] = EVEN_PAIR[within];
        const ac = between(a, c),
          ad = between(a, d),
          bd = between(b, d),
          bc = between(b, c);
        triangles.push(ac, ad, bd, ac, bd, bc);
      } else {
        const lone = count === 1 ? within : 15 ^ within;
        const [a, b, c, d] = EVEN_FIRST[31 - Math.clz32(lone)];
        if (count === 1) triangles.push(between(a, b), between(a, c), between(a, d));
        else triangles.push(between(a, b), between(a, d), between(a, c));
      }
    }
    const visit = (i2: number, j2: number, k2: number): void => {
      const key = keyOf(i2, j2, k2);
      if (seen.has(key)) return;
      seen.add(key);
      queue.push(i2, j2, k2);
    };
    const crosses = (side: number): boolean => (mask & side) !== 0 && (mask & side) !== side;
    if (crosses(0b10101010)) visit(i + 1, j, k);
    if (crosses(0b01010101)) visit(i - 1, j, k);
    if (crosses(0b11001100)) visit(i, j + 1, k);
    if (crosses(0b00110011)) visit(i, j - 1, k);
    if (crosses(0b11110000)) visit(i, j, k + 1);
    if (crosses(0b00001111)) visit(i, j, k - 1);
  }
  return { positions, triangles };
}

/** Evened out along the surface and set on it, twice. */
function settle(field: Field, raw: Raw, step: number): Float64Array {
  let positions = Float64Array.from(raw.positions);
  const { triangles } = raw;
  const reach = step * 0.5;
  const nudge = step * 0.05;
  for (let round = 0; round < 2; round++) {
    const sums = new Float64Array(positions.length);
    const counts = new Uint16Array(positions.length / 3);
    for (let f = 0; f < triangles.length; f += 3) {
      for (let corner = 0; corner < 3; corner++) {
        const from = triangles[f + corner] * 3,
          to = triangles[f + ((corner + 1) % 3)] * 3;
        for (let axis = 0; axis < 3; axis++) sums[to + axis] += positions[from + axis];
        counts[to / 3]++;
      }
    }
    const moved = new Float64Array(positions.length);
    for (let at = 0; at < positions.length; at += 3) {
      const count = counts[at / 3];
      let x = 0.4 * positions[at] + (0.6 * sums[at]) / count,
        y = 0.4 * positions[at + 1] + (0.6 * sums[at + 1]) / count,
        z = 0.4 * positions[at + 2] + (0.6 * sums[at + 2]) / count;
      for (let turn = 0; turn < 2; turn++) {
        const value = field(x, y, z);
        const gx = (field(x + nudge, y, z) - value) / nudge,
          gy = (field(x, y + nudge, z) - value) / nudge,
          gz = (field(x, y, z + nudge) - value) / nudge;
        const square = gx * gx + gy * gy + gz * gz;
        if (!(square > 0.01)) break;
        const back = Math.min(reach, Math.max(-reach, value / square));
        x -= back * gx;
        y -= back * gy;
        z -= back * gz;
      }
      const far = Math.hypot(x - raw.positions[at], y - raw.positions[at + 1], z - raw.positions[at + 2]);
      const share = far > step * 0.7 ? 0 : 1;
      moved[at] = share ? x : positions[at];
      moved[at + 1] = share ? y : positions[at + 1];
      moved[at + 2] = share ? z : positions[at + 2];
    }
    positions = moved;
  }
  return positions;
}

/**
 * @returns the closed surface around `start` (any point within a grid step of it), outward, single precision, free of
 * self-intersection; its number of faces comes within a few per cent of `faces`. Time grows with faces. Of the run only
 * the last part, looking for faces that cut, steps; the field is where the rest can.
 */
export function polygonise(field: Field, start: Vec3, faces: number, run: RunContext = QUIET_RUN): Mesh {
  // Thin parts come and go with the step, so the count is tried and put right.
  let step = TRIAL_MM;
  let raw: Raw = { positions: [], triangles: [] };
  for (let trial = 0; trial < TRIALS; trial++) {
    raw = follow(field, surfacePoint(field, start, step), step);
    const ratio = raw.triangles.length / 3 / faces;
    if (Math.abs(ratio - 1) < COUNT_MARGIN) break;
    if (trial < TRIALS - 1) step *= Math.sqrt(ratio);
  }
  const triangles = Uint32Array.from(raw.triangles);
  const positions = settle(field, raw, step);
  for (let round = 0; ; round++) {
    const mesh = roundToSingle({ positions, triangles });
    const crossings = findSelfIntersections(mesh, run);
    if (crossings.length === 0) return mesh;
    if (round === 12) throw new Error('the invented surface did not come out sound');
    // The crossing faces and, the longer it takes, the rings around them go back.
    const back = new Uint8Array(positions.length / 3);
    for (const face of crossings) for (let k = 0; k < 3; k++) back[triangles[face * 3 + k]] = 1;
    for (let ring = 0; ring < round; ring++) {
      const grown = back.slice();
      for (let f = 0; f < triangles.length; f += 3) {
        if (back[triangles[f]] || back[triangles[f + 1]] || back[triangles[f + 2]])
          for (let k = 0; k < 3; k++) grown[triangles[f + k]] = 1;
      }
      back.set(grown);
    }
    back.forEach((is, vertex) => {
      if (is) for (let axis = 0; axis < 3; axis++) positions[vertex * 3 + axis] = raw.positions[vertex * 3 + axis];
    });
  }
}

/** A point inside whose cube the surface passes: marched along -x from `start`, which must be outside. */
function surfacePoint(field: Field, start: Vec3, step: number): Vec3 {
  const y = Math.round(start[1] / step) * step,
    z = Math.round(start[2] / step) * step;
  for (let i = Math.ceil(start[0] / step); i > -SPAN / 2; i--) {
    if (field(i * step, y, z) < 0) return [(i + 0.5) * step, y + step / 2, z + step / 2];
  }
  throw new Error('the ray met no surface');
}
