/**
 * The flat position of a disc that strains it least: symmetric Dirichlet energy (Smith and Schaefer 2015), minimised by
 * reweighted local and global steps with a step length that turns no face over (Rabinovich, Poranne, Panozzo and
 * Sorkine-Hornung 2017). Then the same energy to a rising power, so that not the mean but the worst strain falls: on a
 * spherical cap that comes within a few thousandths of the least any flat piece can have (test/outside/flatten.test.ts).
 * Edges that will be joined to another piece are held to their length on the surface by springs.
 */
import { conjugateGradient } from './conjugate-gradient.ts';
import { faceMap, faceMapOut, type FlatFrame } from './flat-frame.ts';

/** An edge of the border that keeps its length. */
export interface Spring {
  readonly from: number;
  readonly to: number;
  readonly lengthMm: number;
}

/** Powers of the energy and the rounds each may take. */
interface Stage {
  readonly power: number;
  readonly rounds: number;
}
const PLAIN: readonly Stage[] = [{ power: 1, rounds: 60 }];
const EVEN: readonly Stage[] = [
  { power: 2, rounds: 12 },
  { power: 4, rounds: 12 },
  { power: 8, rounds: 16 },
  { power: 16, rounds: 16 },
];
/** A round that lowers the energy by less than this share ends its stage. */
const SETTLED = 2 ** -13;
/** Residual of the global step, and its rounds at most. */
const SOLVE_SHARE = 2 ** -6;
const SOLVE_ROUNDS = 600;
/** Share of the step that would first turn a face which is taken at most. */
const SAFE_STEP = 0.8;
/** Share of the predicted fall a step has to reach (Armijo 1966), and halvings tried. */
const FALL_SHARE = 2 ** -13;
const HALVINGS = 24;
/** What of the plain energy stays in a higher power, so that no face is without weight. */
const PLAIN_SHARE = 2 ** -6;
/** Keeps each step near, as a share of the mean weight: the whole may turn and shift freely otherwise. */
const NEAR_SHARE = 2 ** -20;
/** Worst excess under which evening out gains nothing a hand could cut: stretches within 0.05 % of 1. */
const NO_STRAIN = 2 ** -20;
/** The same for a sheet that only bends: stretches within 2e-6 of 1. */
const DEVELOPED = 2 ** -36;

/** Energy of one principal stretch over the face's area: s^2 + 1/s^2 - 2, 0 for an unstrained one. */
function excessOf(stretch: number): number {
  if (!(stretch > 0)) return Infinity;
  const off = stretch - 1 / stretch;
  return off * off;
}

/** Filled by `principal` from the map that `faceMap` left. */
const stretches = { larger: 0, smaller: 0 };

function principal(): void {
  const { a, b, c, d } = faceMapOut;
  const turn = Math.hypot(a + d, c - b) / 2;
  const bend = Math.hypot(a - d, c + b) / 2;
  stretches.larger = turn + bend;
  stretches.smaller = turn - bend;
}

class Straightener {
  readonly frame: FlatFrame;
  readonly springs: readonly Spring[];
  readonly springWeight: number;
  readonly tick: () => void;
  readonly flat: Float64Array;
  /** Per face the upper triangle of its 2 by 2 weight, and the aim of its map. */
  readonly #w: Float64Array;
  readonly #spring: Float64Array;
  readonly #area: number;
  #power = 1;
  #scale = 1;
  #near = 0;

  constructor(
    frame: FlatFrame,
    start: Float64Array,
    springs: readonly Spring[],
    springWeight: number,
    tick: () => void,
  ) {
    this.frame = frame;
    this.flat = start.slice();
    this.springs = springs;
    this.springWeight = springWeight;
    this.tick = tick;
    this.#w = new Float64Array(frame.area.length * 3);
    this.#spring = new Float64Array(springs.length);
    this.#area = frame.area.reduce((sum, one) => sum + one, 0);
  }

  run(stages: readonly Stage[], enough: number): void {
    for (const { power, rounds } of stages) {
      this.#power = power;
      this.#scale = this.#worstExcess();
      if (this.#scale < (power > 1 ? Math.max(enough, NO_STRAIN) : DEVELOPED)) return;
      let energy = this.#energy(this.flat);
      for (let round = 0; round < rounds; round++) {
        const next = this.#improve(energy);
        const settled = !(energy - next > SETTLED * energy) || next < DEVELOPED * this.#area;
        energy = next;
        if (settled) break;
      }
    }
  }

  #worstExcess(): number {
    const { frame } = this;
    let worst = 0;
    for (let face = 0; face < frame.area.length; face++) {
      if (frame.area[face] === 0) continue;
      faceMap(frame, this.flat, face * 3);
      principal();
      worst = Math.max(worst, excessOf(stretches.larger), excessOf(stretches.smaller));
    }
    return worst;
  }

