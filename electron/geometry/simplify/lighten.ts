/**
 * Fewer faces for the same surface: to a number of faces, or to a largest deviation.
 *
 * Stages: quadrics of the dense mesh; a fast sweep down to a base some times finer than the goal; exact
 * collapse from the base to the goal; a least-squares fit of the light vertices to the dense ones; single
 * precision; then the proof (manifold as before, no faces cutting one another) and the measurement both
 * ways. Where the proof finds faces that cut, the vertices there are put back from the fit, else the base
 * is made to count more there, else locked there, and the collapse is done again from the base: it is a
 * small part of the whole cost.
 */
import { fault } from '../../../shared-types/faults/index.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { deviationOneSided, joinDeviations, type TwoWayDeviation } from '../measure/deviation.ts';
import { areaOf } from '../mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import { drainTo, sweepTo } from './collapse.ts';
import { findCrossings } from './crossings.ts';
import { fitOnce } from './fit.ts';
import { fillQuadrics } from './quadrics.ts';
import { BORDER, LOCKED, QUADRIC, Surface } from './surface.ts';

export interface LightenGoal {
  /** At most this many faces. */
  readonly faces?: number;
  /** As few faces as keep the measured two-way deviation within this, mm. Used when `faces` is not given. */
  readonly withinMm?: number;
  /** Per vertex of the mesh: how much more than 1 the surface there counts (finer where it is more). */
  readonly importance?: Float32Array;
}

export interface Lightened {
  readonly mesh: Mesh;
  /** Of the dense mesh and the light one: `there` is from dense to light. */
  readonly deviation: TwoWayDeviation;
  /** Pairs of faces of the light mesh that cut one another: 0 is the proof. */
  readonly selfIntersections: number;
  /** How often the collapse from the base was done. */
  readonly attempts: number;
}

/** Weights of the phases `lighten` steps through. */
export const LIGHTEN_PHASES = { prepare: 0.2, collapse: 0.35, fit: 0.1, prove: 0.05, measure: 0.3 } as const;

/** The base is this many times finer than the goal. */
const BASE_FACTOR = 6;
/** Points of the dense surface used per light vertex in the fit. */
const FIT_POINTS_PER_VERTEX = 24;
const FIT_ROUNDS = 2;
/** Samples of the light side of the measurement, per light face, at least and at most in all. */
const SAMPLES_PER_FACE = 10;
const LEAST_SAMPLES = 20_000;
const MOST_SAMPLES = 200_000;
/** Where faces cut, the base counts this much more in the next attempt ... */
const RAISE = 8;
/** ... and is locked from this attempt on; from the one after next the dense mesh itself is. */
const LOCK_FROM = 3;
const MOST_ATTEMPTS = 9;
/** Search for the fewest faces within a deviation. */
const WITHIN_ROUNDS = 14;
const WITHIN_RAISE = 3;
/** The search ends when the bracket of face counts is this narrow. */
const WITHIN_BRACKET = 1.04;
/** A spot is worth raising when it concerns at most this share of the light vertices. */
const WITHIN_SPOTS = 0.04;

interface Base {
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  readonly quadrics: Float64Array;
  /** Base vertex of each dense vertex. */
  readonly vertexOf: Int32Array;
}

interface Light {
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
class Job {
  readonly dense: Mesh;
  readonly run: RunContext;
  readonly points: { positions: Float64Array; weights: Float32Array };
  readonly locked: Uint8Array;
  readonly flat: Uint8Array;
  readonly origin: readonly number[];
  readonly importance: Float32Array | undefined;
  base: Base;
  raise: Float32Array;
  lockBase: Uint8Array;
  attempts = 0;
  #tree: Bvh | undefined;

