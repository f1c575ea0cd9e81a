/**
 * A closed line drawn on a form, made fair, and the ruled band through it in which a liner is cut.
 *
 * The line is a periodic cubic through the drawn points, twice continuously differentiable, over the chord lengths
 * between them (de Boor 1978, A Practical Guide to Splines, IV). It passes over hollows and through bumps between them:
 * laid on the form it would take over the form's roughness. The band stands on it along the form's normal, averaged along
 * the line so that folds of the skin do not turn it.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { SignedField } from './signed-field.ts';
import { faceWeights, nearestOnFace } from '../measure/point-triangle.ts';
import { dot } from '../mesh/vector.ts';

/** Distance between samples of the line, mm. */
const SAMPLE_MM = 1.5;
/** Normals are averaged over about so much of the line to either side, mm. */
const STEADY_MM = 12;
/** Drawn points nearer together than this are one. */
const SAME_MM = 0.5;
/** Steps within each of a piece between two points, to measure it. */
const FINE = 16;

export interface Line {
  /** xyz triples, evenly along the closed line; the first is not repeated. */
  readonly points: Float64Array;
  readonly lengthMm: number;
}

export interface RimCurve extends Line {
  /** The nearest points of the form, and its normals there, about unit. */
  readonly laid: Float64Array;
  readonly normals: Float64Array;
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
  const { points, lengthMm } = evenly(spline(places));
  const count = points.length / 3;
  const laid = new Float64Array(count * 3);
  const normals = new Float64Array(count * 3);
  for (let i = 0; i < count; i++) {
    field.formAt(points[i * 3], points[i * 3 + 1], points[i * 3 + 2]);
    laid.set([field.x, field.y, field.z], i * 3);
    // Between the normals of the face's corners: a face's own would turn from face to face.
    const { positions: p, triangles: t } = field.mesh;
    const corners = t.subarray(field.face * 3, field.face * 3 + 3);
    nearestOnFace(p, corners[0] * 3, corners[1] * 3, corners[2] * 3, field.x, field.y, field.z);
    for (let k = 0; k < 3; k++) {
      for (let c = 0; c < 3; c++) normals[i * 3 + k] += faceWeights[c] * field.cornerNormals[corners[c] * 3 + k];
    }
  }
  return { points, laid, normals, lengthMm };
}

