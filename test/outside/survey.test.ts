/**
 * What is expected of a head, against the published figures of the 2012 survey (NATICK/TR-15/007, as computed from its
 * public files: reference-values.md sections 2 and 2.1).
 */
import { describe, expect, it } from 'vitest';
import { HEAD_RELATIONS, SURVEY, type Population } from '../../shared-types/survey.ts';
import {
  expectationOf,
  expectGiven,
  nextReadings,
  skinSpread,
  spreadOf,
  whoDoesNotBelong,
  type Expectation,
} from '../../electron/geometry/figure/expect.ts';

const POPULATIONS: readonly Population[] = ['men', 'women'];
const valueOf = (of: Expectation, name: string): number => of.meanMm[of.names.indexOf(name)];
/** As good as exact. */
const SURE_MM = 1e-4;
const given = (name: string, measuredMm: number, uMm = SURE_MM) => ({ name, measuredMm, uMm });

describe.each(POPULATIONS)('expected of %s', (population) => {
  const prior = expectationOf(population, HEAD_RELATIONS);

  it('has the means and standard deviations of the survey where nothing was read', () => {
    for (const name of prior.names) {
      const row = SURVEY[name]?.[population];
      if (row === undefined) continue;
      expect(valueOf(prior, name), name).toBeCloseTo(row.meanMm, 6);
      // The girth's spread follows from the regression; published rounded to 0.1.
      expect(Math.abs(spreadOf(prior, name) - row.sdMm), name).toBeLessThan(0.1);
    }
  });

  it('follows the published regression of girth on length and breadth, with its residual', () => {
    // Men 44.00 + 1.711 length + 1.225 breadth, residual 6.2; women 35.29 + 1.771 length + 1.283 breadth, 10.9.
    const [constant, onLength, onBreadth, residual] =
      population === 'men' ? [44, 1.711, 1.225, 6.2] : [35.29, 1.771, 1.283, 10.9];
    for (const [length, breadth] of [
      [188, 146],
      [199.5, 154.3],
      [211, 140],
    ]) {
      const now = expectGiven(prior, [given('head length', length), given('head breadth', breadth)]);
      // The means are rounded to 0.1 and so is the constant: together half a millimetre at most.
      expect(
        Math.abs(valueOf(now, 'head circumference') - (constant + onLength * length + onBreadth * breadth)),
      ).toBeLessThan(0.5);
      expect(spreadOf(now, 'head circumference')).toBeCloseTo(residual, 3);
    }
  });

  it('has the published correlation of length and breadth, and the share of the girth they explain', () => {
    const n = prior.names.length;
    const [i, j, k] = ['head length', 'head breadth', 'head circumference'].map((name) => prior.names.indexOf(name));
    const r =
      prior.covarianceMm2[i * n + j] / Math.sqrt(prior.covarianceMm2[i * n + i] * prior.covarianceMm2[j * n + j]);
    expect(r).toBeCloseTo(population === 'men' ? 0.18 : 0.22, 6);
    const left = spreadOf(
      expectGiven(prior, [given('head length', 190), given('head breadth', 150)]),
      'head circumference',
    );
    // R squared 0.85 and 0.69.
    expect(1 - left ** 2 / prior.covarianceMm2[k * n + k]).toBeCloseTo(population === 'men' ? 0.85 : 0.69, 1.5);
  });

  it('makes the ratio of chin arc to bizygomatic breadth scatter as published, 2.33 by 0.09', () => {
    const n = prior.names.length;
    const [a, b] = ['bitragion chin arc', 'bizygomatic breadth'].map((name) => prior.names.indexOf(name));
    const [ma, mb] = [prior.meanMm[a], prior.meanMm[b]];
    const c = prior.covarianceMm2;
    const ratio = ma / mb;
    const spread = ratio * Math.sqrt(c[a * n + a] / ma ** 2 + c[b * n + b] / mb ** 2 - (2 * c[a * n + b]) / (ma * mb));
    expect(ratio).toBeCloseTo(2.33, 1.5);
    expect(spread).toBeCloseTo(0.09, 2.5);
  });

  it('does not let girth alone fix breadth (r 0.18: nearly independent), nor any reading widen a spread', () => {
    const girth = expectGiven(prior, [given('head circumference', 590)]);
    expect(spreadOf(girth, 'head breadth')).toBeGreaterThan(0.75 * SURVEY['head breadth'][population].sdMm);
    for (const name of prior.names) {
      expect(spreadOf(girth, name)).toBeLessThanOrEqual(spreadOf(prior, name) + 1e-9);
    }
    expect(skinSpread(girth)).toBeLessThan(skinSpread(prior));
  });

  it('says what is gained by the next reading before it is taken', () => {
    const [first] = nextReadings(
      prior,
      prior.names.map((name) => ({ name, uMm: 1 })),
    );
    const after = expectGiven(prior, [given(first.name, valueOf(prior, first.name) + 7, 1)]);
    expect(skinSpread(prior) - skinSpread(after)).toBeCloseTo(first.gainMm, 9);
  });
});

describe('readings that do not belong together', () => {
  const prior = expectationOf('men', HEAD_RELATIONS);
  const sheet = [given('head length', 199, 1.5), given('head breadth', 155, 1.5), given('head circumference', 575, 3)];

  it('lets good ones stand', () => {
    expect(whoDoesNotBelong(prior, [...sheet, given('bizygomatic breadth', 141, 1.5)]).outliers).toEqual([]);
  });

  it('names a slip of the calliper of 40 mm, one at a time, and not for two readings', () => {
    for (const slip of sheet) {
      const slipped = sheet.map((one) => (one === slip ? { ...one, measuredMm: one.measuredMm + 40 } : one));
      const { outliers, orElse } = whoDoesNotBelong(prior, [...slipped, given('bizygomatic breadth', 141, 1.5)]);
      expect([...outliers, ...orElse], slip.name).toContain(slip.name);
    }
    expect(
      whoDoesNotBelong(prior, [given('head length', 199, 1.5), given('head circumference', 640, 3)]).outliers,
    ).toEqual([]);
  });
});

describe('either', () => {
  it('is a crowd of half men, half women: its mean midway, its spread the wider', () => {
    const either = expectationOf('either', HEAD_RELATIONS);
    // 574.4 and 561.1; variance (16.0^2 + 19.4^2) / 2 + 6.65^2.
    expect(valueOf(either, 'head circumference')).toBeCloseTo(567.75, 6);
    expect(spreadOf(either, 'head circumference')).toBeCloseTo(Math.sqrt((16 ** 2 + 19.4 ** 2) / 2 + 6.65 ** 2), 0);
  });
});
