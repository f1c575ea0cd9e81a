/**
 * Getting a part on and off: the way through its real opening, how tight it gets on it and where, and what parting it
 * would help. Everything is seen from the worn place outward; putting on is the same way back.
 *
 * A way is a row of placements; its tightest gap is the least gap of the part's inner side on any of them, between the
 * sampled places narrowed down by halving. Straight ways are tried in a cone about the part's open side, ways with a
 * growing tilt about the wearer's side axis, and, if all are blocked, all ways on a lattice of height, tilt and shift
 * by the widest-path rule (the best of the tightest, layer by layer).
 */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { multiply, transformPoint } from '../mesh/transform.ts';
import { facingBody } from './facing.ts';
import { PointGaps } from './gap-points.ts';
import { areaPoints, touchPoints } from './part-points.ts';
import { motion } from './pose.ts';
import type { FittingBody, WornPart } from './worn.ts';
import { cross, unit } from '../mesh/vector.ts';

export interface DonWish {
  /** Worn place: part's coordinates (true mm) to the body's. */
  readonly placement: Matrix4;
  /** Gap that must remain on the way, mm: foam that cannot be pressed any thinner; 0 for bare contact. */
  readonly neededMm?: number;
  /** Way off, body's coordinates; found from the part's open side when absent. */
  readonly direction?: Vec3;
  /** Straight ways only, and fewer; no suggestions. */
  readonly quick?: boolean;
}

export interface Way {
  /** Unit, body's coordinates, off the body. */
  readonly direction: Vec3;
  readonly words: string;
  /** Tilt about the side axis on the way, degrees, forward positive; 0 for a straight way. */
  readonly tiltDegrees: number;
  readonly kind: 'straight' | 'tilted' | 'led';
  /** Least gap on the way, mm; negative where the part has to go through the body. */
  readonly tightestMm: number;
  /** What is missing there. */
  readonly blockedMm: number;
  readonly passes: boolean;
  /** How far along the way it is tightest, and how long the way is until the part is clear, mm. */
  readonly atMm: number;
  readonly lengthMm: number;
  /** The place on the body. */
  readonly where: Vec3;
  readonly region: string;
}

export interface Parting {
  readonly kind: 'halves' | 'hinge';
  readonly words: string;
  /** A point and the normal of the plane, body's coordinates. */
  readonly plane: readonly [number, number, number, number, number, number];
  readonly tightestMm: number;
  readonly blockedMm: number;
}

export interface Donning {
  readonly straight: Way;
  /** The best of all; the straight one where nothing is better by more than 0.5 mm. */
  readonly best: Way;
  /** What parting would give, best first; empty where the part passes as it is. */
  readonly partings: readonly Parting[];
  readonly waysTried: number;
}

export const DON_PHASES: Phases = { 'inner side': 0.1, 'ways off': 0.6, partings: 0.3 };

const DEGREE = Math.PI / 180;
const STEP_MM = 5;
/** Halvings between two sampled places. */
const HALVINGS = 5;
const POINTS = 1500;
const LONGEST_MM = 8;
/** A crooked way has to be so much wider to be named instead of a straight one, mm. */
const WORTH_MM = 0.5;
const CONE_DEGREES = [12, 24, 36] as const;
const TILTS_DEGREES = [-30, -20, -10, 10, 20, 30] as const;
const AROUND = 8;

interface Mover {
  readonly gaps: PointGaps;
  readonly placement: Matrix4;
  readonly middle: Vec3;
  readonly body: FittingBody;
  readonly points: Float64Array;
  readonly neededMm: number;
}

/**
 * Tightness of the ways off. With `tick` steps of a few milliseconds. The body is rigid: ears fold and hair gives, so a
 * way blocked by an ear by a few millimetres may still be one. Straight and tilted ways are sampled, not proven best.
 */
