/**
 * Whether the factor of a scan changes from one end of the body to the other, as where a scan is bent or bowed: then
 * what is measured at the front says one size and what is measured at the back another.
 */
import type { ScaleReading } from './scale-fit.ts';

export interface ScaleGradient {
  /** 0, 1, 2: x, y, z of the frame the readings' places are in. */
  readonly axis: number;
  /** Places of the reading that lies lowest along the axis and of the one that lies highest. */
  readonly low: string;
  readonly high: string;
  /** Factor at the highest over that at the lowest, less 1, and its standard uncertainty. */
  readonly change: number;
  readonly changeU: number;
  /** By how much chi-square falls against one factor for all (1 degree of freedom). */
  readonly chiSquareFall: number;
  /** Whether that is more than chance gives the best of three axes (5 % limit, shared over them). */
  readonly significant: boolean;
}

/** Chi-square with 1 degree of freedom at 5 % / 3. */
const LIMIT = 5.731;
const FEWEST = 4;
/** Readings whose places lie within this share of their lengths of one another say nothing about a change between. */
const SPREAD_SHARE = 0.15;

/**
 * The axis along which a change of the factor explains the readings best: m = s d (1 + g (x - mean x)), weighted least
 * squares in s and s g. Needs four readings with places; undefined without. O(readings).
 */
export function scaleGradient(used: readonly ScaleReading[]): ScaleGradient | undefined {
  const placed = used.filter(({ at }) => at !== undefined);
  if (placed.length < FEWEST) return undefined;
  const length = Math.max(...placed.map(({ onScan }) => onScan));
  let best: ScaleGradient | undefined;
  for (const axis of [0, 1, 2]) {
    const places = placed.map(({ at }) => (at as readonly number[])[axis]);
    const [least, most] = [Math.min(...places), Math.max(...places)];
    if (most - least < SPREAD_SHARE * length) continue;
    const middle = places.reduce((sum, x) => sum + x, 0) / places.length;
    let [dd, dx, xx, dm, xm, mm] = [0, 0, 0, 0, 0, 0];
    for (const [i, { onScan: d, measuredMm: m, uMm: u }] of placed.entries()) {
      const w = 1 / (u * u);
      const x = d * (places[i] - middle);
      dd += w * d * d;
      dx += w * d * x;
      xx += w * x * x;
      dm += w * d * m;
      xm += w * x * m;
      mm += w * m * m;
    }
    const determinant = dd * xx - dx * dx;
    if (!(determinant > RANK_LIMIT * dd * xx)) continue;
    const s = (xx * dm - dx * xm) / determinant;
    const slope = (dd * xm - dx * dm) / determinant;
    const chiSquareFall = Math.max(0, mm - (dm * dm) / dd - (mm - s * dm - slope * xm));
    if (best !== undefined && chiSquareFall <= best.chiSquareFall) continue;
    const stretch = (most - least) / s;
    best = {
      axis,
      low: placed[places.indexOf(least)].name,
      high: placed[places.indexOf(most)].name,
      change: slope * stretch,
      changeU: Math.sqrt(dd / determinant) * stretch,
      chiSquareFall,
      significant: chiSquareFall > LIMIT,
    };
  }
  return best;
}

/** Relative determinant below which the places do not tell the slope from the size. */
const RANK_LIMIT = 2 ** -30;
