/**
 * How far a liner lies from the form, measured at a seeded random place inside every face and at the middle of every
 * edge; and the other way, from points known to be on the true offset to the liner.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { areaOf } from '../mesh/quantities.ts';
import { findTwins } from '../mesh/twins.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import type { SignedField } from './signed-field.ts';

export const MEASURE_PHASE = 'measure';
const STRIDE = 1023;
/** Points of the true offset that are tried against the liner, at most. */
const MOST_TRUE_POINTS = 60_000;
/** Between vertices and face middles they are so far apart that about so many lie on the form. */
const PLACES_BETWEEN = 8000;
/** A point counts as on the true offset when nothing of the form is nearer by more than this, mm. */
const ON_OFFSET_MM = 2 ** -20;

/** Where the thickness differs, a point of the offset is sought along the normal until it moves less than this. */
const SHIFT_STEADY_MM = 2 ** -23;
const SHIFT_ROUNDS = 60;

/** Places missing by less are not looked into, and no more than so many; gaps are narrow up to so much, and measured to so much, mm. */
const LEAST_MISSING_MM = 0.3;
const MOST_GAPS = 256;
const MOST_GAP_MM = 12;
const GAP_SLACK_MM = 2 ** -9;

export interface OffsetEvidence {
  /** Distance from the form: least and largest of all samples, mean over the liner's area. */
  readonly minMm: number;
  readonly maxMm: number;
  readonly meanMm: number;
  readonly maxAbsErrorMm: number;
  /** Where that is, on the liner. */
  readonly maxAbsErrorAt: Vec3;
  readonly meanAbsErrorMm: number;
  readonly p99AbsErrorMm: number;
  readonly samples: number;
  /**
   * Largest distance from a point of the true offset to the liner, and how many were tried; those round an enclosed
   * pocket, which the liner leaves out, count too.
   */
  readonly missingMaxMm: number;
  readonly missingSamples: number;
  /**
   * Of what is missing by at least half as much: where it is widest, and how wide it is there, a gap or inward a hollow, by the
   * largest ball that touches the offset there and is clear of it; undefined where nothing is missing, the width
   * also from 12 mm on.
   */
  readonly missingAt: Vec3 | undefined;
  readonly missingGapMm: number | undefined;
}