  constructor(dense: Mesh, baseFaces: number, importance: Float32Array | undefined, run: RunContext) {
    this.dense = dense;
    this.run = run;
    this.importance = importance;
    const count = dense.positions.length / 3;
    this.locked = new Uint8Array(count);
    const weights = new Float32Array(count);
    this.points = { positions: dense.positions, weights };
    const { positions: p, triangles: t } = dense;
    for (let f = 0; f < t.length; f += 3) {
      if (f % 12_288 === 0) run.step('prepare', f, t.length * 4);
      const a = t[f] * 3,
        b = t[f + 1] * 3,
        c = t[f + 2] * 3;
      const ux = p[b] - p[a],
        uy = p[b + 1] - p[a + 1],
        uz = p[b + 2] - p[a + 2];
      const vx = p[c] - p[a],
        vy = p[c + 1] - p[a + 1],
        vz = p[c + 2] - p[a + 2];
      const x = uy * vz - uz * vy,
        y = uz * vx - ux * vz,
        z = ux * vy - uy * vx;
      const area = Math.sqrt(x * x + y * y + z * z) / 6;
      weights[t[f]] += area;
      weights[t[f + 1]] += area;
      weights[t[f + 2]] += area;
    }
    const made = this.#makeBase(baseFaces);
    this.base = made.base;
    this.flat = made.flat;
    this.origin = made.origin;
    this.points.positions = made.centred;
    this.raise = new Float32Array(this.base.positions.length / 3).fill(1);
    this.lockBase = new Uint8Array(this.base.positions.length / 3);
  }

  #makeBase(baseFaces: number): { base: Base; flat: Uint8Array; origin: readonly number[]; centred: Float64Array } {
    const surface = new Surface(this.dense, undefined, this.run);
    const centred = surface.positions.slice();
    const flat = fillQuadrics(surface, this.importance, this.run);
    for (let v = 0; v < this.locked.length; v++) if (this.locked[v]) surface.kind[v] = LOCKED;
    if (surface.faceCount > baseFaces) sweepTo(surface, baseFaces, this.run);
    return { base: surface.compact(), flat, origin: surface.origin, centred };
  }

  /** Make the base again with the dense vertices marked in `locked` kept. */
  remakeBase(baseFaces: number): void {
    this.base = this.#makeBase(baseFaces).base;
    this.raise = new Float32Array(this.base.positions.length / 3).fill(1);
    this.lockBase = new Uint8Array(this.base.positions.length / 3);
  }

  /** Collapse the base to `faces`, fit, round, look for faces that cut. */
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
    drainTo(surface, faces, this.run);
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
    const pointCount = vertexOf.length;
    if (pointCount > 2 * lightCount) {
      const share = Math.min(1, (FIT_POINTS_PER_VERTEX * lightCount) / pointCount);
      let rmsMm = 0;
      for (let round = 0; round < FIT_ROUNDS; round++) {
        rmsMm = fitOnce(light, { ...this.points, vertexOf, share }, fixed, rmsMm, this.run);
      }
    }
    let mesh: Mesh = { positions: rounded(light.positions, this.origin), triangles: light.triangles };
    this.run.step('prove', 0, 1);
    let crossings = findCrossings(mesh);
    for (let round = 0; round < 3 && crossings.length > 0; round++) {
      // Most often it was the fit: put the vertices there back.
      for (const face of crossings) {
        for (let k = 0; k < 3; k++) {
          const i = light.triangles[face * 3 + k] * 3;
          for (let c = 0; c < 3; c++) light.positions[i + c] = unfitted[i + c];
        }
      }
      mesh = { positions: rounded(light.positions, this.origin), triangles: light.triangles };
      this.run.step('prove', 0, 1);
      crossings = findCrossings(mesh);
    }
    return { mesh, vertexOf, vertexOfBase, crossings, over: Math.max(0, surface.faceCount - faces) };
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

  /** Both ways; with a limit, stops after the first way when that is already beyond it. */
  measure(light: Mesh, limitMm = Infinity): TwoWayDeviation | undefined {
    const samples = Math.min(MOST_SAMPLES, Math.max(LEAST_SAMPLES, (light.triangles.length / 3) * SAMPLES_PER_FACE));
    const half = this.run.within('measure', { there: 0.5, back: 0.5 });
    const there = deviationOneSided(this.dense, light, { samples, run: half.within('there', { measure: 1 }) });
    if (there.maxBoundMm > limitMm) return joinDeviations(there, there);
    this.#tree ??= buildBvh(this.dense);
    const back = deviationOneSided(light, this.dense, {
      samples,
      tree: this.#tree,
      run: half.within('back', { measure: 1 }),
    });
    return joinDeviations(there, back);
  }

