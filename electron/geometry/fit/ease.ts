/**
 * The ease of a placed part: the gap between it and the body, signed, both ways. From part to body it is the distance
 * of every point of the part from the body, negative inside; its least is taken over whole faces and exact. From body
 * to part it is the distance of the covered skin from the part's inner side, negative where the skin lies beyond it.
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { faceNormals, vertexNormals } from '../mesh/quantities.ts';
import { IDENTITY, transformMesh, transformPoint } from '../mesh/transform.ts';
import { buildBvh, castRay, findNearest, nearestSlot, type RayHit } from '../spatial/bvh.ts';
import { facingBody } from './facing.ts';
import { cornersOf, FaceGaps } from './gap-points.ts';
import { areaPoints } from './part-points.ts';
import { fittingBody, wornPart, type FittingBody, type WornPart } from './worn.ts';

export interface EaseOptions {
  /** Part's coordinates (true mm) to the body's. */
  readonly placement: Matrix4;
  /** Room that the padding needs once pressed together, mm: where the gap is smaller, it pinches. */
  readonly neededMm?: number;
  /** Width of the histogram's bars, mm. */
  readonly barMm?: number;
  /** Only what is told of the whole: no gap at each vertex, and the other way only where the two meet. */
  readonly inShort?: boolean;
}

export interface RegionEase {
  readonly region: string;
  readonly leastMm: number;
  readonly meanMm: number;
  readonly areaMm2: number;
}

export interface Pinch {
  readonly region: string;
  /** Gap at its worst. */
  readonly leastMm: number;
  /** What is missing there. */
  readonly shortMm: number;
  /** Of the part's inner side. */
  readonly areaMm2: number;
  /** On the part, body's coordinates. */
  readonly at: Vec3;
}

export interface EaseReport {
  /** The least gap both ways: exact where they are apart; where not, how deep one goes into the other, negative. */
  readonly leastEaseMm: number;
  readonly at: Vec3;
  readonly region: string;
  /** Over the part's inner side, by area. */
  readonly meanEaseMm: number;
  readonly medianEaseMm: number;
  readonly unevenMm: number;
  /** Share of the inner side's area inside the body. */
  readonly insideShare: number;
  /** Area of the part that looks at the body. */
  readonly innerAreaMm2: number;
  readonly regions: readonly RegionEase[];
  readonly pinches: readonly Pinch[];
  readonly histogram: readonly { readonly fromMm: number; readonly toMm: number; readonly share: number }[];
  /** The other way: over the skin that the part covers. Null where it covers none. */
  readonly body: {
    readonly leastMm: number;
    readonly meanMm: number;
    readonly coveredMm2: number;
    readonly at: Vec3;
  } | null;
  /** Gap at each vertex of the part, mm; empty in short. */
  readonly perVertexMm: Float64Array;
  /** Gap over each vertex of the body, NaN where the part does not cover it. */
  readonly bodyPerVertexMm: Float64Array;
  /** 1 for each face of the part that looks at the body. */
  readonly inner: Uint8Array;
  readonly samples: number;
}

export const EASE_PHASES: Phases = { 'inner side': 0.25, gap: 0.5, 'the other way': 0.25 };

/** Pieces of the part for sums are no longer than this, mm. */
const PIECE_MM = 6;
/** Less than this is missing only by rounding and by the tolerance of solving, mm. */
const NOT_SHORT_MM = 0.05;
const BAR_MM = 2;
const MOST_BARS = 40;
const STRIDE = 127;
/** Skin looks at the part across the gap: cosine between its normal and the way to the part at least this. */
const COVERED_COSINE = 0.5;
/** Nothing of a body stands out through a part by more than this, mm: a nose, an ear, a chin. */
const BEYOND_MM = 60;

/**
 * Measure the ease. Depth where the two meet is that of the part's sampled points in the body and of the skin's
 * vertices beyond the part, whichever is more; it is no exact penetration depth. Which faces look at the body depends
 * on the placement. O((faces of both) · log faces).
 */
