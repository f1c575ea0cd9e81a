/**
 * Hat sizes from a head's girth. Metric: the girth in centimetres. US: the girth in inches over pi, to the nearest
 * eighth; UK: an eighth less (three size charts read; some print both as one). Letters: common practice, no source;
 * makers differ. A hat size says nothing of a head's shape.
 */

export interface HatSize {
  readonly cm: number;
  readonly us: string;
  readonly uk: string;
  /** Undefined beyond the usual letters. */
  readonly letter?: string;
}

const INCH_MM = 25.4;
/** From this many centimetres on. */
const LETTERS: readonly (readonly [cm: number, letter: string])[] = [
  [53, 'XS'],
  [55, 'S'],
  [57, 'M'],
  [59, 'L'],
  [61, 'XL'],
  [63, 'XXL'],
];
const LAST_CM = 64;
const FRACTIONS = ['', ' 1/8', ' 1/4', ' 3/8', ' 1/2', ' 5/8', ' 3/4', ' 7/8'] as const;

const inEighths = (eighths: number): string => `${Math.floor(eighths / 8)}${FRACTIONS[eighths % 8]}`;

/** Of a girth of more than 100 mm. */
export function hatSize(girthMm: number): HatSize {
  const cm = Math.round(girthMm / 10);
  const eighths = Math.round((8 * girthMm) / INCH_MM / Math.PI);
  const letter = cm > LAST_CM ? undefined : LETTERS.findLast(([from]) => cm >= from)?.[1];
  return { cm, us: inEighths(eighths), uk: inEighths(eighths - 1), ...(letter === undefined ? {} : { letter }) };
}
