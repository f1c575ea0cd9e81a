/** A head form from readings alone: the neutral head bent until it has what was read and, for the rest, what is likely. */
import type { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import { HEAD_MEASURES } from '../../shared-types/measures/index.ts';
import {
  blockSpecification,
  type BlockMeasure,
  type ForeseenMeasure,
  type ReadingSheet,
} from '../../shared-types/operations/block.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { Phases } from '../../shared-types/progress.ts';
import { HEAD_RELATIONS, SURVEY_SOURCE, type SurveyChoice } from '../../shared-types/survey.ts';
import { READING_UNCERTAINTY_MM } from '../../shared-types/tolerances.ts';
import { bendHead, type BentHead, type WantedMeasure } from '../geometry/figure/bend-head.ts';
import {
  expectationOf,
  expectGiven,
  nextReadings,
  skinSpread,
  spreadOf,
  whoDoesNotBelong,
  type Expectation,
  type GivenReading,
} from '../geometry/figure/expect.ts';
import { HeadPlaces } from '../geometry/figure/head-places.ts';
import { neutralHead, type NeutralHead } from '../geometry/figure/neutral-head.ts';
import { HEAD_FIGURE_MEASURES } from '../geometry/figure/take-measures.ts';
import { volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import { LIGHTEN_PHASES } from '../geometry/simplify/lighten.ts';
import { findSelfIntersections, SELF_INTERSECTION_PHASE } from '../geometry/spatial/self-intersections.ts';
import type { Operation } from './operation.ts';

export const BLOCK_PHASES: Phases = { carve: 0.5, bend: 0.4, prove: 0.1 };

const KNOWN = HEAD_RELATIONS.map(({ name }) => name);
/** Two-sided 95 % of the normal distribution. */
export const COVERAGE_95 = 1.959964;
/** A reading so many spreads from the usual is of no head: a mistake of unit or of name. */
const NO_HEAD = 8;
/** One beyond so many is met, but said to be unusual. */
const UNUSUAL = 3;
/** How exactly measures are met, as a share of their uncertainty or spread. */
const EXACTNESS = 0.2;
/** How much more exactly a reading is wanted that was missed, and how often that is tried. */
const TIGHTER = 0.25;
const TIGHTENINGS = 2;
/** Missed by more than this at first, in uncertainties, no tightening helps. */
const HOPELESS = 5;
/** A reading may be missed by so many of its uncertainties where no shape meets all of them, and it is said. */
const MOST_MISS = 2;
/** Costly to take and rarely read: they shape the form only where they are given. */
export const ONLY_GIVEN = new Set(['bitragion submandibular arc', 'bitragion coronal arc', 'tragion to vertex']);

const typicalU = (name: string): number =>
  HEAD_MEASURES.find((one) => one.name === name)?.uMm ??
  (/arc|circumference/.test(name) ? READING_UNCERTAINTY_MM.headGirth : READING_UNCERTAINTY_MM.headSpan);

/** What the readings say, before any form is made: also asked by the studio while a sheet is being filled. */
export interface Judged {
  readonly survey: SurveyChoice;
  readonly prior: Expectation;
  /** All readings of a head, repeats joined, in the order given. */
  readonly given: readonly GivenReading[];
  readonly used: readonly GivenReading[];
  readonly outliers: readonly string[];
  readonly orElse: readonly string[];
  readonly notUsed: readonly string[];
  /** With the readings used. */
  readonly now: Expectation;
  readonly spreads: readonly { after: string | null; skinSpreadMm: number }[];
  readonly next: readonly { name: string; gainMm: number }[];
}

/** Readings of one name joined: the weighted mean and its uncertainty (JCGM 100:2008, weighted by 1/u^2). */
function joinRepeats(readings: ReadingSheet['readings']): GivenReading[] {
  const byName = new Map<string, { sum: number; weight: number }>();
  for (const { name, measured, u = typicalU(name) } of readings) {
    const { sum, weight } = byName.get(name) ?? { sum: 0, weight: 0 };
    byName.set(name, { sum: sum + measured / u ** 2, weight: weight + 1 / u ** 2 });
  }
  return [...byName].map(([name, { sum, weight }]) => ({
    name,
    measuredMm: sum / weight,
    uMm: 1 / Math.sqrt(weight),
  }));
}

export function judgeSheet(sheet: ReadingSheet, choice: SurveyChoice | undefined, keepAll: boolean): Outcome<Judged> {
  const survey = choice ?? sheet.survey ?? 'either';
  const prior = expectationOf(survey, HEAD_RELATIONS);
  const joined = joinRepeats(sheet.readings);
  const given = joined.filter(({ name }) => KNOWN.includes(name));
  for (const { name, measuredMm } of given) {
    const usualMm = prior.meanMm[prior.names.indexOf(name)];
    if (Math.abs(measuredMm - usualMm) > NO_HEAD * spreadOf(prior, name)) {
      return failed(fault('block.not-a-head', { name, measuredMm, usualMm: Math.round(usualMm) }));
    }
  }
  const { outliers, orElse }: Pick<Judged, 'outliers' | 'orElse'> = keepAll
    ? { outliers: [], orElse: [] }
    : whoDoesNotBelong(prior, given);
  const used = given.filter(({ name }) => !outliers.includes(name));
  const now = expectGiven(prior, used);
  const spreads = [null, ...used].map((reading, count) => ({
    after: reading === null ? null : reading.name,
    skinSpreadMm: skinSpread(expectGiven(prior, used.slice(0, count))),
  }));
  const could = KNOWN.filter((name) => !used.some((reading) => reading.name === name) && !ONLY_GIVEN.has(name));
  return done({
    survey,
    prior,
    given,
    used,
    outliers,
    orElse,
    notUsed: joined.map(({ name }) => name).filter((name) => !KNOWN.includes(name)),
    now,
    spreads,
    next: nextReadings(
      now,
      could.map((name) => ({ name, uMm: typicalU(name) })),
    ),
  });
}

const asList = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');

function adviceOf(judged: Judged, measures: readonly BlockMeasure[]): { advice: string[]; warnings: Warning[] } {
  const { used, outliers, orElse, notUsed, next, prior, now } = judged;
  const advice: string[] = [];
  const warnings: Warning[] = [];
  const warn = (code: string, sentence: string): void => {
    advice.push(sentence);
    warnings.push({ code, sentence });
  };
  const guessed = measures.filter(({ role }) => role !== 'given');
  const worst = guessed.reduce<BlockMeasure | undefined>(
    (most, one) => (most === undefined || one.within95Mm > most.within95Mm ? one : most),
    undefined,
  );
  const doubt =
    worst === undefined
      ? ''
      : ` ${guessed.length} are guessed; "${worst.name}" may be off by ${worst.within95Mm.toFixed(0)} mm.`;
  warn(
    'block.no-scan',
    `No scan stands behind this form: ${used.length === 1 ? '1 measure was' : `${used.length} measures were`} read on the person.${doubt} Between them the skin is a neutral head's.`,
  );
  if (outliers.length > 0) {
    warn(
      'block.outlier',
      `Take ${asList(outliers)} again: ${outliers.length === 1 ? 'it does' : 'they do'} not belong with the other readings, and the form was made without.`,
    );
    if (orElse.length > 0) advice.push(`It could be ${asList(orElse)} instead: the rest would agree almost as well.`);
  }
  for (const { name, measuredMm } of used) {
    const spread = spreadOf(prior, name);
    const off = measuredMm - prior.meanMm[prior.names.indexOf(name)];
    if (Math.abs(off) > UNUSUAL * spread) {
      warn(
        'block.unusual',
        `"${name}" is ${Math.abs(off).toFixed(0)} mm ${off > 0 ? 'more' : 'less'} than usual in the survey; check it, for what was guessed follows it.`,
      );
    }
  }
  const missed = measures.filter((one) => isMissed(one));
  if (missed.length > 0) {
    warn(
      'block.not-met',
      `No head shape has all these readings: ${missed.map(({ name, formMm, measuredMm }) => `"${name}" is ${formMm.toFixed(1)} mm on the form instead of ${(measuredMm ?? 0).toFixed(1)}`).join(', ')}. Take ${missed.length === 1 ? 'it' : 'them'} again.`,
    );
  }
  if (notUsed.length > 0) advice.push(`Not a measure of the head known here, so not used: ${asList(notUsed)}.`);
  if (next.length > 0) {
    advice.push(
      `The reading to take next is "${next[0].name}": what is not known of the skin falls from ${skinSpread(now).toFixed(1)} to ${(skinSpread(now) - next[0].gainMm).toFixed(1)} mm.`,
    );
  }
  return { advice, warnings };
}

const isMissed = ({ role, formMm, measuredMm, uMm }: BlockMeasure): boolean =>
  role === 'given' && Math.abs(formMm - (measuredMm ?? 0)) > (uMm ?? 0);

/** Bend, and bend again with the readings that were missed wanted more exactly. */
export function bendToReadings(
  head: NeutralHead,
  judged: Judged,
  tick: () => void,
  step: (done: number, total: number) => void,
): { bent: BentHead; largestMiss: number } | undefined {
  const { used, now } = judged;
  const places = new HeadPlaces(head);
  const readingOf = new Map(used.map((reading) => [reading.name, reading]));
  const exactness = new Map(used.map(({ name }) => [name, EXACTNESS]));
  for (let attempt = 0; ; attempt++) {
    const wanted = HEAD_FIGURE_MEASURES.flatMap((measure): WantedMeasure[] => {
      const { name } = measure;
      const reading = readingOf.get(name);
      if (reading !== undefined) {
        return [{ measure, targetMm: reading.measuredMm, slackMm: (exactness.get(name) ?? EXACTNESS) * reading.uMm }];
      }
      if (ONLY_GIVEN.has(name)) return [];
      const targetMm = now.meanMm[now.names.indexOf(name)];
      return [{ measure, targetMm, slackMm: EXACTNESS * spreadOf(now, name) }];
    });
    const bent = bendHead(head, places, wanted, tick, step);
    if (bent === undefined) return undefined;
    const misses = used.map(({ name, measuredMm, uMm }) => {
      const formMm = bent.taken.get(name)?.lengthMm ?? Infinity;
      return { name, miss: Math.abs(formMm - measuredMm) / uMm };
    });
    const largestMiss = Math.max(0, ...misses.map(({ miss }) => miss));
    if (largestMiss <= 1) return { bent, largestMiss };
    if (largestMiss > HOPELESS) return undefined;
    if (attempt === TIGHTENINGS) return largestMiss <= MOST_MISS ? { bent, largestMiss } : undefined;
    for (const { name, miss } of misses) {
      if (miss > 0.5) exactness.set(name, (exactness.get(name) ?? EXACTNESS) * TIGHTER);
    }
  }
}

/** What is read and what will be guessed, before any form is made. */
export function foreseen({ given, outliers, now }: Judged): ForeseenMeasure[] {
  return HEAD_RELATIONS.map(({ name, ground, why }) => {
    const reading = given.find((one) => one.name === name);
    const role = reading === undefined ? 'guessed' : outliers.includes(name) ? 'left out' : 'given';
    const spread = role === 'given' && reading !== undefined ? reading.uMm : spreadOf(now, name);
    return {
      name,
      role,
      measuredMm: reading?.measuredMm ?? null,
      uMm: reading?.uMm ?? null,
      expectedMm: now.meanMm[now.names.indexOf(name)],
      within95Mm: COVERAGE_95 * spread,
      ground,
      why,
    };
  });
}

/** The same with what the finished form has; what it misses of its aim comes on top of the doubt. */
function measuresOf(judged: Judged, bent: BentHead): BlockMeasure[] {
  return foreseen(judged).flatMap((one): BlockMeasure[] => {
    const measure = HEAD_FIGURE_MEASURES.find(({ name }) => name === one.name);
    const taken = bent.taken.get(one.name) ?? (measure === undefined ? undefined : bent.tape.take(measure));
    if (taken === undefined) return [];
    const aimMm = one.role === 'given' ? (one.measuredMm ?? one.expectedMm) : one.expectedMm;
    const missMm = Math.abs(taken.lengthMm - aimMm);
    return [{ ...one, formMm: taken.lengthMm, within95Mm: one.within95Mm + missMm }];
  });
}

type Figures = z.output<typeof blockSpecification.figures>;

export const blockOperation: Operation<typeof blockSpecification> = {
  specification: blockSpecification,
  phases: BLOCK_PHASES,
  run: (_inputs, { sheet, survey, faces, all }, run) => {
    const judging = judgeSheet(sheet, survey, all);
    if (!judging.ok) return judging;
    const judged = judging.value;
    if (judged.used.length === 0) return failed(fault('block.no-readings', { known: KNOWN.join(', ') }));
    const head = neutralHead(faces, run.within('carve', LIGHTEN_PHASES));
    if (!head.ok) return head;
    let share = 0;
    const found = bendToReadings(
      head.value,
      judged,
      () => run.step('bend', share, 1),
      (round, of) => run.step('bend', (share = Math.max(share, round / of)), 1),
    );
    if (found === undefined) {
      return failed(fault('block.cannot', { names: judged.used.map(({ name }) => name).join(', ') }));
    }
    const { bent, largestMiss } = found;
    const { mesh } = bent.tape;
    const crossings = findSelfIntersections(mesh, run.within('prove', { [SELF_INTERSECTION_PHASE]: 1 })).length / 2;
    if (crossings > 0) return failed(fault('block.not-sound', { crossings }));
    const { openEdges, nonManifoldEdges, flippedEdges } = findTwins(mesh.triangles, mesh.positions.length / 3);
    const measures = measuresOf(judged, bent);
    const { advice, warnings } = adviceOf(judged, measures);
    const figures: Figures = {
      survey: judged.survey,
      source: SURVEY_SOURCE,
      measures,
      largestMiss,
      outliers: [...judged.outliers],
      orElse: [...judged.orElse],
      notUsed: [...judged.notUsed],
      spreads: [...judged.spreads],
      next: [...judged.next],
      landmarks: Object.fromEntries(
        Object.keys(bent.tape.places)
          .filter((name) => name !== 'top')
          .map((name) => [name, [...bent.tape.point(name)]]),
      ),
      faces: mesh.triangles.length / 3,
      vertices: mesh.positions.length / 3,
      watertight: openEdges === 0 && nonManifoldEdges === 0 && flippedEdges === 0,
      selfIntersections: 0,
      volumeMm3: volumeOf(mesh),
      rounds: bent.rounds,
      advice,
    };
    return done({ mesh, matrix: IDENTITY, figures }, warnings);
  },
};
