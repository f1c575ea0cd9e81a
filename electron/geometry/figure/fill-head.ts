/**
 * The likely body where a head form's own surface is missing or false: the neutral head bent until it passes through
 * what is seen and gives the measures wanted, then eased onto the rim of the seen part and set in (fill-seam.ts).
 *
 * Bending is a Gaussian process given linear functionals (bend.ts), here not quite symmetric. What is seen takes part as
 * the distance along the model's normal from each of some hundred sample points to the model, found anew each round
 * (Chen and Medioni 1992, point to plane), points that do not fit counting less (weights of Geman and McClure). Wanted
 * measures are taken on the joined form itself, and only the model's share of each tape is free to move, so that they are
 * met by the patch alone. The same process tells how well the patch is known: its spread given all that
 * (Rasmussen and Williams 2006, 2.2), with what the seen part has over and above the model added.
 */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { faceNormals, vertexNormals } from '../mesh/quantities.ts';
import { buildBvh, findNearest, nearestSlot, type Bvh } from '../spatial/bvh.ts';
import {
  covarianceOf,
  covariancesOf,
  displaced,
  factorWithSlack,
  solveFactored,
  solveLower,
  type Factor,
  type Pulls,
} from './bend.ts';
import type { WantedMeasure } from './bend-head.ts';
import { joinFilled, seenPart, type Joined, type SeenPart } from './fill-seam.ts';
import { placesOnForm } from './form-places.ts';
import { placeOn, pointOf, type Levels } from './head-places.ts';
import type { NeutralHead } from './neutral-head.ts';
import { HeadTape, type HeadMeasure, type Taken } from './take-measures.ts';

/** Spread of what is not alike on both sides, as a share of what is (own judgement; invented heads differ so). */
const LOPSIDED = 0.3;
/** Sample points of the seen part are at least so far apart, mm: everywhere, and near the rim. */
const APART_MM = 20;
const RIM_APART_MM = 9;
const NEAR_RIM_MM = 35;
const MOST_SAMPLES = 420;
/** Below this height a form is neck and shoulders, mm. */
const LOWEST_MM = -110;
/** Fewer samples than this say too little of a head. */
const LEAST_SAMPLES = 60;
/** How well a sample is met by a head bent smoothly, mm, at least; ears are as no other's. */
const SAMPLE_MM = 0.8;
const EAR_MM = 5;
/** Where the ears lie on the neutral head: x and z from, to, and |y| from. */
const EAR = [-48, 12, -46, 36, 60] as const;
/** A sample whose surface looks another way than the model's by more than this (cosine) says nothing of it. */
const LEAST_COSINE = 0.5;
/** Misses beyond so many of their usual size count less and less. */
const ROBUST = 2.5;
/** Normal consistency of the median of absolute values. */
const MAD = 1.4826;

const SETTLING_ROUNDS = 4;
const MEASURE_ROUNDS = 6;
/** Done when no wanted measure changes by more than this, mm. */
const STILL_MM = 0.05;
/** From this round on only half of each step is taken. */
const HALF_STEPS_FROM = 3;

/** The rim's own correction: samples, their noise (mm), reaches of its kernel in a blend, and how far it counts. */
const RIM_SAMPLES = 320;
const RIM_NOISE_MM = 0.1;
const BLEND_REACHES = 2.5;
const FAR_REACHES = 12;
/** Ring between seen part and model, in edges of the rim: the first that gives a sound form. */
export const MARGINS: readonly number[] = [0.6, 1, 1.6];

export interface SpreadAt {
  readonly at: Vec3;
  /** Standard deviation along the normal, mm. */
  readonly mm: number;
}

/** What is seen of a head, and where the model is to meet it. */
export interface SampledPart {
  readonly seen: SeenPart;
  readonly samples: readonly Sample[];
  /** Distance of each seen vertex to the rim, mm. */
  readonly rimMm: Float64Array;
}

interface Sample {
  readonly at: Vec3;
  readonly normal: Vec3;
}

