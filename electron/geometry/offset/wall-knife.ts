/**
 * A solid's wall opened along a curve drawn on its outer side.
 *
 * Outside, the cut is the fair curve (rim-curve.ts) laid on the surface; inside, the line of the nearest places of the
 * inner side, made steady along it. Between two surfaces a wall apart, the nearest place is the way straight in, and it
 * runs on where the surface's own ways in would meet one another: in a nose, an ear. Each line is followed over its own
 * surface (traced-line.ts), so that neither can stray to another part of the body; the rim is ruled between the two.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { findTwins, nextHalfedge } from '../mesh/twins.ts';
import { cross, dot } from '../mesh/vector.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { closeRuled, neighboursOf, RuledBand, type Away, type Sides } from './cut-curve.ts';
import { cutOpen, type Cut } from './cut-flat.ts';
import { finerNear } from './finer-near.ts';
import { averaged, bandOf, evenly, type Line, type RimCurve } from './rim-curve.ts';
import { traceLine } from './traced-line.ts';

/**
 * Places on the inner side are averaged over about so much of the line to either side, and what turns aside by less than
 * so much is left out, mm. One attempt after another, until the rim is sound: along a sharp ridge of the inner side the
 * nearest places run to and fro.
 */
const STEADIER = [
  [4, 0.2],
  [10, 0.6],
  [2, 1],
  [16, 1.5],
  [10, 2.5],
  [6, 1.2],
  [24, 1],
  [1, 2],
  [16, 4],
  [4, 3],
] as const;
/** The longest straight way so left, mm. */
const STRAIGHT_MM = 8;
/** And the most points left out in a row. */
const MOST_STRAIGHT = 120;
/** Distance between points of the lines, mm. */
const SAMPLE_MM = 0.5;
/** How far from a line a surface is made finer to follow it, and the longest edges there, mm. */
const FOLLOWED_WITHIN_MM = 8;
const FOLLOWED_MM = 1;
/** A line lies on a surface where none of its points is farther from it, mm. */
const ON_SURFACE_MM = 0.05;
/** Distances from the cut are told up to here, and from here on, mm. */
const TOLD_MM = 12;
const LEAST_TOLD_MM = 2 ** -8;
const STRIDE = 1023;

/** A surface with its search tree. */
export interface Side {
  readonly mesh: Mesh;
  readonly tree: Bvh;
}

export class WallKnife {
  readonly #inside: Side;
  /** The line on the outer side, as it runs through its folds. */
  readonly #outer: Line;
  /** Of the last attempt: the line on the inner side, point for point, and the band ruled between the two. */
  #attempt = -1;
  #inner: Float64Array = new Float64Array(0);
  #band: RuledBand | undefined;
  /** Of the last surface asked for, by edge: where it is cut, as a share of it; where along the line, and on which side. */
  #shares: ReadonlyMap<number, number> = new Map();
  #along: ReadonlyMap<number, readonly [along: number, isOutside: boolean]> = new Map();

  /** A fair curve drawn on the outer side, and the wall's two sides. O(line · log n + faces). */
  constructor(drawn: RimCurve, outside: Side, inside: Side) {
    this.#inside = inside;
    this.#outer = followed(drawn, outside);
  }

