/** The faces of a patch each in its own plane, and what a flat position of the vertices does to them. */
import type { Mesh } from '../../../shared-types/mesh.ts';

export interface FlatFrame {
  readonly triangles: Uint32Array;
  readonly vertexCount: number;
  /** Of each face, mm². */
  readonly area: Float64Array;
  /** Gradient of each corner's hat function in the face's own plane, x and y; 3 per face. */
  readonly gradX: Float64Array;
  readonly gradY: Float64Array;
}

/** Faces flatter than this (height over longest edge) tell nothing of how the patch lies and are left out. */
const LEAST_HEIGHT = 2 ** -14;

/**
 * Own planes of all faces: first edge along x, seen from outside. Faces without height get area 0 and no say.
 * O(faces).
 */
export function flatFrame(mesh: Mesh): FlatFrame {
  const { positions: p, triangles: t } = mesh;
  const area = new Float64Array(t.length / 3);
  const gradX = new Float64Array(t.length);
  const gradY = new Float64Array(t.length);
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const ux = p[b] - p[a],
      uy = p[b + 1] - p[a + 1],
      uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a],
      vy = p[c + 1] - p[a + 1],
      vz = p[c + 2] - p[a + 2];
    const length = Math.hypot(ux, uy, uz);
    const twice = Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
    const longest = Math.max(length, Math.hypot(vx, vy, vz), Math.hypot(vx - ux, vy - uy, vz - uz));
    if (!(twice > LEAST_HEIGHT * longest * longest)) continue;
    const x2 = (ux * vx + uy * vy + uz * vz) / length;
    const y2 = twice / length;
    area[f / 3] = twice / 2;
    gradX[f] = -y2 / twice;
    gradY[f] = (x2 - length) / twice;
    gradX[f + 1] = y2 / twice;
    gradY[f + 1] = -x2 / twice;
    gradY[f + 2] = length / twice;
  }
  return { triangles: t, vertexCount: p.length / 3, area, gradX, gradY };
}

/** Filled by `faceMap`: the map of a face from its own plane to the sheet, rows (a b) and (c d). */
export const faceMapOut = { a: 0, b: 0, c: 0, d: 0 };

/** The linear map of face `f` (3 times its number) for flat positions `flat`, uv pairs. */
export function faceMap(frame: FlatFrame, flat: Float64Array, f: number): void {
  const { triangles: t, gradX, gradY } = frame;
  let a = 0,
    b = 0,
    c = 0,
    d = 0;
  for (let k = f; k < f + 3; k++) {
    const u = flat[t[k] * 2],
      v = flat[t[k] * 2 + 1];
    a += u * gradX[k];
    b += u * gradY[k];
    c += v * gradX[k];
    d += v * gradY[k];
  }
  faceMapOut.a = a;
  faceMapOut.b = b;
  faceMapOut.c = c;
  faceMapOut.d = d;
}

export interface Strain {
  /** Principal stretches of each face, flat length over surface length: larger and smaller; 1 and 1 for faces left out. */
  readonly larger: Float64Array;
  readonly smaller: Float64Array;
  /** Largest stretch of all faces over the smallest: 1 for a sheet that only bends. */
  readonly ratio: number;
  /** What the sheet must give going from flat to the surface, as a share of its flat length, either way. */
  readonly most: number;
  /** The same, passed by one hundredth of the area only; and its mean over the area. */
  readonly p99: number;
  readonly mean: number;
  /** Faces that lie turned over. */
  readonly flipped: number;
}

/** Share by which a sheet stretched `sigma` times too long or short in the flat must give to lie on the surface. */
export function giveOf(larger: number, smaller: number): number {
  return Math.max(Math.abs(1 / larger - 1), Math.abs(1 / smaller - 1));
}

/** How a patch is strained by lying flat. O(faces log faces). */
export function measureStrain(frame: FlatFrame, flat: Float64Array): Strain {
  const count = frame.area.length;
  const larger = new Float64Array(count).fill(1);
  const smaller = new Float64Array(count).fill(1);
  const give = new Float64Array(count);
  let high = 0,
    low = Infinity,
    flipped = 0,
    total = 0,
    sum = 0;
  for (let face = 0; face < count; face++) {
    const area = frame.area[face];
    if (area === 0) continue;
    faceMap(frame, flat, face * 3);
    const { a, b, c, d } = faceMapOut;
    const turn = Math.hypot(a + d, c - b) / 2;
    const bend = Math.hypot(a - d, c + b) / 2;
    larger[face] = turn + bend;
    smaller[face] = turn - bend;
    if (turn <= bend) flipped++;
    give[face] = giveOf(larger[face], smaller[face]);
    high = Math.max(high, larger[face]);
    low = Math.min(low, smaller[face]);
    total += area;
    sum += area * give[face];
  }
  const order = Array.from(give.keys()).sort((i, j) => give[j] - give[i]);
  let passed = 0;
  let p99 = 0;
  for (const face of order) {
    passed += frame.area[face];
    p99 = give[face];
    if (passed > total / 100) break;
  }
  return {
    larger,
    smaller,
    ratio: count === 0 ? 1 : high / low,
    most: order.length === 0 ? 0 : give[order[0]],
    p99,
    mean: total > 0 ? sum / total : 0,
    flipped,
  };
}