interface Observation {
  readonly pulls: Pulls;
  readonly wanted: number;
  readonly slack: number;
}

/**
 * `isPatch`: 1 at each vertex of the form to be replaced. The number of samples where too little of a head is seen.
 * O(vertices times those of the rim).
 */
export function sampleSeen(form: Mesh, isPatch: Uint8Array, tick: () => void): SampledPart | number {
  const seen = seenPart(form, isPatch, tick);
  if (seen === undefined) return 0;
  const rimMm = fromRim(seen, tick);
  const samples = samplesOf(seen, rimMm, tick);
  return samples.length < LEAST_SAMPLES ? samples.length : { seen, samples, rimMm };
}

/** State of one filling; all in the form's frame, mm. */
export class HeadFill {
  readonly seen: SeenPart;
  readonly #head: NeutralHead;
  readonly #blendMm: number;
  readonly #tick: () => void;
  readonly #samples: readonly Sample[];
  readonly #rim: Uint32Array;
  /** The neutral mesh's vertices, bent; with the rim's correction. */
  #bent: Float64Array;
  #model: Mesh;
  #levels: Levels | undefined;
  /** Where the seen vertices lie on the neutral head, once the model has settled: later rounds move them little. */
  #seenNeutral: Float64Array | undefined;
  #observed: { pulls: Pulls[]; slack: number[] } = { pulls: [], slack: [] };
  /** How far seen samples lie from the bent model, one standard deviation, mm. */
  detailMm = SAMPLE_MM;
  joined: Joined;
  tape: HeadTape;

  constructor({ seen, samples, rimMm }: SampledPart, head: NeutralHead, blendMm: number, tick: () => void) {
    this.seen = seen;
    this.#samples = samples;
    this.#head = head;
    this.#blendMm = blendMm;
    this.#tick = tick;
    this.#rim = rimOf(seen, rimMm, blendMm);
    this.#bent = head.mesh.positions.slice();
    this.#model = head.mesh;
    for (let round = 0; round < SETTLING_ROUNDS; round++) this.#bend([], []);
    this.#ease();
    this.joined = this.join(MARGINS[0]);
    this.tape = this.tapeOf(this.joined.mesh, this.joined.ofModel);
  }

  /** Bend on until the joined form has the measures; undefined where one of them cannot be taken on it. */
  fit(
    wanted: readonly WantedMeasure[],
    told: (round: number, of: number) => void,
  ): ReadonlyMap<string, Taken> | undefined {
    let before: number[] = [];
    for (let round = 0; ; round++) {
      told(round, MEASURE_ROUNDS);
      const taken: Taken[] = [];
      for (const { measure } of wanted) {
        const one = this.take(this.tape, measure);
        if (one === undefined) return undefined;
        taken.push(one);
      }
      const lengths = taken.map(({ lengthMm }) => lengthMm);
      const isStill = round > 1 && lengths.every((mm, i) => Math.abs(mm - before[i]) < STILL_MM);
      if (isStill || round === MEASURE_ROUNDS) return new Map(wanted.map(({ measure }, i) => [measure.name, taken[i]]));
      before = lengths;
      this.#bend(wanted, taken, round >= HALF_STEPS_FROM ? 0.5 : 1);
      this.#ease();
      this.joined = this.join(MARGINS[0]);
      this.tape = this.tapeOf(this.joined.mesh, this.joined.ofModel);
    }
  }

  /** A measure on a form, if its landmarks are there. */
  take(tape: HeadTape, measure: HeadMeasure): Taken | undefined {
    return measure.landmarks.every((name) => tape.places[name] !== undefined) ? tape.take(measure) : undefined;
  }

