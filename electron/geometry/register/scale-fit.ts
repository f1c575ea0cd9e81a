/**
 * The size of a scan from readings of the person: m = s·d by weighted least squares, each reading m with standard
 * uncertainty u against its length d on the scan, with the residual of each, the reading that does not belong, and
 * whether the factor differs by direction. JCGM 100:2008 for the uncertainties; reference-values.md section 3.6.
 *
 * By Kacker, Kessel and Sommer 2010 a large residual shows that readings disagree by more than their stated
 * uncertainty; it does not prove which is wrong. The wording follows that.
 */
import { adjugate3 } from '../mesh/transform.ts';
import { scaleGradient, type ScaleGradient } from './scale-gradient.ts';

export interface ScaleReading {
  readonly name: string;
  /** Length on the scan, scan units. */
  readonly onScan: number;
  /** Read on the person, mm. */
  readonly measuredMm: number;
  readonly uMm: number;
  /** Standard uncertainty of the length on the scan, scan units: what the mesh's own fineness and noise allow. */
  readonly uOnScan?: number;
  /** Not used for the size, but compared with it. */
  readonly held?: boolean;
  /** Unit direction of a span, for the warp check. */
  readonly along?: readonly [number, number, number];
  /** Middle of the reading on the scan, for the check of a factor that changes along the body. */
  readonly at?: readonly [number, number, number];
}

export type ReadingRole = 'used' | 'left out' | 'held back';

export interface ScaleResidual {
  readonly name: string;
  readonly role: ReadingRole;
  readonly onScan: number;
  /** Length on the scan times the factor, mm. */
  readonly scaledMm: number;
  readonly measuredMm: number;
  /** Of the reading and of the length on the scan together. */
  readonly uMm: number;
  /** Measured minus scaled, mm. */
  readonly residualMm: number;
  /** Standard uncertainty of that residual, mm. */
  readonly residualUMm: number;
  /** Residual over its own uncertainty. */
  readonly standardised: number;
  /** Share of the factor that rests on this reading; those used sum to 1. */
  readonly leverage: number;
}

export interface Warp {
  /** Factors along x, y, z, mm per scan unit, and their standard uncertainties. */
  readonly factors: readonly [number, number, number];
  readonly uncertainties: readonly [number, number, number];
  /** By how much chi-square falls when the three may differ (2 degrees of freedom). */
  readonly chiSquareFall: number;
  /** Whether they differ by more than the readings allow (5 % limit). */
  readonly significant: boolean;
}

export interface ScaleFit {
  /** mm per scan unit, from the readings used. */
  readonly factor: number;
  readonly standardUncertainty: number;
  /** From all readings, the ones left out included. */
  readonly factorOfAll: number;
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
  /** Null with a single reading: nothing confirms it. */
  readonly birgeRatio: number | null;
  readonly residuals: readonly ScaleResidual[];
  /** Names of readings left out because they disagree with the rest. */
  readonly outliers: readonly string[];
  /** Names of readings that could be meant instead of those left out: the rest would agree almost as well. */
  readonly orElse: readonly string[];
  readonly warp: Warp | null;
  /** Of the readings used; of all when several are left out, since one fault of the scan may explain them together. */
  readonly gradient: ScaleGradient | null;
}

/** Leverage above which a reading cannot be judged: the rest say too little about it. */
const LEVERAGE_LIMIT = 0.9;
/**
 * Chance of leaving out a good reading, shared over all. At 5 % good readings are left out so often that the stated
 * 95 % interval holds in only 92.5 % of trials (measured); at 1 % it holds.
 */
const SIGNIFICANCE = 0.01;
/** 5 % limit of chi-square with 2 degrees of freedom. */
const CHI_SQUARE_2 = 5.991465;

interface Plain {
  readonly factor: number;
  readonly u: number;
  readonly chiSquare: number;
}

/** s = sum w d m / sum w d^2, u(s) = 1/sqrt(sum w d^2), w = 1/u^2. */
export function weightedThroughOrigin(readings: readonly ScaleReading[]): Plain {
  let dm = 0;
  let dd = 0;
  for (const { onScan: d, measuredMm: m, uMm: u } of readings) {
    dm += (d * m) / (u * u);
    dd += (d * d) / (u * u);
  }
  const factor = dm / dd;
  let chiSquare = 0;
  for (const { onScan: d, measuredMm: m, uMm: u } of readings) chiSquare += ((m - factor * d) / u) ** 2;
  return { factor, u: 1 / Math.sqrt(dd), chiSquare };
}

/** Largest standardised residual that n readings show by chance, two-sided and shared over them. */
export function outlierLimit(n: number): number {
  return normalQuantile(1 - SIGNIFICANCE / (2 * n));
}

