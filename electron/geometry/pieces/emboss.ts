/**
 * Writing raised on a surface: the faces under it are made fine and pushed outward under the strokes, with sloping
 * flanks. Nothing is joined on, so a closed surface stays closed; it cuts itself only if the relief is higher than the
 * surface is round, which the caller's proof would show.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { vertexNormals } from '../mesh/quantities.ts';
import { segmentsNear } from './segments-near.ts';

export interface Relief {
  /** Polylines on the sheet: x, y, x, y, mm. */
  readonly strokes: readonly (readonly number[])[];
  /** Width of a stroke's top, mm. */
  readonly strokeMm: number;
  readonly heightMm: number;
  /** Width of the slope on either side, mm. */
  readonly flankMm: number;
}

export interface OnSheet {
  readonly x: number;
  readonly y: number;
  /** Unit vector along which the relief rises: smoother than the surface's own normals, or rough places fold over. */
  readonly out: Vec3;
}

/** Where a point of the surface lies on the flat sheet that carries the writing; undefined off the sheet. */
export type SheetPlace = (point: Vec3, normal: Vec3) => OnSheet | undefined;

/** Rounds of halving: two make all edges half as long. */
const MOST_ROUNDS = 30;
/** Vertices whose places are asked for, and faces gone through, between two ticks. */
const TICK_VERTICES = 256;
const TICK_FACES = 2048;

/**
 * The mesh with the writing raised on it, new vertices single precision. Edges that come within reach of a stroke are
 * halved until they are shorter than `edgeMm`. O(faces + new faces · strokes nearby).
 */
export function emboss(mesh: Mesh, place: SheetPlace, relief: Relief, edgeMm: number, tick?: () => void): Mesh {
  const near = segmentsNear(relief.strokes, relief.strokeMm / 2 + relief.flankMm);
  const reach = relief.strokeMm / 2 + relief.flankMm;
  let fine = mesh;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    tick?.();
    const next = halveNear(fine, place, near.distance, reach, edgeMm, tick);
    if (next === undefined) break;
    fine = next;
  }
  const normals = vertexNormals(fine);
  const positions = Float64Array.from(fine.positions);
  for (let i = 0; i < positions.length; i += 3) {
    if (i % (3 * TICK_VERTICES) === 0) tick?.();
    const normal: Vec3 = [normals[i], normals[i + 1], normals[i + 2]];
    const at = place([fine.positions[i], fine.positions[i + 1], fine.positions[i + 2]], normal);
    if (at === undefined) continue;
    const off = near.distance(at.x, at.y) - relief.strokeMm / 2;
    const rise = Math.min(1, Math.max(0, 1 - off / relief.flankMm)) * relief.heightMm;
    if (rise === 0) continue;
    for (let k = 0; k < 3; k++) positions[i + k] = Math.fround(fine.positions[i + k] + rise * at.out[k]);
  }
  return { positions, triangles: fine.triangles };
}

/**
 * One round of halving longest edges near the strokes (Rivara 1984): a face is cut only across its longest edge first,
 * so that no face grows thinner than the thinnest there was, however often it is done. Undefined when all is fine.
 */
