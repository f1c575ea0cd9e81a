/**
 * A liner opened along a curve drawn on its form, in a band ruled from the fair curve outward.
 *
 * The rim wanted is where the liner meets that band (rim-curve.ts): the image of the drawn line along the form's own
 * way out, averaged along the line. The band reaches only as high as the liner lies over the line, as rays along its ways
 * out find, so that it meets nothing else; where the line lies in a hollow so tight that the ways out would cross below
 * that, they are averaged over more of the line. Near the band each vertex of the liner has its distance from it, signed
 * by the side; all others have the side of the nearest of these along the liner.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { LeastFirst } from '../measure/least-first.ts';
import { nearestOnFace, faceWeights } from '../measure/point-triangle.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { buildBvh, castRay, findNearest, nearestSlot, type Bvh, type RayHit } from '../spatial/bvh.ts';
import { closeCut, cutOpen, flatOn, squareTo, type Cut } from './cut-flat.ts';
import { bandOf, isUnfolded, waysOut, type RimBand, type RimCurve } from './rim-curve.ts';

/** How far the band reaches beyond the liner's inner and outer side, and how far from it distances are told, mm. */
const BEYOND_MM = 4;
/** The same in mean edges of the liner, where those are long. */
const BEYOND_EDGES = 1.5;
/** A liner farther over its form than this is another part of it, mm. */
const MOST_MM = 80;
/** Rays start and go on so far beyond where they are, mm. */
const RAY_STEP_MM = 2 ** -20;
/** The band is as high as the liner asks over so many columns to either side. */
const COLUMNS = 3;
/** Over how much of the line ways out are averaged in turn, mm, and whether they are kept square to it. */
const STEADIER = [
  [12, true],
  [24, true],
  [24, false],
  [48, false],
  [120, false],
] as const;
const STEADIEST = 120;
const STRIDE = 1023;

/** What goes lies nearest to a point, or is the larger of the two sides by area; undefined: the smaller. */
export type Away = Vec3 | 'larger' | undefined;

export type Sides =
  /** +: stays, by how far from the cut; one per vertex. */
  | { readonly kind: 'sides'; readonly heightMm: Float64Array }
  /** The curve does not part the liner in two. */
  | { readonly kind: 'not-parted' };

/** A band to which places are told: on which side, how far along the line, how high over it. */
export class RuledBand {
  readonly #band: RimBand;
  readonly #tree: Bvh;
  readonly #slot = nearestSlot();
  /** Of the last point asked for: its place along the curve, how high over it, and its distance from the band. */
  along = 0;
  overMm = 0;
  farMm = 0;

  constructor(band: RimBand) {
    this.#band = band;
    this.#tree = buildBvh(band);
  }