  #raised(excess: number): number {
    return this.#power === 1 ? excess : PLAIN_SHARE * excess + this.#scale * (excess / this.#scale) ** this.#power;
  }

  /** Derivative of `#raised`. */
  #rise(excess: number): number {
    if (this.#power === 1) return 1;
    return PLAIN_SHARE + this.#power * (excess / this.#scale) ** (this.#power - 1);
  }

  #energy(flat: Float64Array): number {
    const { frame, springs } = this;
    let sum = 0;
    for (let face = 0; face < frame.area.length; face++) {
      if (frame.area[face] === 0) continue;
      faceMap(frame, flat, face * 3);
      principal();
      if (!(stretches.smaller > 0)) return Infinity;
      sum += frame.area[face] * (this.#raised(excessOf(stretches.larger)) + this.#raised(excessOf(stretches.smaller)));
    }
    for (const { from, to, lengthMm } of springs) {
      const off = Math.hypot(flat[to * 2] - flat[from * 2], flat[to * 2 + 1] - flat[from * 2 + 1]) - lengthMm;
      sum += this.springWeight * off * off;
    }
    return sum;
  }

  /** One local and global step; the energy after it. */
  #improve(energy: number): number {
    const { flat, frame, springs } = this;
    const { triangles: t, area, gradX, gradY } = frame;
    const n = flat.length;
    // `pull` is minus the gradient: the proxies are made so that both energies fall alike here.
    const pull = new Float64Array(n);
    const diagonal = new Float64Array(n);
    let weightSum = 0;
    for (let face = 0; face < area.length; face++) {
      if (face % 512 === 0) this.tick();
      if (area[face] === 0) continue;
      const f = face * 3;
      faceMap(frame, flat, f);
      const { a, b, c, d } = faceMapOut;
      const e = (a + d) / 2,
        g = (a - d) / 2,
        h = (c - b) / 2,
        k = (c + b) / 2;
      const turn = Math.hypot(e, h),
        bend = Math.hypot(g, k);
      const s1 = turn + bend,
        s2 = turn - bend;
      // Half of (s - s^-3) / (s - 1), divided out: finite at s = 1.
      const grow = (s: number): number => 1 + 1 / s + 1 / (s * s) + 1 / (s * s * s);
      const w1 = area[face] * this.#rise(excessOf(s1)) * grow(s1),
        w2 = area[face] * this.#rise(excessOf(s2)) * grow(s2);
      const phi = (Math.atan2(k, g) + Math.atan2(h, e)) / 2;
      const cos = Math.cos(phi),
        sin = Math.sin(phi);
      const w11 = w1 * cos * cos + w2 * sin * sin,
        w12 = (w1 - w2) * cos * sin,
        w22 = w1 * sin * sin + w2 * cos * cos;
      this.#w[f] = w11;
      this.#w[f + 1] = w12;
      this.#w[f + 2] = w22;
      weightSum += w11 + w22;
      const ra = e / turn - a,
        rb = -h / turn - b,
        rc = h / turn - c,
        rd = e / turn - d;
      for (let i = f; i < f + 3; i++) {
        const du = ra * gradX[i] + rb * gradY[i],
          dv = rc * gradX[i] + rd * gradY[i];
        const at = t[i] * 2;
        pull[at] += w11 * du + w12 * dv;
        pull[at + 1] += w12 * du + w22 * dv;
        const size = gradX[i] * gradX[i] + gradY[i] * gradY[i];
        diagonal[at] += w11 * size;
        diagonal[at + 1] += w22 * size;
      }
    }
    for (const [i, { from, to, lengthMm }] of springs.entries()) {
      const dx = flat[to * 2] - flat[from * 2],
        dy = flat[to * 2 + 1] - flat[from * 2 + 1];
      const length = Math.hypot(dx, dy);
      const by = length > 0 ? this.springWeight * (lengthMm / length - 1) : 0;
      this.#spring[i] = this.springWeight;
      pull[to * 2] += by * dx;
      pull[to * 2 + 1] += by * dy;
      pull[from * 2] -= by * dx;
      pull[from * 2 + 1] -= by * dy;
      for (const v of [from, to]) {
        diagonal[v * 2] += this.springWeight;
        diagonal[v * 2 + 1] += this.springWeight;
      }
    }
    this.#near = (NEAR_SHARE * weightSum) / n;
    for (let i = 0; i < n; i++) if (diagonal[i] > 0) diagonal[i] += this.#near;
    const move = new Float64Array(n);
    const multiply = (x: Float64Array, out: Float64Array): void => this.#multiply(x, out);
    conjugateGradient({ multiply, diagonal }, pull, move, SOLVE_SHARE, SOLVE_ROUNDS, this.tick);
    let fall = 0;
    for (let i = 0; i < n; i++) fall += pull[i] * move[i];
    let step = Math.min(1, SAFE_STEP * this.#firstTurn(move));
    const tried = new Float64Array(n);
    for (let halving = 0; halving < HALVINGS; halving++, step /= 2) {
      for (let i = 0; i < n; i++) tried[i] = flat[i] + step * move[i];
      const reached = this.#energy(tried);
      if (reached <= energy - FALL_SHARE * step * fall) {
        flat.set(tried);
        return reached;
      }
    }
    return energy;
  }

  #multiply(x: Float64Array, out: Float64Array): void {
    const { triangles: t, area, gradX, gradY } = this.frame;
    const w = this.#w;
    const near = this.#near;
    for (let i = 0; i < x.length; i++) out[i] = near * x[i];
    for (let f = 0; f < t.length; f += 3) {
      if (area[f / 3] === 0) continue;
      let a = 0,
        b = 0,
        c = 0,
        d = 0;
      for (let i = f; i < f + 3; i++) {
        const u = x[t[i] * 2],
          v = x[t[i] * 2 + 1];
        a += u * gradX[i];
        b += u * gradY[i];
        c += v * gradX[i];
        d += v * gradY[i];
      }
      const ua = w[f] * a + w[f + 1] * c,
        ub = w[f] * b + w[f + 1] * d,
        uc = w[f + 1] * a + w[f + 2] * c,
        ud = w[f + 1] * b + w[f + 2] * d;
      for (let i = f; i < f + 3; i++) {
        out[t[i] * 2] += ua * gradX[i] + ub * gradY[i];
        out[t[i] * 2 + 1] += uc * gradX[i] + ud * gradY[i];
      }
    }
    for (const [i, { from, to }] of this.springs.entries()) {
      for (let k = 0; k < 2; k++) {
        const pulled = this.#spring[i] * (x[to * 2 + k] - x[from * 2 + k]);
        out[to * 2 + k] += pulled;
        out[from * 2 + k] -= pulled;
      }
    }
  }

  /** The least step along `move` at which a face loses its area; Infinity when none does. */
  #firstTurn(move: Float64Array): number {
    const { triangles: t, area } = this.frame;
    const { flat } = this;
    let least = Infinity;
    for (let f = 0; f < t.length; f += 3) {
      if (area[f / 3] === 0) continue;
      const i = t[f] * 2,
        j = t[f + 1] * 2,
        k = t[f + 2] * 2;
      const px = flat[j] - flat[i],
        py = flat[j + 1] - flat[i + 1],
        qx = flat[k] - flat[i],
        qy = flat[k + 1] - flat[i + 1];
      const dx = move[j] - move[i],
        dy = move[j + 1] - move[i + 1],
        ex = move[k] - move[i],
        ey = move[k + 1] - move[i + 1];
      const c0 = px * qy - py * qx,
        c1 = px * ey - py * ex + dx * qy - dy * qx,
        c2 = dx * ey - dy * ex;
      least = Math.min(least, firstRoot(c2, c1, c0));
    }
    return least;
  }
}

