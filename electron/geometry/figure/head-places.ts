/**
 * Where the landmarks lie on the neutral head once it is bent: extremes are sought anew by their definitions
 * (ISO 7250-1), since a bent head has its widest or highest point elsewhere; what is no extreme keeps its place on the
 * skin. Extremes of a mesh are at its vertices, so each is exact for the mesh.
 */
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { buildBvh, castRay, type RayHit } from '../spatial/bvh.ts';
import type { NeutralHead } from './neutral-head.ts';

/** A point on the skin: up to three vertices and their shares. */
export interface Place {
  readonly vertices: readonly number[];
  readonly shares: readonly number[];
}

export const pointOf = (positions: Float64Array, { vertices, shares }: Place): Vec3 => {
  const at = (k: number): number => vertices.reduce((sum, vertex, i) => sum + shares[i] * positions[vertex * 3 + k], 0);
  return [at(0), at(1), at(2)];
};

/** Windows on the neutral head, mm: x from, to, z from, to. They hold each extreme however a head is bent. */
type Window = readonly [number, number, number, number];

export interface Extreme {
  readonly window: Window;
  /** On the middle line, or anywhere on the left half. */
  readonly isMiddle: boolean;
  /** Of a broad extreme that a tape runs through: from where a line along x (z) meets it at its level (its x). */
  readonly metFrom?: 'front' | 'back' | 'above';
  /** The vertex with the largest score, mm, is the landmark. */
  readonly score: (p: Vec3, glabella: Vec3) => number;
}

const middle = (window: Window, score: Extreme['score'], metFrom?: Extreme['metFrom']): Extreme =>
  metFrom === undefined ? { window, isMiddle: true, score } : { window, isMiddle: true, score, metFrom };
const side = (window: Window): Extreme => ({ window, isMiddle: false, score: (p) => p[1] });

export const EXTREMES: Readonly<Record<string, Extreme>> = {
  glabella: middle([70, 130, 26, 46], (p) => p[0], 'front'),
  opisthocranion: middle([-130, -60, -20, 90], (p, g) => Math.hypot(p[0] - g[0], p[1] - g[1], p[2] - g[2]), 'back'),
  vertex: middle([-60, 60, 90, 160], (p) => p[2], 'above'),
  /** The same as a height, without its place on the flat of the crown. */
  top: middle([-60, 60, 90, 160], (p) => p[2]),
  sellion: middle([70, 130, 8, 30], (p) => -p[0]),
  pronasale: middle([80, 140, -36, -8], (p) => p[0]),
  pogonion: middle([60, 130, -96, -74], (p) => p[0], 'front'),
  menton: middle([56, 130, -120, -84], (p) => -p[2]),
  'euryon-left': side([-60, 20, 38, 90]),
  'zygion-left': side([26, 60, -20, -4]),
};

/** Where lines from outside meet the skin: x or y and z of the line, and where it comes from. */
const FIXED: Readonly<Record<string, { readonly from: Vec3; readonly to: Vec3 }>> = {
  'tragion-left': { from: [4, 200, 0], to: [4, 0, 0] },
  'orbitale-left': { from: [200, 33, 0], to: [0, 33, 0] },
  'pupil-left': { from: [200, 32.5, 13], to: [0, 32.5, 13] },
  submandibular: { from: [50, 0, -200], to: [50, 0, 0] },
  'neck-front': { from: [200, 0, -140], to: [-30, 0, -140] },
  'neck-back': { from: [-200, 0, -140], to: [-30, 0, -140] },
};
/** Of these, on the middle line. */
const FIXED_MIDDLE = new Set(['submandibular', 'neck-front', 'neck-back']);

/**
 * How far above the glabella the tape of the head's girth runs, just over the brow ridges (the same as on the invented
 * heads of the demo).
 */
export const BROW_ABOVE_MM = 10;
/**
 * Vertices less extreme by about this count as just as extreme: for the level of a tape, which one vertex alone would
 * make jump, and for what a pull moves, which else would sink a dent beside which another vertex stands out, mm.
 */
export const LEVEL_SOFT_MM = 0.25;
export const SPREAD_SOFT_MM = 1.6;
/**
 * The back of a head is so round about the glabella that a tape's level there swings to and fro from one round of
 * bending to the next, by up to two and a half times the swing before: this share of the way settles it.
 */
export const LEVEL_SHARE = 0.4;
/** Outside every head. */
export const FAR_MM = 300;

/** Heights of the broad extremes by name, mm. */
export type Levels = Readonly<Record<string, number>>;

export interface FoundPlaces {
  readonly places: Readonly<Record<string, Place>>;
  /** Of extremes, all the vertices that are nearly as extreme: what moves it when the skin moves. */
  readonly softly: Readonly<Record<string, Place>>;
  readonly levels: Levels;
}

export class HeadPlaces {
  readonly #head: NeutralHead;
  readonly #fixed = new Map<string, Place>();
  readonly #candidates = new Map<string, readonly number[]>();

