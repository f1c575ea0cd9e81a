/** What a wearer's sheet says about each length: readings of one name taken together, with what is odd about them. */
import type { KnownLength, Repeatability } from '../../../shared-types/contract.ts';
import { rangeDoubt } from '../../../shared-types/measures/range-doubt.ts';
import { dayText } from '../../../shared-types/counts.ts';
import { measureKind, regionOfMeasure } from '../../../shared-types/measures/index.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import { dayOfReading, isLongBefore } from '../../../shared-types/sitting.ts';
import { READING_UNCERTAINTY_MM } from '../../../shared-types/tolerances.ts';
import { sureKindOf, type UsualUncertainty } from '../../../shared-types/usual-uncertainty.ts';
import { togetherDoubts } from './plausible.ts';

/** Readings of one thing that differ by more than this many of their uncertainties do not belong together. */
const SPREAD_LIMIT = 4;

const newestOf = (days: readonly string[]): string => days.reduce((a, b) => (a > b ? a : b));

/** Of readings of one thing, those about its newest, which count, and those of an earlier body. */
function byBody(readings: readonly Reading[]): { now: Reading[]; earlier: Reading[]; takenOn: string } {
  const takenOn = newestOf(readings.map(dayOfReading));
  const now = readings.filter((reading) => !isLongBefore(dayOfReading(reading), takenOn));
  return { now, earlier: readings.filter((reading) => !now.includes(reading)), takenOn };
}

const groupsOf = (sheet: readonly Reading[]): Reading[][] => [
  ...Map.groupBy(sheet, ({ name, kind }) => `${kind} ${name}`).values(),
];

const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

function squaresOf(values: readonly number[]): number {
  const mean = meanOf(values);
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
}

/**
 * The mean of each name's readings that are not of an earlier body: bodies change, and a mean over years is nobody's. Its standard uncertainty is the larger of what the readings' own uncertainties
 * leave after averaging and what their scatter shows (standard deviation of the mean). `usual` is what a reading is
 * worth that states none. O(readings).
 */
export function knownLengths(
  sheet: readonly Reading[],
  usual: UsualUncertainty = READING_UNCERTAINTY_MM,
): KnownLength[] {
  const partOf = ({ name }: Reading): string | undefined => regionOfMeasure(name)?.name;
  const newest = new Map(
    [...Map.groupBy(sheet, partOf)].map(([part, readings]) => [part, newestOf(readings.map(dayOfReading))] as const),
  );
  const lengths = groupsOf(sheet).map((all): KnownLength => {
    const { now: readings, earlier, takenOn } = byBody(all);
    const last = newest.get(partOf(all[0])) ?? takenOn;
    const isOfEarlierBody = isLongBefore(takenOn, last);
    const [{ name, kind }] = readings;
    const count = readings.length;
    const typical = usual[sureKindOf(kind, measureKind(name))];
    const values = readings.map(({ valueMm }) => valueMm);
    const mm = meanOf(values);
    const own = Math.hypot(...readings.map(({ uncertaintyMm }) => uncertaintyMm ?? typical)) / count;
    const scatter = count < 2 ? 0 : Math.sqrt(squaresOf(values) / (count - 1) / count);
    const spreadMm = Math.max(...values) - Math.min(...values);
    const doubt =
      (spreadMm > SPREAD_LIMIT * typical ? spreadDoubt(count, spreadMm) : rangeDoubt(name, mm)) ??
      (isOfEarlierBody ? staleDoubt(takenOn, last) : undefined);
    return {
      name,
      kind,
      mm,
      uMm: Math.max(own, scatter),
      count,
      ...(isOfEarlierBody ? { isOfEarlierBody } : {}),
      ...(earlier.length === 0
        ? {}
        : {
            earlier: {
              mm: meanOf(earlier.map(({ valueMm }) => valueMm)),
              takenOn: newestOf(earlier.map(dayOfReading)),
            },
          }),
      ...(count < 2 ? {} : { spreadMm }),
      ...(doubt === undefined ? {} : { doubt }),
    };
  });
  // A length that is odd by itself would only cast doubt on those compared with it.
  const together = togetherDoubts(lengths.filter(({ doubt }) => doubt === undefined));
  return lengths.map((length) => {
    const doubt = together.get(length.name);
    return doubt === undefined ? length : { ...length, doubt };
  });
}

const staleDoubt = (day: string, last: string): string =>
  `Taken on ${dayText(day)}, others of this part of the body on ${dayText(last)}: bodies change, take it again.`;

const spreadDoubt = (count: number, spreadMm: number): string =>
  `The ${count} readings differ by ${spreadMm.toFixed(1)} mm; take it again and withdraw the wrong one.`;

/**
 * How well readings of each kind repeat: the technical error of measurement over all lengths taken more than once,
 * the square root of the sum of squares about each length's mean over the readings less the lengths. For pairs that is
 * the square root of the sum of squared differences over twice the pairs (standard anthropometry; in this general form
 * from memory). O(readings).
 */
export function repeatability(sheet: readonly Reading[]): Repeatability[] {
  const repeated = groupsOf(sheet)
    .map((all) => byBody(all).now)
    .filter((readings) => readings.length > 1);
  return [...Map.groupBy(repeated, ([{ kind }]) => kind)].map(([kind, groups]) => {
    const squares = groups.reduce((sum, readings) => sum + squaresOf(readings.map(({ valueMm }) => valueMm)), 0);
    const readings = groups.reduce((sum, { length }) => sum + length, 0);
    return { kind, temMm: Math.sqrt(squares / (readings - groups.length)), lengths: groups.length, readings };
  });
}