export function measureEase(
  part: WornPart,
  body: FittingBody,
  options: EaseOptions,
  run: RunContext = QUIET_RUN,
): EaseReport {
  const { placement, neededMm = 0, barMm = BAR_MM, inShort = false } = options;
  const { field } = body;
  const { mesh } = part;
  const inner = facingBody(mesh, part.tree, placement, field, (done, total) => run.step('inner side', done, total));
  if (!inner.includes(1)) inner.fill(1);
  const points = areaPoints(mesh, inner, PIECE_MM);
  const count = points.face.length;
  const gaps = new Float64Array(count);
  const regions = new Map<string, { least: number; sum: number; area: number; short: number; at: Vec3 }>();
  let [sum, square, area, insideArea] = [0, 0, 0, 0];
  for (let i = 0; i < count; i++) {
    if ((i & STRIDE) === 0) run.step('gap', i / count, 2);
    const at = transformPoint(placement, [points.at[3 * i], points.at[3 * i + 1], points.at[3 * i + 2]]);
    const gap = (gaps[i] = field.at(...at));
    const weight = points.areaMm2[i];
    sum += weight * gap;
    square += weight * gap * gap;
    area += weight;
    if (gap < 0) insideArea += weight;
    const name = body.region([field.x, field.y, field.z]);
    const entry = regions.get(name) ?? { least: Infinity, sum: 0, area: 0, short: 0, at };
    regions.set(name, entry);
    entry.sum += weight * gap;
    entry.area += weight;
    if (gap < neededMm) entry.short += weight;
    if (gap < entry.least) [entry.least, entry.at] = [gap, at];
  }
  const faces = new FaceGaps(cornersOf(mesh, inner), field, () => run.step('gap', 0.75, 1));
  let least = faces.least(placement);
  let at: Vec3 = faces.touchOf(faces.leastFace);
  const exact = regions.get(regionNear(body, at));
  if (exact !== undefined && least < exact.least) [exact.least, exact.at] = [least, at];
  const perVertexMm = new Float64Array(inShort ? 0 : mesh.positions.length / 3);
  for (let v = 0; v < perVertexMm.length; v++) {
    if ((v & STRIDE) === 0) run.step('gap', 0.75 + v / perVertexMm.length / 4, 1);
    perVertexMm[v] = field.at(...transformPoint(placement, vertexOf(mesh, v)));
  }
  const other =
    inShort && least > 0
      ? { summary: null, perVertexMm: new Float64Array(0) }
      : fromBody(part, body, placement, inner, (share) => run.step('the other way', share, 1));
  if (least <= 0 && other.summary !== null && other.summary.leastMm < least) {
    least = other.summary.leastMm;
    at = other.summary.at;
    const entry = regions.get(body.region(at));
    if (entry !== undefined && least < entry.least) [entry.least, entry.at] = [least, at];
  }
  const meanEaseMm = sum / area;
  const sorted = [...regions].sort(([, a], [, b]) => a.least - b.least);
  return {
    leastEaseMm: least,
    at,
    region: regionNear(body, at),
    meanEaseMm,
    medianEaseMm: medianOf(gaps, points.areaMm2),
    unevenMm: Math.sqrt(Math.max(0, square / area - meanEaseMm ** 2)),
    insideShare: insideArea / area,
    innerAreaMm2: area,
    regions: sorted.map(([region, one]) => ({
      region,
      leastMm: one.least,
      meanMm: one.sum / one.area,
      areaMm2: one.area,
    })),
    pinches: sorted
      .filter(([, one]) => one.least < neededMm - NOT_SHORT_MM)
      .map(([region, one]) => ({
        region,
        leastMm: one.least,
        shortMm: neededMm - one.least,
        areaMm2: one.short,
        at: one.at,
      })),
    histogram: histogramOf(gaps, points.areaMm2, barMm),
    body: other.summary,
    perVertexMm,
    bodyPerVertexMm: other.perVertexMm,
    inner,
    samples: count,
  };
}

const vertexOf = ({ positions }: Mesh, v: number): Vec3 => [
  positions[3 * v],
  positions[3 * v + 1],
  positions[3 * v + 2],
];

function regionNear(body: FittingBody, at: Vec3): string {
  body.field.at(...at);
  return body.region([body.field.x, body.field.y, body.field.z]);
}

