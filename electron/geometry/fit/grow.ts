/**
 * The smallest uniform scale at which a part, placed as well as it can be, leaves a stated least gap. Placing and
 * growing go together: successive linear programmes in a trust region, as for the largest least gap, that ask for the
 * least growth after which every contact has its room; what is missing of the room counts as growth many times over
 * (an exact penalty, Fletcher 1985), so that a part that cannot have it yet comes as near as a step allows.
 */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN, type Phases, type RunContext } from '../../../shared-types/progress.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { transformPoint } from '../mesh/transform.ts';
import { FaceGaps, PointGaps, type GapSource } from './gap-points.ts';
import { evennessOf } from './most-even.ts';
import { boxOf, moved, type Handle, type MostRoom, type PlacingLimits } from './most-room.ts';
import { holdsOf, limitNames, PLACE_PHASES, placePart, readyFrom, type Placed, type PlaceWish } from './place.ts';
import { factorOf, grown } from './pose.ts';
import { bestStep, motionRows, type Further } from './step-programme.ts';
import type { FittingBody, WornPart } from './worn.ts';

export interface ScaleWish extends PlaceWish {
  /** Least gap wanted, mm; what padding needs once pressed is part of it. */
  readonly leastMm: number;
}

export interface Scaled extends Placed {
  /** Of the part's true size; the placement holds it too. */
  readonly factor: number;
  /** By how much the reached least gap exceeds the wanted one, mm. */
  readonly missMm: number;
  /** Edges of the part's own box, before and after, mm. */
  readonly outsideMm: Vec3;
  readonly grownOutsideMm: Vec3;
  /** Whether the wanted gap was reached, to 0.05 mm. */
  readonly reached: boolean;
}

export const SCALE_PHASES: Phases = { 'as it is': 0.45, 'own size': 0.1, grow: 0.3, 'last steps': 0.15 };

const REACHED_MM = 0.05;
/** A millimetre of missing room counts as this many of growth; any number above the rate at which room grows will do. */
const PENALTY = 6;
const SMALLEST = 0.25;
const LARGEST = 4;
const GOOD = 0.1;
const VERY_GOOD = 0.7;
const SHRINK = 0.35;
const LARGEST_TRUST_MM = 20;

interface GrowOptions {
  readonly wantedMm: number;
  readonly limits: PlacingLimits;
  readonly from: Matrix4;
  readonly trustMm: number;
  readonly toleranceMm: number;
  readonly mostSteps: number;
}

/** Climb from a placement; growth is told in mm at the part's lever. O(steps · contacts). */
function leastGrowth(gaps: GapSource, start: Matrix4, handle: Handle, options: GrowOptions): MostRoom {
  const { wantedMm, limits, toleranceMm, mostSteps } = options;
  const lever = handle.leverMm;
  const size = factorOf(options.from);
  let placement = start;
  let least = gaps.least(placement);
  let trust = options.trustMm;
  for (let steps = 0; ; steps++) {
    const about = transformPoint(placement, handle.middle);
    const factor = factorOf(placement) / size;
    const reach = 2 * Math.sqrt(3) * trust * 3;
    // Contacts with room to spare for any step here are left out.
    const contacts = gaps.contacts(Math.max(0, wantedMm - least) + reach);
    const { at, opens, gapMm } = contacts;
    const grows = Float64Array.from({ length: contacts.count }, (_, i) => {
      let sum = 0;
      for (let k = 0; k < 3; k++) sum += opens[3 * i + k] * (at[3 * i + k] - about[k]);
      return sum / lever;
    });
    const missing = Math.max(0, wantedMm - least);
    // What the limits are counted from grows with the part, so that growing alone is no shift.
    const from = grown(options.from, factor, transformPoint(options.from, handle.middle));
    const box = boxOf(placement, from, handle, limits, trust);
    const most = lever * (LARGEST / factor - 1),
      fewest = lever * (SMALLEST / factor - 1);
    const room = gapMm.map((gap) => gap - wantedMm);
    const growth: Further = {
      low: Math.max(-trust, Math.min(0, fewest)),
      high: Math.min(trust, Math.max(0, most)),
      worth: -1,
      takes: (i) => -grows[i],
    };
    const short: Further = { low: 0, high: missing + reach, worth: -PENALTY, takes: () => -1 };
    const step = bestStep(motionRows(contacts, about, lever), room, box, [growth, short]);
    const gain = step === undefined ? 0 : PENALTY * (missing - step.further[1]) - step.further[0];
    if (step === undefined || gain < toleranceMm || trust < toleranceMm || steps >= mostSteps) {
      const { pushes = [], limits: stopped = [] } = step ?? {};
      return { placement, leastMm: least, pushes, stopped, contacts, couldGainMm: Math.max(0, gain), triedMm: trust };
    }
    const next = grown(moved(placement, handle, step.motion), 1 + step.further[0] / lever, [
      about[0] + step.motion[0],
      about[1] + step.motion[1],
      about[2] + step.motion[2],
    ]);
    const now = gaps.least(next);
    const share = (PENALTY * (missing - Math.max(0, wantedMm - now)) - step.further[0]) / gain;
    if (share > GOOD) {
      placement = next;
      least = now;
      if (share > VERY_GOOD) trust = Math.min(LARGEST_TRUST_MM, 2 * trust);
    } else {
      trust *= SHRINK;
      gaps.least(placement);
    }
  }
}

