/** The arc a tape reads: through points in turn, along the skin or pulled taut over its hollows. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { surfaceNear } from './end-uncertainty.ts';
import { parabolaWeight } from './parabola.ts';
import { roughPath, shortestPath } from './shortest-path.ts';
import { lengthOf, pullTight, resample, type Body } from './tight-band.ts';

export interface Arc {
  /** Mesh units. */
  readonly length: number;
  /** Sum of the straight lines between the points. */
  readonly straight: number;
  /** By how much roughness of the surface makes the length longer. */
  readonly excess: number;
  /** Standard uncertainty of the length by how it was found; picking, and roughness, come on top. */
  readonly finenessU: number;
  /** No way on the skin is shorter that stays so near; infinite when all were looked at, undefined for a taut arc. */
  readonly within?: number;
  /** The tape, xyz triples. */
  readonly points: Float64Array;
}

/** Nodes for each leg when its roughness is looked at, and half the width of the local parabola in nodes. */
const NODES = 256;
const HALF_WIDTH = 12;
/** Roughness beyond so many times the median is an edge or a fold. */
const FOLD = 3;
/** Share of the length within which the surface about a place shows how rough it is, and the places asked. */
const NEAR_SHARE = 1 / 24;
const ASKED = 7;
/**
 * A taut tape lies on what stands out, so many standard deviations up (girths on circles of a head's size roughened in
 * waves of 5 to 19 mm: about half of one), and is longer by that times the angle it turns by.
 */
const STANDS_OUT = 0.5;

/**
 * The arc through `points` (on the surface or near it) in turn. With a `body`, the signed distance to the mesh, it is
 * taut: the shortest way outside the body near the one along its edges (tight-band.ts); each leg is a band of its own,
 * held at the points. Without, it is the shortest way along the skin (shortest-path.ts). Undefined when no way joins
 * two of the points. The body need be closed only near the arc.
 */
export function arcThrough(mesh: Mesh, points: readonly Vec3[], body?: Body, tick?: () => void): Arc | undefined {
  let [length, straight, excess, finenessU, within] = [0, 0, 0, 0, Infinity];
  const tape: number[] = [];
  for (let leg = 1; leg < points.length; leg++) {
    const [a, b] = [points[leg - 1], points[leg]];
    straight += Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
    if (body === undefined) {
      const path = shortestPath(mesh, a, b, tick);
      if (path === undefined) return undefined;
      length += path.length;
      within = Math.min(within, path.within);
      excess += path.length > 0 ? roughExcess(path.points) : 0;
      tape.push(...path.points);
      continue;
    }
    const chain = roughPath(mesh, a, b, tick);
    if (chain === undefined) return undefined;
    if (!(lengthOf(chain) > 0)) continue;
    const band = pullTight(body, chain, false, tick);
    length += band.length;
    finenessU += band.finenessU;
    tape.push(...band.points);
    excess += STANDS_OUT * middleRoughness(mesh, band, tick) * turnOf(band.points);
  }
  const found = { length, straight, excess, finenessU, points: Float64Array.from(tape) };
  return body === undefined ? { ...found, within } : found;
}

/** The middle one of the surface's roughnesses under a band: at an ear or a crease shape looks like roughness. */
function middleRoughness(mesh: Mesh, band: { points: Float64Array; length: number }, tick?: () => void): number {
  const nodes = band.points.length / 3;
  const found = Array.from({ length: ASKED }, (_, k) => {
    const i = 3 * Math.floor(((k + 0.5) / ASKED) * nodes);
    const at: Vec3 = [band.points[i], band.points[i + 1], band.points[i + 2]];
    return surfaceNear(mesh, at, tick, NEAR_SHARE * band.length)?.roughness ?? 0;
  });
  return found.toSorted((a, b) => a - b)[ASKED >> 1];
}

/** Angle by which a chain turns in all, radians. */
function turnOf(p: Float64Array): number {
  let sum = 0;
  for (let i = 3; i < p.length - 3; i += 3) {
    const u = [0, 1, 2].map((k) => p[i + k] - p[i - 3 + k]);
    const v = [0, 1, 2].map((k) => p[i + 3 + k] - p[i + k]);
    const dot = u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
    sum += Math.acos(Math.max(-1, Math.min(1, dot / (Math.hypot(...u) * Math.hypot(...v) || 1))));
  }
  return sum;
}

/**
 * How much longer a path over a rough surface is than its own smoothed line: each node moved to the parabola through its
 * neighbours, but never much farther than most are, so that a corner that it bends round stays.
 */
function roughExcess(path: Float64Array): number {
  const p = resample(path, NODES);
  const off = new Float64Array(p.length);
  for (let node = 1; node < NODES; node++) {
    const half = Math.min(HALF_WIDTH, node, NODES - node);
    for (let k = 0; k < 3; k++) {
      let middle = 0;
      for (let j = -half; j <= half; j++) middle += parabolaWeight(j, half) * p[(node + j) * 3 + k];
      off[node * 3 + k] = half > 1 ? p[node * 3 + k] - middle : 0;
    }
  }
  const sizes = Array.from({ length: NODES + 1 }, (_, i) => Math.hypot(off[i * 3], off[i * 3 + 1], off[i * 3 + 2]));
  const limit = FOLD * sizes.toSorted((a, b) => a - b)[NODES >> 1];
  const smooth = p.map((x, i) => {
    const size = sizes[Math.floor(i / 3)];
    return size > 0 ? x - Math.min(1, limit / size) * off[i] : x;
  });
  return Math.max(0, lengthOf(p) - lengthOf(smooth));
}