export function donPart(part: WornPart, body: FittingBody, wish: DonWish, run: RunContext = QUIET_RUN): Donning {
  const { placement, neededMm = 0 } = wish;
  const inner = facingBody(part.mesh, part.tree, placement, body.field, (done, total) =>
    run.step('inner side', done, total),
  );
  if (!inner.includes(1)) inner.fill(1);
  const points = movingPoints(part, inner);
  const tick = (): void => run.step('ways off', 0.5, 1);
  const mover = moverOf(points, placement, body, neededMm, tick);
  const main = wish.direction === undefined ? openSide(part, inner, placement, body) : unit(wish.direction);
  let straight = straightWay(mover, main);
  let tried = 1;
  if (wish.direction === undefined) {
    const cone = CONE_DEGREES.slice(0, wish.quick === true ? 1 : undefined).flatMap((angle) => around(main, angle));
    for (const [i, direction] of cone.entries()) {
      run.step('ways off', i / cone.length / 2, 1);
      const way = straightWay(mover, direction);
      tried++;
      if (way.tightestMm > straight.tightestMm + WORTH_MM / 2) straight = way;
    }
  }
  let best = straight;
  if (wish.quick === true) return { straight, best, partings: [], waysTried: tried };
  if (!best.passes) {
    for (const direction of straight.direction === main ? [main] : [main, straight.direction]) {
      for (const tilt of TILTS_DEGREES) {
        const way = tiltedWay(mover, direction, tilt);
        tried++;
        if (way.tightestMm > best.tightestMm + WORTH_MM) best = way;
      }
    }
  }
  if (!best.passes) {
    const led = ledWay(mover, straight.direction, tick);
    tried++;
    if (led.tightestMm > best.tightestMm + WORTH_MM) best = led;
  }
  const partings = best.passes ? [] : partingsOf(mover, () => run.step('partings', 0.5, 1));
  return { straight, best, partings, waysTried: tried };
}

/** Where the part's inner side could touch: its rims whole, the rest thinned. */
function movingPoints(part: WornPart, inner: Uint8Array): Float64Array {
  const all = touchPoints(part.mesh, inner, LONGEST_MM);
  const every = Math.max(1, Math.floor(all.length / 3 / POINTS));
  const { positions: p, triangles: t } = part.mesh;
  // A vertex of both an inner and another face, or of an open edge, lies on a rim.
  const uses = new Map<number, number>();
  const count = p.length / 3;
  const edgeOf = (a: number, b: number): number => Math.min(a, b) * count + Math.max(a, b);
  for (let f = 0; f < inner.length; f++) {
    if (inner[f] === 0) continue;
    for (let i = 0; i < 3; i++) {
      const key = edgeOf(t[f * 3 + i], t[f * 3 + ((i + 1) % 3)]);
      uses.set(key, (uses.get(key) ?? 0) + 1);
    }
  }
  const rim = new Set<number>();
  for (const [key, n] of uses) {
    if (n === 1) rim.add(Math.floor(key / count)).add(key % count);
  }
  const kept: number[] = [];
  for (const v of rim) kept.push(p[3 * v], p[3 * v + 1], p[3 * v + 2]);
  for (let i = 0; i < all.length / 3; i += every) kept.push(all[3 * i], all[3 * i + 1], all[3 * i + 2]);
  return Float64Array.from(kept);
}

function moverOf(
  points: Float64Array,
  placement: Matrix4,
  body: FittingBody,
  neededMm: number,
  tick: () => void,
): Mover {
  const middle: [number, number, number] = [0, 0, 0];
  points.forEach((value, i) => (middle[i % 3] += (3 * value) / points.length));
  const gaps = new PointGaps(points, body.field, tick);
  return { gaps, placement, middle: transformPoint(placement, middle), body, points, neededMm };
}

