/**
 * A liner opened along a curve drawn on its form: cut where the surface swept outward through the curve meets it, the
 * rim closed along that surface.
 *
 * Near the swept surface each vertex of the liner has a signed distance to it, and the cut passes where that is 0;
 * everywhere else a vertex lies on the side its neighbours are on, so that the swept surface need not reach far. The
 * rim's faces are laid flat by their place along the curve and their height over the form, as a ring, to be filled.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { nearestOnFace, faceWeights } from '../measure/point-triangle.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { buildBvh, findNearest, nearestSlot } from '../spatial/bvh.ts';
import { closeCut, cutOpen, type Cut } from './cut-flat.ts';
import { sweepRim, type RimCurve, type SweptRim } from './rim-curve.ts';

/** The swept surface begins so far within the form and goes so far beyond the liner's farthest point, mm. */
const INSIDE_MM = 4;
const BEYOND_MM = 6;
/** Nearer to an end of the swept surface than this counts as beyond it, mm. */
const END_MM = 0.01;
const STRIDE = 1023;

export type Sides =
  /** +: stays, by how far from the cut; one per vertex. */
  | { readonly kind: 'sides'; readonly heightMm: Float64Array }
  /** The swept surface does not part the liner in two. */
  | { readonly kind: 'not-parted' };

export class CurveKnife {
  readonly curve: RimCurve;
  readonly #swept: SweptRim;
  readonly #tree: ReturnType<typeof buildBvh>;
  readonly #slot = nearestSlot();
  readonly #reach: readonly [number, number];
  // Of the last query.
  #along = 0;
  #over = 0;

  /** `farthestMm`: of the liner (its wall included) from the form. */
  constructor(curve: RimCurve, farthestMm: number) {
    this.curve = curve;
    this.#reach = [-INSIDE_MM, farthestMm + BEYOND_MM];
    this.#swept = sweepRim(curve, INSIDE_MM, farthestMm + BEYOND_MM);
    this.#tree = buildBvh(this.#swept);
  }

  /** Distance to the swept surface, positive on the curve's left; undefined beyond `withinMm` or its ends. */
  #side(x: number, y: number, z: number, withinMm: number): number | undefined {
    const slot = this.#slot;
    if (!findNearest(this.#tree, x, y, z, slot, withinMm)) return undefined;
    const { positions, triangles, leftward, along, over } = this.#swept;
    const [a, b, c] = triangles.subarray(slot.face * 3, slot.face * 3 + 3);
    nearestOnFace(positions, a * 3, b * 3, c * 3, x, y, z);
    const [wa, wb, wc] = faceWeights;
    this.#over = wa * over[a] + wb * over[b] + wc * over[c];
    this.#along = wa * along[a] + wb * along[b] + wc * along[c];
    if (this.#over < this.#reach[0] + END_MM || this.#over > this.#reach[1] - END_MM) return undefined;
    const left = [0, 1, 2].map((k) => wa * leftward[a * 3 + k] + wb * leftward[b * 3 + k] + wc * leftward[c * 3 + k]);
    const size = Math.hypot(left[0], left[1], left[2]) || 1;
    return ((x - slot.x) * left[0] + (y - slot.y) * left[1] + (z - slot.z) * left[2]) / size;
  }

  /**
   * On which side each vertex lies. What goes is the side nearest to `away`, or without it the one with less area.
   * O(faces log samples).
   */
  sides(mesh: Mesh, away: Vec3 | undefined, tick?: () => void): Sides {
    const { positions: p, triangles: t } = mesh;
    const count = p.length / 3;
    let longest = 0;
    for (let h = 0; h < t.length; h++) {
      const a = t[h] * 3,
        b = t[h - (h % 3) + ((h + 1) % 3)] * 3;
      longest = Math.max(longest, Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]));
    }
    const band = 1.01 * longest;
    const heightMm = new Float64Array(count).fill(NaN);
    for (let v = 0; v < count; v++) {
      if ((v & STRIDE) === 0) tick?.();
      const side = this.#side(p[v * 3], p[v * 3 + 1], p[v * 3 + 2], band);
      if (side !== undefined) heightMm[v] = side;
    }
    // The rest takes the side of its neighbours; where two sides meet far from the surface it does not part the liner.
    const { first, neighbours } = neighboursOf(t, count);
    const queue: number[] = [];
    for (let v = 0; v < count; v++) if (!Number.isNaN(heightMm[v])) queue.push(v);
    const isNear = Uint8Array.from({ length: count }, (_, v) => (Number.isNaN(heightMm[v]) ? 0 : 1));
    for (let at = 0; at < queue.length; at++) {
      if ((at & STRIDE) === 0) tick?.();
      const v = queue[at];
      const sign = heightMm[v] > 0 ? 1 : -1;
      for (let i = first[v]; i < first[v + 1]; i++) {
        const w = neighbours[i];
        if (Number.isNaN(heightMm[w])) {
          heightMm[w] = sign * band;
          queue.push(w);
        } else if ((isNear[v] === 0 || isNear[w] === 0) && heightMm[w] > 0 !== sign > 0) {
          return { kind: 'not-parted' };
        }
      }
    }
    const areas = [0, 0];
    for (let h = 0; h < t.length; h += 3) areas[heightMm[t[h]] > 0 ? 1 : 0] += faceCross(p, t, h);
    if (areas[0] === 0 || areas[1] === 0) return { kind: 'not-parted' };
    let goesLeft = areas[1] < areas[0];
    if (away !== undefined) {
      const slot = nearestSlot();
      findNearest(buildBvh(mesh), away[0], away[1], away[2], slot);
      goesLeft = heightMm[t[slot.face * 3]] > 0;
    }
    // A piece no edge of which comes near stays.
    for (let v = 0; v < count; v++) {
      heightMm[v] = Number.isNaN(heightMm[v]) ? band : goesLeft ? -heightMm[v] : heightMm[v];
    }
    return { kind: 'sides', heightMm };
  }