/** The gap over the skin's vertices, each for a third of its faces' area. */
function fromBody(
  part: WornPart,
  body: FittingBody,
  placement: Matrix4,
  inner: Uint8Array,
  tick: (share: number) => void,
): { readonly summary: EaseReport['body']; readonly perVertexMm: Float64Array } {
  const shell = keepFaces(transformMesh(placement, part.mesh), inner);
  const tree = buildBvh(shell, () => tick(0));
  const faceNormal = faceNormals(shell);
  const towards = normalsTowards(shell, faceNormal, body);
  const { mesh } = body;
  const normals = vertexNormals(mesh);
  const areas = vertexAreas(mesh);
  const count = areas.length;
  const perVertexMm = new Float64Array(count).fill(NaN);
  const near = nearestSlot();
  const hit: RayHit = { face: -1, t: 0 };
  let [least, sum, area] = [Infinity, 0, 0];
  let at: Vec3 = [0, 0, 0];
  for (let v = 0; v < count; v++) {
    if ((v & STRIDE) === 0) tick(v / count);
    const [x, y, z] = vertexOf(mesh, v);
    findNearest(tree, x, y, z, near);
    const way = [near.x - x, near.y - y, near.z - z];
    const out = [normals[3 * v], normals[3 * v + 1], normals[3 * v + 2]];
    const along = (way[0] * out[0] + way[1] * out[1] + way[2] * out[2]) / near.distance;
    // Square to the face it comes to as well: else it is the edge of an opening that is nearest.
    const f = near.face * 3;
    const square =
      (towards * (way[0] * faceNormal[f] + way[1] * faceNormal[f + 1] + way[2] * faceNormal[f + 2])) / near.distance;
    let gap = near.distance;
    if (!(along > COVERED_COSINE && square < -COVERED_COSINE)) {
      // Beyond the part where the way inward meets its inner side from behind.
      const [ix, iy, iz] = out.map((value) => -value);
      if (!castRay(tree, x, y, z, ix, iy, iz, hit, 0, BEYOND_MM)) continue;
      const h = hit.face * 3;
      const behind = towards * (ix * faceNormal[h] + iy * faceNormal[h + 1] + iz * faceNormal[h + 2]);
      const meets = body.field.at(x + hit.t * ix, y + hit.t * iy, z + hit.t * iz) < 0;
      if (!(behind > COVERED_COSINE && meets)) continue;
      gap = -near.distance;
    }
    perVertexMm[v] = gap;
    sum += areas[v] * gap;
    area += areas[v];
    if (gap < least) [least, at] = [gap, [x, y, z]];
  }
  return {
    summary: area > 0 ? { leastMm: least, meanMm: sum / area, coveredMm2: area, at } : null,
    perVertexMm,
  };
}

/** 1 where the faces' normals point to the body on the whole, -1 where away from it: a sheet may run either way. */
function normalsTowards({ positions: p, triangles: t }: Mesh, normals: Float64Array, body: FittingBody): number {
  const { field } = body;
  let sum = 0;
  for (let f = 0; f < t.length; f += 3) {
    const [x, y, z] = [0, 1, 2].map((k) => (p[t[f] * 3 + k] + p[t[f + 1] * 3 + k] + p[t[f + 2] * 3 + k]) / 3);
    const gap = field.at(x, y, z);
    sum += Math.sign(
      gap * ((field.x - x) * normals[f] + (field.y - y) * normals[f + 1] + (field.z - z) * normals[f + 2]),
    );
  }
  return sum < 0 ? -1 : 1;
}

function vertexAreas({ positions: p, triangles: t }: Mesh): Float64Array {
  const areas = new Float64Array(p.length / 3);
  for (let f = 0; f < t.length; f += 3) {
    const [a, b, c] = [t[f] * 3, t[f + 1] * 3, t[f + 2] * 3];
    const u = [0, 1, 2].map((k) => p[b + k] - p[a + k]),
      v = [0, 1, 2].map((k) => p[c + k] - p[a + k]);
    const third = Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 6;
    for (let i = 0; i < 3; i++) areas[t[f + i]] += third;
  }
  return areas;
}

function medianOf(values: Float64Array, weights: Float64Array): number {
  const order = Array.from(values.keys()).sort((a, b) => values[a] - values[b]);
  const half = weights.reduce((sum, one) => sum + one, 0) / 2;
  let sum = 0;
  return values[order.find((i) => (sum += weights[i]) >= half) ?? order[0]];
}

/** Bars of one width from the least to the largest value; the last holds all beyond the fortieth. */
function histogramOf(values: Float64Array, weights: Float64Array, barMm: number): EaseReport['histogram'] {
  const low = Math.floor(values.reduce((least, one) => Math.min(least, one), Infinity) / barMm);
  const high = Math.floor(values.reduce((most, one) => Math.max(most, one), -Infinity) / barMm);
  const bars = Math.min(MOST_BARS, high - low + 1);
  const shares = new Float64Array(bars);
  const total = weights.reduce((sum, one) => sum + one, 0);
  values.forEach((value, i) => (shares[Math.min(bars - 1, Math.floor(value / barMm) - low)] += weights[i] / total));
  return Array.from(shares, (share, i) => ({
    fromMm: (low + i) * barMm,
    toMm: (i === bars - 1 ? high + 1 : low + i + 1) * barMm,
    share,
  }));
}

/** What a trial keeps of the ease when nothing more is asked. */
export interface Ease {
  readonly leastEaseMm: number;
  readonly meanEaseMm: number;
  /** Where the gap is least, in the form's frame. */
  readonly at: readonly [number, number, number];
  /** Share of the part's inner side that lies inside the body. */
  readonly insideShare: number;
  readonly samples: number;
}

/** The ease of a part already in the form's coordinates, in short. As `measureEase`. */
export function easeOf(part: Mesh, form: Mesh): Ease {
  const report = measureEase(wornPart(part), fittingBody(form), { placement: IDENTITY });
  const { leastEaseMm, meanEaseMm, at, insideShare, samples } = report;
  return { leastEaseMm, meanEaseMm, at: [at[0], at[1], at[2]], insideShare, samples };
}
