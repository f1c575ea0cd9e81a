/**
 * How far two surfaces lie apart, measured.
 *
 * Mean, rms and p99 are over points spread by area on each surface, as in Cignoni, Rocchini and
 * Scopigno, "Metro: measuring error on simplified surfaces" (1998): systematic along the running area,
 * placed in each face by the additive low-discrepancy sequence of the plastic number, so the same
 * meshes give the same figures. A mesh with more vertices than samples asked for is sampled at its
 * vertices, each counting for a third of the area around it.
 *
 * The maximum is not left to sampling. Distance to a convex set is a convex function, so over a
 * triangle the distance to any ONE face F of the other mesh is largest at a corner, and the distance to
 * the whole mesh is no more than that: max over the triangle <= min over F of max over corners of
 * d(corner, F). Where the corners' nearest points lie on two faces with an edge in common, the distance
 * is no more than the largest of a corner plus the largest gap between that edge and the chords over it
 * (the chord, the edge and the two faces make triangles, and a side of a triangle is nowhere further from
 * the other two than its far corner). Besides, distance changes no faster than the point moves.
 * Triangles whose bound exceeds the largest distance found are split in four, worst first, until no
 * bound does (by more than 1 %) or a stated number of queries is used up. So `maxMm` was met at a point,
 * and `maxBoundMm` is exceeded nowhere.
 */
import type { Deviation } from '../../../shared-types/evidence.ts';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh, type Nearest } from '../spatial/bvh.ts';
import { faceWeights, nearestOnFace } from './point-triangle.ts';

/** Distances from one surface to another. */
export interface OneSidedDeviation {
  /** Largest distance met. */
  readonly maxMm: number;
  /** Proven: no point of the surface is further away than this. */
  readonly maxBoundMm: number;
  readonly p99Mm: number;
  readonly meanMm: number;
  readonly rmsMm: number;
  readonly samples: number;
  /** Side of the square each sample of the mean stands for. */
  readonly spacingMm: number;
  /** Where the largest distance was met, on the surface measured from and on the other. */
  readonly atMm: Vec3;
  readonly nearestMm: Vec3;
  /** Distance of each vertex of the mesh measured from. */
  readonly perVertexMm: Float32Array;
  /** With `beyondMm`: largest distance met on each face where one beyond it was met. */
  readonly beyond: ReadonlyMap<number, number>;
}

export interface TwoWayDeviation extends Deviation {
  readonly maxBoundMm: number;
  readonly spacingMm: number;
  readonly atMm: Vec3;
  readonly nearestMm: Vec3;
  /** From the first mesh to the second, and back. */
  readonly there: OneSidedDeviation;
  readonly back: OneSidedDeviation;
}

export interface DeviationOptions {
  /** Points spread by area on each surface. */
  readonly samples?: number;
  /** Queries that may be spent on narrowing the maximum down. */
  readonly maximumQueries?: number;
  /** Collect the faces with points beyond this, and look for such points rather than for the one maximum. */
  readonly beyondMm?: number;
  /** Search trees, when the caller has them: of the first mesh and of the second. */
  readonly trees?: readonly [Bvh | undefined, Bvh | undefined];
  readonly run?: RunContext;
}

export const DEVIATION_PHASE = 'measure';
const DEFAULT_SAMPLES = 200_000;
const DEFAULT_MAXIMUM_QUERIES = 60_000;
/** The maximum is narrowed down to this share of itself. */
const NARROW_ENOUGH = 0.01;
/** Bins of the histogram p99 is read from: it is right to max / this. */
const BINS = 1 << 14;
/** 1/g and 1/g² of the plastic number g: the two-dimensional additive sequence. */
const PLASTIC_1 = 0.7548776662466927;
const PLASTIC_2 = 0.5698402909980532;
/** Points between two reports of progress: about 5 ms. */
const STRIDE = 2048;
/** A hint from the neighbouring point is widened by this, so that rounding cannot lose it. */
const HINT_SLACK = 1 + 2 ** -20;