/** The least positive root of a t^2 + b t + c, with c > 0; Infinity without one. */
function firstRoot(a: number, b: number, c: number): number {
  const inside = b * b - 4 * a * c;
  if (inside < 0) return Infinity;
  // The stable form of both roots.
  const q = -(b + (b < 0 ? -1 : 1) * Math.sqrt(inside)) / 2;
  let least = Infinity;
  for (const root of [a === 0 ? Infinity : q / a, q === 0 ? Infinity : c / q])
    if (root > 0 && root < least) least = root;
  return least;
}

/**
 * Flat positions, uv pairs in mm, that strain the patch least on the mean, from a `start` without turned faces; none is
 * turned in the result either. The border may still cross itself: that is for the caller to see. `springWeight`: what a
 * millimetre of missed length on a spring counts against a square millimetre strained by half.
 * O(rounds · faces), rounds up to some 20,000 products of a sparse matrix in all.
 */
export function leastStrain(
  frame: FlatFrame,
  start: Float64Array,
  springs: readonly Spring[],
  springWeight: number,
  tick: () => void,
): Float64Array {
  const work = new Straightener(frame, start, springs, springWeight, tick);
  work.run(PLAIN, 0);
  return work.flat;
}

/** From there, the worst strain lowered at the cost of the mean, until it is within `enoughGive` everywhere. */
export function evenStrain(
  frame: FlatFrame,
  start: Float64Array,
  springs: readonly Spring[],
  springWeight: number,
  enoughGive: number,
  tick: () => void,
): Float64Array {
  const work = new Straightener(frame, start, springs, springWeight, tick);
  // A stretch of 1 + g has an energy of 4 g² to first order.
  work.run(EVEN, 4 * enoughGive * enoughGive);
  return work.flat;
}