function halveNear(
  mesh: Mesh,
  place: SheetPlace,
  distance: (x: number, y: number) => number,
  reach: number,
  edgeMm: number,
  tick?: () => void,
): Mesh | undefined {
  const { positions: p, triangles: t } = mesh;
  const count = p.length / 3;
  const normals = vertexNormals(mesh);
  const sheet = new Float64Array(2 * count).fill(NaN);
  for (let v = 0; v < count; v++) {
    if (v % TICK_VERTICES === 0) tick?.();
    const i = 3 * v;
    const at = place([p[i], p[i + 1], p[i + 2]], [normals[i], normals[i + 1], normals[i + 2]]);
    if (at !== undefined) sheet.set([at.x, at.y], 2 * v);
  }
  const key = (a: number, b: number): number => (a < b ? a * count + b : b * count + a);
  const lengthOf = (a: number, b: number): number =>
    Math.hypot(p[3 * a] - p[3 * b], p[3 * a + 1] - p[3 * b + 1], p[3 * a + 2] - p[3 * b + 2]);
  const faces = t.length / 3;
  const middles = new Map<number, number>();
  const added: number[] = [];
  // Only a face with two corners at halved edges can have one: spares looking up nearly all of them.
  const atHalved = new Uint8Array(count);
  const mayBeCut = (face: number): boolean =>
    atHalved[t[3 * face]] + atHalved[t[3 * face + 1]] + atHalved[t[3 * face + 2]] >= 2;
  const halve = (a: number, b: number): void => {
    if (middles.has(key(a, b))) return;
    atHalved[a] = 1;
    atHalved[b] = 1;
    middles.set(key(a, b), count + added.length / 3);
    for (let c = 0; c < 3; c++) added.push(Math.fround((p[3 * a + c] + p[3 * b + c]) / 2));
  };
  const endsOf = (face: number, side: number): [number, number] => [t[3 * face + side], t[3 * face + ((side + 1) % 3)]];
  const longestOf = (face: number): { side: number; length: number } => {
    const lengths = [0, 1, 2].map((side) => lengthOf(...endsOf(face, side)));
    // Equal lengths are told apart by the edges' own names, the same for both neighbours.
    let side = 0;
    for (const other of [1, 2]) {
      const more = lengths[other] - lengths[side];
      if (more > 0 || (more === 0 && key(...endsOf(face, other)) > key(...endsOf(face, side)))) side = other;
    }
    return { side, length: lengths[side] };
  };
  const isOff = (v: number): boolean => Number.isNaN(sheet[2 * v]);
  for (let face = 0; face < faces; face++) {
    if (face % TICK_FACES === 0) tick?.();
    if (isOff(t[3 * face]) && isOff(t[3 * face + 1]) && isOff(t[3 * face + 2])) continue;
    const { side, length } = longestOf(face);
    if (length <= edgeMm) continue;
    const on = [...t.subarray(3 * face, 3 * face + 3)].filter((v) => !isOff(v));
    const x = on.reduce((sum, v) => sum + sheet[2 * v], 0) / on.length;
    const y = on.reduce((sum, v) => sum + sheet[2 * v + 1], 0) / on.length;
    // Only a face that a stroke could cross.
    if (distance(x, y) <= reach + length) halve(...endsOf(face, side));
  }
  if (middles.size === 0) return undefined;
  // A face with any edge cut has its longest cut as well.
  for (let before = 0; before < middles.size; ) {
    before = middles.size;
    for (let face = 0; face < faces; face++) {
      if (face % TICK_FACES === 0) tick?.();
      if (!mayBeCut(face)) continue;
      if ([0, 1, 2].some((side) => middles.has(key(...endsOf(face, side))))) {
        halve(...endsOf(face, longestOf(face).side));
      }
    }
  }
  const triangles: number[] = [];
  for (let face = 0; face < faces; face++) {
    if (face % TICK_FACES === 0) tick?.();
    if (!mayBeCut(face)) {
      triangles.push(t[3 * face], t[3 * face + 1], t[3 * face + 2]);
      continue;
    }
    const { side } = longestOf(face);
    const [i, j, l] = [0, 1, 2].map((k) => t[3 * face + ((side + k) % 3)]);
    const m = middles.get(key(i, j));
    if (m === undefined) {
      triangles.push(i, j, l);
      continue;
    }
    const [r, q] = [middles.get(key(j, l)), middles.get(key(l, i))];
    if (q === undefined) triangles.push(i, m, l);
    else triangles.push(i, m, q, m, l, q);
    if (r === undefined) triangles.push(m, j, l);
    else triangles.push(m, j, r, m, r, l);
  }
  const positions = new Float64Array(p.length + added.length);
  positions.set(p);
  positions.set(added, p.length);
  return { positions, triangles: Uint32Array.from(triangles) };
}
