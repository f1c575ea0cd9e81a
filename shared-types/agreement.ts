/**
 * How closely lengths taken on a scan are asked to agree with those taken by hand: the largest allowed errors of ISO
 * 20685 by class, as reported in Anthropometry, Apparel Sizing and Design (2nd ed., p. 41). That standard judges the
 * mean error over a group of people; a single wearer's difference beside its number is for orientation, and nothing
 * here says that anything complies with it.
 */
export const AGREEMENT_BAND_MM = {
  'head without hair': 1,
  hand: 1,
  'head with hair': 2,
  foot: 2,
  height: 4,
  'small girth': 4,
  breadth: 4,
  'segment length': 5,
  depth: 5,
  'large girth': 9,
} as const;

export type AgreementClass = keyof typeof AGREEMENT_BAND_MM;

export const AGREEMENT_CLASSES = Object.keys(AGREEMENT_BAND_MM) as [AgreementClass, ...AgreementClass[]];