  /** Distance of a point from the band, at most `withinMm`. */
  distance(x: number, y: number, z: number, withinMm: number): number {
    return findNearest(this.#tree, x, y, z, this.#slot, withinMm) ? this.#slot.distance : withinMm;
  }

  /** Distance of a point from the band, positive on its left; undefined when it is `withinMm` or more, or past its edges. */
  side(x: number, y: number, z: number, withinMm: number): number | undefined {
    const slot = this.#slot;
    if (!findNearest(this.#tree, x, y, z, slot, withinMm)) return undefined;
    const { positions, triangles, leftward, along, heightMm, columns } = this.#band;
    const [a, b, c] = triangles.subarray(slot.face * 3, slot.face * 3 + 3);
    nearestOnFace(positions, a * 3, b * 3, c * 3, x, y, z);
    const [wa, wb, wc] = faceWeights;
    this.farMm = slot.distance;
    this.along = wa * along[a] + wb * along[b] + wc * along[c];
    this.overMm = wa * heightMm[a] + wb * heightMm[b] + wc * heightMm[c];
    const upper = (a < columns ? 0 : wa) + (b < columns ? 0 : wb) + (c < columns ? 0 : wc);
    if (withinMm < Infinity && (upper <= EDGE || upper >= 1 - EDGE)) return undefined;
    const left = [0, 1, 2].map((k) => wa * leftward[a * 3 + k] + wb * leftward[b * 3 + k] + wc * leftward[c * 3 + k]);
    const size = Math.hypot(left[0], left[1], left[2]) || 1;
    return ((x - slot.x) * left[0] + (y - slot.y) * left[1] + (z - slot.z) * left[2]) / size;
  }
}

export class CurveKnife {
  readonly curve: RimCurve;
  /** Of the last surface asked for. */
  #band: RuledBand | undefined;
  /** 1 where what stays lies on the left, -1 where on the right. */
  #sign = 1;

  constructor(curve: RimCurve) {
    this.curve = curve;
  }

  /** Stand the band up to where it passes a surface; false where no ray meets it. O(points log faces). */
  #standUp(mesh: Mesh, tree: Bvh, beyondMm: number): boolean {
    const { points, laid } = this.curve;
    const count = points.length / 3;
    const hit: RayHit = { face: -1, t: 0 };
    for (const [steadyMm, isSquare] of STEADIER) {
      const outward = waysOut(this.curve, steadyMm, isSquare);
      const low = new Float64Array(count).fill(NaN);
      const high = new Float64Array(count).fill(NaN);
      for (let i = 0; i < count; i++) {
        const [ox, oy, oz] = laid.subarray(i * 3, i * 3 + 3);
        const [dx, dy, dz] = outward.subarray(i * 3, i * 3 + 3);
        if (!castRay(tree, ox, oy, oz, dx, dy, dz, hit, 0, MOST_MM)) continue;
        const under = (ox - points[i * 3]) * dx + (oy - points[i * 3 + 1]) * dy + (oz - points[i * 3 + 2]) * dz;
        low[i] = high[i] = under + hit.t;
        // Into a wall and out of it again.
        if (riseOf(mesh, hit.face, dx, dy, dz) > 0) continue;
        if (castRay(tree, ox, oy, oz, dx, dy, dz, hit, hit.t + RAY_STEP_MM, MOST_MM)) high[i] = under + hit.t;
      }
      if (low.every(Number.isNaN)) return false;
      const band = bandOf(this.curve, outward, ofAround(low, Math.min, -beyondMm), ofAround(high, Math.max, beyondMm));
      if (!isUnfolded(band, this.curve) && steadyMm !== STEADIEST) continue;
      this.#band = new RuledBand(band);
      break;
    }
    return true;
  }

  /**
   * On which side each vertex lies, and which side goes.
   * O(faces log faces).
   */
  sides(mesh: Mesh, away: Away, tick?: () => void): Sides {
    const { positions: p, triangles: t } = mesh;
    const count = p.length / 3;
    const heightMm = new Float64Array(count).fill(NaN);
    const tree = buildBvh(mesh, tick);
    let edges = 0;
    for (let h = 0; h < t.length; h++) edges += apart(p, t[h], t[h - (h % 3) + ((h + 1) % 3)]);
    const beyondMm = Math.max(BEYOND_MM, (BEYOND_EDGES * edges) / t.length);
    if (!this.#standUp(mesh, tree, beyondMm)) return { kind: 'not-parted' };
    const band = this.#band as RuledBand;
    for (let v = 0; v < count; v++) {
      if ((v & STRIDE) === 0) tick?.();
      heightMm[v] = band.side(p[v * 3], p[v * 3 + 1], p[v * 3 + 2], beyondMm) ?? NaN;
    }
    spreadSides(heightMm, p, neighboursOf(t, count), beyondMm, tick);
    const areas = [0, 0];
    for (let h = 0; h < t.length; h += 3) areas[heightMm[t[h]] > 0 ? 1 : 0] += faceCross(p, t, h);
    if (areas[0] === 0 || areas[1] === 0) return { kind: 'not-parted' };
    let goesLeft = areas[1] < areas[0] !== (away === 'larger');
    if (typeof away === 'object') {
      const slot = nearestSlot();
      findNearest(tree, away[0], away[1], away[2], slot);
      goesLeft = heightMm[t[slot.face * 3]] > 0;
    }
    this.#sign = goesLeft ? -1 : 1;
    if (goesLeft) for (let v = 0; v < count; v++) heightMm[v] = -heightMm[v];
    // A piece that comes nowhere near the curve stays.
    for (let v = 0; v < count; v++) if (Number.isNaN(heightMm[v])) heightMm[v] = beyondMm;
    return { kind: 'sides', heightMm };
  }

  /** Cut where the heights of `sides` for the same surface, moved by `nudgeMm`, pass 0, and close the rim. O(faces + rim²). */
  cut(mesh: Mesh, heightMm: Float64Array, nudgeMm: number, tick?: () => void): Cut {
    const heights = heightMm.map((height) => height - nudgeMm);
    const band = this.#band as RuledBand;
    const { open, rims } = cutOpen(mesh, heights, tick, (x, y, z) => {
      const side = band.side(x, y, z, BEYOND_MM);
      return side === undefined ? undefined : this.#sign * side - nudgeMm;
    });
    return closeRuled(open, rims, band, this.curve.lengthMm, { tick });
  }
}

/**
 * Close the rims of a surface cut along a band: two lines by faces between them, matched where they lie or where `beside`
 * puts their vertices, one alone as it lies in its plane. O(rim²).
 */
export function closeRuled(
  open: Mesh,
  rims: readonly (readonly number[])[],
  band: RuledBand,
  lengthMm: number,
  { beside, tick }: { readonly beside?: Float64Array; readonly tick: (() => void) | undefined },
): Cut {
  let offLineMm = 0;
  for (const v of rims.flat()) {
    const [x, y, z] = open.positions.subarray(v * 3, v * 3 + 3);
    band.side(x, y, z, Infinity);
    offLineMm = Math.max(offLineMm, band.farMm);
  }
  // One line alone is closed across: as it lies in the plane in which it is largest.
  if (rims.length === 1) {
    const flat = flatOn(squareTo(open.positions, rims[0]).map((c) => -c));
    return { ...closeCut(open, rims, flat, true), offLineMm };
  }
  const radius = lengthMm / (2 * Math.PI) + MOST_MM;
  const ring = (positions: Float64Array, rim: readonly number[]): number[] => {
    const out: number[] = [];
    for (const v of rim) {
      band.side(positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2], Infinity);
      const turn = 2 * Math.PI * band.along;
      out.push((radius + band.overMm) * Math.cos(turn), (radius + band.overMm) * Math.sin(turn));
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
  return { ...closeCut(open, rims, laid, false, beside, tick), offLineMm };
}

/** A place so near the band's edge, as a share of its height, lies past it. */
const EDGE = 2 ** -20;

/** How much a face faces the way of a ray: above 0 where the ray leaves the body. */
function riseOf({ positions: p, triangles: t }: Mesh, face: number, dx: number, dy: number, dz: number): number {
  const [a, b, c] = [t[face * 3] * 3, t[face * 3 + 1] * 3, t[face * 3 + 2] * 3];
  const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
  const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
  return dx * (uy * vz - uz * vy) + dy * (uz * vx - ux * vz) + dz * (ux * vy - uy * vx);
}

/** The least or most of each column and those around it, and so much beyond; of the nearest where none is known. */
function ofAround(values: Float64Array, best: (a: number, b: number) => number, beyondMm: number): Float64Array {
  const n = values.length;
  return values.map((_, i) => {
    let found = NaN;
    for (let reach = 0; reach <= COLUMNS || (Number.isNaN(found) && reach < n); reach++) {
      for (const j of [i + n - (reach % n), i + reach]) {
        const value = values[j % n];
        if (!Number.isNaN(value)) found = Number.isNaN(found) ? value : best(found, value);
      }
    }
    return found + beyondMm;
  });
}

function signedArea(xy: readonly number[]): number {
  let twice = 0;
  for (let i = 0; i < xy.length; i += 2) {
    const j = (i + 2) % xy.length;
    twice += xy[i] * xy[j + 1] - xy[j] * xy[i + 1];
  }
  return twice / 2;
}

interface Links {
  readonly first: Uint32Array;
  readonly neighbours: Uint32Array;
}

export function neighboursOf(t: Uint32Array, count: number): Links {
  const first = new Uint32Array(count + 1);
  for (const v of t) first[v + 1]++;
  for (let v = 0; v < count; v++) first[v + 1] += first[v];
  const next = first.slice(0, count);
  // In a closed surface each edge is met once each way: one entry per half-edge is enough.
  const neighbours = new Uint32Array(t.length);
  for (let h = 0; h < t.length; h++) neighbours[next[t[h]]++] = t[h - (h % 3) + ((h + 1) % 3)];
  return { first, neighbours };
}

const apart = (p: Float64Array, a: number, b: number): number =>
  Math.hypot(p[a * 3] - p[b * 3], p[a * 3 + 1] - p[b * 3 + 1], p[a * 3 + 2] - p[b * 3 + 2]);

/** Give vertices without a height the side of the nearest that has one, along the surface (Dijkstra 1959). */
function spreadSides(
  heightMm: Float64Array,
  p: Float64Array,
  { first, neighbours }: Links,
  toldMm: number,
  tick?: () => void,
): void {
  const way = Float64Array.from(heightMm, (height) => (Number.isNaN(height) ? Infinity : 0));
  const heap = new LeastFirst();
  for (let v = 0; v < way.length; v++) if (way[v] === 0) heap.push(0, v);
  for (let round = 0; heap.size > 0; round++) {
    if ((round & STRIDE) === 0) tick?.();
    const key = heap.least;
    const v = heap.take();
    if (key > way[v]) continue;
    for (let i = first[v]; i < first[v + 1]; i++) {
      const w = neighbours[i];
      const next = key + apart(p, v, w);
      if (next >= way[w]) continue;
      way[w] = next;
      heightMm[w] = heightMm[v] > 0 ? toldMm : -toldMm;
      heap.push(next, w);
    }
  }
}
