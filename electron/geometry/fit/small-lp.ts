/**
 * Linear programmes of few unknowns and many conditions, as placing a part gives them at every step: a handful of
 * motions, thousands of points that must not come too near. Dual simplex method (Lemke 1954): a corner is kept at
 * which the objective is already as good as can be, and the condition it breaks most takes the place of another, until
 * none is broken. O(conditions · unknowns) a pivot, and usually a few dozen pivots.
 */

export interface LinearProgramme {
  readonly unknowns: number;
  /** What is made as large as can be: objective · x. */
  readonly objective: ArrayLike<number>;
  /** low <= x <= high, all finite. */
  readonly low: ArrayLike<number>;
  readonly high: ArrayLike<number>;
  /** Further conditions row · x <= bound, `unknowns` numbers each, one after another. */
  readonly rows: Float64Array;
  readonly bounds: Float64Array;
}

export interface LinearAnswer {
  readonly x: Float64Array;
  /** Conditions that hold the answer, with what a unit more room there would give; only positive ones. */
  readonly held: readonly Held[];
}

export interface Held {
  /** A row, or -1 - k for the lower and -1 - unknowns - k for the upper bound of unknown k. */
  readonly condition: number;
  readonly multiplier: number;
}

/** A condition broken by less than this share of the largest bound counts as kept. */
const SLACK = 2 ** -36;
const PIVOTS = 600;
/** A pivot smaller than this share of its row is no pivot. */
const LEAST_PIVOT = 2 ** -40;
/** Added to the objective, falling from unknown to unknown, so that no two ways out are quite equal: no cycling. */
const TIE_BREAK = 2 ** -30;

/** The best x; undefined where the conditions leave none, or where rounding keeps it from coming to an end. */
export function solveLinear(programme: LinearProgramme): LinearAnswer | undefined {
  const { unknowns: n, low, high, rows, bounds } = programme;
  let largest = 1;
  for (let k = 0; k < n; k++) largest = Math.max(largest, Math.abs(programme.objective[k]));
  const objective = Float64Array.from(
    { length: n },
    (_, k) => programme.objective[k] + (largest * TIE_BREAK * (k + 1)) / (n + 1),
  );
  // Start in the corner of the box that the objective points to: every multiplier is then positive.
  const basis = new Int32Array(n);
  const inverse = new Float64Array(n * n);
  const multipliers = new Float64Array(n);
  const values = new Float64Array(n);
  let scale = 1;
  for (let k = 0; k < n; k++) {
    const upper = objective[k] >= 0;
    basis[k] = upper ? -1 - n - k : -1 - k;
    inverse[k * n + k] = upper ? 1 : -1;
    multipliers[k] = Math.abs(objective[k]);
    values[k] = upper ? high[k] : -low[k];
    scale = Math.max(scale, Math.abs(low[k]), Math.abs(high[k]));
  }
  const slack = scale * SLACK;
  const x = new Float64Array(n);
  const row = new Float64Array(n);
  const part = new Float64Array(n);
  for (let pivot = 0; pivot < PIVOTS; pivot++) {
    for (let k = 0; k < n; k++) {
      let sum = 0;
      for (let i = 0; i < n; i++) sum += inverse[k * n + i] * values[i];
      x[k] = sum;
    }
    let worst = slack;
    let enters = 0;
    let any = false;
    for (let r = 0, at = 0; r < bounds.length; r++, at += n) {
      let over = -bounds[r];
      for (let k = 0; k < n; k++) over += rows[at + k] * x[k];
      if (over > worst) {
        worst = over;
        enters = r;
        any = true;
      }
    }
    for (let k = 0; k < n; k++) {
      if (low[k] - x[k] > worst) {
        worst = low[k] - x[k];
        enters = -1 - k;
        any = true;
      }
      if (x[k] - high[k] > worst) {
        worst = x[k] - high[k];
        enters = -1 - n - k;
        any = true;
      }
    }
    if (!any) return { x, held: heldBy(basis, multipliers, largest) };
    let bound: number;
    row.fill(0);
    if (enters >= 0) {
      for (let k = 0; k < n; k++) row[k] = rows[enters * n + k];
      bound = bounds[enters];
    } else if (enters >= -n) {
      row[-1 - enters] = -1;
      bound = -low[-1 - enters];
    } else {
      row[-1 - n - enters] = 1;
      bound = high[-1 - n - enters];
    }
    // The row as a sum of the basis' rows; whoever's multiplier falls to nothing first leaves.
    let leaves = -1;
    let least = Infinity;
    for (let i = 0; i < n; i++) {
      let sum = 0;
      let size = 0;
      for (let k = 0; k < n; k++) {
        sum += row[k] * inverse[k * n + i];
        size += Math.abs(row[k] * inverse[k * n + i]);
      }
      part[i] = sum;
      if (!(sum > size * LEAST_PIVOT) || sum === 0) continue;
      const ratio = multipliers[i] / sum;
      if (ratio < least) {
        least = ratio;
        leaves = i;
      }
    }
    if (leaves < 0) return undefined;
    for (let i = 0; i < n; i++) multipliers[i] = i === leaves ? least : Math.max(0, multipliers[i] - least * part[i]);
    for (let k = 0; k < n; k++) {
      const own = inverse[k * n + leaves] / part[leaves];
      for (let i = 0; i < n; i++) inverse[k * n + i] -= i === leaves ? 0 : own * part[i];
      inverse[k * n + leaves] = own;
    }
    basis[leaves] = enters;
    values[leaves] = bound;
  }
  return undefined;
}

function heldBy(basis: Int32Array, multipliers: Float64Array, largest: number): Held[] {
  const held: Held[] = [];
  for (let i = 0; i < basis.length; i++) {
    if (multipliers[i] > 2 * largest * TIE_BREAK) held.push({ condition: basis[i], multiplier: multipliers[i] });
  }
  return held.sort((a, b) => b.multiplier - a.multiplier);
}
