/** What the dialogs of making ask for, and the parameters of the verbs they lead to. */
import type { CallInput } from '../../../shared-types/contract.ts';
import { ZONE_NAMES } from '../../../shared-types/operations/line.ts';
import type { Stock } from '../../../shared-types/records/making.ts';
import type { PaperSize } from '../../../shared-types/paper.ts';

export type MakingKind = CallInput<'making.start'>['kind'];

export interface PiecesPlan {
  readonly bedMm: readonly [number | undefined, number | undefined, number | undefined];
  readonly joint: 'dowel' | 'peg' | 'none';
  readonly pinMm: number | undefined;
  readonly clearanceMm: number | undefined;
  readonly isNumbered: boolean;
}

/** Filament of 1.75 mm serves as a pin; a usual bed. Common practice, no source. */
export const FIRST_PIECES: PiecesPlan = {
  bedMm: [220, 220, 250],
  joint: 'dowel',
  pinMm: 1.75,
  clearanceMm: 0.2,
  isNumbered: true,
};

export interface GaugePlan {
  readonly levels: string;
  readonly bandMm: number | undefined;
  readonly words: string;
}

export interface PatternPlan {
  readonly zone: (typeof ZONE_NAMES)[number];
  readonly foamMm: number | undefined;
  /** As typed, percent. */
  readonly stretch: string;
  readonly allowanceMm: number | undefined;
  readonly paper: PaperSize;
}

export const FIRST_PATTERN: PatternPlan = {
  zone: 'crown',
  foamMm: 6,
  stretch: '5',
  allowanceMm: 0,
  paper: 'a4',
};

export interface PadsPlan {
  readonly leastMm: number | undefined;
  readonly mostMm: number | undefined;
  readonly isMirrored: boolean;
  readonly paper: PaperSize;
}

export const FIRST_PADS: PadsPlan = { leastMm: 2, mostMm: 30, isMirrored: true, paper: 'a4' };

type Parameters = Record<string, unknown>;

/** Pads from the stock at hand, with the part where it was tried on. */
export function padsParameters(
  { leastMm, mostMm, isMirrored, paper }: PadsPlan,
  stock: readonly Stock[],
  placement: readonly number[] | undefined,
): Parameters | undefined {
  if (leastMm === undefined || mostMm === undefined || placement === undefined || stock.length === 0) return undefined;
  const sheets = stock.map(({ material, nominalMm, measuredMm, compression, sheetWidthMm, sheetHeightMm }) => ({
    material,
    nominalMm,
    compression,
    ...(measuredMm === undefined ? {} : { measuredMm }),
    ...(sheetWidthMm === undefined || sheetHeightMm === undefined ? {} : { sheetWidthMm, sheetHeightMm }),
  }));
  return { stock: { stock: sheets }, place: { matrix: [...placement] }, leastMm, mostMm, mirror: isMirrored, paper };
}

export function piecesParameters({ bedMm, joint, pinMm, clearanceMm, isNumbered }: PiecesPlan): Parameters | undefined {
  if (bedMm.some((mm) => mm === undefined)) return undefined;
  if (joint !== 'none' && (pinMm === undefined || clearanceMm === undefined)) return undefined;
  return {
    bed: bedMm,
    joint,
    ...(joint === 'none' ? {} : { pinMm, clearanceMm }),
    ...(isNumbered ? {} : { markMm: 0 }),
  };
}

/** Heights as people list them, "0, 40 80"; undefined when one cannot be read. */
export function levelsOf(text: string): number[] | undefined {
  const words = text.split(/[\s;]+|,(?=\s|$)/).filter((word) => word !== '');
  const levels = words.map((word) => Number(word.replace(',', '.').replace('\u2212', '-')));
  return levels.length > 0 && levels.every(Number.isFinite) ? levels : undefined;
}

export function gaugeParameters({ levels, bandMm, words }: GaugePlan): Parameters | undefined {
  const levelsMm = levelsOf(levels);
  return levelsMm === undefined || bandMm === undefined ? undefined : { levelsMm, bandMm, words: words.trim() };
}

export function patternParameters(plan: PatternPlan): Parameters | undefined {
  const { zone, foamMm, stretch, allowanceMm, paper } = plan;
  const stretchPercent = stretchOf(stretch);
  if (foamMm === undefined || stretchPercent === undefined || allowanceMm === undefined) return undefined;
  return { zone, foamMm, stretchPercent, allowanceMm, paper };
}

/** A share in percent as people write it; undefined when it cannot be read or is out of range. */
export function stretchOf(text: string): number | undefined {
  const percent = Number(text.trim().replace(',', '.').replace(/\s*%$/, ''));
  return text.trim() !== '' && percent >= 0.1 && percent <= 50 ? percent : undefined;
}