/** Squared distance between two segments, clamped (Ericson 2005, 5.1.9). Never less than the true one. */
function segmentGap2(p: Float64Array, a: number, b: number, q: Float64Array, c: number, d: number): number {
  const ux = p[b] - p[a],
    uy = p[b + 1] - p[a + 1],
    uz = p[b + 2] - p[a + 2];
  const vx = q[d] - q[c],
    vy = q[d + 1] - q[c + 1],
    vz = q[d + 2] - q[c + 2];
  const rx = p[a] - q[c],
    ry = p[a + 1] - q[c + 1],
    rz = p[a + 2] - q[c + 2];
  const uu = ux * ux + uy * uy + uz * uz,
    vv = vx * vx + vy * vy + vz * vz,
    uv = ux * vx + uy * vy + uz * vz,
    ur = ux * rx + uy * ry + uz * rz,
    vr = vx * rx + vy * ry + vz * rz;
  const clamp = (x: number): number => (x > 0 ? (x < 1 ? x : 1) : 0);
  const across = uu * vv - uv * uv;
  let s = across > 0 ? clamp((uv * vr - ur * vv) / across) : 0;
  let t = vv > 0 ? (uv * s + vr) / vv : 0;
  if (!(t >= 0 && t <= 1)) {
    t = clamp(t);
    s = uu > 0 ? clamp((uv * t - ur) / uu) : 0;
  }
  const x = rx + s * ux - t * vx,
    y = ry + s * uy - t * vy,
    z = rz + s * uz - t * vz;
  return x * x + y * y + z * z;
}

/** Exact nearest point of a mesh within a limit: whether there is one. */
export type Finder = (x: number, y: number, z: number, out: Nearest, limitMm: number) => boolean;

/** By a search tree. */
function finderOf(tree: Bvh): Finder {
  return (x, y, z, out, limitMm) => findNearest(tree, x, y, z, out, limitMm);
}

/** Nearest queries that start from the face the last one found: points come in neighbourly order. */
class Walker {
  readonly out: Nearest = nearestSlot();
  readonly #nearest: Finder;
  readonly #p: Float64Array;
  readonly #t: Uint32Array;
  readonly #foot = new Float64Array(9);
  #face = -1;

  constructor(to: Mesh, nearest: Finder) {
    this.#nearest = nearest;
    this.#p = to.positions;
    this.#t = to.triangles;
  }

