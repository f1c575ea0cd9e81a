/**
 * A liner opened along a curve drawn on its form: cut where the nearest points of the form pass the curve, and closed
 * between the lines so made on its inner and outer side.
 *
 * Near the curve each vertex of the liner has the distance of its foot from the curve, signed by the side; everywhere
 * else it has the side of the vertices it is joined to by the least way of feet over the form. Over a hollow the foot
 * jumps from one flank to the other: there the cut follows the fold of the liner, and the signed distances are smoothed
 * there, so that the edge stays fair.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { LeastFirst } from '../measure/least-first.ts';
import { nearestOnFace, faceWeights } from '../measure/point-triangle.ts';
import { faceCross } from '../mesh/face-cross.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { closeCut, cutOpen, flatOn, squareTo, type Cut } from './cut-flat.ts';
import { bandOf, type RimBand, type RimCurve } from './rim-curve.ts';
import type { SignedField } from './signed-field.ts';

/** Half the height of the band in which the curve tells its sides, mm: feet lie on the form, as the curve does. */
const BAND_HALF_MM = 4;
/** Feet nearer to the curve than this have their own side, mm; also the largest distance told. */
const NEAR_MM = 9;
/** A foot that moves so many times as far as its vertex has jumped. */
const JUMP = 4;
/** How far heights near the curve are spread, mm, and at most as a share of its length: a small hole would shrink. */
const SMOOTH_MM = 3;
const SMOOTH_SHARE = 1 / 120;
/** How many edges round a jump are smoothed more, and how often. */
const SMOOTHED_RINGS = 3;
const SMOOTHINGS = 12;
const STRIDE = 1023;

export type Sides =
  /** +: stays, by how far from the cut; one per vertex. */
  | { readonly kind: 'sides'; readonly heightMm: Float64Array }
  /** The curve does not part the liner in two. */
  | { readonly kind: 'not-parted' };

export class CurveKnife {
  readonly curve: RimCurve;
  readonly #field: SignedField;
  readonly #band: RimBand;
  readonly #tree: Bvh;
  readonly #slot = nearestSlot();
  /** Of the last foot asked for: its place along the curve. */
  #along = 0;

  /** `field`: of the form the curve lies on. */
  constructor(curve: RimCurve, field: SignedField) {
    this.curve = curve;
    this.#field = field;
    this.#band = bandOf(curve, BAND_HALF_MM);
    this.#tree = buildBvh(this.#band);
  }

