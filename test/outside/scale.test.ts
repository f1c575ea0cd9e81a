import { describe, expect, it } from 'vitest';
import {
  fitScale,
  outlierLimit,
  weightedThroughOrigin,
  type ScaleReading,
} from '../../electron/geometry/register/scale-fit.ts';
import { seeded } from '../support/random.ts';

const readings = (d: readonly number[], m: readonly number[], u: readonly number[]): ScaleReading[] =>
  d.map((onScan, i) => ({ name: `reading ${i + 1}`, onScan, measuredMm: m[i], uMm: u[i] }));

describe('scale through the origin against certified and worked values', () => {
  it('NIST StRD NoInt1 (certified): b, s(b) and the residual standard deviation', () => {
    // NIST Statistical Reference Datasets, linear regression, NoInt1; ten degrees of freedom.
    const x = Array.from({ length: 11 }, (_, i) => 60 + i);
    const y = Array.from({ length: 11 }, (_, i) => 130 + i);
    const { factor, u, chiSquare } = weightedThroughOrigin(
      readings(
        x,
        y,
        x.map(() => 1),
      ),
    );
    expect(factor).toBeCloseTo(2.07438016528926, 13);
    expect(chiSquare).toBeCloseTo(127.272727272727, 10);
    const residual = Math.sqrt(chiSquare / 10);
    expect(residual).toBeCloseTo(3.56753034006338, 12);
    expect(u * residual).toBeCloseTo(0.0165289256198347, 13);
  });

  it('NIST StRD NoInt2 (values from memory, recomputed)', () => {
    const { factor, u, chiSquare } = weightedThroughOrigin(readings([4, 5, 6], [3, 4, 4], [1, 1, 1]));
    const residual = Math.sqrt(chiSquare / 2);
    expect(factor).toBeCloseTo(0.727272727272727, 13);
    expect(residual).toBeCloseTo(0.369274472937998, 13);
    expect(u * residual).toBeCloseTo(0.0420827318078432, 13);
  });

  it('the worked weighted case, exact fractions: the fourth does not belong', () => {
    // shared reference values section 3.6, in exact arithmetic
    const list = readings([0.2, 0.15, 0.1, 0.5], [200, 151, 100, 520], [1, 1, 1, 2]);
    const all = fitScale(list, true);
    expect(all.factor).toBeCloseTo(27530 / 27, 9);
    expect(all.standardUncertainty).toBeCloseTo(1 / Math.sqrt(27 / 200), 9);
    expect(all.chiSquare).toBeCloseTo(2645 / 54, 9);
    expect(all.birgeRatio).toBeCloseTo(4.0407, 4);
    [8 / 27, 1 / 6, 2 / 27, 25 / 54].forEach((leverage, i) =>
      expect(all.residuals[i].leverage).toBeCloseTo(leverage, 12),
    );
    [-4.68, -2.13, -2.04, 6.949].forEach((value, i) => expect(all.residuals[i].standardised).toBeCloseTo(value, 2));
    const fit = fitScale(list);
    expect(fit.outliers).toEqual(['reading 4']);
    expect(fit.factor).toBeCloseTo(29060 / 29, 9);
    expect(fit.standardUncertainty).toBeCloseTo(3.713907, 6);
    expect(fit.chiSquare).toBeCloseTo(20 / 29, 9);
    expect(fit.residuals.map((residual) => residual.role)).toEqual(['used', 'used', 'used', 'left out']);
  });

  it('the clean case: nothing is left out', () => {
    const fit = fitScale(readings([0.197, 0.153, 0.572], [199, 154, 575], [1, 1, 2.5]));
    expect(fit.factor).toBeCloseTo(1007.170973, 6);
    expect(fit.standardUncertainty).toBeCloseTo(2.954401, 6);
    expect(fit.chiSquare).toBeCloseTo(0.548616, 6);
    expect(fit.outliers).toEqual([]);
  });

  it('the weighted mean 1.010(10), 0.990(5), 1.000(5) is 299/300 with u 1/300 and chi-square 4', () => {
    const { factor, u, chiSquare } = weightedThroughOrigin(readings([1, 1, 1], [1.01, 0.99, 1], [0.01, 0.005, 0.005]));
    expect(factor).toBeCloseTo(299 / 300, 12);
    expect(u).toBeCloseTo(1 / 300, 12);
    expect(chiSquare).toBeCloseTo(4, 9);
  });

  it('the largest standardised residual of n by chance, 1 % (tabulated limits)', () => {
    const table: Record<number, number> = {
      2: 2.807,
      3: 2.935,
      4: 3.023,
      5: 3.09,
      6: 3.144,
      8: 3.227,
      10: 3.291,
      15: 3.403,
    };
    for (const [n, limit] of Object.entries(table)) expect(outlierLimit(Number(n))).toBeCloseTo(limit, 3);
  });
});

describe('trade facts (common practice, no source)', () => {
  it('a scan in metres with 0.177 ear to ear where the calliper says 180 mm needs a factor near 1017', () => {
    const fit = fitScale(readings([0.177], [180], [1]));
    expect(fit.factor).toBeCloseTo(1016.95, 2);
    expect(fit.factor * 0.177).toBeCloseTo(180, 9);
    expect(fit.birgeRatio).toBeNull();
  });

  it("a part's one known dimension of 172 mm comes back", () => {
    const fit = fitScale(readings([6.7716535], [172], [0.2]));
    expect(fit.residuals[0].scaledMm).toBeCloseTo(172, 9);
    expect(Math.abs(fit.residuals[0].residualMm)).toBeLessThan(0.2);
  });
});