  /** Cut where the heights of `sides`, moved by `nudgeMm`, pass 0, and close the rim along the swept surface. */
  cut(mesh: Mesh, heightMm: Float64Array, nudgeMm: number, tick?: () => void): Cut {
    const heights = heightMm.map((height) => height - nudgeMm);
    const { open, rims } = cutOpen(mesh, heights, tick);
    const middle = this.#reach[1] + this.curve.lengthMm / (2 * Math.PI);
    const ring = (positions: Float64Array, rim: readonly number[]): number[] => {
      const out: number[] = [];
      for (const v of rim) {
        this.#side(positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2], Infinity);
        const turn = 2 * Math.PI * this.#along;
        out.push((middle + this.#over) * Math.cos(turn), (middle + this.#over) * Math.sin(turn));
      }
      return out;
    };
    // The outermost rim must run counter-clockwise: else the ring is seen from its other side.
    let widest = 0;
    for (const rim of rims) {
      const area = signedArea(ring(open.positions, rim));
      if (Math.abs(area) > Math.abs(widest)) widest = area;
    }
    const laid =
      widest >= 0
        ? ring
        : (positions: Float64Array, rim: readonly number[]): number[] =>
            ring(positions, rim).map((c, i) => (i % 2 === 1 ? -c : c));
    return closeCut(open, rims, laid, false);
  }
}

function signedArea(xy: readonly number[]): number {
  let twice = 0;
  for (let i = 0; i < xy.length; i += 2) {
    const j = (i + 2) % xy.length;
    twice += xy[i] * xy[j + 1] - xy[j] * xy[i + 1];
  }
  return twice / 2;
}

function neighboursOf(t: Uint32Array, count: number): { first: Uint32Array; neighbours: Uint32Array } {
  const first = new Uint32Array(count + 1);
  for (const v of t) first[v + 1]++;
  for (let v = 0; v < count; v++) first[v + 1] += first[v];
  const next = first.slice(0, count);
  // In a closed surface each edge is met once each way: one entry per half-edge is enough.
  const neighbours = new Uint32Array(t.length);
  for (let h = 0; h < t.length; h++) neighbours[next[t[h]]++] = t[h - (h % 3) + ((h + 1) % 3)];
  return { first, neighbours };
}
