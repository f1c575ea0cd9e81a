/** What a landmark, a measure and a body region are, as data. */
import { SURVEY } from '../survey.ts';
import { READING_UNCERTAINTY_MM } from '../tolerances.ts';
import type { SureKind } from '../usual-uncertainty.ts';

export interface LandmarkKind {
  readonly name: string;
  /** For people. */
  readonly title: string;
  /** Where it lies on a body, in plain words. */
  readonly where: string;
  /** The other side's landmark, if it has one. */
  readonly mirror?: string;
}

/**
 * Lengths outside this are looked at again. `seen`: the least and largest met in the 2012 survey (survey.ts), men and
 * women together. `widened`: reckoned from that survey's means and standard deviations. `judged`: our own
 * judgement of what an adult's can be, no source; it serves to catch a wrong unit.
 */
export interface MeasureRange {
  readonly mm: readonly [number, number];
  readonly from: 'seen' | 'widened' | 'judged';
}

export interface MeasureKind {
  readonly name: string;
  readonly kind: 'span' | 'girth' | 'arc';
  /** From and to; or what the tape passes. A girth through two runs level between them, left and right. */
  readonly landmarks: readonly string[];
  /** How it is taken. */
  readonly how: string;
  readonly instrument: string;
  /** By which a reading's uncertainty goes where none is stated. */
  readonly sure: SureKind;
  /** Standard uncertainty of one careful reading, mm, unless the library says otherwise. */
  readonly uMm: number;
  readonly range?: MeasureRange;
  /** Of a girth that lies where the body is thickest or thinnest: between which landmarks it is sought. */
  readonly stretch?: { readonly most: 'thickest' | 'thinnest'; readonly between: readonly [string, string] };
}

/** The catalogue's measures with what each is worth. */
export const measured = (all: readonly Omit<MeasureKind, 'uMm'>[]): readonly MeasureKind[] =>
  all.map((one) => ({ ...one, uMm: READING_UNCERTAINTY_MM[one.sure] }));

export type RegionName = 'head' | 'arm' | 'torso' | 'leg';
export type Side = 'left' | 'right';

export interface BodyRegion {
  readonly name: RegionName;
  readonly title: string;
  /** How a scan of it is stood up: the frame's name in the operations. */
  readonly standing: 'head' | 'limb' | 'torso';
  /** A wearer has two of it, and they are measured apart. */
  readonly isPaired: boolean;
  /** The landmarks that fix its frame. */
  readonly frame: readonly string[];
  /** Of those: from the middle of the lower ones to the middle of the upper ones is up, toward the trunk or the head. */
  readonly axis?: { readonly lower: readonly string[]; readonly upper: readonly string[] };
  readonly landmarks: readonly LandmarkKind[];
  readonly measures: readonly MeasureKind[];
}

/** The left landmark and the right one. */
export const pair = (name: string, title: string, where: string): LandmarkKind[] => [
  { name: `${name}-left`, title: `${title}, left`, where, mirror: `${name}-right` },
  { name: `${name}-right`, title: `${title}, right`, where, mirror: `${name}-left` },
];

export const judged = (leastMm: number, mostMm: number): MeasureRange => ({ mm: [leastMm, mostMm], from: 'judged' });

/**
 * The survey's own extremes of a measure, where they were noted down; else from 4 standard deviations under the lower
 * mean to 5 over the higher, since bodies spread more upward (where the extremes are known they lie within that).
 */
export function surveyed(name: keyof typeof SURVEY): MeasureRange {
  const { men, women } = SURVEY[name];
  const both = [men, women];
  const extremes = both.flatMap(({ seenMm }) => seenMm ?? []);
  if (extremes.length === 4) return { mm: [Math.min(...extremes), Math.max(...extremes)], from: 'seen' };
  const least = Math.min(...both.map(({ meanMm, sdMm }) => meanMm - 4 * sdMm));
  const most = Math.max(...both.map(({ meanMm, sdMm }) => meanMm + 5 * sdMm));
  return { mm: [Math.floor(least), Math.ceil(most)], from: 'widened' };
}