/** Points evenly along a closed line of places, the first not repeated. O(points). */
export function evenly(places: readonly (readonly number[])[], stepMm = SAMPLE_MM): Line {
  const along = [0];
  for (let i = 0; i < places.length; i++) {
    along.push(along[i] + distance(places[i], places[(i + 1) % places.length]));
  }
  const lengthMm = along[places.length];
  const count = Math.max(24, Math.round(lengthMm / stepMm));
  const points = new Float64Array(count * 3);
  for (let i = 0, piece = 0; i < count; i++) {
    const at = (lengthMm * i) / count;
    while (along[piece + 1] < at) piece++;
    const s = (at - along[piece]) / (along[piece + 1] - along[piece]);
    const a = places[piece],
      b = places[(piece + 1) % places.length];
    for (let k = 0; k < 3; k++) points[i * 3 + k] = a[k] + s * (b[k] - a[k]);
  }
  return { points, lengthMm };
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

/**
 * Unit ways out, one per point: the normals averaged over about `steadyMm` of the line to either side, and kept square to
 * it if `isSquare`. What the mean takes off a steady bend is put back (twice the mean less its own mean: Tukey 1977,
 * "Exploratory Data Analysis", twicing). O(points · rounds).
 */
export function waysOut(curve: RimCurve, steadyMm = STEADY_MM, isSquare = true): Float64Array {
  const once = averaged(curve, curve.normals, steadyMm);
  const twice = averaged(curve, once, steadyMm);
  const { points } = curve;
  const count = points.length / 3;
  const outward = new Float64Array(points.length);
  for (let i = 0; i < count; i++) {
    const before = ((i + count - 1) % count) * 3,
      after = ((i + 1) % count) * 3;
    const d = [0, 1, 2].map((k) => 2 * once[i * 3 + k] - twice[i * 3 + k]);
    const along = [0, 1, 2].map((k) => points[after + k] - points[before + k]);
    const share = isSquare ? dot(d, along) / dot(along, along) : 0;
    for (let k = 0; k < 3; k++) d[k] -= share * along[k];
    const size = Math.hypot(d[0], d[1], d[2]) || 1;
    for (let k = 0; k < 3; k++) outward[i * 3 + k] = d[k] / size;
  }
  return outward;
}

/** Triples along a curve, each the mean of those round it in a bell `steadyMm` wide: repeated means of three come near it. */
export function averaged({ points, lengthMm }: Line, values: Float64Array, steadyMm: number): Float64Array {
  const count = points.length / 3;
  const stepMm = lengthMm / count;
  const rounds = Math.min(count * count, Math.ceil((1.5 * steadyMm * steadyMm) / (stepMm * stepMm)));
  let means = values;
  for (let round = 0; round < rounds; round++) {
    const next = new Float64Array(values.length);
    for (let i = 0; i < count; i++) {
      const before = ((i + count - 1) % count) * 3,
        after = ((i + 1) % count) * 3;
      for (let k = 0; k < 3; k++) next[i * 3 + k] = (means[before + k] + means[i * 3 + k] + means[after + k]) / 3;
    }
    means = next;
  }
  return means;
}

/** A band of faces along a curve: its lower edge first, then its upper, column by column. */
export interface RimBand {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  /** Unit, one per vertex: square to the band, to the left of the line seen from outside. */
  readonly leftward: Float64Array;
  /** Of each vertex: its place along the line, 0 to 1 (1 at the seam's second side), and height over it, mm. */
  readonly along: Float64Array;
  readonly heightMm: Float64Array;
  readonly columns: number;
}

/** The band of a curve along ways out, from `lowMm` to `highMm` over each of its points. O(points). */
export function bandOf(
  { points }: Pick<Line, 'points'>,
  outward: Float64Array,
  lowMm: Float64Array,
  highMm: Float64Array,
): RimBand {
  const count = points.length / 3;
  // The seam is doubled, so that places along the line can be interpolated over every face.
  const columns = count + 1;
  const positions = new Float64Array(columns * 6);
  const leftward = new Float64Array(positions.length);
  const along = new Float64Array(columns * 2);
  const heightMm = new Float64Array(columns * 2);
  const triangles: number[] = [];
  for (let i = 0; i < columns; i++) {
    for (const [row, heights] of [lowMm, highMm].entries()) {
      const v = row * columns + i;
      along[v] = i / count;
      heightMm[v] = heights[i % count];
      const place = (j: number, k: number): number => {
        const at = ((j + count) % count) * 3 + k;
        return points[at] + heightMm[v] * outward[at];
      };
      const t = [0, 1, 2].map((k) => place(i + 1, k) - place(i - 1, k));
      const d = outward.subarray((i % count) * 3, (i % count) * 3 + 3);
      const left = [d[1] * t[2] - d[2] * t[1], d[2] * t[0] - d[0] * t[2], d[0] * t[1] - d[1] * t[0]];
      const size = Math.hypot(left[0], left[1], left[2]) || 1;
      for (let k = 0; k < 3; k++) {
        positions[v * 3 + k] = place(i, k);
        leftward[v * 3 + k] = left[k] / size;
      }
    }
    if (i < count) triangles.push(i, i + 1, columns + i + 1, i, columns + i + 1, columns + i);
  }
  return { positions, triangles: Uint32Array.from(triangles), leftward, along, heightMm, columns };
}

/** A band's edges advance along the line at least by this share of it; else it nearly meets itself. */
const LEAST_ADVANCE = 0.2;

/** Whether the band runs along the line everywhere, so that it does not meet itself there. O(points). */
export function isUnfolded({ positions: p, columns }: RimBand, { points }: Line): boolean {
  for (let i = 0; i + 1 < columns; i++) {
    const [a, b] = [i * 3, ((i + 1) % (columns - 1)) * 3];
    const along = [0, 1, 2].map((k) => points[b + k] - points[a + k]);
    for (const row of [0, columns * 3]) {
      const edge = [0, 1, 2].map((k) => p[row + (i + 1) * 3 + k] - p[row + i * 3 + k]);
      if (dot(edge, along) < LEAST_ADVANCE * dot(along, along)) return false;
    }
  }
  return true;
}
