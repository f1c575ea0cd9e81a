/** What a reading is worth when nobody said: by what was measured and with what. A maker may set it for a library. */
import { z } from 'zod';
import { READING_UNCERTAINTY_MM } from './tolerances.ts';

export const SURE_KINDS = Object.keys(READING_UNCERTAINTY_MM) as [SureKind, ...SureKind[]];
export type SureKind = keyof typeof READING_UNCERTAINTY_MM;
export const sureKindSchema = z.enum(SURE_KINDS);

/** In words: what is measured, how, and with what. */
export const SURE_TITLES: Readonly<Record<SureKind, string>> = {
  headSpan: 'Head, straight, by calliper',
  headGirth: 'Head, round, by tape',
  headArc: 'Head, along, by tape',
  handSpan: 'Hand, straight, by calliper',
  footSpan: 'Foot, straight, by calliper',
  limbSpan: 'Arms and legs, straight, by calliper or rule',
  limbGirth: 'Arms, legs and neck, round, by tape',
  torsoSpan: 'Torso, straight, by calliper',
  torsoGirth: 'Torso, round, by tape',
  torsoArc: 'Torso, along, by tape',
};

/** Wide limits: under a twentieth of a millimetre no hand measures a body, over 50 mm nothing is measured. */
export const LEAST_SURE_MM = 0.05;
export const MOST_SURE_MM = 50;
export const sureMmSchema = z
  .number()
  .min(LEAST_SURE_MM, `less than ${LEAST_SURE_MM} mm is finer than any hand measures`)
  .max(MOST_SURE_MM, `more than ${MOST_SURE_MM} mm is no measurement`);

/** Standard uncertainty of one careful reading, mm, by kind. */
export type UsualUncertainty = Readonly<Record<SureKind, number>>;

/** Of a length of one's own naming nothing is known but how it was taken. */
const UNNAMED: Readonly<Record<'span' | 'girth' | 'arc', SureKind>> = {
  span: 'headSpan',
  girth: 'headGirth',
  arc: 'headArc',
};
export const sureKindOf = (kind: keyof typeof UNNAMED, measure: { sure: SureKind } | undefined): SureKind =>
  measure?.sure ?? UNNAMED[kind];
