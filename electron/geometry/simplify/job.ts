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
import { NearGrid } from '../spatial/near-grid.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../spatial/self-intersections.ts';
import { COLLAPSE_PHASE, drainTo, polish, replay, sweepTo, type CollapseLog } from './collapse.ts';
import { findFarSpots, splitFarSpots, type FarSpot } from './far-spots.ts';
import { facesOfVertex, fitToPoints, HASH, walked2, walkToFace, type LightMesh } from './fit.ts';
import { DeviationGuard } from './guard.ts';
import { fillQuadrics } from './quadrics.ts';
import { sourcePoints, type SourcePoints } from './source-points.ts';
import { BORDER, LOCKED, NEEDLE_SHAPE, QUADRIC, Surface } from './surface.ts';

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
/** The same while a limit is still being felt for. */
const ROUGH_QUERIES = 5_000;
/** Where faces cut, the base counts this much more in the next attempt ... */
const RAISE = 8;
/** ... and is locked from this attempt on; from the one after next the dense mesh itself is. */
const LOCK_FROM = 3;
const MOST_ATTEMPTS = 9;
/** The last stretch to a number of faces, from this many times as many, is done under watch ... */
const WATCH_FROM = 2;
/** ... of so many points per vertex: none may come to lie further than this many times the rms there ... */
const WATCHED_PER_VERTEX = 24;
const SPOT_RMS = 5;
/** ... unless too few collapses are left: then it is eased by this factor, so often, and then given up. */
const SPOT_EASING = 1.5;
const SPOT_ROUNDS = 5;
/** With so many faces or more this share of them is kept back, in pairs, for vertices at the places furthest off ... */
const SPARE_FROM = 1000;
const SPARE = 0.002;
/** ... which are more than this many times the limit off that the collapse was watched for. */
const FAR = 1.2;
/** Rounds of putting vertices back from the fit where faces cut or a point came to lie too far off. */
const PUT_BACK_ROUNDS = 4;
/** Points per vertex that rms is taken from. */
const RMS_PER_VERTEX = 4;
/** Share of the limit the sweep down to the base may use up. */
const SWEEP_SHARE = 0.4;
/** A dense vertex stands for at least this share of the mean area, or is too small to matter. */
const LEAST_AREA_SHARE = 0.3;
/** Share of the limit beyond which a face is taken for beyond it. */
const NEARLY = 0.97;
/** Where the limit was exceeded points are held closer by its excess, but by a factor within these bounds. */
const TIGHTEN_MOST = 0.92;
const TIGHTEN_LEAST = 0.4;

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
  /** Largest deviation wanted, if that is the goal. */
  readonly #limitMm: number | undefined;
  /** Of each point: how far it may come to lie from the surface, mm, and whether it must be watched. */
  readonly #limits: Float32Array;
  readonly #watched: Uint8Array;
  /** Of each base vertex: how far its faces may come to lie from the dense surface. */
  #baseLimits: Float32Array;
  /** Mean area a dense vertex stands for, mm². */
  readonly #vertexAreaMm2: number;
  #log: CollapseLog | undefined;
  /** Whether the log has been shortened by `undo`: nothing is added to it any more. */
  #undone = false;
  /** Base vertices whose part of the log is not done again. */
  #kept: Uint8Array;
  /** Whether needles may be made. */
  #needles = false;
  base: Base;
  raise: Float32Array;
  lockBase: Uint8Array;
  attempts = 0;
  #grid: NearGrid | undefined;

  /** With a limit, the sweep may use SWEEP_SHARE of it. Steps 'prepare' and 'collapse' of `run`. */
  constructor(dense: Mesh, baseFaces: number, importance: Float32Array | undefined, run: RunContext, limitMm?: number) {
    this.dense = dense;
    this.run = run;
    this.importance = importance;
    this.locked = new Uint8Array(dense.positions.length / 3);
    this.#limitMm = limitMm;
    this.#vertexAreaMm2 = areaOf(dense) / this.locked.length;
    const surface = new Surface(dense, undefined, run);
    this.origin = surface.origin;
    this.points = sourcePoints(surface.positions, dense.triangles, () => run.step('prepare', 0, 1));
    this.#watched = new Uint8Array(this.points.owner.length);
    this.#limits = new Float32Array(limitMm === undefined ? 0 : this.points.owner.length).fill(limitMm ?? 0);
    this.flat = fillQuadrics(surface, importance, run);
    this.base = this.#sweep(surface, baseFaces);
    this.raise = new Float32Array(0);
    this.lockBase = this.#kept = new Uint8Array(0);
    this.#baseLimits = this.raise;
    this.#newBase();
  }

  #sweep(surface: Surface, baseFaces: number): Base {
    if (surface.faceCount > baseFaces) sweepTo(surface, baseFaces, this.run, this.#surely(SWEEP_SHARE));
    return surface.compact();
  }

  /** Error below which no dense vertex can be further off than this share of the limit, roughly, mm⁴. */
  #surely(share: number): number {
    const limitMm = this.#limitMm ?? Infinity;
    return (limitMm * share) ** 2 * this.#vertexAreaMm2 * LEAST_AREA_SHARE;
  }

  #newBase(): void {
    const count = this.base.positions.length / 3;
    this.raise = new Float32Array(count).fill(1);
    this.lockBase = new Uint8Array(count);
    this.#kept = new Uint8Array(count);
    this.#baseLimits = new Float32Array(count).fill(this.#limitMm ?? Infinity);
    this.#log = undefined;
    this.#undone = false;
  }

  /** Make the base again with the dense vertices marked in `locked` kept. */
  remakeBase(baseFaces: number): void {
    const surface = new Surface(this.dense, undefined, this.run);
    fillQuadrics(surface, this.importance, this.run);
    for (let v = 0; v < this.locked.length; v++) if (this.locked[v]) surface.kind[v] = LOCKED;
    this.base = this.#sweep(surface, baseFaces);
    this.#newBase();
  }

  /** The base as a surface to collapse, with what was learnt put in. */
  #start(): Surface {
    const { base, raise } = this;
    const quadrics = base.quadrics.slice();
    for (let v = 0; v < raise.length; v++) {
      if (raise[v] === 1) continue;
      for (let k = 0; k < QUADRIC; k++) quadrics[v * QUADRIC + k] *= raise[v];
    }
    const surface = new Surface(base, quadrics);
    if (this.#needles) surface.leastShape = NEEDLE_SHAPE;
    for (let v = 0; v < raise.length; v++) if (this.lockBase[v]) surface.kind[v] = LOCKED;
    return surface;
  }

  /**
   * The base with so many faces. The last stretch is done under watch, so that nothing sticks out far beyond the
   * rest. Gives back the watch too, and the limit it began with.
   */
  #drainToFaces(faces: number): { surface: Surface; guard: DeviationGuard | undefined; farMm: number } {
    const { run } = this;
    const surface = this.#start();
    let guard: DeviationGuard | undefined;
    drainTo(surface, Math.max(faces, Math.round(faces * WATCH_FROM)), { run });
    if (surface.faceCount <= faces) return { surface, guard, farMm: Infinity };
    const farMm = SPOT_RMS * this.#rmsOf(surface);
    let limitMm = farMm;
    for (let round = 0; surface.faceCount > faces; round++) {
      const before = surface.faceCount;
      const watch = round < SPOT_ROUNDS && limitMm > 0;
      guard = watch ? this.#evenGuard(surface, limitMm) : undefined;
      drainTo(surface, faces, guard === undefined ? { run } : { run, guard });
      if (!watch && surface.faceCount === before) break;
      limitMm *= SPOT_EASING;
    }
    return { surface, guard, farMm };
  }

  /** A guard with the same limit everywhere. */
  #evenGuard(surface: Surface, limitMm: number): DeviationGuard {
    const limits = new Float32Array(this.points.owner.length).fill(limitMm);
    return this.#guard(surface, limits, new Float32Array(surface.head.length).fill(limitMm));
  }

  /** As far down as the limit allows; from the second time on only where it was exceeded. */
  #drainToLimit(faces: number): Surface {
    const { run } = this;
    const surface = this.#start();
    let log: CollapseLog = { ends: [], places: [] };
    if (this.#log === undefined) drainTo(surface, faces, { run, log, errorMm4: this.#surely(1) });
    else log = replay(surface, this.#log, this.#kept);
    if (!this.#undone) {
      drainTo(surface, faces, { run, log, guard: this.#guard(surface, this.#limits, this.#baseLimits.slice()) });
    }
    this.#log = log;
    this.#kept.fill(0);
    return surface;
  }

  /** Root mean square distance of some of the points from the surface, mm. */
  #rmsOf(surface: Surface): number {
    const { owner, positions, weights } = this.points;
    const light = surface.compact();
    const count = light.positions.length / 3;
    const around = facesOfVertex(light.triangles, count);
    const chance = ((RMS_PER_VERTEX * count) / owner.length) * 2 ** 32;
    let squares = 0,
      area = 0;
    for (let i = 0; i < owner.length; i++) {
      if (owner[i] < 0 || Math.imul(i, HASH) >>> 0 >= chance) continue;
      const v = light.vertexOf[this.base.vertexOf[owner[i]]];
      if (!(v >= 0)) continue;
      walkToFace(light, around, v, positions[i * 3], positions[i * 3 + 1], positions[i * 3 + 2]);
      squares += weights[i] * walked2;
      area += weights[i];
    }
    return area > 0 ? Math.sqrt(squares / area) : 0;
  }

  /** Collapse the base to `faces` (or as far as the limit allows), fit, round, look for faces that cut. */
  collapse(faces: number): Light {
    this.attempts++;
    const limited = this.#limitMm !== undefined;
    const spare = limited || faces < SPARE_FROM ? 0 : Math.ceil(faces * SPARE);
    const { surface, guard, farMm } = limited
      ? { surface: this.#drainToLimit(faces), guard: undefined, farMm: Infinity }
      : this.#drainToFaces(faces - 2 * spare);
    if (!limited && surface.faceCount > faces && !this.#needles) {
      // What was cheap was refused for its shape, and what was done instead was dear: begin again.
      this.#needles = true;
      return this.collapse(faces);
    }
    const unmoved = surface.positions.slice();
    if (!limited) polish(surface);
    const light = surface.compact();
    const vertexOfBase = light.vertexOf;
    const vertexOf = this.base.vertexOf.map((v) => (v < 0 ? -1 : vertexOfBase[v]));
    const lightCount = light.positions.length / 3;

    const fixed = new Uint8Array(lightCount);
    for (let v = 0; v < surface.head.length; v++) {
      if (surface.head[v] >= 0 && surface.kind[v] >= BORDER) fixed[vertexOfBase[v]] = 1;
    }
    for (let v = 0; v < vertexOf.length; v++) if (this.flat[v] && vertexOf[v] >= 0) fixed[vertexOf[v]] = 1;
    const { owner, positions, weights } = this.points;
    // Under a limit the collapse has the last word: a fit lowers the mean but may lift the maximum.
    if (!limited && owner.length > FIT_LEAST_PER_VERTEX * lightCount) {
      const share = (FIT_POINTS_PER_VERTEX * lightCount) / owner.length;
      const vertexOfPoint = owner.map((v) => (v < 0 ? -1 : vertexOf[v]));
      fitToPoints(light, { positions, weights, vertexOf: vertexOfPoint, share }, fixed, FIT_ROUNDS, this.run);
    }
    for (let v = 0; v < surface.head.length; v++) {
      if (surface.head[v] < 0) continue;
      for (let k = 0; k < 3; k++) surface.positions[v * 3 + k] = light.positions[vertexOfBase[v] * 3 + k];
    }
    const putBack = (marked: Uint8Array): void => {
      for (let v = 0; v < marked.length; v++) {
        if (!marked[v]) continue;
        for (let k = 0; k < 3; k++)
          surface.positions[v * 3 + k] = light.positions[vertexOfBase[v] * 3 + k] = unmoved[v * 3 + k];
      }
    };
    let back: Uint8Array | undefined;
    for (let round = 0; guard !== undefined && round < PUT_BACK_ROUNDS; round++) {
      const beyond = new Uint8Array(surface.head.length);
      if (guard.markBeyond(surface, beyond, () => this.run.step('fit', 1, 1), back) === 0) break;
      putBack(beyond);
      back = beyond;
    }
    let mesh: Mesh = { positions: rounded(light.positions, this.origin), triangles: light.triangles };
    const proving = this.run.within('prove', { [SELF_INTERSECTION_PHASE]: 1 });
    let crossings = findSelfIntersections(mesh, proving);
    for (let round = 0; round < PUT_BACK_ROUNDS && crossings.length > 0; round++) {
      // Most often it was the fit: put the vertices there back.
      const marked = new Uint8Array(lightCount);
      for (const face of crossings) for (let k = 0; k < 3; k++) marked[light.triangles[face * 3 + k]] = 1;
      putBack(Uint8Array.from(vertexOfBase, (v, b) => (surface.head[b] >= 0 ? marked[v] : 0)));
      mesh = { positions: rounded(light.positions, this.origin), triangles: light.triangles };
      crossings = findSelfIntersections(mesh, proving);
    }
    if (crossings.length === 0 && spare > 0) mesh = this.#withSpots(light, mesh, vertexOf, farMm * FAR, spare);
    return { mesh, vertexOf, vertexOfBase, crossings, over: Math.max(0, surface.faceCount - faces) };
  }

  /** The light mesh with vertices of their own at the places furthest off, if it stays sound; `vertexOf` is told of them. */
  #withSpots(light: LightMesh, mesh: Mesh, vertexOf: Int32Array, farMm: number, most: number): Mesh {
    const { run, origin } = this;
    let spots = findFarSpots(
      light,
      { vertices: this.points.positions, vertexOf, triangles: this.dense.triangles, grid: this.#nearGrid(), origin },
      farMm,
      () => run.step('fit', 1, 1),
    );
    const proving = run.within('prove', { [SELF_INTERSECTION_PHASE]: 1 });
    for (let round = 0; round < PUT_BACK_ROUNDS && spots.length > 0; round++) {
      const split = splitFarSpots(light, spots, most);
      if (split.made.length === 0) break;
      const again: Mesh = { positions: rounded(split.positions, origin), triangles: split.triangles };
      const cuts = findSelfIntersections(again, proving);
      const first = light.positions.length / 3;
      if (cuts.length === 0) {
        split.made.forEach((spot, i) => (vertexOf[spot.dense] = first + i));
        return again;
      }
      // Without the vertices of the faces that cut.
      const bad = new Set<FarSpot>();
      for (const face of cuts) {
        for (let k = 0; k < 3; k++) {
          const v = again.triangles[face * 3 + k];
          if (v >= first) bad.add(split.made[v - first]);
        }
      }
      if (bad.size === 0) break;
      spots = spots.filter((spot) => !bad.has(spot));
    }
    return mesh;
  }

  /** Watches some points of the dense surface (under a limit its vertices and all that must be), and the light faces. */
  #guard(surface: Surface, limits: Float32Array, limitsMm: Float32Array): DeviationGuard {
    const { vertexOf } = this.base;
    const { owner, positions } = this.points;
    const limited = this.#limitMm !== undefined;
    const vertexCount = this.locked.length;
    const some = limited ? vertexCount : owner.length;
    const chance = ((WATCHED_PER_VERTEX * surface.vertexCount) / some) * 2 ** 32;
    const chosen = new Int32Array(owner.length);
    for (let i = 0; i < chosen.length; i++) {
      const v = owner[i] < 0 ? -1 : vertexOf[owner[i]];
      const taken = v >= 0 && (this.#watched[i] !== 0 || (i < some && (limited || Math.imul(i, HASH) >>> 0 < chance)));
      chosen[i] = taken ? surface.find(v) : -1;
    }
    const closeMm = this.#limitMm ?? 0;
    const dense = { grid: this.#nearGrid(), origin: this.origin, limitsMm, closeMm, edges: limited };
    const guard = new DeviationGuard(positions, chosen, surface.head.length, limits, dense);
    guard.settle(surface, () => this.run.step(COLLAPSE_PHASE, 1, 1));
    return guard;
  }

  #nearGrid(): NearGrid {
    return (this.#grid ??= new NearGrid(this.dense, () => this.run.step('prepare', 1, 1)));
  }

  /**
   * Hold the points and faces closer where the light mesh came to lie beyond the limit, and watch them all there;
   * the collapse is done again from the base at these places.
   */
  tighten(light: Light, deviation: TwoWayDeviation, limitMm: number): void {
    const worst = this.#worstOf(light, deviation.there, deviation.back);
    const { owner } = this.points;
    const factor = (v: number): number => Math.max(TIGHTEN_LEAST, Math.min(TIGHTEN_MOST, limitMm / worst[v]));
    for (let i = 0; i < owner.length; i++) {
      const v = owner[i] < 0 ? -1 : light.vertexOf[owner[i]];
      if (v < 0 || worst[v] === 0) continue;
      this.#watched[i] = 1;
      this.#limits[i] *= factor(v);
    }
    for (let b = 0; b < this.#baseLimits.length; b++) {
      const v = light.vertexOfBase[b];
      if (v < 0 || worst[v] === 0) continue;
      this.#baseLimits[b] *= factor(v);
      this.#kept[b] = 1;
    }
  }

  /**
   * Take back the latest collapse at a corner of each face beyond the limit (with `deep` the latest so many at
   * every corner): what came of fewer collapses lies nearer. The base itself is made finer where nothing is left
   * to take back.
   */
  undo(light: Light, deviation: TwoWayDeviation, deep: number): void {
    if (this.#log === undefined) return;
    const { ends, places } = this.#log;
    const lastAt = new Int32Array(light.mesh.positions.length / 3).fill(-1);
    const before = new Int32Array(ends.length / 2).fill(-1);
    const merged = new Uint8Array(this.base.positions.length / 3);
    for (let i = 1; i < ends.length; i += 2) merged[ends[i]] = 1;
    for (let i = 0; i < ends.length; i += 2) {
      if (merged[ends[i]]) continue;
      const v = light.vertexOfBase[ends[i]];
      before[i / 2] = lastAt[v];
      lastAt[v] = i;
    }
    const taken = new Set<number>();
    let stuck = false;
    const take = (a: number, b: number, c: number): void => {
      const at = Math.max(a < 0 ? -1 : lastAt[a], b < 0 ? -1 : lastAt[b], c < 0 ? -1 : lastAt[c]);
      if (at >= 0) {
        taken.add(at);
        for (const v of [a, b, c]) {
          let back = v < 0 ? -1 : lastAt[v];
          for (let k = 0; k < deep && back >= 0; k++, back = before[back / 2]) taken.add(back);
        }
      } else {
        stuck = true;
        for (let v = 0; v < this.locked.length; v++) {
          const w = light.vertexOf[v];
          if (w >= 0 && (w === a || w === b || w === c)) this.locked[v] = 1;
        }
      }
    };
    const t = this.dense.triangles,
      l = light.mesh.triangles,
      { vertexOf } = light;
    for (const f of deviation.there.beyond.keys())
      take(vertexOf[t[f * 3]], vertexOf[t[f * 3 + 1]], vertexOf[t[f * 3 + 2]]);
    for (const f of deviation.back.beyond.keys()) take(l[f * 3], l[f * 3 + 1], l[f * 3 + 2]);
    if (stuck && taken.size === 0) {
      this.remakeBase(this.base.triangles.length / 3);
      return;
    }
    this.#undone = true;
    this.#log = { ends: [], places: [] };
    for (let i = 0; i < ends.length; i += 2) {
      if (taken.has(i)) continue;
      this.#log.ends.push(ends[i], ends[i + 1]);
      this.#log.places.push(places[(i / 2) * 3], places[(i / 2) * 3 + 1], places[(i / 2) * 3 + 2]);
    }
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
    for (const [face, distance] of back.beyond) {
      for (let k = 0; k < 3; k++) note(light.mesh.triangles[face * 3 + k], distance);
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
          this.#kept[v] = 1;
        }
      }
      light = this.collapse(faces);
    }
    return light;
  }

  /** From the dense mesh to the light one; faces with points beyond `beyondMm` are collected. */
  measureThere(light: Mesh, beyondMm = Infinity, queries = PROOF_QUERIES): OneSidedDeviation {
    return deviationOneSided(this.dense, light, {
      samples: this.#samplesOf(light),
      maximumQueries: queries,
      run: this.#half('there'),
      ...(beyondMm < Infinity ? { beyondMm } : {}),
    });
  }

  /** From the light mesh to the dense one. */
  measureBack(light: Mesh, beyondMm = Infinity): OneSidedDeviation {
    const run = this.#half('back');
    const grid = this.#nearGrid();
    return deviationOneSided(light, this.dense, {
      samples: this.#samplesOf(light),
      find: (x, y, z, out, limitMm) => grid.find(x, y, z, out, limitMm),
      maximumQueries: NARROWING_QUERIES,
      run,
      ...(beyondMm < Infinity ? { beyondMm } : {}),
    });
  }

  /** Both ways; narrowed down less while it is beyond the limit. */
  measureWithin(light: Mesh, limitMm: number): TwoWayDeviation {
    // Other samples are met the next time: what is only just within is better taken for beyond.
    const nearlyMm = limitMm * NEARLY;
    const rough = this.measureThere(light, nearlyMm, ROUGH_QUERIES);
    const back = this.measureBack(light, nearlyMm);
    if (rough.maxMm > limitMm || back.maxMm > limitMm) return joinDeviations(rough, back);
    return joinDeviations(this.measureThere(light, limitMm), back);
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