describe('what the fit promises', () => {
  const seed = 20261125;
  const spans = [0.2, 0.155, 0.142, 0.121, 0.575];
  const u = [1, 1, 0.8, 1, 2.5];
  const random = seeded(seed);
  const gauss = (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());

  it('recovers the factor within its 95 % uncertainty in at least 93 % of 200 trials', () => {
    console.info(`seed ${seed}`);
    let good = 0;
    for (let trial = 0; trial < 200; trial++) {
      const truth = 900 + 200 * random();
      const fit = fitScale(
        readings(
          spans,
          spans.map((d, i) => truth * d + u[i] * gauss()),
          u,
        ),
      );
      if (Math.abs(fit.factor - truth) <= 1.959964 * fit.standardUncertainty) good++;
    }
    expect(good).toBeGreaterThanOrEqual(186);
  });

  it('names a planted misreading of 12 mm in at least 95 % of 200 trials', () => {
    let named = 0;
    for (let trial = 0; trial < 200; trial++) {
      const truth = 1000;
      const wrong = trial % 4;
      const m = spans.map((d, i) => truth * d + u[i] * gauss() * 0.7 + (i === wrong ? 12 : 0));
      if (fitScale(readings(spans, m, u)).outliers.includes(`reading ${wrong + 1}`)) named++;
    }
    expect(named).toBeGreaterThanOrEqual(190);
  });

  it('names two planted misreadings that lean the same way in at least 95 % of 200 trials', () => {
    // Seven readings, two of them 12 and 14 mm too much: the common factor leans toward them, and taking out the worst
    // one at a time could take a good one first.
    const lengths = [0.2, 0.155, 0.142, 0.121, 0.15, 0.131, 0.575];
    const us = [1, 1, 0.8, 1, 1, 1, 2.5];
    let named = 0;
    for (let trial = 0; trial < 200; trial++) {
      const [one, two] = [trial % 3, 3 + (trial % 3)];
      const m = lengths.map((d, i) => 1000 * d + us[i] * gauss() * 0.7 + (i === one ? 12 : i === two ? 14 : 0));
      const { outliers } = fitScale(readings(lengths, m, us));
      if (outliers.includes(`reading ${one + 1}`) && outliers.includes(`reading ${two + 1}`)) named++;
    }
    expect(named).toBeGreaterThanOrEqual(190);
  });

  it('says which other reading could be meant, when the rest would agree as well without that one', () => {
    // Three readings of one length: 100, 104.2 and 108.4. Any pair next to one another agrees.
    const fit = fitScale(readings([0.1, 0.1, 0.1], [100, 103.9, 107.8], [1, 1, 1]));
    expect(fit.outliers.length + fit.orElse.length).toBe(2);
    expect([...fit.outliers, ...fit.orElse].toSorted()).toEqual(['reading 1', 'reading 3']);
  });

  it('counts what the mesh itself is uncertain by: root of the sum of squares (JCGM 100:2008 5.1.2)', () => {
    const [plain] = readings([0.2], [200], [0.6]);
    const fit = fitScale([{ ...plain, uOnScan: 0.0008 }]);
    expect(fit.standardUncertainty * 0.2).toBeCloseTo(1, 9);
  });

  it('leaves a held reading out of the size and compares it', () => {
    const list = readings([0.2, 0.15, 0.1], [200, 150, 103], [1, 1, 1]);
    const fit = fitScale([list[0], list[1], { ...list[2], held: true }]);
    expect(fit.factor).toBeCloseTo(1000, 9);
    expect(fit.residuals[2].role).toBe('held back');
    expect(fit.residuals[2].residualMm).toBeCloseTo(3, 9);
  });

  it('refuses to judge two readings that disagree: either could be wrong', () => {
    const fit = fitScale(readings([0.2, 0.15], [200, 165], [1, 1]));
    expect(fit.outliers).toEqual([]);
    expect(fit.birgeRatio as number).toBeGreaterThan(1.96);
  });

  it('finds a scan stretched by 3 % along z, and none where there is none', () => {
    const ways: (readonly [number, number, number])[] = [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
      [0.6, 0, 0.8],
      [0, 0.8, 0.6],
      [0.8, 0.6, 0],
    ];
    const make = (stretch: number): ScaleReading[] =>
      ways.map((along, i) => ({
        name: `s${i}`,
        onScan: 0.2,
        measuredMm: 200 * Math.hypot(along[0], along[1], along[2] * stretch),
        uMm: 0.5,
        along,
      }));
    const warped = fitScale(make(1.03), true).warp;
    expect(warped?.significant).toBe(true);
    expect((warped?.factors[2] as number) / (warped?.factors[0] as number)).toBeCloseTo(1.03, 3);
    expect(fitScale(make(1)).warp?.significant).toBe(false);
    // A girth that pulls the common factor away from the spans is no warp of the spans.
    const girth = { name: 'girth', onScan: 0.57, measuredMm: 574, uMm: 1 };
    expect(fitScale([...make(1), girth], true).warp?.chiSquareFall as number).toBeLessThan(1e-6);
  });
});