/** The way on which most of the inner side looks: outward of the body, by area. Up for a helmet that is open below. */
function openSide(part: WornPart, inner: Uint8Array, placement: Matrix4, body: FittingBody): Vec3 {
  const { positions: p, triangles: t } = part.mesh;
  const points = areaPoints(part.mesh, inner, Infinity);
  const sum: [number, number, number] = [0, 0, 0];
  points.face.forEach((f, i) => {
    const [a, b, c] = [0, 1, 2].map((corner) => {
      const v = t[f * 3 + corner] * 3;
      return transformPoint(placement, [p[v], p[v + 1], p[v + 2]]);
    });
    const u = b.map((x, k) => x - a[k]),
      w = c.map((x, k) => x - a[k]);
    const n = [u[1] * w[2] - u[2] * w[1], u[2] * w[0] - u[0] * w[2], u[0] * w[1] - u[1] * w[0]];
    const at = transformPoint(placement, [points.at[3 * i], points.at[3 * i + 1], points.at[3 * i + 2]]);
    const gap = body.field.at(...at);
    const outward =
      Math.sign(gap) * (n[0] * (at[0] - body.field.x) + n[1] * (at[1] - body.field.y) + n[2] * (at[2] - body.field.z));
    for (let k = 0; k < 3; k++) sum[k] += Math.sign(outward) * n[k];
  });
  return Math.hypot(...sum) > 0 ? unit(sum) : [0, 0, 1];
}

function around(main: Vec3, degrees: number): Vec3[] {
  const side = unit(cross(main, Math.abs(main[1]) < 0.9 ? [0, 1, 0] : [1, 0, 0]));
  const other = cross(main, side);
  const [s, c] = [Math.sin(degrees * DEGREE), Math.cos(degrees * DEGREE)];
  return Array.from({ length: AROUND }, (_, i) => {
    const turn = (2 * Math.PI * i) / AROUND;
    return unit(
      [0, 1, 2].map((k) => c * main[k] + s * (Math.cos(turn) * side[k] + Math.sin(turn) * other[k])) as unknown as Vec3,
    );
  });
}

/** How far the part has to go along a direction until nothing of it is beside the body any more, mm. */
function clearLength({ points, placement, body }: Mover, direction: Vec3): number {
  const along = (at: Vec3): number => at[0] * direction[0] + at[1] * direction[1] + at[2] * direction[2];
  let rear = Infinity;
  for (let i = 0; i < points.length; i += 3) {
    rear = Math.min(rear, along(transformPoint(placement, [points[i], points[i + 1], points[i + 2]])));
  }
  const { positions } = body.mesh;
  let front = -Infinity;
  for (let i = 0; i < positions.length; i += 3) {
    front = Math.max(front, along([positions[i], positions[i + 1], positions[i + 2]]));
  }
  return Math.max(STEP_MM, front - rear);
}

/** Follow a way given by its placement at each length; the tightest place narrowed down. */
function follow(
  mover: Mover,
  lengthMm: number,
  at: (s: number) => Matrix4,
): Pick<Way, 'tightestMm' | 'atMm' | 'where' | 'region'> {
  const { gaps, body } = mover;
  let [tightest, where] = [Infinity, 0];
  const look = (s: number): number => {
    const gap = gaps.least(at(s));
    if (gap < tightest) [tightest, where] = [gap, s];
    return gap;
  };
  const steps = Math.ceil(lengthMm / STEP_MM);
  for (let i = 0; i <= steps; i++) look((i * lengthMm) / steps);
  let reach = lengthMm / steps / 2;
  for (let round = 0; round < HALVINGS; round++, reach /= 2) {
    const middle = where;
    if (middle - reach >= 0) look(middle - reach);
    look(middle + reach);
  }
  gaps.least(at(where));
  const contacts = gaps.contacts(0);
  const touch: Vec3 = [contacts.at[0], contacts.at[1], contacts.at[2]];
  body.field.at(...touch);
  const foot: Vec3 = [body.field.x, body.field.y, body.field.z];
  return { tightestMm: tightest, atMm: where, where: foot, region: body.region(foot) };
}