/**
 * Fit the factor. Unless `keepAll`, readings that disagree with the rest are left out: the fewest whose absence makes
 * the rest agree with one another (no residual beyond the limit that chance allows), and of as many the ones whose
 * absence makes them agree best. Every choice is looked at, so that two misreadings cannot cover for each other; more
 * than half of the readings must remain, and at least two. Where no such choice exists nothing is left out, since the
 * readings cannot say which of them is wrong. Readings must be positive and at least one must be usable. Beyond 15
 * readings they are left out one at a time instead, the worst first. O(2^n) fits of n readings, n up to 15.
 */
export function fitScale(given: readonly ScaleReading[], keepAll = false): ScaleFit {
  const rough = weightedThroughOrigin(given.filter((reading) => reading.held !== true)).factor;
  // The scan's share of the uncertainty is in scan units: the factor that turns it to mm need only be near.
  const readings = given.map((reading) =>
    reading.uOnScan === undefined ? reading : { ...reading, uMm: Math.hypot(reading.uMm, rough * reading.uOnScan) },
  );
  const usable = readings.filter((reading) => reading.held !== true);
  const { outliers, orElse } = keepAll ? NOTHING_LEFT_OUT : chooseOutliers(usable);
  const used = usable.filter((reading) => !outliers.includes(reading));
  const fit = weightedThroughOrigin(used);
  const residuals = readings.map((reading) => {
    const role: ReadingRole = reading.held === true ? 'held back' : outliers.includes(reading) ? 'left out' : 'used';
    const one = judge(reading, fit, role === 'used');
    return { ...one, role };
  });
  const degreesOfFreedom = used.length - 1;
  // Several that disagree at once may all be right, and the scan wrong in one way: then they must take part.
  const told = outliers.length > 1 ? usable : used;
  return {
    factor: fit.factor,
    standardUncertainty: fit.u,
    factorOfAll: weightedThroughOrigin(usable).factor,
    chiSquare: fit.chiSquare,
    degreesOfFreedom,
    birgeRatio: degreesOfFreedom > 0 ? Math.sqrt(fit.chiSquare / degreesOfFreedom) : null,
    residuals,
    outliers: outliers.map((reading) => reading.name),
    orElse: orElse.map((reading) => reading.name),
    warp: findWarp(told),
    gradient: gradientOf(usable, used, told) ?? null,
  };
}

/**
 * The gradient of the readings told of; but where a single reading is left out and a gradient of all explains them about
 * as well, with as many parameters, that one.
 */
function gradientOf(
  usable: readonly ScaleReading[],
  used: readonly ScaleReading[],
  told: readonly ScaleReading[],
): ScaleGradient | undefined {
  const ofAll = scaleGradient(usable);
  if (ofAll === undefined || usable.length - used.length !== 1) return scaleGradient(told);
  const left = weightedThroughOrigin(usable).chiSquare - ofAll.chiSquareFall;
  return left < weightedThroughOrigin(used).chiSquare + TOLD_APART ? ofAll : scaleGradient(told);
}

interface LeftOut {
  readonly outliers: readonly ScaleReading[];
  readonly orElse: readonly ScaleReading[];
}

const NOTHING_LEFT_OUT: LeftOut = { outliers: [], orElse: [] };
/** Up to so many readings every choice of outliers is looked at: 2^15 small sums. */
const MOST_CHOICES_OF = 15;
/**
 * Chi-square by which one choice must be better than another of as many readings to be told from it: the odds are then
 * e^(4/2), 7 to 1.
 */
const TOLD_APART = 4;

function chooseOutliers(usable: readonly ScaleReading[]): LeftOut {
  const agree = (used: readonly ScaleReading[], fit: Plain): boolean => {
    const limit = outlierLimit(used.length);
    return used.every((reading) => {
      const { leverage, standardised } = judge(reading, fit, true);
      return leverage >= LEVERAGE_LIMIT || Math.abs(standardised) <= limit;
    });
  };
  const count = usable.length;
  if (count < 3) return NOTHING_LEFT_OUT;
  if (count > MOST_CHOICES_OF) return { outliers: worstFirst(usable, agree), orElse: [] };
  for (let out = 0; out < count / 2 && count - out >= 2; out++) {
    const found: { chiSquare: number; outliers: readonly ScaleReading[] }[] = [];
    forEachChoice(count, out, (chosen) => {
      const used = usable.filter((_, i) => !chosen.includes(i));
      const fit = weightedThroughOrigin(used);
      if (agree(used, fit)) found.push({ chiSquare: fit.chiSquare, outliers: chosen.map((i) => usable[i]) });
    });
    if (found.length === 0) continue;
    found.sort((a, b) => a.chiSquare - b.chiSquare);
    const [first] = found;
    const rivals = found.filter((other) => other !== first && other.chiSquare < first.chiSquare + TOLD_APART);
    const orElse = new Set(rivals.flatMap((other) => other.outliers.filter((one) => !first.outliers.includes(one))));
    return { outliers: first.outliers, orElse: [...orElse] };
  }
  return NOTHING_LEFT_OUT;
}