  /** Distance of a point of the form from the curve, positive on its left; undefined when it is `withinMm` or more. */
  #side(x: number, y: number, z: number, withinMm: number): number | undefined {
    const slot = this.#slot;
    if (!findNearest(this.#tree, x, y, z, slot, withinMm)) return undefined;
    const { positions, triangles, leftward, along } = this.#band;
    const [a, b, c] = triangles.subarray(slot.face * 3, slot.face * 3 + 3);
    nearestOnFace(positions, a * 3, b * 3, c * 3, x, y, z);
    const [wa, wb, wc] = faceWeights;
    this.#along = wa * along[a] + wb * along[b] + wc * along[c];
    const left = [0, 1, 2].map((k) => wa * leftward[a * 3 + k] + wb * leftward[b * 3 + k] + wc * leftward[c * 3 + k]);
    const size = Math.hypot(left[0], left[1], left[2]) || 1;
    return ((x - slot.x) * left[0] + (y - slot.y) * left[1] + (z - slot.z) * left[2]) / size;
  }

  /**
   * On which side each vertex lies. What goes is the side nearest to `away`, or without it the one with less area.
   * O(faces log faces).
   */
  sides(mesh: Mesh, away: Vec3 | undefined, tick?: () => void): Sides {
    const { positions: p, triangles: t } = mesh;
    const count = p.length / 3;
    const feet = new Float64Array(count * 3);
    const heightMm = new Float64Array(count).fill(NaN);
    const field = this.#field;
    for (let v = 0; v < count; v++) {
      if ((v & STRIDE) === 0) tick?.();
      field.formAt(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
      feet.set([field.x, field.y, field.z], v * 3);
      const side = this.#side(field.x, field.y, field.z, NEAR_MM);
      if (side !== undefined) heightMm[v] = side;
    }
    const links = neighboursOf(t, count);
    spreadSides(heightMm, feet, links, tick);
    smoothNear(heightMm, p, feet, links, Math.min(SMOOTH_MM, SMOOTH_SHARE * this.curve.lengthMm));
    const areas = [0, 0];
    for (let h = 0; h < t.length; h += 3) areas[heightMm[t[h]] > 0 ? 1 : 0] += faceCross(p, t, h);
    if (areas[0] === 0 || areas[1] === 0) return { kind: 'not-parted' };
    let goesLeft = areas[1] < areas[0];
    if (away !== undefined) {
      const slot = nearestSlot();
      findNearest(buildBvh(mesh), away[0], away[1], away[2], slot);
      goesLeft = heightMm[t[slot.face * 3]] > 0;
    }
    if (goesLeft) for (let v = 0; v < count; v++) heightMm[v] = -heightMm[v];
    // A piece that comes nowhere near the curve stays.
    for (let v = 0; v < count; v++) if (Number.isNaN(heightMm[v])) heightMm[v] = NEAR_MM;
    return { kind: 'sides', heightMm };
  }

  /** Cut where the heights of `sides`, moved by `nudgeMm`, pass 0, and close the rim. O(faces + rim²). */
  cut(mesh: Mesh, heightMm: Float64Array, nudgeMm: number, tick?: () => void): Cut {
    const heights = heightMm.map((height) => height - nudgeMm);
    const { open, rims } = cutOpen(mesh, heights, tick);
    // One line alone is closed across: as it lies in the plane in which it is largest.
    if (rims.length === 1) return closeCut(open, rims, flatOn(squareTo(open.positions, rims[0]).map((c) => -c)), true);
    const radius = this.curve.lengthMm / (2 * Math.PI);
    const field = this.#field;
    const ring = (positions: Float64Array, rim: readonly number[]): number[] => {
      const out: number[] = [];
      for (const v of rim) {
        const over = field.formAt(positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]);
        this.#side(field.x, field.y, field.z, Infinity);
        const turn = 2 * Math.PI * this.#along;
        out.push((radius + over) * Math.cos(turn), (radius + over) * Math.sin(turn));
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

interface Links {
  readonly first: Uint32Array;
  readonly neighbours: Uint32Array;
}

function neighboursOf(t: Uint32Array, count: number): Links {
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

/** Give vertices without a height the side to which their feet have the least way (Dijkstra 1959). */
function spreadSides(
  heightMm: Float64Array,
  feet: Float64Array,
  { first, neighbours }: Links,
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
      const next = key + apart(feet, v, w);
      if (next >= way[w]) continue;
      way[w] = next;
      heightMm[w] = heightMm[v] > 0 ? NEAR_MM : -NEAR_MM;
      heap.push(next, w);
    }
  }
}

/**
 * Smooth the heights of vertices near the curve: folds and facets of the form hold the feet of many vertices in one
 * place, and would leave the edge ragged. More round the edges over which the foot jumps from one side to the other.
 */
function smoothNear(
  heightMm: Float64Array,
  p: Float64Array,
  feet: Float64Array,
  { first, neighbours }: Links,
  smoothMm: number,
): void {
  const isMarked = new Uint8Array(heightMm.length);
  const near: number[] = [];
  let ring: number[] = [];
  let [edges, length] = [0, 0];
  for (let v = 0; v < heightMm.length; v++) {
    if (Math.abs(heightMm[v]) < NEAR_MM) near.push(v);
    for (let i = first[v]; i < first[v + 1]; i++) {
      const w = neighbours[i];
      if (!(Math.abs(heightMm[v]) < NEAR_MM) && heightMm[v] > 0 === heightMm[w] > 0) continue;
      edges++;
      length += apart(p, v, w);
      if (heightMm[v] > 0 === heightMm[w] > 0 || apart(feet, v, w) < JUMP * apart(p, v, w) || isMarked[v] === 1)
        continue;
      isMarked[v] = 1;
      ring.push(v);
    }
  }
  const smooth = (vertices: readonly number[], rounds: number): void => {
    for (let round = 0; round < rounds; round++) {
      const means = vertices.map((v) => levelAt(heightMm, p, v, neighbours.subarray(first[v], first[v + 1])));
      for (const [at, v] of vertices.entries()) heightMm[v] = means[at];
    }
  };
  const marked = [...ring];
  for (let round = 0; round < SMOOTHED_RINGS; round++) {
    const next: number[] = [];
    for (const v of ring) {
      for (let i = first[v]; i < first[v + 1]; i++) {
        if (isMarked[neighbours[i]] === 1) continue;
        isMarked[neighbours[i]] = 1;
        next.push(neighbours[i]);
      }
    }
    marked.push(...next);
    ring = next;
  }
  smooth(marked, SMOOTHINGS);
  // The plane through a ring at distance e spreads by about 0.65 e.
  if (edges > 0) smooth(near, Math.round((smoothMm / ((0.65 * length) / edges)) ** 2));
}

/** Keeps the plane of a flat ring of vertices from tipping, relative to the ring's size. */
const STEADYING = 2 ** -10;

/** Height at a vertex of the plane that lies nearest to those of its ring: keeps what is even as it is, unlike a mean. */
function levelAt(heightMm: Float64Array, p: Float64Array, v: number, ring: Uint32Array): number {
  const count = ring.length + 1;
  let [x, y, z, h] = [p[v * 3], p[v * 3 + 1], p[v * 3 + 2], heightMm[v]];
  for (const w of ring) {
    x += p[w * 3];
    y += p[w * 3 + 1];
    z += p[w * 3 + 2];
    h += heightMm[w];
  }
  [x, y, z, h] = [x / count, y / count, z / count, h / count];
  let [xx, xy, xz, yy, yz, zz, xh, yh, zh] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  const take = (w: number): void => {
    const [dx, dy, dz, dh] = [p[w * 3] - x, p[w * 3 + 1] - y, p[w * 3 + 2] - z, heightMm[w] - h];
    xx += dx * dx;
    xy += dx * dy;
    xz += dx * dz;
    yy += dy * dy;
    yz += dy * dz;
    zz += dz * dz;
    xh += dx * dh;
    yh += dy * dh;
    zh += dz * dh;
  };
  take(v);
  for (const w of ring) take(w);
  const steady = STEADYING * (xx + yy + zz);
  xx += steady;
  yy += steady;
  zz += steady;
  const [a, b, c] = [yy * zz - yz * yz, xz * yz - xy * zz, xy * yz - xz * yy];
  const det = xx * a + xy * b + xz * c;
  if (!(det > 0)) return h;
  // The symmetric system by its cofactors.
  const gx = (a * xh + b * yh + c * zh) / det;
  const gy = (b * xh + (xx * zz - xz * xz) * yh + (xy * xz - xx * yz) * zh) / det;
  const gz = (c * xh + (xy * xz - xx * yz) * yh + (xx * yy - xy * xy) * zh) / det;
  return h + gx * (p[v * 3] - x) + gy * (p[v * 3 + 1] - y) + gz * (p[v * 3 + 2] - z);
}