  /** The seen part with the model set in, a ring of so many rim edges between them. */
  join(marginShare: number): Joined {
    return joinFilled(this.seen, this.#model, marginShare, this.#tick);
  }

  /** What takes measures on any form near the model; without `ofModel` nothing of it moves. */
  tapeOf(form: Mesh, ofModel: Int32Array): HeadTape {
    const count = form.positions.length / 3;
    const neutral = new Float64Array(3 * count);
    const bent = new Float64Array(3 * count);
    const follows = new Uint8Array(count);
    const own = this.#head.mesh.positions;
    const tree = buildBvh(this.#model, this.#tick);
    const slot = nearestSlot();
    const isJoined = ofModel.some((model) => model >= 0);
    const known = isJoined ? this.#seenNeutral : undefined;
    if (known !== undefined) neutral.set(known);
    for (let v = (known?.length ?? 0) / 3; v < count; v++) {
      if (v % 512 === 0) this.#tick();
      const model = ofModel[v];
      if (model >= 0) {
        follows[v] = 1;
        neutral.set(own.subarray(model * 3, model * 3 + 3), v * 3);
        bent.set(this.#bent.subarray(model * 3, model * 3 + 3), v * 3);
        continue;
      }
      findNearest(tree, form.positions[v * 3], form.positions[v * 3 + 1], form.positions[v * 3 + 2], slot);
      const place = placeOn(this.#model.positions, this.#model.triangles, slot.face, [slot.x, slot.y, slot.z]);
      neutral.set(pointOf(own, place), v * 3);
    }
    const found = placesOnForm(form, neutral, buildBvh(form, this.#tick), this.#levels, this.#tick);
    if (isJoined) {
      this.#levels = found.levels;
      this.#seenNeutral ??= neutral.slice(0, this.seen.mesh.positions.length);
    }
    const corresponding = { positions: neutral, triangles: form.triangles };
    return new HeadTape(corresponding, found, form.positions, this.#tick, { follows, bent });
  }

  /** How far off the patch may be at about `count` of its vertices. O(count observations^2). */
  spread(
    joined: Joined,
    measures: readonly { readonly taken: Taken; readonly uMm: number }[],
    count: number,
  ): SpreadAt[] {
    const pulls = [...this.#observed.pulls, ...measures.map(({ taken }) => taken.pulls)];
    const slack = [...this.#observed.slack, ...measures.map(({ uMm }) => uMm)];
    const factor = factorWithSlack(covariancesOf(pulls, LOPSIDED, this.#tick), slack, this.#tick);
    if (factor === undefined) return [];
    const normals = vertexNormals(joined.mesh);
    const vertices = [...joined.ofModel.keys()].filter((v) => joined.ofModel[v] >= 0);
    const every = Math.max(1, Math.floor(vertices.length / count));
    return vertices
      .filter((_, i) => i % every === 0)
      .map((v): SpreadAt => {
        this.#tick();
        const normal = normals.subarray(v * 3, v * 3 + 3);
        const at = this.#head.mesh.positions.subarray(joined.ofModel[v] * 3, joined.ofModel[v] * 3 + 3);
        const variance = spreadGiven(factor, pulls, Float64Array.of(...at, ...normal));
        const [x, y, z] = joined.mesh.positions.subarray(v * 3, v * 3 + 3);
        return { at: [x, y, z], mm: Math.hypot(Math.sqrt(Math.max(0, variance)), this.detailMm) };
      });
  }

  #bend(wanted: readonly WantedMeasure[], taken: readonly Taken[], share = 1): void {
    const neutral = this.#head.mesh;
    const model = { positions: this.#bent, triangles: neutral.triangles };
    const seen = this.#observe(model, buildBvh(model, this.#tick));
    const all = [
      ...seen,
      ...wanted.map(
        ({ targetMm, slackMm }, i): Observation => ({
          pulls: taken[i].pulls,
          wanted: targetMm - taken[i].lengthMm + taken[i].bentMm,
          slack: slackMm,
        }),
      ),
    ].filter(({ pulls }) => pulls.length > 0);
    const pulls = all.map((one) => one.pulls);
    const slack = all.map((one) => one.slack);
    const factor = factorWithSlack(covariancesOf(pulls, LOPSIDED, this.#tick), slack, this.#tick);
    if (factor === undefined) throw new Error('a covariance with slack is positive definite');
    const weights = solveFactored(
      factor,
      all.map((one) => one.wanted),
    );
    const count = neutral.positions.length / 3;
    const next = displaced(neutral.positions, count, pulls, weights, this.#tick, LOPSIDED);
    this.#bent = next.map((x, at) => this.#bent[at] + share * (x - this.#bent[at]));
    this.#observed = { pulls: seen.map((one) => one.pulls), slack: seen.map((one) => one.slack) };
  }

  /** The samples as functionals of the displacement, each with how much it counts. */
  #observe(model: Mesh, tree: Bvh): Observation[] {
    const own = this.#head.mesh.positions;
    const normals = faceNormals(model);
    const slot = nearestSlot();
    const found: (Observation & { readonly missMm: number; readonly isEar: boolean })[] = [];
    for (const { at, normal } of this.#samples) {
      findNearest(tree, ...at, slot);
      const out = normals.subarray(slot.face * 3, slot.face * 3 + 3);
      if (out[0] * normal[0] + out[1] * normal[1] + out[2] * normal[2] < LEAST_COSINE) continue;
      const foot: Vec3 = [slot.x, slot.y, slot.z];
      const from = pointOf(own, placeOn(model.positions, model.triangles, slot.face, foot));
      let [missMm, wanted] = [0, 0];
      for (let k = 0; k < 3; k++) {
        missMm += out[k] * (at[k] - foot[k]);
        wanted += out[k] * (at[k] - from[k]);
      }
      const [x0, x1, z0, z1, y] = EAR;
      const isEar = from[0] > x0 && from[0] < x1 && from[2] > z0 && from[2] < z1 && Math.abs(from[1]) > y;
      found.push({ pulls: Float64Array.of(...from, ...out), wanted, slack: 0, missMm, isEar });
    }
    const sizes = found.filter(({ isEar }) => !isEar).map(({ missMm }) => Math.abs(missMm));
    this.detailMm = Math.max(SAMPLE_MM, MAD * (sizes.sort((a, b) => a - b)[sizes.length >> 1] ?? 0));
    return found.map(({ pulls, wanted, missMm, isEar }) => {
      const far = missMm / (ROBUST * this.detailMm);
      return { pulls, wanted, slack: (isEar ? EAR_MM : SAMPLE_MM) * (1 + far * far) };
    });
  }

  /** The model moved so that it runs through the rim, the correction fading over the blend. */
  #ease(): void {
    const bent = { positions: this.#bent, triangles: this.#head.mesh.triangles };
    const tree = buildBvh(bent, this.#tick);
    const slot = nearestSlot();
    const p = this.seen.mesh.positions;
    const feet: number[] = [];
    const misses: [number[], number[], number[]] = [[], [], []];
    for (const v of this.#rim) {
      findNearest(tree, p[v * 3], p[v * 3 + 1], p[v * 3 + 2], slot);
      feet.push(slot.x, slot.y, slot.z);
      misses[0].push(p[v * 3] - slot.x);
      misses[1].push(p[v * 3 + 1] - slot.y);
      misses[2].push(p[v * 3 + 2] - slot.z);
    }
    const n = this.#rim.length;
    // Matérn's kernel of order 3/2: once smooth, and unlike a bell it never swings where the rim gives out.
    const reach = this.#blendMm / BLEND_REACHES;
    const kernel = (x: number, y: number, z: number, i: number): number => {
      const far = Math.hypot(x - feet[i * 3], y - feet[i * 3 + 1], z - feet[i * 3 + 2]) / reach;
      return far > FAR_REACHES ? 0 : (1 + far) * Math.exp(-far);
    };
    const matrix = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) matrix[i * n + j] = kernel(feet[i * 3], feet[i * 3 + 1], feet[i * 3 + 2], j);
    }
    const usual = Math.sqrt(misses.flat().reduce((sum, one) => sum + one * one, 0) / Math.max(1, n));
    const noise = RIM_NOISE_MM / Math.max(RIM_NOISE_MM, usual);
    const factor = factorWithSlack(matrix, new Array<number>(n).fill(noise), this.#tick);
    if (factor === undefined) throw new Error('a covariance with slack is positive definite');
    const weights = misses.map((one) => solveFactored(factor, one));
    const eased = this.#bent.slice();
    for (let v = 0; v < eased.length; v += 3) {
      if (v % 384 === 0) this.#tick();
      const [x, y, z] = this.#bent.subarray(v, v + 3);
      for (let i = 0; i < n; i++) {
        const share = kernel(x, y, z, i);
        if (share === 0) continue;
        for (let k = 0; k < 3; k++) eased[v + k] += share * weights[k][i];
      }
    }
    this.#model = { positions: eased.map(Math.fround), triangles: bent.triangles };
  }
}

/** Variance of one functional given others, by the factor of their covariance. */
function spreadGiven(factor: Factor, pulls: readonly Pulls[], one: Pulls): number {
  const shared = solveLower(
    factor,
    pulls.map((other) => covarianceOf(other, one, LOPSIDED)),
  );
  return covarianceOf(one, one, LOPSIDED) - shared.reduce((sum, x) => sum + x * x, 0);
}

/** Vertices looked at between two calls of `tick`. */
const TICK_VERTICES = 128;

/** Distance of each seen vertex to the rim's vertices, mm. O(vertices times those of the rim). */
function fromRim({ mesh: { positions: p }, isRim }: SeenPart, tick: () => void): Float64Array {
  const rim = [...isRim.keys()].filter((v) => isRim[v] === 1);
  return Float64Array.from({ length: isRim.length }, (_, v) => {
    if (v % TICK_VERTICES === 0) tick();
    let least = Infinity;
    for (const w of rim) {
      const [x, y, z] = [p[v * 3] - p[w * 3], p[v * 3 + 1] - p[w * 3 + 1], p[v * 3 + 2] - p[w * 3 + 2]];
      least = Math.min(least, x * x + y * y + z * z);
    }
    return Math.sqrt(least);
  });
}

/** Vertices with their normals, spread over the head, denser near the rim; those nearest the rim first. */
function samplesOf(seen: SeenPart, rimMm: Float64Array, tick: () => void): Sample[] {
  const { positions: p } = seen.mesh;
  const normals = vertexNormals(seen.mesh);
  const order = [...rimMm.keys()].sort((a, b) => rimMm[a] - rimMm[b] || a - b);
  const chosen: Sample[] = [];
  for (const [i, v] of order.entries()) {
    if (i % TICK_VERTICES === 0) tick();
    const at: Vec3 = [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
    if (at[2] < LOWEST_MM || seen.isRim[v] === 1) continue;
    const apartMm = rimMm[v] < NEAR_RIM_MM ? RIM_APART_MM : APART_MM;
    const isNear = ({ at: [x, y, z] }: Sample): boolean => Math.hypot(at[0] - x, at[1] - y, at[2] - z) < apartMm;
    if (chosen.some(isNear)) continue;
    chosen.push({ at, normal: [normals[v * 3], normals[v * 3 + 1], normals[v * 3 + 2]] });
    if (chosen.length === MOST_SAMPLES) break;
  }
  return chosen;
}

/** Seen vertices within `reachMm` of the rim, the rim's own first; every so many of them where there are more than needed. */
function rimOf(seen: SeenPart, rimMm: Float64Array, reachMm: number): Uint32Array {
  const near = [...rimMm.keys()].filter((v) => rimMm[v] <= reachMm);
  const [own, others] = [near.filter((v) => seen.isRim[v] === 1), near.filter((v) => seen.isRim[v] === 0)];
  const thin = (of: number[], most: number): number[] =>
    of.filter((_, i) => Math.floor((i * most) / of.length) !== Math.floor(((i - 1) * most) / of.length));
  const half = RIM_SAMPLES >> 1;
  const chosen = own.length > half ? thin(own, half) : own;
  const left = RIM_SAMPLES - chosen.length;
  return Uint32Array.from([...chosen, ...(others.length > left ? thin(others, left) : others)]);
}