  /** Make the base count more where the light mesh lies beyond the limit; false when that is not a few spots. */
  raiseSpots(light: Light, deviation: TwoWayDeviation, limitMm: number): boolean {
    const { there, back } = deviation;
    const count = light.mesh.positions.length / 3;
    const spot = new Uint8Array(count);
    for (let v = 0; v < light.vertexOf.length; v++) {
      if (light.vertexOf[v] >= 0 && there.perVertexMm[v] > limitMm * 0.9) spot[light.vertexOf[v]] = 1;
    }
    const nearest = nearestSlot();
    const lightTree = buildBvh(light.mesh);
    for (const side of back === there ? [there] : [there, back]) {
      if (side.maxBoundMm <= limitMm) continue;
      const at = side === there ? side.nearestMm : side.atMm;
      findNearest(lightTree, at[0], at[1], at[2], nearest);
      for (let k = 0; k < 3; k++) spot[light.mesh.triangles[nearest.face * 3 + k]] = 1;
    }
    let spots = 0;
    for (let v = 0; v < count; v++) spots += spot[v];
    if (spots > WITHIN_SPOTS * count) return false;
    const { vertexOfBase } = light;
    for (let v = 0; v < vertexOfBase.length; v++) {
      if (vertexOfBase[v] >= 0 && spot[vertexOfBase[v]]) this.raise[v] *= WITHIN_RAISE;
    }
    return true;
  }

  /** Colours of the dense vertices merged into each light vertex, averaged by area. */
  colour(light: Light): Mesh {
    const { colours } = this.dense;
    if (colours === undefined) return light.mesh;
    const count = light.mesh.positions.length / 3;
    const sums = new Float64Array(count * 4);
    const { weights } = this.points;
    for (let v = 0; v < light.vertexOf.length; v++) {
      const to = light.vertexOf[v];
      if (to < 0) continue;
      const w = weights[v] + Number.MIN_VALUE;
      for (let k = 0; k < 3; k++) sums[to * 4 + k] += w * colours[v * 3 + k];
      sums[to * 4 + 3] += w;
    }
    const out = new Uint8Array(count * 3);
    for (let v = 0; v < count; v++)
      for (let k = 0; k < 3; k++) out[v * 3 + k] = Math.round(sums[v * 4 + k] / sums[v * 4 + 3]);
    return { ...light.mesh, colours: out };
  }
}

/**
 * The same surface with fewer faces.
 *
 * Returns a mesh in the frame of `mesh` (mm), coordinates in single precision, colours averaged from the
 * dense vertices, and the deviation measured both ways. Open borders are kept within the surface's own
 * error; large flat patches stay flat; closed stays closed, manifold stays manifold. With `faces` that
 * number is never exceeded: where shape and topology do not allow it, the fault `lighten.too-few` says how
 * far it goes. With `withinMm` the proven bound of dense-to-light and the sampled maximum of light-to-dense
 * are within it. A mesh that has no more faces than wanted comes back as it is, in single precision.
 *
 * Faults: `mesh.no-faces`, `lighten.too-few`. Steps LIGHTEN_PHASES of `run`. 1M faces to 10,000 in about
 * 3 s of one core. Methods: Garland and Heckbert 1997; Hoppe et al. 1993; see the files beside this one.
 * It does not mend: what cut itself before may do so afterwards (a warning says so), noise in the scan
 * stays in the measured deviation.
 */
export function lighten(mesh: Mesh, goal: LightenGoal, run: RunContext = QUIET_RUN): Outcome<Lightened> {
  const faceCount = mesh.triangles.length / 3;
  if (faceCount === 0) return failed(fault('mesh.no-faces', {}));
  const warnings: Warning[] = [];
  if (goal.faces !== undefined && faceCount <= goal.faces) {
    const same: Mesh = { ...mesh, positions: Float64Array.from(mesh.positions, Math.fround) };
    warnings.push({
      code: 'lighten.nothing-to-do',
      sentence: `The mesh has ${faceCount} faces, no more than the ${goal.faces} asked for; it was left as it is.`,
    });
    return finish(same, measureOnly(mesh, same, run), findCrossings(same).length / 2, 0, warnings);
  }
  if (goal.faces !== undefined) {
    const job = new Job(mesh, Math.max(goal.faces * BASE_FACTOR, 2000), goal.importance, run);
    const light = job.soundCollapse(goal.faces);
    if (light.over > 0) {
      return failed(fault('lighten.too-few', { wanted: goal.faces, reached: goal.faces + light.over }));
    }
    const deviation = job.measure(light.mesh) as TwoWayDeviation;
    return finish(job.colour(light), deviation, light.crossings.length / 2, job.attempts, warnings);
  }
  return lightenWithin(mesh, goal.withinMm ?? 0.1, goal.importance, run, warnings);
}

