/**
 * One lightening: the dense mesh, the base swept from it, and what was learnt where more detail is needed.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import {
  deviationOneSided,
  joinDeviations,
  type OneSidedDeviation,
  type TwoWayDeviation,
} from '../measure/deviation.ts';
import { areaOf } from '../mesh/quantities.ts';
import { buildBvh, type Bvh } from '../spatial/bvh.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { drainTo, polish, sweepTo } from './collapse.ts';
import { fitToPoints, HASH } from './fit.ts';
import { DeviationGuard } from './guard.ts';
import { fillQuadrics } from './quadrics.ts';
import { sourcePoints, type SourcePoints } from './source-points.ts';
import { BORDER, LOCKED, QUADRIC, Surface } from './surface.ts';

/** Points of the dense surface used per light vertex in the fit; fewer than the least and there is none. */
const FIT_POINTS_PER_VERTEX = 24;
const FIT_LEAST_PER_VERTEX = 4;
const FIT_ROUNDS = 2;
/** Samples of the light side of the measurement, per light face, at least and at most in all. */
const SAMPLES_PER_FACE = 10;
const LEAST_SAMPLES = 20_000;
const MOST_SAMPLES = 200_000;
/** Queries for proving the bound of dense to light, and for narrowing down the maximum of light to dense. */
const PROOF_QUERIES = 40_000;
const NARROWING_QUERIES = 6_000;
/** With more faces than this beyond the limit one way, the other way is not measured. */
const MANY_BEYOND = 50;
/** Where faces cut, the base counts this much more in the next attempt ... */
const RAISE = 8;
/** ... and is locked from this attempt on; from the one after next the dense mesh itself is. */
const LOCK_FROM = 3;
const MOST_ATTEMPTS = 9;
/** Points a limited collapse watches: all up to this many, else so many per vertex of the base. */
const WATCH_ALL = 600_000;
const WATCHED_PER_VERTEX = 4;
/** Share of the limit the sweep down to the base may use up. */
const SWEEP_SHARE = 0.4;
/** Bounds of the factor by which points are held closer where the limit was exceeded. */
const TIGHTEN_MOST = 0.85;
const TIGHTEN_LEAST = 0.4;
/** From this round on all points are held closer, by this factor a round: places that take turns come to rest. */
const TIGHTEN_ALL_FROM = 9;
const TIGHTEN_ALL = 0.95;

interface Base {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  readonly quadrics: Float64Array;
  /** Base vertex of each dense vertex. */
  readonly vertexOf: Int32Array;
}

export interface Light {
  /** In the dense mesh's frame, single precision. */
  readonly mesh: Mesh;
  /** Light vertex of each dense vertex. */
  readonly vertexOf: Int32Array;
  /** Light vertex of each base vertex. */
  readonly vertexOfBase: Int32Array;
  readonly crossings: number[];
  /** Faces short of what was wanted: 0 when the goal was reached. */
  readonly over: number;
}

const rounded = (positions: Float64Array, origin: readonly number[]): Float64Array => {
  const out = new Float64Array(positions.length);
  for (let i = 0; i < out.length; i++) out[i] = Math.fround(positions[i] + origin[i % 3]);
  return out;
};

/** One job: the dense mesh, the base made from it, and what was learnt where more detail is needed. */
/** One job: see the head of the file. */
export class Job {
  readonly dense: Mesh;
  readonly run: RunContext;
  /** About the middle of the dense mesh. */
  readonly points: SourcePoints;
  readonly locked: Uint8Array;
  readonly flat: Uint8Array;
  readonly origin: readonly number[];
  readonly importance: Float32Array | undefined;
  /** Of each point: how far it may come to lie from the surface, mm, and whether it must be watched. */
  readonly #limits: Float32Array;
  readonly #watched: Uint8Array;
  #anyWatched = false;
  base: Base;
  raise: Float32Array;
  lockBase: Uint8Array;
  attempts = 0;
  /** Of the points from the last light mesh, mm; 0 when there was no fit. */
  rmsMm = 0;
  #tree: Bvh | undefined;

  readonly #limited: boolean;

