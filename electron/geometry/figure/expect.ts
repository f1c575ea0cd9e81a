/**
 * What a person's other measures are likely to be, given the readings that are there: the conditional mean and
 * covariance of a multivariate normal distribution (Eaton 1983, "Multivariate Statistics", proposition 3.13), each
 * reading with its own uncertainty. How readings that do not belong together are told follows scale-fit.ts.
 */
import type { Population, Relation, SurveyChoice } from '../../../shared-types/survey.ts';
import { outlierLimit } from '../register/scale-fit.ts';

/** Mean and covariance of measures, in the order of `names`; row-major, mm and mm². */
export interface Expectation {
  readonly names: readonly string[];
  readonly meanMm: readonly number[];
  readonly covarianceMm2: Float64Array;
}

export interface GivenReading {
  readonly name: string;
  readonly measuredMm: number;
  /** Standard uncertainty. */
  readonly uMm: number;
}

function expectationFor(population: Population, relations: readonly Relation[]): Expectation {
  const names = relations.map(({ name }) => name);
  const n = names.length;
  const covarianceMm2 = new Float64Array(n * n);
  relations.forEach((relation, i) => {
    const followed = relation.on[population].map(({ name, slope }) => ({ at: names.indexOf(name), slope }));
    const sharedWith = (j: number): number =>
      followed.reduce((sum, { at, slope }) => sum + slope * covarianceMm2[at * n + j], 0);
    for (let j = 0; j < i; j++) covarianceMm2[i * n + j] = covarianceMm2[j * n + i] = sharedWith(j);
    covarianceMm2[i * n + i] = sharedWith(i) + relation.residualMm[population] ** 2;
  });
  return { names, meanMm: relations.map(({ meanMm }) => meanMm[population]), covarianceMm2 };
}

/**
 * What is expected of someone of whom nothing is known but the population they belong to. `relations` stand in an
 * order in which each follows only earlier ones. Of 'either' the mean and covariance of a crowd of half men, half
 * women. O(measures squared).
 */
export function expectationOf(choice: SurveyChoice, relations: readonly Relation[]): Expectation {
  if (choice !== 'either') return expectationFor(choice, relations);
  const men = expectationFor('men', relations);
  const women = expectationFor('women', relations);
  const n = men.names.length;
  const half = men.meanMm.map((mean, i) => (mean - women.meanMm[i]) / 2);
  return {
    names: men.names,
    meanMm: men.meanMm.map((mean, i) => mean - half[i]),
    covarianceMm2: men.covarianceMm2.map(
      (value, at) => (value + women.covarianceMm2[at]) / 2 + half[Math.floor(at / n)] * half[at % n],
    ),
  };
}

/** The expectation after one more reading: the same update as a Kalman filter's, exact for any number of them. */
function withReading({ names, meanMm, covarianceMm2 }: Expectation, reading: GivenReading): Expectation {
  const n = names.length;
  const at = names.indexOf(reading.name);
  const variance = covarianceMm2[at * n + at] + reading.uMm ** 2;
  const gain = names.map((_, i) => covarianceMm2[i * n + at] / variance);
  const surprise = reading.measuredMm - meanMm[at];
  return {
    names,
    meanMm: meanMm.map((mean, i) => mean + gain[i] * surprise),
    covarianceMm2: covarianceMm2.map((value, k) => value - gain[Math.floor(k / n)] * covarianceMm2[at * n + (k % n)]),
  };
}

/** The expectation given the readings; those of names it does not hold are passed over. O(readings measures squared). */
export function expectGiven(prior: Expectation, readings: readonly GivenReading[]): Expectation {
  return readings.filter(({ name }) => prior.names.includes(name)).reduce(withReading, prior);
}

export const spreadOf = ({ names, covarianceMm2 }: Expectation, name: string): number => {
  const at = names.indexOf(name);
  return Math.sqrt(Math.max(0, covarianceMm2[at * names.length + at]));
};

export interface Belonging {
  /** Readings that do not belong to the rest. */
  readonly outliers: readonly string[];
  /** Readings that could be meant instead: without them the rest agree almost as well. */
  readonly orElse: readonly string[];
  /** By name: reading minus what the others lead to expect, over the spread of that. */
  readonly standardised: Readonly<Record<string, number>>;
}

/** At most so many are left out: beyond it the readings are of someone the survey does not describe. */
const MOST_LEFT_OUT = 2;
/**
 * Twice the logarithm of the odds by which one choice must be better than another to be told from it, as in
 * scale-fit.ts: 7 to 1.
 */
const TOLD_APART = 4;