/** Sizes to start from, in terms of the part's own; those after the second only when these leave it short. */
const FIRST_FACTORS = [1, 1.12, 1.3, 1.7, 2.5] as const;
/** Points lie a little farther from the body than the faces between them, mm. */
const POINTS_MISS_MM = 0.2;

const enough = (growth: MostRoom, wantedMm: number): boolean => growth.leastMm > wantedMm - POINTS_MISS_MM;

function better(one: MostRoom, other: MostRoom, wantedMm: number): boolean {
  if (enough(one, wantedMm) !== enough(other, wantedMm)) return enough(one, wantedMm);
  return enough(one, wantedMm) ? factorOf(one.placement) < factorOf(other.placement) : one.leastMm > other.leastMm;
}

function handleMiddle(part: WornPart): Vec3 {
  const { min, max } = boundsOf(part.mesh.positions);
  return [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
}

/**
 * Find the scale, from 0.25 to 4 times the part as it is. The whole part grows, its wall too. A local method from the
 * best placement at the part's own size, under the same limits; `holds` says which contacts ask for the size, and
 * `couldGainMm` how many mm of growth at the part's lever a small motion could still save. With a patch only its points
 * ask for room. `aim: 'even'` is taken for the start only.
 */
export function scalePart(part: WornPart, body: FittingBody, wish: ScaleWish, run: RunContext = QUIET_RUN): Scaled {
  return growPlaced(part, body, wish, placePart(part, body, wish, run.within('as it is', PLACE_PHASES)), run);
}

/** The same from the best place at the part's own size, where that is known. */
export function growPlaced(
  part: WornPart,
  body: FittingBody,
  wish: ScaleWish,
  placed: Placed,
  run: RunContext = QUIET_RUN,
): Scaled {
  const { leastMm: wantedMm } = wish;
  const { field } = body;
  const { limits, from } = placed.searched;
  const tick = (): void => run.step('grow', 0.5, 1);
  const options = { wantedMm, limits, from, trustMm: 8, toleranceMm: 1 / 64, mostSteps: 40 };
  let growth: MostRoom | undefined;
  for (const first of FIRST_FACTORS) {
    // Too large at first is the better start for a part that is caught behind an ear: it closes in from outside.
    if (first > 1.2 && growth !== undefined && enough(growth, wantedMm)) break;
    const middle = transformPoint(placed.placement, handleMiddle(part));
    const start = grown(placed.placement, first, middle);
    const { touch, handle } = readyFrom(part, body, start, wish, tick);
    const other = leastGrowth(new PointGaps(touch, field, tick), start, handle, options);
    if (growth === undefined || better(other, growth, wantedMm)) growth = other;
  }
  if (growth === undefined) throw new Error('no first size');
  const tickLast = (): void => run.step('last steps', 0.5, 1);
  const ready = readyFrom(part, body, growth.placement, wish, tickLast);
  const last = { ...options, trustMm: 1 / 2, toleranceMm: 1 / 512, mostSteps: 25 };
  growth = leastGrowth(new FaceGaps(ready.corners, field, tickLast), growth.placement, ready.handle, last);
  const { placement, leastMm } = growth;
  const factor = factorOf(placement) / factorOf(placed.placement);
  const even = evennessOf(ready.points, field, placement, tickLast);
  const { min, max } = boundsOf(part.mesh.positions);
  const outside: Vec3 = [max[0] - min[0], max[1] - min[1], max[2] - min[2]];
  return {
    ...placed,
    placement,
    leastMm,
    holds: holdsOf(body, growth),
    heldByLimit: limitNames(growth),
    couldGainMm: growth.couldGainMm,
    triedMm: growth.triedMm,
    unevenMm: even.unevenMm,
    meanMm: even.meanMm,
    factor,
    missMm: leastMm - wantedMm,
    outsideMm: outside,
    grownOutsideMm: [outside[0] * factor, outside[1] * factor, outside[2] * factor],
    reached: leastMm > wantedMm - REACHED_MM,
  };
}