  constructor(head: NeutralHead) {
    this.#head = head;
    const { mesh } = head;
    const p = mesh.positions;
    const tree = buildBvh(mesh);
    const hit: RayHit = { face: -1, t: 0 };
    for (const [name, { from, to }] of Object.entries(FIXED)) {
      const [dx, dy, dz] = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
      if (FIXED_MIDDLE.has(name)) {
        const place = this.#onMiddle(p, from, to);
        if (place === undefined) throw new Error(`the line of ${name} misses the neutral head`);
        this.#fixed.set(name, place);
        continue;
      }
      if (!castRay(tree, ...from, dx, dy, dz, hit)) throw new Error(`the line of ${name} misses the neutral head`);
      const q: Vec3 = [from[0] + hit.t * dx, from[1] + hit.t * dy, from[2] + hit.t * dz];
      this.#fixed.set(name, placeOn(p, mesh.triangles, hit.face, q));
    }
    const left = Array.from({ length: p.length / 3 }, (_, vertex) => vertex).filter((v) => p[v * 3 + 1] > 0);
    for (const [name, { window, isMiddle }] of Object.entries(EXTREMES)) {
      const [x0, x1, z0, z1] = window;
      const isWithin = (v: number): boolean =>
        p[v * 3] >= x0 && p[v * 3] <= x1 && p[v * 3 + 2] >= z0 && p[v * 3 + 2] <= z1;
      this.#candidates.set(name, (isMiddle ? [...head.middle] : left).filter(isWithin));
    }
  }

  /**
   * All landmarks on the head bent to `positions`; of pairs both. Levels of broad extremes go only part of the way from
   * where they were `before`. Undefined when bent so far that it is no head any more. O(vertices in the windows).
   */
  on(positions: Float64Array, before?: Levels): FoundPlaces | undefined {
    const softly: Record<string, Place> = {};
    const levels: Record<string, number> = {};
    const places: Record<string, Place> = Object.fromEntries(this.#fixed);
    let glabella: Vec3 = [0, 0, 0];
    for (const [name, { score, metFrom }] of Object.entries(EXTREMES)) {
      const candidates = this.#candidates.get(name) ?? [];
      const scores = candidates.map((vertex) =>
        score([positions[vertex * 3], positions[vertex * 3 + 1], positions[vertex * 3 + 2]], glabella),
      );
      const top = Math.max(...scores);
      places[name] = { vertices: [candidates[scores.indexOf(top)]], shares: [1] };
      softly[name] = softPlace(candidates, scores, SPREAD_SOFT_MM);
      if (metFrom !== undefined) {
        // The place of a broad extreme would jump from vertex to vertex, and the tape with it.
        const axis = metFrom === 'above' ? 0 : 2;
        const found = pointOf(positions, softPlace(candidates, scores, LEVEL_SOFT_MM))[axis];
        const level = before === undefined ? found : before[name] + LEVEL_SHARE * (found - before[name]);
        levels[name] = level;
        const far = metFrom === 'back' ? -FAR_MM : FAR_MM;
        const place =
          axis === 0
            ? this.#onMiddle(positions, [level, 0, far], [level, 0, 0])
            : this.#onMiddle(positions, [far, 0, level], [0, 0, level]);
        if (place === undefined) return undefined;
        softly[name] = places[name] = place;
      }
      if (name === 'glabella') glabella = pointOf(positions, places[name]);
    }
    const level = glabella[2] + BROW_ABOVE_MM;
    const brow = this.#onMiddle(positions, [FAR_MM, 0, level], [0, 0, level]);
    if (brow === undefined) return undefined;
    places['brow'] = brow;
    for (const list of [places, softly]) {
      for (const [name, { vertices, shares }] of Object.entries(list)) {
        if (!name.endsWith('-left')) continue;
        const mirrored = vertices.map((vertex) => this.#head.mesh.mirror[vertex]);
        list[name.replace('-left', '-right')] = { vertices: mirrored, shares };
      }
    }
    return { places, softly, levels };
  }

  /** First crossing, if any, of the middle line by the line from `from` to `to`, both with y = 0. */
  #onMiddle(positions: Float64Array, from: Vec3, to: Vec3): Place | undefined {
    const [wx, wz] = [to[0] - from[0], to[2] - from[2]];
    let place: Place | undefined;
    let first = Infinity;
    const { middleEdges } = this.#head;
    for (let e = 0; e < middleEdges.length; e += 2) {
      const ends = [middleEdges[e], middleEdges[e + 1]];
      const across = ends.map((v) => wx * (positions[v * 3 + 2] - from[2]) - wz * (positions[v * 3] - from[0]));
      if (across[0] * across[1] > 0 || across[0] === across[1]) continue;
      const share = across[0] / (across[0] - across[1]);
      const candidate = { vertices: ends, shares: [1 - share, share] };
      const [x, , z] = pointOf(positions, candidate);
      const along = (x - from[0]) * wx + (z - from[2]) * wz;
      if (along > 0 && along < first) [first, place] = [along, candidate];
    }
    return place;
  }
}

/** The mean of the candidates, those with a lower score counting less and less. */
export function softPlace(candidates: readonly number[], scores: readonly number[], softMm: number): Place {
  const top = Math.max(...scores);
  const weights = scores.map((value) => Math.exp((value - top) / softMm));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return { vertices: candidates, shares: weights.map((weight) => weight / total) };
}

/** The point q of a face as a place: shares by the areas opposite. */
export function placeOn(positions: Float64Array, triangles: Uint32Array, face: number, q: Vec3): Place {
  const vertices = [triangles[face * 3], triangles[face * 3 + 1], triangles[face * 3 + 2]];
  const corner = vertices.map((v): Vec3 => [positions[v * 3], positions[v * 3 + 1], positions[v * 3 + 2]]);
  const area = (a: Vec3, b: Vec3, c: Vec3): number => {
    const [u, v] = [0, 1].map((i) => [0, 1, 2].map((k) => (i === 0 ? b : c)[k] - a[k]));
    return Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]);
  };
  const areas = [area(q, corner[1], corner[2]), area(corner[0], q, corner[2]), area(corner[0], corner[1], q)];
  const sum = areas[0] + areas[1] + areas[2];
  return { vertices, shares: sum > 0 ? areas.map((part) => part / sum) : [1, 0, 0] };
}
