import { expect, it } from 'vitest';
import { solveLinear } from '../../../electron/geometry/fit/small-lp.ts';
import { seeded } from '../../support/random.ts';

const SEED = 20_261_126;

it('solves a programme of two unknowns worked by hand', () => {
  // 3x + 2y with x + y <= 4, x + 3y <= 7, 0 <= x <= 3, 0 <= y <= 10: the corner (3, 1), worth 11, held by the first
  // row (2 a unit) and by x <= 3 (1 a unit).
  const answer = solveLinear({
    unknowns: 2,
    objective: [3, 2],
    low: [0, 0],
    high: [3, 10],
    rows: Float64Array.from([1, 1, 1, 3]),
    bounds: Float64Array.from([4, 7]),
  });
  expect(answer?.x[0]).toBeCloseTo(3, 8);
  expect(answer?.x[1]).toBeCloseTo(1, 8);
  expect(answer?.held.map(({ condition }) => condition)).toEqual([0, -3]);
  expect(answer?.held[0].multiplier).toBeCloseTo(2, 6);
  expect(answer?.held[1].multiplier).toBeCloseTo(1, 6);
});

it('says that there is no answer where conditions shut one another out', () => {
  const shut = {
    unknowns: 1,
    objective: [1],
    low: [-9],
    high: [9],
    rows: Float64Array.from([1, -1]),
    bounds: Float64Array.from([1, -2]),
  };
  expect(solveLinear(shut)).toBeUndefined();
});

it('meets the conditions of optimality on random programmes, many rows alike', () => {
  // Strong duality (von Neumann; Gale, Kuhn and Tucker 1951): a point that keeps every condition, and multipliers that
  // are not negative and give the objective and its value, prove one another.
  const random = seeded(SEED);
  for (let trial = 0; trial < 200; trial++) {
    const n = 2 + Math.floor(random() * 7);
    const m = 5 + Math.floor(random() * 300);
    const inside = Array.from({ length: n }, () => random() * 2 - 1);
    const rows = new Float64Array(n * m);
    const bounds = new Float64Array(m);
    for (let r = 0; r < m; r++) {
      // Every third row repeats the one before: contacts of an even gap are degenerate.
      for (let k = 0; k < n; k++) rows[r * n + k] = r % 3 === 2 ? rows[(r - 1) * n + k] : random() * 2 - 1;
      let at = 0;
      for (let k = 0; k < n; k++) at += rows[r * n + k] * inside[k];
      bounds[r] = r % 3 === 2 ? bounds[r - 1] : at + random();
    }
    const objective = Array.from({ length: n }, () => random() * 2 - 1);
    const low = inside.map((x) => x - 1 - random()),
      high = inside.map((x) => x + 1 + random());
    const answer = solveLinear({ unknowns: n, objective, low, high, rows, bounds });
    const where = `trial ${trial}, seed ${SEED}`;
    if (answer === undefined) throw new Error(where);
    const { x, held } = answer;
    for (let r = 0; r < m; r++) {
      let over = -bounds[r];
      for (let k = 0; k < n; k++) over += rows[r * n + k] * x[k];
      expect(over, where).toBeLessThan(1e-8);
    }
    for (let k = 0; k < n; k++) {
      expect(x[k], where).toBeGreaterThan(low[k] - 1e-8);
      expect(x[k], where).toBeLessThan(high[k] + 1e-8);
    }
    const sum = new Float64Array(n);
    let worth = 0;
    for (const { condition, multiplier } of held) {
      expect(multiplier, where).toBeGreaterThan(0);
      if (condition >= 0) {
        for (let k = 0; k < n; k++) sum[k] += multiplier * rows[condition * n + k];
        worth += multiplier * bounds[condition];
      } else {
        const upper = condition < -n;
        const k = upper ? -1 - n - condition : -1 - condition;
        sum[k] += upper ? multiplier : -multiplier;
        worth += multiplier * (upper ? high[k] : -low[k]);
      }
    }
    const reached = objective.reduce((total, c, k) => total + c * x[k], 0);
    expect(worth, where).toBeCloseTo(reached, 6);
    for (let k = 0; k < n; k++) expect(sum[k], where).toBeCloseTo(objective[k], 6);
  }
});