/** Seeded number in 0..1 from a whole number (murmur finaliser). */
function spread(n: number): number {
  let h = Math.imul(n + 1, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

/**
 * Measure `liner` against the offset of the field's form, mm; `tree`: one over the liner, if there is one already.
 * O((faces of both) log n).
 */
export function measureOffset(
  field: SignedField,
  offset: number,
  liner: Mesh,
  run: RunContext,
  tree: Bvh = buildBvh(liner),
): OffsetEvidence {
  const { positions: p, triangles: t } = liner;
  const faces = t.length / 3;
  const errors = new Float32Array(faces * 2.5 + 1);
  let samples = 0;
  let low = Infinity,
    high = -Infinity,
    sum = 0;
  let [area, thick] = [0, 0];
  let [worst, worstX, worstY, worstZ] = [-1, 0, 0, 0];
  let within = Infinity;
  const take = (x: number, y: number, z: number): void => {
    const d = field.at(x, y, z, within);
    if (field.formMm < low) low = field.formMm;
    if (field.formMm > high) high = field.formMm;
    const error = Math.abs(d - offset);
    if (error > worst) [worst, worstX, worstY, worstZ] = [error, x, y, z];
    sum += error;
    errors[samples++] = error;
  };
  const near = (x: number, y: number, z: number): number => {
    const dx = x - field.x,
      dy = y - field.y,
      dz = z - field.z;
    return Math.sqrt(dx * dx + dy * dy + dz * dz);
  };
  for (let f = 0; f < faces; f++) {
    if ((f & STRIDE) === 0) run.step(MEASURE_PHASE, (0.8 * f) / faces, 1);
    const a = t[f * 3] * 3,
      b = t[f * 3 + 1] * 3,
      c = t[f * 3 + 2] * 3;
    let u = spread(2 * f),
      v = spread(2 * f + 1);
    if (u + v > 1) {
      u = 1 - u;
      v = 1 - v;
    }
    const w = 1 - u - v;
    let x = w * p[a] + u * p[b] + v * p[c],
      y = w * p[a + 1] + u * p[b + 1] + v * p[c + 1],
      z = w * p[a + 2] + u * p[b + 2] + v * p[c + 2];
    // The foot of the point before is a distance known to suffice.
    within = samples > 0 ? near(x, y, z) : Infinity;
    take(x, y, z);
    const faceArea = faceCross(p, t, f * 3) / 2;
    area += faceArea;
    thick += faceArea * field.formMm;
    for (let k = 0; k < 3; k++) {
      const i = t[f * 3 + k],
        j = t[f * 3 + ((k + 1) % 3)];
      if (i > j) continue;
      x = (p[i * 3] + p[j * 3]) / 2;
      y = (p[i * 3 + 1] + p[j * 3 + 1]) / 2;
      z = (p[i * 3 + 2] + p[j * 3 + 2]) / 2;
      within = near(x, y, z);
      take(x, y, z);
    }
  }
  const sorted = errors.subarray(0, samples).sort();
  const spacing = Math.sqrt(Math.max(areaOf(field.mesh), areaOf(liner)) / PLACES_BETWEEN);
  const missing = measureMissing(field, offset, tree, spacing, run);
  return {
    minMm: low,
    maxMm: high,
    meanMm: area === 0 ? 0 : thick / area,
    maxAbsErrorMm: sorted[samples - 1],
    maxAbsErrorAt: [worstX, worstY, worstZ],
    meanAbsErrorMm: sum / samples,
    p99AbsErrorMm: sorted[Math.floor(0.99 * (samples - 1))],
    samples,
    ...missing,
  };
}

/** Points at |offset| along the normals of vertices and faces: xyz and the normal. Whether they are true `isTrue` tells. */
export function* truePoints(field: SignedField, offset: number, every = 1): Generator<readonly number[]> {
  const { positions: p, triangles: t } = field.mesh;
  const normals = field.cornerNormals;
  const point = [0, 0, 0, 0, 0, 0];
  const foot = [0, 0, 0];
  const vertexCount = p.length / 3;
  for (let n = 0; n < vertexCount + t.length / 3; n += every) {
    const f = n - vertexCount;
    for (let k = 0; k < 3; k++) {
      point[3 + k] = f < 0 ? normals[n * 3 + k] : field.normal(f, k);
      const at = f < 0 ? p[n * 3 + k] : (p[t[f * 3] * 3 + k] + p[t[f * 3 + 1] * 3 + k] + p[t[f * 3 + 2] * 3 + k]) / 3;
      foot[k] = at;
    }
    moveOut(field, offset, foot, point);
    yield point;
  }
}

/** Put a point where the offset is along its normal (`point` from 3 on) from a place of the form. */
function moveOut(field: SignedField, offset: number, foot: readonly number[], point: number[]): void {
  let reach = offset;
  for (let round = 0; round < SHIFT_ROUNDS; round++) {
    for (let k = 0; k < 3; k++) point[k] = foot[k] + reach * point[3 + k];
    const next = offset + field.shift(point[0], point[1], point[2], reach);
    if (Math.abs(next - reach) < SHIFT_STEADY_MM) break;
    reach = next;
  }
}

/**
 * The same from places within large faces and along and round their edges, where vertices and face middles lie farther apart than
 * `spacing` mm.
 */
function* pointsBetween(field: SignedField, offset: number, spacing: number): Generator<readonly number[]> {
  const { positions: p, triangles: t } = field.mesh;
  const { twin } = findTwins(t, p.length / 3);
  const point = [0, 0, 0, 0, 0, 0];
  const foot = [0, 0, 0];
  const put = (a: number, b: number, c: number, wb: number, wc: number): readonly number[] => {
    for (let k = 0; k < 3; k++) foot[k] = (1 - wb - wc) * p[a * 3 + k] + wb * p[b * 3 + k] + wc * p[c * 3 + k];
    moveOut(field, offset, foot, point);
    return point;
  };
  for (let h = 0; h < t.length; h += 3) {
    let most = 0;
    for (let e = h; e < h + 3; e++) {
      const a = t[e],
        b = t[e === h + 2 ? h : e + 1];
      const length = Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);
      most = Math.max(most, length);
      const f = (h / 3) | 0,
        g = (twin[e] / 3) | 0;
      // Each edge from one side.
      if (twin[e] < e) continue;
      const along = Math.ceil(length / spacing);
      let dot = 0;
      for (let k = 0; k < 3; k++) dot += field.normal(f, k) * field.normal(g, k);
      const round = Math.ceil((Math.acos(Math.max(-1, Math.min(1, dot))) * Math.abs(offset)) / spacing);
      if (along * round < 2) continue;
      for (let i = 0; i < along; i++) {
        for (let j = 0; j < round; j++) {
          const s = (j + 0.5) / round;
          for (let k = 0; k < 3; k++) point[3 + k] = (1 - s) * field.normal(f, k) + s * field.normal(g, k);
          const size = Math.hypot(point[3], point[4], point[5]);
          if (size === 0) continue;
          for (let k = 3; k < 6; k++) point[k] /= size;
          yield put(a, b, b, (i + 0.5) / along, 0);
        }
      }
    }
    const rows = Math.ceil(most / spacing);
    if (rows < 2) continue;
    for (let k = 0; k < 3; k++) point[3 + k] = field.normal((h / 3) | 0, k);
    for (let i = 0; i < rows; i++) {
      for (let j = 0; j < rows - i; j++) {
        yield put(t[h], t[h + 1], t[h + 2], (i + 1 / 3) / rows, (j + 1 / 3) / rows);
      }
    }
  }
}

/** Whether a point at |offset| from a known point of the form is on the true offset. */
export function isTrue(field: SignedField, offset: number, point: readonly number[]): boolean {
  const d = field.at(point[0], point[1], point[2], Math.abs(offset) + ON_OFFSET_MM);
  return Math.abs(d - offset) < ON_OFFSET_MM;
}

function measureMissing(
  field: SignedField,
  offset: number,
  tree: Bvh,
  spacing: number,
  run: RunContext,
): Pick<OffsetEvidence, 'missingMaxMm' | 'missingSamples' | 'missingAt' | 'missingGapMm'> {
  const slot = nearestSlot();
  const all = (field.mesh.positions.length + field.mesh.triangles.length) / 3;
  let worst = 0;
  const far: { readonly point: readonly number[]; readonly away: number }[] = [];
  let count = 0;
  let tried = 0;
  for (const points of [
    truePoints(field, offset, Math.ceil(all / MOST_TRUE_POINTS)),
    pointsBetween(field, offset, spacing),
  ]) {
    for (const point of points) {
      if ((tried++ & STRIDE) === 0) run.step(MEASURE_PHASE, 0.8 + (0.2 * tried) / MOST_TRUE_POINTS, 1);
      if (!isTrue(field, offset, point)) continue;
      count++;
      findNearest(tree, point[0], point[1], point[2], slot);
      if (slot.distance > worst) worst = slot.distance;
      if (slot.distance > Math.max(LEAST_MISSING_MM, worst / 2))
        far.push({ point: point.slice(), away: slot.distance });
    }
  }
  const wide = far.flatMap(({ point, away }) => (2 * away >= worst ? [point] : []));
  return { missingMaxMm: worst, missingSamples: count, ...widestOf(field, offset, wide) };
}

/** The widest of some places of the offset that are missing, a few of them tried. */
function widestOf(
  field: SignedField,
  offset: number,
  points: readonly (readonly number[])[],
): Pick<OffsetEvidence, 'missingAt' | 'missingGapMm'> {
  let missingAt: Vec3 | undefined;
  let missingGapMm = 0;
  const every = Math.ceil(points.length / MOST_GAPS);
  for (let i = 0; i < points.length; i += every) {
    const gap = gapAt(field, offset, points[i]);
    if (gap <= missingGapMm) continue;
    missingGapMm = gap;
    missingAt = [points[i][0], points[i][1], points[i][2]];
  }
  return { missingAt, missingGapMm: missingAt === undefined || missingGapMm > MOST_GAP_MM ? undefined : missingGapMm };
}

/** How wide it is at a point of the offset: the largest ball that touches it there and is clear of it, mm; Infinity beyond `MOST_GAP_MM`. */
function gapAt(field: SignedField, offset: number, [x, y, z, nx, ny, nz]: readonly number[]): number {
  const side = offset < 0 ? -1 : 1;
  const isClear = (radius: number): boolean => {
    const s = side * radius;
    return side * (field.at(x + s * nx, y + s * ny, z + s * nz) - offset) > radius - GAP_SLACK_MM;
  };
  let [low, high] = [0, MOST_GAP_MM / 2];
  if (isClear(high)) return Infinity;
  while (high - low > GAP_SLACK_MM) {
    const middle = (low + high) / 2;
    if (isClear(middle)) low = middle;
    else high = middle;
  }
  return low + high;
}