  find(x: number, y: number, z: number): number {
    let limit = Infinity;
    if (this.#face >= 0) limit = Math.sqrt(this.to(this.#face, x, y, z)) * HINT_SLACK;
    if (!this.#nearest(x, y, z, this.out, limit)) this.#nearest(x, y, z, this.out, Infinity);
    this.#face = this.out.face;
    return this.out.distance;
  }

  /**
   * Bound on how far the triangle over three points of the mesh's faces `face[0..2]`, nearest to the corners
   * in `triangle`, lies from the mesh, when two of the faces are the same and the third shares an edge.
   */
  hinge(triangle: Float64Array): number {
    const one = triangle[12],
      two = triangle[13],
      three = triangle[14];
    const odd = two === three ? 0 : one === three ? 1 : one === two ? 2 : -1;
    if (odd < 0) return Infinity;
    const lone = triangle[12 + odd] * 3,
      pair = triangle[12 + ((odd + 1) % 3)] * 3;
    const t = this.#t,
      p = this.#p;
    let u = -1,
      v = -1;
    for (let i = 0; i < 3; i++) {
      const w = t[lone + i];
      if (w !== t[pair] && w !== t[pair + 1] && w !== t[pair + 2]) continue;
      if (u < 0) u = w;
      else v = w;
    }
    if (v < 0) return Infinity;
    for (let k = 0; k < 3; k++) {
      this.to(triangle[12 + k], triangle[k * 3], triangle[k * 3 + 1], triangle[k * 3 + 2]);
      const f = triangle[12 + k] * 3;
      for (let c = 0; c < 3; c++) {
        this.#foot[k * 3 + c] =
          faceWeights[0] * p[t[f] * 3 + c] +
          faceWeights[1] * p[t[f + 1] * 3 + c] +
          faceWeights[2] * p[t[f + 2] * 3 + c];
      }
    }
    const a = segmentGap2(this.#foot, odd * 3, ((odd + 1) % 3) * 3, p, u * 3, v * 3);
    const b = segmentGap2(this.#foot, odd * 3, ((odd + 2) % 3) * 3, p, u * 3, v * 3);
    return Math.sqrt(Math.max(a, b));
  }

  /** Squared distance to one face. */
  to(face: number, x: number, y: number, z: number): number {
    const t = this.#t;
    return nearestOnFace(this.#p, t[face * 3] * 3, t[face * 3 + 1] * 3, t[face * 3 + 2] * 3, x, y, z);
  }
}

/** Triangles waiting to be narrowed down, worst bound first (a binary heap). */
class Waiting {
  readonly bound: number[] = [];
  /** 9 coordinates, 3 distances, 3 nearest faces, the face it is part of. */
  readonly triangle: Float64Array[] = [];

  push(bound: number, triangle: Float64Array): void {
    let at = this.bound.length;
    this.bound.push(bound);
    this.triangle.push(triangle);
    while (at > 0) {
      const up = (at - 1) >> 1;
      if (this.bound[up] >= bound) break;
      this.bound[at] = this.bound[up];
      this.triangle[at] = this.triangle[up];
      at = up;
    }
    this.bound[at] = bound;
    this.triangle[at] = triangle;
  }

  pop(): Float64Array {
    const top = this.triangle[0];
    const bound = this.bound.pop() as number;
    const triangle = this.triangle.pop() as Float64Array;
    const count = this.bound.length;
    if (count === 0) return top;
    let at = 0;
    for (;;) {
      let down = at * 2 + 1;
      if (down >= count) break;
      if (down + 1 < count && this.bound[down + 1] > this.bound[down]) down++;
      if (this.bound[down] <= bound) break;
      this.bound[at] = this.bound[down];
      this.triangle[at] = this.triangle[down];
      at = down;
    }
    this.bound[at] = bound;
    this.triangle[at] = triangle;
    return top;
  }
}

/**
 * Distances from every part of `from` to the surface of `to`, mm; see the file's head for the method.
 * Either mesh may be open or unsound; both must have faces. Signs are not told: this is |distance|.
 * O((vertices + samples) · log faces); 500k vertices against 10k faces about 0.4 s.
 */
export function deviationOneSided(
  from: Mesh,
  to: Mesh,
  options: Omit<DeviationOptions, 'trees'> & { readonly find?: Finder } = {},
): OneSidedDeviation {
  if (from.triangles.length === 0 || to.triangles.length === 0) throw new Error('deviation of a mesh without faces');
  const { positions: p, triangles: t } = from;
  const run = options.run ?? QUIET_RUN;
  const wanted = options.samples ?? DEFAULT_SAMPLES;
  const walker = new Walker(to, options.find ?? finderOf(buildBvh(to)));
  const { out } = walker;
  const vertexCount = p.length / 3;
  const faceCount = t.length / 3;
  const used = new Uint8Array(vertexCount);
  for (const v of t) used[v] = 1;
  let usedCount = 0;
  for (let v = 0; v < vertexCount; v++) usedCount += used[v];
  const atVertices = usedCount >= wanted;
  const total = vertexCount + (atVertices ? 0 : wanted);

  let maxMm = 0;
  const at = new Float64Array(6);
  let maxKnown = false;
  const beyondMm = options.beyondMm ?? Infinity;
  const beyond = new Map<number, number>();
  const met = (distance: number, x: number, y: number, z: number, face: number): void => {
    if (distance > beyondMm && face >= 0 && distance > (beyond.get(face) ?? 0)) beyond.set(face, distance);
    if (distance <= maxMm && maxKnown) return;
    maxKnown = true;
    maxMm = distance;
    at.set([x, y, z, out.x, out.y, out.z]);
  };

  const share = new Float64Array(atVertices ? vertexCount : 0);
  const runningArea = new Float64Array(faceCount);
  let areaMm2 = 0;
  for (let f = 0; f < t.length; f += 3) {
    const area = faceCross(p, t, f) / 2;
    areaMm2 += area;
    runningArea[f / 3] = areaMm2;
    if (atVertices) for (let k = 0; k < 3; k++) share[t[f + k]] += area / 3;
  }

  const perVertexMm = new Float32Array(vertexCount);
  const nearFace = new Int32Array(vertexCount).fill(-1);
  for (let v = 0; v < vertexCount; v++) {
    if (v % STRIDE === 0) run.step(DEVIATION_PHASE, v, total);
    if (!used[v]) continue;
    const i = v * 3;
    const distance = walker.find(p[i], p[i + 1], p[i + 2]);
    perVertexMm[v] = distance;
    nearFace[v] = out.face;
    met(distance, p[i], p[i + 1], p[i + 2], -1);
  }

  let distances: Float32Array = perVertexMm;
  if (!atVertices) {
    distances = new Float32Array(wanted);
    let face = 0;
    for (let s = 0; s < wanted; s++) {
      if (s % STRIDE === 0) run.step(DEVIATION_PHASE, vertexCount + s, total);
      const along = ((s + 0.5) / wanted) * areaMm2;
      while (face < faceCount - 1 && runningArea[face] < along) face++;
      let u = (s * PLASTIC_1) % 1,
        v = (s * PLASTIC_2) % 1;
      if (u + v > 1) {
        u = 1 - u;
        v = 1 - v;
      }
      const w = 1 - u - v;
      const a = t[face * 3] * 3,
        b = t[face * 3 + 1] * 3,
        c = t[face * 3 + 2] * 3;
      const x = w * p[a] + u * p[b] + v * p[c],
        y = w * p[a + 1] + u * p[b + 1] + v * p[c + 1],
        z = w * p[a + 2] + u * p[b + 2] + v * p[c + 2];
      const distance = walker.find(x, y, z);
      distances[s] = distance;
      met(distance, x, y, z, face);
    }
  }

  // Narrow the maximum down.
  const waiting = new Waiting();
  const enough = (): number => Math.min(maxMm * (1 + NARROW_ENOUGH), beyondMm);
  const triangle = new Float64Array(16);
  const middle = new Float64Array(16);
  const part = new Float64Array(16);
  const offer = (triangle: Float64Array): void => {
    let longest = 0;
    for (let k = 0; k < 3; k++) {
      const i = k * 3,
        j = ((k + 1) % 3) * 3;
      const x = triangle[i] - triangle[j],
        y = triangle[i + 1] - triangle[j + 1],
        z = triangle[i + 2] - triangle[j + 2];
      longest = Math.max(longest, x * x + y * y + z * z);
    }
    const highest = Math.max(triangle[9], triangle[10], triangle[11]);
    // No point of a triangle is further than longest/sqrt(3) from its nearest corner.
    let bound = highest + Math.sqrt(longest / 3);
    if (bound > enough()) bound = Math.min(bound, highest + walker.hinge(triangle));
    for (let k = 12; k < 15 && bound > enough(); k++) {
      let worst = 0;
      for (let corner = 0; corner < 9; corner += 3) {
        worst = Math.max(worst, walker.to(triangle[k], triangle[corner], triangle[corner + 1], triangle[corner + 2]));
      }
      bound = Math.min(bound, Math.sqrt(worst));
    }
    if (bound > enough()) waiting.push(bound, triangle.slice());
  };
  for (let f = 0; f < t.length; f += 3) {
    if (f % (3 * STRIDE) === 0) run.step(DEVIATION_PHASE, total, total);
    const a = t[f],
      b = t[f + 1],
      c = t[f + 2];
    const highest = Math.max(perVertexMm[a], perVertexMm[b], perVertexMm[c]);
    if (highest > beyondMm) beyond.set(f / 3, Math.max(highest, beyond.get(f / 3) ?? 0));
    if (nearFace[a] === nearFace[b] && nearFace[b] === nearFace[c]) continue;
    const ai = a * 3,
      bi = b * 3,
      ci = c * 3;
    const e1 = (p[ai] - p[bi]) ** 2 + (p[ai + 1] - p[bi + 1]) ** 2 + (p[ai + 2] - p[bi + 2]) ** 2;
    const e2 = (p[bi] - p[ci]) ** 2 + (p[bi + 1] - p[ci + 1]) ** 2 + (p[bi + 2] - p[ci + 2]) ** 2;
    const e3 = (p[ci] - p[ai]) ** 2 + (p[ci + 1] - p[ai + 1]) ** 2 + (p[ci + 2] - p[ai + 2]) ** 2;
    if (highest + Math.sqrt(Math.max(e1, e2, e3) / 3) <= enough()) continue;
    for (let k = 0; k < 3; k++) {
      const v = t[f + k];
      for (let c = 0; c < 3; c++) triangle[k * 3 + c] = p[v * 3 + c];
      triangle[9 + k] = perVertexMm[v];
      triangle[12 + k] = nearFace[v];
    }
    triangle[15] = f / 3;
    offer(triangle);
  }
  let queries = options.maximumQueries ?? DEFAULT_MAXIMUM_QUERIES;
  while (waiting.bound.length > 0 && queries > 0 && waiting.bound[0] > enough()) {
    if (queries % 64 < 3) run.step(DEVIATION_PHASE, total, total);
    const whole = waiting.pop();
    for (let k = 0; k < 3; k++) {
      const i = k * 3,
        j = ((k + 1) % 3) * 3;
      const x = (whole[i] + whole[j]) / 2,
        y = (whole[i + 1] + whole[j + 1]) / 2,
        z = (whole[i + 2] + whole[j + 2]) / 2;
      const distance = walker.find(x, y, z);
      queries--;
      met(distance, x, y, z, whole[15]);
      middle.set([x, y, z], i);
      middle[9 + k] = distance;
      middle[12 + k] = out.face;
      middle[15] = part[15] = whole[15];
    }
    const corner = (into: Float64Array, k: number, source: Float64Array, j: number): void => {
      into.set(source.subarray(j * 3, j * 3 + 3), k * 3);
      into[9 + k] = source[9 + j];
      into[12 + k] = source[12 + j];
    };
    for (let k = 0; k < 3; k++) {
      corner(part, 0, whole, k);
      corner(part, 1, middle, k);
      corner(part, 2, middle, (k + 2) % 3);
      offer(part);
    }
    offer(middle);
  }
  const maxBoundMm = Math.max(maxMm * (1 + NARROW_ENOUGH), waiting.bound.length > 0 ? waiting.bound[0] : 0);

  // Mean, rms and p99.
  const histogram = new Float64Array(BINS);
  let sum = 0,
    squares = 0,
    weights = 0,
    samples = 0;
  const toBin = maxMm > 0 ? BINS / maxMm : 0;
  for (let s = 0; s < distances.length; s++) {
    if (atVertices && !used[s]) continue;
    const weight = atVertices ? share[s] : 1;
    const distance = distances[s];
    sum += weight * distance;
    squares += weight * distance * distance;
    weights += weight;
    samples++;
    histogram[Math.min(BINS - 1, Math.floor(distance * toBin))] += weight;
  }
  if (weights === 0) weights = 1; // a mesh of faces without area: figures of nothing are nothing
  let p99Mm = maxMm;
  let tail = weights * (1 - 0.99);
  for (let bin = BINS - 1; bin >= 0 && maxMm > 0; bin--) {
    if (histogram[bin] >= tail && histogram[bin] > 0) {
      p99Mm = (bin + 1 - tail / histogram[bin]) / toBin;
      break;
    }
    tail -= histogram[bin];
  }
  return {
    maxMm,
    maxBoundMm,
    p99Mm,
    meanMm: sum / weights,
    rmsMm: Math.sqrt(squares / weights),
    samples: atVertices ? samples : samples + usedCount,
    spacingMm: Math.sqrt(areaMm2 / Math.max(1, samples)),
    atMm: [at[0], at[1], at[2]],
    nearestMm: [at[3], at[4], at[5]],
    perVertexMm,
    beyond,
  };
}

/** The two one-sided measurements as one: the larger maximum and p99, the mean of the means. */
export function joinDeviations(there: OneSidedDeviation, back: OneSidedDeviation): TwoWayDeviation {
  const worse = there.maxMm >= back.maxMm ? there : back;
  return {
    maxMm: worse.maxMm,
    maxBoundMm: Math.max(there.maxBoundMm, back.maxBoundMm),
    p99Mm: Math.max(there.p99Mm, back.p99Mm),
    meanMm: (there.meanMm + back.meanMm) / 2,
    rmsMm: Math.sqrt((there.rmsMm ** 2 + back.rmsMm ** 2) / 2),
    samples: there.samples + back.samples,
    spacingMm: Math.max(there.spacingMm, back.spacingMm),
    atMm: worse.atMm,
    nearestMm: worse.nearestMm,
    there,
    back,
  };
}

/**
 * Two-way distance between the surfaces of `a` and `b`, mm: measured from each to the other (the two
 * differ) and joined: maximum and p99 of the worse way, mean of the two means, rms likewise.
 * Reports progress as phase 'measure' of `options.run`. Cost: see `deviationOneSided`, plus two trees.
 */
export function measureDeviation(a: Mesh, b: Mesh, options: DeviationOptions = {}): TwoWayDeviation {
  const run = options.run?.within(DEVIATION_PHASE, { there: 0.5, back: 0.5 }) ?? QUIET_RUN;
  const [treeA, treeB] = options.trees ?? [undefined, undefined];
  const way = (from: Mesh, to: Mesh, tree: Bvh | undefined, phase: 'there' | 'back'): OneSidedDeviation =>
    deviationOneSided(from, to, {
      ...(options.samples === undefined ? {} : { samples: options.samples }),
      ...(options.maximumQueries === undefined ? {} : { maximumQueries: options.maximumQueries }),
      ...(tree === undefined ? {} : { find: finderOf(tree) }),
      run: run.within(phase, { [DEVIATION_PHASE]: 1 }),
    });
  return joinDeviations(way(a, b, treeB, 'there'), way(b, a, treeA, 'back'));
}