function measureOnly(a: Mesh, b: Mesh, run: RunContext): TwoWayDeviation {
  const half = run.within('measure', { there: 0.5, back: 0.5 });
  return joinDeviations(
    deviationOneSided(a, b, { run: half.within('there', { measure: 1 }) }),
    deviationOneSided(b, a, { run: half.within('back', { measure: 1 }) }),
  );
}

function finish(
  mesh: Mesh,
  deviation: TwoWayDeviation,
  selfIntersections: number,
  attempts: number,
  warnings: Warning[],
): Outcome<Lightened> {
  if (selfIntersections > 0) {
    warnings.push({
      code: 'lighten.cuts-itself',
      sentence: `${selfIntersections} pairs of faces cut one another in the light mesh, as the surface did before; mend it first.`,
    });
  }
  return done({ mesh, deviation, selfIntersections, attempts }, warnings);
}

/** Fewest faces whose measured deviation stays within: a search over the face count, raising spots that stick out. */
function lightenWithin(
  mesh: Mesh,
  withinMm: number,
  importance: Float32Array | undefined,
  run: RunContext,
  warnings: Warning[],
): Outcome<Lightened> {
  const faceCount = mesh.triangles.length / 3;
  // Sag of an edge e on curvature k is k·e²/8: at 0.1 mm and a head's 1/60 mm that is 7 mm edges.
  const area = areaOf(mesh);
  let faces = Math.min(faceCount, Math.max(200, Math.round((area / (60 * 8 * withinMm * 0.43)) * 4)));
  let base = Math.min(faceCount, Math.max(faces * BASE_FACTOR, 2000));
  let job = new Job(mesh, base, importance, run);
  let low = 4;
  let high = faceCount;
  let best: { light: Light; deviation: TwoWayDeviation; job: Job } | undefined;
  let raises = 0;
  let attempts = 0;
  for (let round = 0; round < WITHIN_ROUNDS && high / low > WITHIN_BRACKET; round++) {
    if (faces * 2 > base && base < faceCount) {
      base = Math.min(faceCount, faces * BASE_FACTOR);
      attempts += job.attempts;
      job = new Job(mesh, base, importance, run);
    }
    const light = job.soundCollapse(faces);
    const deviation = job.measure(light.mesh, withinMm) as TwoWayDeviation;
    const worst = Math.max(deviation.there.maxBoundMm, deviation.back.maxMm);
    if (worst <= withinMm && light.crossings.length === 0) {
      const reached = light.mesh.triangles.length / 3;
      if (best === undefined || reached < best.light.mesh.triangles.length / 3) best = { light, deviation, job };
      high = reached;
      raises = 0;
      if (light.over > 0) break;
    } else {
      const spots = job.raiseSpots(light, deviation, withinMm);
      if (spots && raises < 3) {
        raises++;
        continue;
      }
      raises = 0;
      low = faces;
    }
    faces =
      best === undefined
        ? Math.min(faceCount, Math.round(faces * Math.max(1.2, Math.min(4, worst / withinMm))))
        : Math.round(
            low > 4 ? Math.sqrt(low * high) : Math.max(4, high * Math.max(0.3, Math.min(0.85, worst / withinMm))),
          );
  }
  attempts += job.attempts;
  if (best === undefined) {
    const same: Mesh = { ...mesh, positions: Float64Array.from(mesh.positions, Math.fround) };
    warnings.push({
      code: 'lighten.nothing-to-do',
      sentence: `No fewer faces than the ${faceCount} there are keep the surface within ${withinMm} mm; it was left as it is.`,
    });
    return finish(same, measureOnly(mesh, same, run), findCrossings(same).length / 2, attempts, warnings);
  }
  return finish(best.job.colour(best.light), best.deviation, best.light.crossings.length / 2, attempts, warnings);
}