function wayOf(
  mover: Mover,
  direction: Vec3,
  kind: Way['kind'],
  tiltDegrees: number,
  lengthMm: number,
  at: (s: number) => Matrix4,
): Way {
  const found = follow(mover, lengthMm, at);
  const blockedMm = Math.max(0, mover.neededMm - found.tightestMm);
  return {
    direction,
    words: wordsOf(direction),
    kind,
    tiltDegrees,
    lengthMm,
    blockedMm,
    passes: blockedMm === 0,
    ...found,
  };
}

const shifted = (mover: Mover, direction: Vec3, s: number, turn: Vec3 = [0, 0, 0]): Matrix4 =>
  multiply(motion(mover.middle, turn, [direction[0] * s, direction[1] * s, direction[2] * s]), mover.placement);

function straightWay(mover: Mover, direction: Vec3): Way {
  return wayOf(mover, direction, 'straight', 0, clearLength(mover, direction), (s) => shifted(mover, direction, s));
}

/** The tilt grows over the first half of the way and then stays. */
function tiltedWay(mover: Mover, direction: Vec3, tilt: number): Way {
  const length = clearLength(mover, direction);
  return wayOf(mover, direction, 'tilted', tilt, length, (s) =>
    shifted(mover, direction, s, [0, tilt * DEGREE * Math.min(1, (2 * s) / length), 0]),
  );
}

const LAYER_MM = 10;
const LED_TILTS = 9;
const LED_TILT_DEGREES = 7.5;
const LED_SHIFTS = 5;
const LED_SHIFT_MM = 10;

/**
 * The widest way on a lattice: layers along the direction, in each a tilt about the side axis and a shift across it; from
 * layer to layer one step of each.
 */
function ledWay(mover: Mover, direction: Vec3, tick: () => void): Way {
  const length = clearLength(mover, direction);
  const layers = Math.ceil(length / LAYER_MM);
  const across = unit(cross([0, 1, 0], Math.abs(direction[1]) < 0.9 ? direction : [0, 0, 1]));
  const states = LED_TILTS * LED_SHIFTS;
  const pose = (s: number, tilt: number, shift: number): Matrix4 =>
    multiply(
      motion(
        mover.middle,
        [0, tilt * DEGREE, 0],
        [0, 1, 2].map((k) => direction[k] * s + across[k] * shift) as unknown as Vec3,
      ),
      mover.placement,
    );
  const tiltAt = (state: number): number => (Math.floor(state / LED_SHIFTS) - (LED_TILTS - 1) / 2) * LED_TILT_DEGREES;
  const shiftAt = (state: number): number => ((state % LED_SHIFTS) - (LED_SHIFTS - 1) / 2) * LED_SHIFT_MM;
  const home = ((LED_TILTS - 1) / 2) * LED_SHIFTS + (LED_SHIFTS - 1) / 2;
  let width = new Float64Array(states).fill(-Infinity);
  width[home] = mover.gaps.least(mover.placement);
  const came: Int32Array[] = [];
  for (let layer = 1; layer <= layers; layer++) {
    const next = new Float64Array(states).fill(-Infinity);
    const from = new Int32Array(states).fill(-1);
    for (let state = 0; state < states; state++) {
      const [tilt, shift] = [Math.floor(state / LED_SHIFTS), state % LED_SHIFTS];
      for (let other = 0; other < states; other++) {
        if (Math.abs(Math.floor(other / LED_SHIFTS) - tilt) > 1 || Math.abs((other % LED_SHIFTS) - shift) > 1) continue;
        if (width[other] > next[state]) {
          next[state] = width[other];
          from[state] = other;
        }
      }
      if (next[state] === -Infinity) continue;
      tick();
      const gap = mover.gaps.least(pose((layer * length) / layers, tiltAt(state), shiftAt(state)));
      next[state] = Math.min(next[state], gap);
    }
    width = next;
    came.push(from);
  }
  let state = width.indexOf(Math.max(...width));
  const path = [state];
  for (let layer = layers - 1; layer >= 0; layer--) path.unshift((state = came[layer][state]));
  const between = (at: (state: number) => number, s: number): number => {
    const place = Math.min(layers, (s / length) * layers);
    const i = Math.min(layers - 1, Math.floor(place));
    return at(path[i]) + (place - i) * (at(path[i + 1]) - at(path[i]));
  };
  const most = Math.max(...path.map((one) => Math.abs(tiltAt(one))));
  const tilt = path.map(tiltAt).find((one) => Math.abs(one) === most) ?? 0;
  return wayOf(mover, direction, 'led', tilt, length, (s) => pose(s, between(tiltAt, s), between(shiftAt, s)));
}