/** Every way to choose so many of `count`, in order. */
function forEachChoice(count: number, wanted: number, visit: (chosen: readonly number[]) => void): void {
  const chosen: number[] = [];
  const from = (first: number): void => {
    if (chosen.length === wanted) {
      visit(chosen);
      return;
    }
    for (let i = first; i <= count - (wanted - chosen.length); i++) {
      chosen.push(i);
      from(i + 1);
      chosen.pop();
    }
  };
  from(0);
}

function worstFirst(
  usable: readonly ScaleReading[],
  agree: (used: readonly ScaleReading[], fit: Plain) => boolean,
): ScaleReading[] {
  let used = [...usable];
  const outliers: ScaleReading[] = [];
  while (used.length > usable.length / 2 + 1) {
    const fit = weightedThroughOrigin(used);
    if (agree(used, fit)) return outliers;
    const judged = used.map((reading) => judge(reading, fit, true));
    const worst = judged.reduce(
      (most, one, i) => (Math.abs(one.standardised) > Math.abs(judged[most].standardised) ? i : most),
      0,
    );
    outliers.push(used[worst]);
    used = used.filter((_, i) => i !== worst);
  }
  return agree(used, weightedThroughOrigin(used)) ? outliers : [];
}

function judge(reading: ScaleReading, fit: Plain, used: boolean): Omit<ScaleResidual, 'role'> {
  const { name, onScan: d, measuredMm: m, uMm: u } = reading;
  const scaledMm = fit.factor * d;
  const residualMm = m - scaledMm;
  const ofFactor = (d * fit.u) ** 2;
  // A used reading pulls the factor toward itself; one not used does not.
  const residualUMm = Math.sqrt(Math.max(0, used ? u * u - ofFactor : u * u + ofFactor));
  return {
    name,
    onScan: d,
    scaledMm,
    measuredMm: m,
    uMm: u,
    residualMm,
    residualUMm,
    standardised: residualUMm > 0 ? residualMm / residualUMm : 0,
    leverage: used ? ofFactor / (u * u) : 0,
  };
}

/**
 * Three factors instead of one: m^2 = sum over axes of (s_k d_k)^2 is linear in s_k^2. Needs spans in enough
 * directions; null otherwise.
 */
function findWarp(used: readonly ScaleReading[]): Warp | null {
  const spans = used.filter((reading) => reading.along !== undefined);
  if (spans.length < 5) return null;
  const normal = new Float64Array(9);
  const right = new Float64Array(3);
  for (const { onScan: d, measuredMm: m, uMm: u, along } of spans) {
    const row = (along as readonly number[]).map((a) => (a * d) ** 2);
    const weight = 1 / (2 * m * u) ** 2;
    for (let i = 0; i < 3; i++) {
      right[i] += weight * row[i] * m * m;
      for (let j = 0; j < 3; j++) normal[i * 3 + j] += weight * row[i] * row[j];
    }
  }
  const inverse = invert3(normal);
  if (inverse === undefined) return null;
  const squares = [0, 1, 2].map(
    (i) => inverse[i * 3] * right[0] + inverse[i * 3 + 1] * right[1] + inverse[i * 3 + 2] * right[2],
  );
  if (squares.some((s) => !(s > 0))) return null;
  // Against the one factor of the same spans: one that girths take part in would fit them worse, warped or not.
  const one = weightedThroughOrigin(spans).chiSquare;
  let three = 0;
  for (const { onScan: d, measuredMm: m, uMm: u, along } of spans) {
    const length = Math.sqrt((along as readonly number[]).reduce((sum, a, k) => sum + squares[k] * (a * d) ** 2, 0));
    three += ((m - length) / u) ** 2;
  }
  const factors = squares.map(Math.sqrt) as unknown as [number, number, number];
  const uncertainties = [0, 1, 2].map((i) => Math.sqrt(inverse[i * 4]) / (2 * factors[i])) as unknown as [
    number,
    number,
    number,
  ];
  const chiSquareFall = Math.max(0, one - three);
  return { factors, uncertainties, chiSquareFall, significant: chiSquareFall > CHI_SQUARE_2 };
}

/** Relative determinant below which the spans do not span three directions. */
const RANK_LIMIT = 2 ** -30;

function invert3(m: Float64Array): Float64Array | undefined {
  const c = adjugate3(m);
  const det = m[0] * c[0] + m[1] * c[3] + m[2] * c[6];
  if (!(Math.abs(det) > RANK_LIMIT * m[0] * m[4] * m[8])) return undefined;
  return Float64Array.from(c, (x) => x / det);
}

/** Cumulative standard normal, Abramowitz and Stegun 26.2.17: absolute error below 7.5e-8. */
function normalCumulative(x: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(x));
  const tail =
    (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return x >= 0 ? 1 - tail : tail;
}

/** Quantile of the standard normal by bisection; good to about 1e-5 for the levels used here. */
export function normalQuantile(probability: number): number {
  let low = -8;
  let high = 8;
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (normalCumulative(middle) < probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