  /** With a limit, the sweep may use SWEEP_SHARE of it. Steps 'prepare' and 'collapse' of `run`. */
  constructor(dense: Mesh, baseFaces: number, importance: Float32Array | undefined, run: RunContext, limitMm?: number) {
    this.dense = dense;
    this.run = run;
    this.importance = importance;
    this.locked = new Uint8Array(dense.positions.length / 3);
    this.#limited = limitMm !== undefined;
    const surface = new Surface(dense, undefined, run);
    this.origin = surface.origin;
    this.points = sourcePoints(surface.positions, dense.triangles, () => run.step('prepare', 0, 1));
    this.#watched = new Uint8Array(this.points.owner.length);
    this.#limits = new Float32Array(this.points.owner.length).fill(limitMm ?? Infinity);
    this.flat = fillQuadrics(surface, importance, run);
    this.base = this.#sweep(surface, baseFaces);
    this.raise = new Float32Array(this.base.positions.length / 3).fill(1);
    this.lockBase = new Uint8Array(this.base.positions.length / 3);
  }

  #sweep(surface: Surface, baseFaces: number): Base {
    if (surface.faceCount > baseFaces) {
      const { positions, owner } = this.points;
      const guard = this.#limited
        ? new DeviationGuard(
            positions,
            owner,
            surface.head.length,
            this.#limits.map((limit) => limit * SWEEP_SHARE),
          )
        : undefined;
      sweepTo(surface, baseFaces, this.run, guard);
    }
    return surface.compact();
  }

  /** Make the base again with the dense vertices marked in `locked` kept. */
  remakeBase(baseFaces: number): void {
    const surface = new Surface(this.dense, undefined, this.run);
    fillQuadrics(surface, this.importance, this.run);
    for (let v = 0; v < this.locked.length; v++) if (this.locked[v]) surface.kind[v] = LOCKED;
    this.base = this.#sweep(surface, baseFaces);
    this.raise = new Float32Array(this.base.positions.length / 3).fill(1);
    this.lockBase = new Uint8Array(this.base.positions.length / 3);
  }

  /** Collapse the base to `faces` (or as far as the limit allows), fit, round, look for faces that cut. */
  collapse(faces: number): Light {
    this.attempts++;
    const { base, raise } = this;
    const quadrics = base.quadrics.slice();
    for (let v = 0; v < raise.length; v++) {
      if (raise[v] === 1) continue;
      for (let k = 0; k < QUADRIC; k++) quadrics[v * QUADRIC + k] *= raise[v];
    }
    const surface = new Surface(base, quadrics);
    for (let v = 0; v < raise.length; v++) if (this.lockBase[v]) surface.kind[v] = LOCKED;
    drainTo(surface, faces, this.run, this.#limited || this.#anyWatched ? this.#guard() : undefined);
    if (!this.#limited) polish(surface);
    const light = surface.compact();
    const vertexOfBase = light.vertexOf;
    const vertexOf = base.vertexOf.map((v) => (v < 0 ? -1 : vertexOfBase[v]));
    const lightCount = light.positions.length / 3;

    const fixed = new Uint8Array(lightCount);
    for (let v = 0; v < surface.head.length; v++) {
      if (surface.head[v] >= 0 && surface.kind[v] >= BORDER) fixed[vertexOfBase[v]] = 1;
    }
    for (let v = 0; v < vertexOf.length; v++) if (this.flat[v] && vertexOf[v] >= 0) fixed[vertexOf[v]] = 1;
    const unfitted = light.positions.slice();
    const { owner, positions, weights } = this.points;
    // Under a limit the collapse has the last word: a fit lowers the mean but may lift the maximum.
    if (!this.#limited && owner.length > FIT_LEAST_PER_VERTEX * lightCount) {
      const share = (FIT_POINTS_PER_VERTEX * lightCount) / owner.length;
      const vertexOfPoint = owner.map((v) => (v < 0 ? -1 : vertexOf[v]));
      this.rmsMm = fitToPoints(
        light,
        { positions, weights, vertexOf: vertexOfPoint, share },
        fixed,
        FIT_ROUNDS,
        this.run,
      );
    }
    let mesh: Mesh = { positions: rounded(light.positions, this.origin), triangles: light.triangles };
    const proving = this.run.within('prove', { [SELF_INTERSECTION_PHASE]: 1 });
    let crossings = findSelfIntersections(mesh, proving);
    for (let round = 0; round < 3 && crossings.length > 0; round++) {
      // Most often it was the fit: put the vertices there back.
      for (const face of crossings) {
        for (let k = 0; k < 3; k++) {
          const i = light.triangles[face * 3 + k] * 3;
          for (let c = 0; c < 3; c++) light.positions[i + c] = unfitted[i + c];
        }
      }
      mesh = { positions: rounded(light.positions, this.origin), triangles: light.triangles };
      crossings = findSelfIntersections(mesh, proving);
    }
    return { mesh, vertexOf, vertexOfBase, crossings, over: Math.max(0, surface.faceCount - faces) };
  }

  #guard(): DeviationGuard {
    const { vertexOf, positions } = this.base;
    const { owner } = this.points;
    const count = positions.length / 3;
    const chance = !this.#limited
      ? 0
      : owner.length <= WATCH_ALL
        ? 2 ** 32
        : ((WATCHED_PER_VERTEX * count) / owner.length) * 2 ** 32;
    const chosen = new Int32Array(owner.length);
    for (let i = 0; i < chosen.length; i++) {
      const taken = owner[i] >= 0 && (this.#watched[i] !== 0 || Math.imul(i, HASH) >>> 0 < chance);
      chosen[i] = taken ? vertexOf[owner[i]] : -1;
    }
    return new DeviationGuard(this.points.positions, chosen, count, this.#limits);
  }

  /** Hold the points closer where the light mesh came to lie beyond the limit, and watch them all there. */
  tighten(light: Light, deviation: TwoWayDeviation, limitMm: number, round: number): void {
    const worst = this.#worstOf(light, deviation.there, deviation.back);
    const { owner } = this.points;
    const all = round >= TIGHTEN_ALL_FROM ? TIGHTEN_ALL : 1;
    for (let i = 0; i < owner.length; i++) {
      this.#limits[i] *= all;
      const v = owner[i] < 0 ? -1 : light.vertexOf[owner[i]];
      if (v < 0 || worst[v] === 0) continue;
      this.#watched[i] = 1;
      this.#limits[i] *= Math.min(TIGHTEN_MOST, Math.max(TIGHTEN_LEAST, limitMm / worst[v]));
    }
  }

  /** Watch the places where the light mesh came to lie beyond the deviation's `beyondMm`: from now on within the limit. */
  watchSpots(light: Light, there: OneSidedDeviation, limitMm: number): void {
    const worst = this.#worstOf(light, there, there);
    const t = light.mesh.triangles;
    const near = worst.slice();
    for (let f = 0; f < t.length; f += 3) {
      const most = Math.max(worst[t[f]], worst[t[f + 1]], worst[t[f + 2]]);
      for (let k = 0; k < 3; k++) near[t[f + k]] = Math.max(near[t[f + k]], most);
    }
    const { owner } = this.points;
    for (let i = 0; i < owner.length; i++) {
      const v = owner[i] < 0 ? -1 : light.vertexOf[owner[i]];
      if (v < 0 || near[v] === 0) continue;
      this.#watched[i] = 1;
      this.#limits[i] = limitMm;
    }
    this.#anyWatched = true;
  }

  /** Largest distance at each light vertex among the faces that lie beyond the limit; 0 where none does. */
  #worstOf(light: Light, there: OneSidedDeviation, back: OneSidedDeviation): Float32Array {
    const worst = new Float32Array(light.mesh.positions.length / 3);
    const note = (v: number, distance: number): void => {
      if (v >= 0 && distance > worst[v]) worst[v] = distance;
    };
    const { triangles } = this.dense;
    for (const [face, distance] of there.beyond) {
      for (let k = 0; k < 3; k++) note(light.vertexOf[triangles[face * 3 + k]], distance);
    }
    if (back !== there) {
      for (const [face, distance] of back.beyond) {
        for (let k = 0; k < 3; k++) note(light.mesh.triangles[face * 3 + k], distance);
      }
    }
    return worst;
  }

  /** Collapse to `faces` until no faces cut. */
  soundCollapse(faces: number): Light {
    let light = this.collapse(faces);
    for (let attempt = 1; light.crossings.length > 0 && attempt < MOST_ATTEMPTS; attempt++) {
      const bad = new Uint8Array(light.mesh.positions.length / 3);
      for (const face of light.crossings) for (let k = 0; k < 3; k++) bad[light.mesh.triangles[face * 3 + k]] = 1;
      if (attempt === LOCK_FROM + 2) {
        const { vertexOf } = light;
        for (let v = 0; v < vertexOf.length; v++) if (vertexOf[v] >= 0 && bad[vertexOf[v]]) this.locked[v] = 1;
        this.remakeBase(this.base.triangles.length / 3);
      } else {
        const { vertexOfBase } = light;
        for (let v = 0; v < vertexOfBase.length; v++) {
          if (vertexOfBase[v] < 0 || !bad[vertexOfBase[v]]) continue;
          if (attempt >= LOCK_FROM) this.lockBase[v] = 1;
          else this.raise[v] *= RAISE;
        }
      }
      light = this.collapse(faces);
    }
    return light;
  }

  /** From the dense mesh to the light one; faces with points beyond `beyondMm` are collected. */
  measureThere(light: Mesh, beyondMm = Infinity): OneSidedDeviation {
    return deviationOneSided(this.dense, light, {
      samples: this.#samplesOf(light),
      maximumQueries: PROOF_QUERIES,
      run: this.#half('there'),
      ...(beyondMm < Infinity ? { beyondMm } : {}),
    });
  }

  /** From the light mesh to the dense one. */
  measureBack(light: Mesh, beyondMm = Infinity): OneSidedDeviation {
    const run = this.#half('back');
    this.#tree ??= buildBvh(this.dense, () => run.step('measure', 0, 1));
    return deviationOneSided(light, this.dense, {
      samples: this.#samplesOf(light),
      tree: this.#tree,
      maximumQueries: NARROWING_QUERIES,
      run,
      ...(beyondMm < Infinity ? { beyondMm } : {}),
    });
  }

  /** Both ways; the first way alone when it is beyond the limit in many places. */
  measureWithin(light: Mesh, limitMm: number): TwoWayDeviation {
    const there = this.measureThere(light, limitMm);
    const hopeless = there.maxMm > limitMm && there.beyond.size > MANY_BEYOND;
    return joinDeviations(there, hopeless ? there : this.measureBack(light, limitMm));
  }

  #samplesOf(light: Mesh): number {
    return Math.min(MOST_SAMPLES, Math.max(LEAST_SAMPLES, (light.triangles.length / 3) * SAMPLES_PER_FACE));
  }

  #half(way: 'there' | 'back'): RunContext {
    return this.run.within('measure', { there: 0.5, back: 0.5 }).within(way, { measure: 1 });
  }

  /** Colours of the dense vertices merged into each light vertex, the near ones counting most. */
  colour(light: Light): Mesh {
    const { colours } = this.dense;
    if (colours === undefined) return light.mesh;
    const count = light.mesh.positions.length / 3;
    const sums = new Float64Array(count * 4);
    const { positions: p } = this.dense;
    const q = light.mesh.positions;
    const spacing2 = areaOf(this.dense) / (p.length / 3);
    for (let v = 0; v < light.vertexOf.length; v++) {
      const to = light.vertexOf[v];
      if (to < 0) continue;
      const d2 =
        (p[v * 3] - q[to * 3]) ** 2 + (p[v * 3 + 1] - q[to * 3 + 1]) ** 2 + (p[v * 3 + 2] - q[to * 3 + 2]) ** 2;
      const w = 1 / (1 + d2 / spacing2) ** 2;
      for (let k = 0; k < 3; k++) sums[to * 4 + k] += w * colours[v * 3 + k];
      sums[to * 4 + 3] += w;
    }
    const out = new Uint8Array(count * 3);
    for (let v = 0; v < count; v++)
      for (let k = 0; k < 3; k++) out[v * 3 + k] = Math.round(sums[v * 4 + k] / sums[v * 4 + 3]);
    return { ...light.mesh, colours: out };
  }
}