/** A direction in the body's frame in words: x forward, y left, z up. */
function wordsOf([x, y, z]: Vec3): string {
  const parts = (
    [
      [z, 'up', 'down'],
      [x, 'forward', 'back'],
      [y, 'to the left', 'to the right'],
    ] as const
  )
    .map(([share, more, less]) => ({ size: Math.abs(share), word: share > 0 ? more : less }))
    .sort((a, b) => b.size - a.size);
  const second =
    parts[1].size > Math.SQRT1_2 / 2
      ? ` and ${parts[1].size < parts[0].size / 2 ? 'a little ' : ''}${parts[1].word}`
      : '';
  return `${parts[0].word}${second}`;
}

/** Halves of the part moved apart, and a half swung about a hinge. */
function partingsOf(mover: Mover, tick: () => void): Parting[] {
  const { points, placement, middle, body, neededMm } = mover;
  const half = (axis: number, sign: number): Float64Array => {
    const kept: number[] = [];
    for (let i = 0; i < points.length; i += 3) {
      const at = transformPoint(placement, [points[i], points[i + 1], points[i + 2]]);
      if (sign * (at[axis] - middle[axis]) >= 0) kept.push(points[i], points[i + 1], points[i + 2]);
    }
    return Float64Array.from(kept);
  };
  const found: Parting[] = [];
  const keep = (kind: Parting['kind'], words: string, axis: number, tightestMm: number): void => {
    const normal = [0, 1, 2].map((k) => (k === axis ? 1 : 0));
    const plane = [...middle, ...normal] as unknown as Parting['plane'];
    found.push({ kind, words, plane, tightestMm, blockedMm: Math.max(0, neededMm - tightestMm) });
  };
  for (const [axis, words] of [
    [0, 'a front and a back half'],
    [1, 'a left and a right half'],
  ] as const) {
    const away = (sign: number): Vec3 => [axis === 0 ? sign : 0, axis === 1 ? sign : 0, 0];
    const halves = [1, -1].map((sign) => {
      const own = half(axis, sign);
      return own.length === 0 ? undefined : { sign, mover: moverOf(own, placement, body, neededMm, tick) };
    });
    if (halves[0] === undefined || halves[1] === undefined) continue;
    const apartMm = halves.map((one) => {
      const { sign, mover: own } = one as { sign: number; mover: Mover };
      const ways = [away(sign), unit([away(sign)[0], away(sign)[1], 0.5])];
      return Math.max(...ways.map((way) => straightWay(own, way).tightestMm));
    });
    keep('halves', words, axis, Math.min(...apartMm));
    if (axis === 0) {
      // The front swings up about an axis across the top, then the back goes back.
      const front = halves[0].mover;
      const top = topOf(front);
      const swing = follow(front, SWING_DEGREES, (s) =>
        multiply(motion([middle[0], middle[1], top], [0, -s * DEGREE, 0], [0, 0, 0]), placement),
      );
      keep(
        'hinge',
        'a front half that swings up about a hinge across the top',
        axis,
        Math.min(swing.tightestMm, apartMm[1]),
      );
    }
  }
  return found.sort((a, b) => b.tightestMm - a.tightestMm);
}

const SWING_DEGREES = 90;

function topOf({ points, placement }: Mover): number {
  let top = -Infinity;
  for (let i = 0; i < points.length; i += 3) {
    top = Math.max(top, transformPoint(placement, [points[i], points[i + 1], points[i + 2]])[2]);
  }
  return top;
}
