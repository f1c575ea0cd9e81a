/**
 * A closed line drawn on a form, made fair, and the narrow band through it that tells on which side of the line a
 * point of the form lies.
 *
 * The line is a periodic cubic through the drawn points, twice continuously differentiable, over the chord lengths
 * between them (de Boor 1978, A Practical Guide to Splines, IV), laid on the form by its nearest points. The band
 * stands on the form along its normal, averaged along the line so that folds of the skin do not turn it, square to
 * the line.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { SignedField } from './signed-field.ts';
import { dot } from '../mesh/vector.ts';

/** Distance between samples of the line, mm. */
const SAMPLE_MM = 1.5;
/** Normals are averaged over about so much of the line to either side, mm. */
const STEADY_MM = 12;
/** Drawn points nearer together than this are one. */
const SAME_MM = 0.5;
/** Steps within each of a piece between two points, to measure it. */
const FINE = 16;

export interface RimCurve {
  /** xyz triples, evenly along the closed line; the first is not repeated. */
  readonly points: Float64Array;
  /** Unit, one per point, away from the form. */
  readonly outward: Float64Array;
  readonly lengthMm: number;
}

/** The fair line through drawn points; undefined for fewer than three places. O(points of the line · log n). */
export function fairRim(drawn: readonly Vec3[], field: SignedField): RimCurve | undefined {
  const places: number[][] = [];
  for (const [x, y, z] of drawn) {
    field.formAt(x, y, z);
    const place = [field.x, field.y, field.z];
    if (places.every((other) => distance(place, other) > SAME_MM)) places.push(place);
  }
  if (places.length < 3) return undefined;
  const coarse = spline(places);
  // Evenly along its length.
  const along = [0];
  for (let i = 0; i < coarse.length; i++) {
    along.push(along[i] + distance(coarse[i], coarse[(i + 1) % coarse.length]));
  }
  const lengthMm = along[coarse.length];
  const count = Math.max(24, Math.round(lengthMm / SAMPLE_MM));
  const points = new Float64Array(count * 3);
  for (let i = 0, piece = 0; i < count; i++) {
    const at = (lengthMm * i) / count;
    while (along[piece + 1] < at) piece++;
    const s = (at - along[piece]) / (along[piece + 1] - along[piece]);
    const a = coarse[piece],
      b = coarse[(piece + 1) % coarse.length];
    field.formAt(a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1]), a[2] + s * (b[2] - a[2]));
    points.set([field.x, field.y, field.z], i * 3);
  }
  return { points, outward: outwardOf(points, lengthMm / count, field), lengthMm };
}

const distance = (a: readonly number[], b: readonly number[]): number =>
  Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** Periodic cubic spline through the places, FINE points a piece. */
function spline(places: readonly (readonly number[])[]): number[][] {
  const n = places.length;
  const h = places.map((place, i) => distance(place, places[(i + 1) % n]));
  // Second derivatives at the places: a cyclic, diagonally dominant system, by Gauss-Seidel.
  const bend = places.map(() => [0, 0, 0]);
  for (let round = 0; round < 60; round++) {
    for (let i = 0; i < n; i++) {
      const before = (i + n - 1) % n,
        after = (i + 1) % n;
      for (let k = 0; k < 3; k++) {
        const turn = 6 * ((places[after][k] - places[i][k]) / h[i] - (places[i][k] - places[before][k]) / h[before]);
        bend[i][k] = (turn - h[before] * bend[before][k] - h[i] * bend[after][k]) / (2 * (h[before] + h[i]));
      }
    }
  }
  const points: number[][] = [];
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    for (let step = 0; step < FINE; step++) {
      const t = step / FINE,
        s = 1 - t;
      points.push(
        [0, 1, 2].map(
          (k) =>
            s * places[i][k] +
            t * places[j][k] +
            ((h[i] * h[i]) / 6) * ((s * s * s - s) * bend[i][k] + (t * t * t - t) * bend[j][k]),
        ),
      );
    }
  }
  return points;
}

function outwardOf(points: Float64Array, stepMm: number, field: SignedField): Float64Array {
  const count = points.length / 3;
  let outward = new Float64Array(points.length);
  for (let i = 0; i < count; i++) {
    field.formAt(points[i * 3], points[i * 3 + 1], points[i * 3 + 2]);
    for (let k = 0; k < 3; k++) outward[i * 3 + k] = field.normal(field.face, k);
  }
  // Repeated means of three come near a bell as wide as wanted.
  const rounds = Math.min(count * 4, Math.ceil((1.5 * STEADY_MM * STEADY_MM) / (stepMm * stepMm)));
  for (let round = 0; round <= rounds; round++) {
    const next = new Float64Array(points.length);
    for (let i = 0; i < count; i++) {
      const before = ((i + count - 1) % count) * 3,
        after = ((i + 1) % count) * 3;
      const d = [0, 1, 2].map((k) => outward[before + k] + outward[i * 3 + k] + outward[after + k]);
      const along = [0, 1, 2].map((k) => points[after + k] - points[before + k]);
      const share = dot(d, along) / dot(along, along);
      for (let k = 0; k < 3; k++) d[k] -= share * along[k];
      const size = Math.hypot(d[0], d[1], d[2]) || 1;
      for (let k = 0; k < 3; k++) next[i * 3 + k] = d[k] / size;
    }
    outward = next;
  }
  return outward;
}

/** A band of faces along a curve, as high within the form as over it. */
export interface RimBand {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  /** Unit, one per vertex: square to the band, to the left of the line seen from outside. */
  readonly leftward: Float64Array;
  /** Place of each vertex along the line, 0 to 1 (1 at the seam's second side). */
  readonly along: Float64Array;
}

/** The band of a curve, up to `halfMm` from it. O(points). */
export function bandOf({ points, outward }: RimCurve, halfMm: number): RimBand {
  const count = points.length / 3;
  // The seam is doubled, so that places along the line can be interpolated over every face.
  const columns = count + 1;
  const positions = new Float64Array(columns * 6);
  const leftward = new Float64Array(positions.length);
  const along = new Float64Array(columns * 2);
  const triangles: number[] = [];
  for (let i = 0; i < columns; i++) {
    const at = (i % count) * 3,
      before = ((i + count - 1) % count) * 3,
      after = ((i + 1) % count) * 3;
    const t = [0, 1, 2].map((k) => points[after + k] - points[before + k]);
    const d = [0, 1, 2].map((k) => outward[at + k]);
    const left = [d[1] * t[2] - d[2] * t[1], d[2] * t[0] - d[0] * t[2], d[0] * t[1] - d[1] * t[0]];
    const size = Math.hypot(left[0], left[1], left[2]) || 1;
    for (const [row, height] of [-halfMm, halfMm].entries()) {
      const v = row * columns + i;
      along[v] = i / count;
      for (let k = 0; k < 3; k++) {
        positions[v * 3 + k] = points[at + k] + height * d[k];
        leftward[v * 3 + k] = left[k] / size;
      }
    }
    if (i < count) triangles.push(i, i + 1, columns + i + 1, i, columns + i + 1, columns + i);
  }
  return { positions, triangles: Uint32Array.from(triangles), leftward, along };
}
