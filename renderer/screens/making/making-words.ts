/** Figures of a making as far as the screens read them: written by the verbs, read with care. */
import type { Making } from '../../../shared-types/records/making.ts';
import { gaugeFigures, type GaugeFigures } from '../../../shared-types/operations/gauge.ts';
import { padFigures, type PadFigures } from '../../../shared-types/operations/pad.ts';
import { patternFigures, type PatternFigures } from '../../../shared-types/operations/pattern.ts';
import { shellFigures, type ShellFigures } from '../../../shared-types/operations/shell.ts';
import { splitFigures, type SplitFigures } from '../../../shared-types/operations/split.ts';
import { some } from '../../../shared-types/counts.ts';

interface Reads<T> {
  safeParse(value: unknown): { readonly success: true; readonly data: T } | { readonly success: false };
}

const read = <T>(schema: Reads<T>, making: Making): T | undefined => {
  const parsed = schema.safeParse(making.figures);
  return parsed.success ? parsed.data : undefined;
};

export type { GaugeFigures, PadFigures, PatternFigures, ShellFigures, SplitFigures };
export const splitOf = (making: Making): SplitFigures | undefined =>
  making.kind === 'pieces' ? read(splitFigures, making) : undefined;
export const gaugeOf = (making: Making): GaugeFigures | undefined =>
  making.kind === 'gauge' ? read(gaugeFigures, making) : undefined;
export const padsOf = (making: Making): PadFigures | undefined =>
  making.kind === 'pads' ? read(padFigures, making) : undefined;
export const shellOf = (making: Making): ShellFigures | undefined =>
  making.kind === 'shell' ? read(shellFigures, making) : undefined;
export const patternOf = (making: Making): PatternFigures | undefined =>
  making.kind === 'pattern' ? read(patternFigures, making) : undefined;

/** In a few words what there is. */
export function kindWords(making: Making): string {
  const split = splitOf(making);
  if (split !== undefined) return `${some(split.pieces.length, 'piece')}, ${split.massG.toFixed(0)} g`;
  const gauge = gaugeOf(making);
  if (gauge !== undefined) return some(gauge.bands.length, 'band');
  const shell = shellOf(making);
  if (shell !== undefined) return `wall ${shell.wallMinMm.toFixed(1)} mm at its thinnest`;
  const pads = padsOf(making);
  if (pads !== undefined) return some(pads.pads.length, 'pad');
  const pattern = patternOf(making);
  if (pattern !== undefined) return some(pattern.pieces.length, 'pattern piece');
  return making.kind;
}

/** Why a making counts no more, as a sentence. */
export const OUTDATED = {
  part: 'Outdated: the part it was made from has another size now. Make it anew.',
  form: 'Outdated: there is a newer making of the form. Make it anew from that one.',
} as const;

/** Time as makers say it. */
export function hoursText(hours: number): string {
  const minutes = Math.round(hours * 60);
  if (minutes < 90) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}