  #try(attempt: number): RuledBand {
    if (this.#attempt === attempt && this.#band !== undefined) return this.#band;
    const [steadyMm, asideMm] = STEADIER[attempt % STEADIER.length];
    const { points } = this.#outer;
    const { tree } = this.#inside;
    const near = steadied(this.#outer, laidOn(tree, points), steadyMm);
    const inner = laidOn(tree, straightened(near, asideMm));
    const outward = points.map((c, i) => c - inner[i]);
    const deepMm = new Float64Array(points.length / 3);
    for (let i = 0; i < points.length; i += 3) {
      deepMm[i / 3] = -Math.hypot(outward[i], outward[i + 1], outward[i + 2]);
      for (let k = 0; k < 3; k++) outward[i + k] /= -deepMm[i / 3];
    }
    this.#attempt = attempt;
    this.#inner = inner;
    this.#band = new RuledBand(bandOf({ points }, outward, deepMm, new Float64Array(deepMm.length)));
    return this.#band;
  }

  /**
   * On which side each vertex of the wall, or of one of its two sides, lies, and which side goes. `lost` where part of the
   * line lies on no face or its way is lost. O(faces log faces).
   */
  sides(mesh: Mesh, away: Away, attempt: number, tick?: () => void): Sides | { readonly kind: 'lost' } {
    const band = this.#try(attempt);
    tick?.();
    const { positions: p, triangles: t } = mesh;
    const count = p.length / 3;
    const tree = buildBvh(mesh, tick);
    const { twin } = findTwins(t, count);
    tick?.();
    const side = new Int8Array(count);
    const shares = new Map<number, number>();
    const along = new Map<number, readonly [number, boolean]>();
    const queue: number[] = [];
    const key = (a: number, b: number): number => Math.min(a, b) * count + Math.max(a, b);
    for (const points of [this.#outer.points, this.#inner]) {
      const isOutside = points !== this.#inner;
      const lies = liesOn(tree, points);
      if (lies === 'partly') return { kind: 'lost' };
      if (lies === 'off') continue;
      const traced = traceLine({ mesh, tree }, twin, points);
      tick?.();
      if (traced === undefined) {
        // An inner side whose line shrinks to a point is not cut.
        if (isOutside) return { kind: 'lost' };
        continue;
      }
      // The inner side of a wall is inside out.
      const sign = isOutside || this.#facesOut(mesh, tree) ? 1 : -1;
      for (const [i, h] of traced.halfedges.entries()) {
        const [right, left] = [t[h], t[nextHalfedge(h)]];
        shares.set(key(right, left), right < left ? traced.shares[i] : 1 - traced.shares[i]);
        along.set(key(right, left), [traced.along[i], isOutside]);
        for (const [v, is] of [
          [left, sign],
          [right, -sign],
        ]) {
          if (side[v] === 0) queue.push(v);
          else if (side[v] !== is) return { kind: 'lost' };
          side[v] = is;
        }
      }
    }
    if (queue.length === 0) return { kind: 'not-parted' };
    const { first, neighbours } = neighboursOf(t, count);
    for (let i = 0; i < queue.length; i++) {
      if ((i & STRIDE) === 0) tick?.();
      const v = queue[i];
      for (let n = first[v]; n < first[v + 1]; n++) {
        const w = neighbours[n];
        if (side[w] === side[v] || shares.has(key(v, w))) continue;
        if (side[w] !== 0) return { kind: 'not-parted' };
        side[w] = side[v];
        queue.push(w);
      }
    }
    const areas = [0, 0];
    for (let h = 0; h < t.length; h += 3) if (side[t[h]] !== 0) areas[side[t[h]] > 0 ? 1 : 0] += faceCross(p, t, h);
    let goesLeft = areas[1] < areas[0] !== (away === 'larger');
    if (typeof away === 'object') {
      const slot = nearestSlot();
      findNearest(tree, away[0], away[1], away[2], slot);
      goesLeft = side[t[slot.face * 3]] > 0;
    }
    this.#shares = shares;
    this.#along = along;
    const heightMm = new Float64Array(count);
    for (let v = 0; v < count; v++) {
      if ((v & STRIDE) === 0) tick?.();
      const farMm = band.distance(p[v * 3], p[v * 3 + 1], p[v * 3 + 2], TOLD_MM);
      // A piece the line comes nowhere near stays.
      const stays = side[v] === 0 || side[v] > 0 !== goesLeft;
      heightMm[v] = (stays ? 1 : -1) * Math.max(LEAST_TOLD_MM, farMm);
    }
    return { kind: 'sides', heightMm };
  }

  /** Whether the faces under the line on the inner side look to the outer one. */
  #facesOut({ positions: p, triangles: t }: Mesh, tree: Bvh): boolean {
    const slot = nearestSlot();
    const { points } = this.#outer;
    let out = 0;
    for (let i = 0; i < points.length; i += 3) {
      findNearest(tree, this.#inner[i], this.#inner[i + 1], this.#inner[i + 2], slot);
      const [a, b, c] = [0, 1, 2].map((k) => t[slot.face * 3 + k] * 3);
      const [u, v] = [b, c].map((w) => [p[w] - p[a], p[w + 1] - p[a + 1], p[w + 2] - p[a + 2]]);
      const outward = [0, 1, 2].map((k) => points[i + k] - this.#inner[i + k]);
      out += Math.sign(dot(cross(u, v), outward));
    }
    return out > 0;
  }

  /** Cut along the line of the last `sides`, of the same surface, and close the rim. O(faces + rim²). */
  cut(mesh: Mesh, heightMm: Float64Array, tick?: () => void): Cut {
    const { open, rims, ofEdge } = cutOpen(mesh, heightMm, tick, undefined, this.#shares);
    // Two rings above one another, each place beside the one it was found from.
    const { lengthMm } = this.#outer;
    const radius = lengthMm / (2 * Math.PI);
    const beside = new Float64Array(open.positions.length);
    for (const [edge, [along, isOutside]] of this.#along) {
      const turn = 2 * Math.PI * along;
      const v = ofEdge.get(edge);
      if (v !== undefined) beside.set([radius * Math.cos(turn), radius * Math.sin(turn), isOutside ? 1 : 0], v * 3);
    }
    return closeRuled(open, rims, this.#try(this.#attempt), lengthMm, { beside, tick });
  }
}

/** Whether all, some or none of a line's points lie on a surface. */
function liesOn(tree: Bvh, points: Float64Array): 'on' | 'off' | 'partly' {
  const slot = nearestSlot();
  let on = 0;
  for (let i = 0; i < points.length; i += 3) {
    if (findNearest(tree, points[i], points[i + 1], points[i + 2], slot, ON_SURFACE_MM)) on++;
  }
  return on === points.length / 3 ? 'on' : on === 0 ? 'off' : 'partly';
}

/** The nearest places of a surface. */
function laidOn(tree: Bvh, points: Float64Array): Float64Array {
  const slot = nearestSlot();
  const laid = new Float64Array(points.length);
  for (let i = 0; i < laid.length; i += 3) {
    findNearest(tree, points[i], points[i + 1], points[i + 2], slot);
    laid.set([slot.x, slot.y, slot.z], i);
  }
  return laid;
}

/** Values along a line, averaged; what that takes off a steady bend is put back (Tukey 1977, twicing). */
function steadied(line: Line, values: Float64Array, steadyMm: number): Float64Array {
  const once = averaged(line, values, steadyMm);
  const twice = averaged(line, once, steadyMm);
  return once.map((value, i) => 2 * value - twice[i]);
}

/** The way a curve takes over a surface, through its folds; where that is lost, the curve as it is laid. */
function followed(drawn: RimCurve, side: Side): Line {
  // Made finer first: a line that leaves a face only to come back through the same edge is followed without that.
  const low = new Float64Array(drawn.laid.length / 3).fill(-SAMPLE_MM);
  const near = new RuledBand(bandOf({ points: drawn.laid }, drawn.normals, low, low.map(Math.abs)));
  const p = side.mesh.positions;
  const farMm = Float64Array.from({ length: p.length / 3 }, (_, v) =>
    near.distance(p[v * 3], p[v * 3 + 1], p[v * 3 + 2], TOLD_MM),
  );
  const mesh = finerNear(side.mesh, farMm, FOLLOWED_WITHIN_MM, FOLLOWED_MM);
  const { twin } = findTwins(mesh.triangles, mesh.positions.length / 3);
  const traced = traceLine({ mesh, tree: buildBvh(mesh) }, twin, drawn.laid);
  return traced === undefined ? { points: drawn.laid, lengthMm: drawn.lengthMm } : evenly(traced.places, SAMPLE_MM);
}

/**
 * A closed line whose points, where they lie within `asideMm` of a straight way of at most STRAIGHT_MM between two
 * others, are moved onto it, evenly. O(points · points that lie so near²).
 */
function straightened(points: Float64Array, asideMm: number): Float64Array {
  const count = points.length / 3;
  const straight = Float64Array.from(points);
  const at = (i: number): number[] => [0, 1, 2].map((k) => points[(i % count) * 3 + k]);
  for (let i = 0; i < count; ) {
    const a = at(i);
    const wayTo = (j: number): number[] => at(j).map((c, k) => c - a[k]);
    let end = i + 1;
    for (let j = i + 2; j <= Math.min(count, i + MOST_STRAIGHT); j++) {
      const way = wayTo(j);
      const size = dot(way, way);
      if (size > STRAIGHT_MM * STRAIGHT_MM) break;
      let isStraight = true;
      for (let between = i + 1; between < j && isStraight; between++) {
        const off = wayTo(between);
        const s = size > 0 ? Math.min(1, Math.max(0, dot(off, way) / size)) : 0;
        isStraight = Math.hypot(...off.map((c, k) => c - s * way[k])) <= asideMm;
      }
      if (isStraight) end = j;
    }
    const way = wayTo(end);
    for (let between = i + 1; between < end; between++) {
      const s = (between - i) / (end - i);
      for (let k = 0; k < 3; k++) straight[between * 3 + k] = a[k] + s * way[k];
    }
    i = end;
  }
  return straight;
}
