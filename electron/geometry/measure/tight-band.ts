/**
 * A band pulled tight between two points on or over a closed surface: what a tape does that is held at both ends.
 *
 * The band is a chain of nodes; each is moved toward the middle of its two neighbours and put back on the surface where
 * that leads into the body (projected over-relaxation; Cryer 1971, for the obstacle problem), on ever finer chains. It
 * finds the shortest way near the one it starts from, not the shortest of all.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';

export interface BandPath {
  /** Length, mesh units. */
  readonly length: number;
  /** What the chain's own fineness leaves uncertain of it, mesh units: the last step toward ever finer chains. */
  readonly finenessU: number;
  /** Nodes from the first point to the last, xyz triples. */
  readonly points: Float64Array;
}

/** What a band needs to know of a body: signed distance, negative inside, and the foot of the last query. */
export interface Body {
  at(x: number, y: number, z: number, within?: number): number;
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** Links of the coarsest and of the finest chain. */
const FEWEST_LINKS = 32;
const MOST_LINKS = 256;
/** Over-relaxation: near 2 for long chains, less where the surface keeps pushing nodes back. */
const RELAXATION = 1.7;
const MOST_SWEEPS = 400;
/** A chain is tight when no node moves farther than this share of the length in a sweep. */
const STILL = 2 ** -21;

/**
 * The band along `start` (xyz triples, the two ends held where they are) pulled tight. With `clings` it stays on the
 * surface everywhere, hollows included: then it is near the shortest way along the skin. Otherwise it leaves the
 * surface where it would be pulled into a hollow, and lies only on what stands out. Its links are straight and cut a
 * curved body a little; the length is extrapolated from two finenesses, second order. O(links² · log faces).
 */
export function pullTight(body: Body, start: Float64Array, clings: boolean, tick?: () => void): BandPath {
  let points = resample(start, FEWEST_LINKS);
  let before = 0;
  for (let links = FEWEST_LINKS; ; links *= 2) {
    settle(body, points, clings, tick);
    const length = lengthOf(points);
    if (links >= MOST_LINKS) {
      // Straight links miss a curve by the square of their length: a third of the last step is still missing.
      const missing = (length - before) / 3;
      return { length: length + missing, finenessU: Math.abs(missing), points };
    }
    before = length;
    points = resample(points, links * 2);
  }
}

function settle(body: Body, points: Float64Array, clings: boolean, tick?: () => void): void {
  const last = points.length - 3;
  const still = STILL * lengthOf(points);
  for (let sweep = 0; sweep < MOST_SWEEPS; sweep++) {
    tick?.();
    let most = 0;
    for (let i = 3; i < last; i += 3) {
      const at: Vec3 = [points[i], points[i + 1], points[i + 2]];
      const to = at.map((x, k) => {
        const middle = (points[i - 3 + k] + points[i + 3 + k]) / 2;
        return x + RELAXATION * (middle - x);
      });
      const distance = body.at(to[0], to[1], to[2]);
      const lands = clings || distance < 0;
      points[i] = lands ? body.x : to[0];
      points[i + 1] = lands ? body.y : to[1];
      points[i + 2] = lands ? body.z : to[2];
      most = Math.max(most, Math.hypot(points[i] - at[0], points[i + 1] - at[1], points[i + 2] - at[2]));
    }
    if (most <= still) return;
  }
}

/** Length of a chain of xyz triples. */
export function lengthOf(points: Float64Array): number {
  let sum = 0;
  for (let i = 3; i < points.length; i += 3) {
    sum += Math.hypot(points[i] - points[i - 3], points[i + 1] - points[i - 2], points[i + 2] - points[i - 1]);
  }
  return sum;
}

/** The chain with so many links of one length, measured along it. */
export function resample(points: Float64Array, links: number): Float64Array {
  const whole = lengthOf(points);
  const out = new Float64Array((links + 1) * 3);
  let from = 0;
  let passed = 0;
  let length = 0;
  const linkAt = (i: number): number =>
    Math.hypot(points[i + 3] - points[i], points[i + 4] - points[i + 1], points[i + 5] - points[i + 2]);
  length = linkAt(0);
  for (let node = 0; node <= links; node++) {
    const wanted = (node / links) * whole;
    while (passed + length < wanted && from < points.length - 6) {
      passed += length;
      from += 3;
      length = linkAt(from);
    }
    const share = length > 0 ? Math.min(1, (wanted - passed) / length) : 0;
    for (let k = 0; k < 3; k++) {
      out[node * 3 + k] = points[from + k] + share * (points[from + 3 + k] - points[from + k]);
    }
  }
  out.set(points.subarray(points.length - 3), links * 3);
  return out;
}
