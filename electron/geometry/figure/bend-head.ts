/**
 * The neutral head bent until it has wanted measures: Gauss and Newton's method on the smoothest field that meets them
 * (bend.ts), the measures being taken anew on the bent mesh in each round.
 */
import { covariancesOf, displaced, factorWithSlack, solveFactored } from './bend.ts';
import type { HeadPlaces, Levels } from './head-places.ts';
import { mirrorOver } from './mirrored.ts';
import type { NeutralHead } from './neutral-head.ts';
import { HeadTape, type HeadMeasure, type Taken } from './take-measures.ts';

export interface WantedMeasure {
  readonly measure: HeadMeasure;
  readonly targetMm: number;
  /** How exactly it is wanted: misses count in this unit. */
  readonly slackMm: number;
}

export interface BentHead {
  /** Vertices of the neutral mesh, moved; single precision, mirror-symmetric. */
  readonly positions: Float64Array;
  readonly tape: HeadTape;
  /** By name, taken on exactly these positions. */
  readonly taken: ReadonlyMap<string, Taken>;
  readonly rounds: number;
}

const MOST_ROUNDS = 10;
/** From this round on only half of each step is taken: whoever is not still by then swings to and fro. */
const HALF_STEPS_FROM = 4;
/** Done when no measure changes by more than this any more, mm, or this share of its slack. */
const STILL_MM = 0.1;
const STILL_SHARE = 0.5;
/** The frame and the levels of the tapes go to their places in so many rounds; no earlier one is kept. */
const LEAST_ROUNDS = 3;
/** How exactly the landmarks of the frame stand in their planes, mm. */
const FRAME_SLACK_MM = 0.01;

/** Origin level with and midway between the tragions, the left orbitale level with them. */
const FRAME = [
  ['tragion-left', 0],
  ['tragion-left', 2],
  ['orbitale-left', 2],
] as const;

/**
 * Returns the head with the measures, or undefined when a tape cannot be laid on it, which needs measures of no head.
 * `told` is given the round after each. A tenth to half a second a round, most of it taut arcs.
 */
export function bendHead(
  head: NeutralHead,
  places: HeadPlaces,
  wanted: readonly WantedMeasure[],
  tick: () => void,
  told: (round: number, of: number) => void,
): BentHead | undefined {
  const neutral = head.mesh.positions;
  let positions = neutral;
  let before: number[] = [];
  let levels: Levels | undefined;
  let best: BentHead | undefined;
  let bestMiss = Infinity;
  for (let round = 0; ; round++) {
    const found = places.on(positions, levels);
    if (found === undefined) return undefined;
    levels = found.levels;
    const tape = new HeadTape(head.mesh, found, positions, tick);
    const taken: Taken[] = [];
    for (const { measure } of wanted) {
      const one = tape.take(measure);
      if (one === undefined) return undefined;
      taken.push(one);
    }
    told(round, MOST_ROUNDS);
    const lengths = taken.map(({ lengthMm }) => lengthMm);
    const isStill =
      round >= LEAST_ROUNDS &&
      wanted.every(({ slackMm }, i) => Math.abs(lengths[i] - before[i]) < Math.max(STILL_MM, STILL_SHARE * slackMm));
    const miss = Math.max(...wanted.map(({ targetMm, slackMm }, i) => Math.abs(targetMm - lengths[i]) / slackMm));
    if (round >= LEAST_ROUNDS && miss < bestMiss) {
      bestMiss = miss;
      best = {
        positions,
        tape,
        taken: new Map(wanted.map(({ measure }, i) => [measure.name, taken[i]])),
        rounds: round,
      };
    }
    if (round === MOST_ROUNDS || isStill) return best;
    before = lengths;
    const frame = FRAME.map(([landmark, axis]) => tape.coordinate(landmark, axis));
    const all = [...taken, ...frame];
    const targets = [...wanted.map(({ targetMm }) => targetMm), ...frame.map(() => 0)];
    const slack = [...wanted.map(({ slackMm }) => slackMm), ...frame.map(() => FRAME_SLACK_MM)];
    const pulls = all.map((one) => one.pulls);
    // Linear about where the head is now: what is missing, and what the displacement so far has given already.
    const missing = all.map(({ lengthMm, bentMm }, i) => targets[i] - lengthMm + bentMm);
    const factor = factorWithSlack(covariancesOf(pulls), slack);
    if (factor === undefined) return undefined;
    const weights = solveFactored(factor, missing);
    const next = displaced(neutral, head.mesh.halfCount, pulls, weights, tick);
    const share = round >= HALF_STEPS_FROM ? 0.5 : 1;
    positions = next.map((x, at) => Math.fround(positions[at] + share * (x - positions[at])));
    mirrorOver(head.mesh, positions);
  }
}