/** Minus twice the logarithm of the readings' density, less a constant: small where they agree. */
function disagreement(prior: Expectation, readings: readonly GivenReading[]): number {
  let sum = 0;
  let now = prior;
  for (const reading of readings) {
    const variance = spreadOf(now, reading.name) ** 2 + reading.uMm ** 2;
    sum += (reading.measuredMm - now.meanMm[now.names.indexOf(reading.name)]) ** 2 / variance + Math.log(variance);
    now = withReading(now, reading);
  }
  return sum;
}

function surprises(prior: Expectation, readings: readonly GivenReading[]): number[] {
  return readings.map((reading) => {
    const others = expectGiven(
      prior,
      readings.filter((other) => other !== reading),
    );
    const spread = Math.hypot(spreadOf(others, reading.name), reading.uMm);
    return (reading.measuredMm - others.meanMm[others.names.indexOf(reading.name)]) / spread;
  });
}

/**
 * Which readings do not belong with the rest: the fewest (one or two) whose absence leaves no reading further from
 * what the others lead to expect than chance allows (1 %, shared over all). More than half must remain, and at least
 * two: of two that disagree neither can be named. Nothing is left out where no such choice exists. O(n^2) updates.
 */
export function whoDoesNotBelong(prior: Expectation, given: readonly GivenReading[]): Belonging {
  const readings = given.filter(({ name }) => prior.names.includes(name));
  const all = surprises(prior, readings);
  const standardised = Object.fromEntries(readings.map(({ name }, i) => [name, all[i]]));
  const agree = (used: readonly GivenReading[]): boolean => {
    const limit = outlierLimit(used.length);
    return surprises(prior, used).every((z) => Math.abs(z) <= limit);
  };
  const nothing: Belonging = { outliers: [], orElse: [], standardised };
  if (readings.length < 3 || agree(readings)) return nothing;
  for (let out = 1; out <= MOST_LEFT_OUT; out++) {
    const kept = readings.length - out;
    if (kept < 2 || out >= readings.length / 2) return nothing;
    const choices = choicesOf(readings, out)
      .map((left) => ({ left, rest: readings.filter((reading) => !left.includes(reading)) }))
      .filter(({ rest }) => agree(rest))
      .map(({ left, rest }) => ({ left, measure: disagreement(prior, rest) - priorLevel(prior, rest) }))
      .sort((a, b) => a.measure - b.measure);
    if (choices.length === 0) continue;
    const [first, ...others] = choices;
    const rivals = others.filter(({ measure }) => measure < first.measure + TOLD_APART).flatMap(({ left }) => left);
    const names = first.left.map(({ name }) => name);
    return {
      outliers: names,
      orElse: [...new Set(rivals.map(({ name }) => name))].filter((name) => !names.includes(name)),
      standardised,
    };
  }
  return nothing;
}

/** What `disagreement` is for readings exactly as expected, so that choices of different readings can be compared. */
function priorLevel(prior: Expectation, readings: readonly GivenReading[]): number {
  let sum = 0;
  let now = prior;
  for (const reading of readings) {
    sum += Math.log(spreadOf(now, reading.name) ** 2 + reading.uMm ** 2);
    now = withReading(now, reading);
  }
  return sum;
}

function choicesOf<T>(of: readonly T[], count: number): T[][] {
  if (count === 1) return of.map((one) => [one]);
  return of.flatMap((one, i) => of.slice(i + 1).map((other) => [one, other]));
}

/** What a millimetre of a measure moves the skin, mm: half a breadth on either side, a girth all round. */
function skinShare(name: string): number {
  if (name.endsWith('circumference')) return 1 / (2 * Math.PI);
  if (name.endsWith('arc')) return 1 / Math.PI;
  return name === 'tragion to top of head' || name === 'tragion to vertex' ? 1 : 1 / 2;
}

/** How far off the skin may be by the spread of the measures: the root of the mean square of each one's share, mm. */
export const skinSpread = (of: Expectation): number =>
  Math.sqrt(of.names.reduce((sum, name) => sum + (skinShare(name) * spreadOf(of, name)) ** 2, 0) / of.names.length);

export interface NextReading {
  readonly name: string;
  /** By how much the spread of the skin falls, mm. */
  readonly gainMm: number;
}

/** How one further reading of each name in `could` would help, the best first. O(could measures squared). */
export function nextReadings(
  now: Expectation,
  could: readonly { readonly name: string; readonly uMm: number }[],
): NextReading[] {
  const before = skinSpread(now);
  return could
    .filter(({ name }) => now.names.includes(name))
    .map(({ name, uMm }) => {
      // How much is learned does not depend on what is read.
      const after = withReading(now, { name, measuredMm: now.meanMm[now.names.indexOf(name)], uMm });
      return { name, gainMm: before - skinSpread(after) };
    })
    .sort((a, b) => b.gainMm - a.gainMm);
}
