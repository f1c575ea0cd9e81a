/** What a wearer's sheet says about each length: readings of one name taken together, with what is odd about them. */
import type { KnownLength } from '../../../shared-types/contract.ts';
import { measureKind } from '../../../shared-types/measures.ts';
import type { Reading } from '../../../shared-types/records/reading.ts';
import { READING_UNCERTAINTY_MM } from '../../../shared-types/tolerances.ts';

/** Readings of one thing that differ by more than this many of their uncertainties do not belong together. */
const SPREAD_LIMIT = 4;

/**
 * The mean of each name's readings. Its standard uncertainty is the larger of what the readings' own uncertainties
 * leave after averaging and what their scatter shows (standard deviation of the mean). O(readings).
 */
export function knownLengths(sheet: readonly Reading[]): KnownLength[] {
  const groups = Map.groupBy(sheet, ({ name, kind }) => `${kind} ${name}`);
  return [...groups.values()].map((readings) => {
    const [{ name, kind }] = readings;
    const count = readings.length;
    const typical =
      measureKind(name)?.uMm ?? (kind === 'span' ? READING_UNCERTAINTY_MM.headSpan : READING_UNCERTAINTY_MM.headGirth);
    const values = readings.map(({ valueMm }) => valueMm);
    const mm = values.reduce((sum, value) => sum + value, 0) / count;
    const own = Math.hypot(...readings.map(({ uncertaintyMm }) => uncertaintyMm ?? typical)) / count;
    const squares = values.reduce((sum, value) => sum + (value - mm) ** 2, 0);
    const scatter = count < 2 ? 0 : Math.sqrt(squares / (count - 1) / count);
    const doubt = doubtOf(name, mm, values, typical);
    return { name, kind, mm, uMm: Math.max(own, scatter), count, ...(doubt === undefined ? {} : { doubt }) };
  });
}

function doubtOf(name: string, mm: number, values: readonly number[], uMm: number): string | undefined {
  const spread = Math.max(...values) - Math.min(...values);
  if (spread > SPREAD_LIMIT * uMm) {
    return `The ${values.length} readings differ by ${spread.toFixed(1)} mm; take it again and withdraw the wrong one.`;
  }
  const seen = measureKind(name)?.seenMm;
  if (seen === undefined || (mm >= seen[0] && mm <= seen[1])) return undefined;
  const [unit] = (
    [
      ['inches', 25.4],
      ['centimetres', 10],
      ['millimetres, but entered as centimetres', 0.1],
    ] as const
  ).filter(([, factor]) => mm * factor >= seen[0] && mm * factor <= seen[1]);
  const question = unit === undefined ? 'check it' : `was it read in ${unit[0]}?`;
  return `${mm.toFixed(0)} mm lies outside ${seen[0]} to ${seen[1]} mm, all that the 2012 survey of adults met: ${question}`;
}
