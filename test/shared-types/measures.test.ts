import { describe, expect, it } from 'vitest';
import { hatSize } from '../../shared-types/measures/hat-sizes.ts';
import {
  landmarkKind,
  measureKind,
  REGION_NAMES,
  regionOfMeasure,
  REGIONS,
  sidedName,
  splitSide,
} from '../../shared-types/measures/index.ts';
import { landmarkPicture, measurePicture, type MeasurePicture } from '../../shared-types/measures/pictures.ts';
import { SURVEY } from '../../shared-types/survey.ts';

const regions = REGION_NAMES.map((name) => REGIONS[name]);

describe.each(regions)('the sheet of $name', (region) => {
  const known = new Set(region.landmarks.map(({ name }) => name));

  it('runs between landmarks of its own, and its frame too', () => {
    for (const { name, landmarks } of region.measures) {
      for (const landmark of landmarks) expect(known, name).toContain(landmark);
    }
    for (const name of region.frame) expect(known).toContain(name);
    for (const name of [...(region.axis?.lower ?? []), ...(region.axis?.upper ?? [])]) {
      expect(region.frame).toContain(name);
    }
    for (const { name, mirror } of region.landmarks) {
      if (mirror !== undefined) expect(landmarkKind(mirror)?.mirror).toBe(name);
    }
  });

  it('says of every measure how it is taken and what is to be expected', () => {
    for (const measure of region.measures) {
      expect(measure.how.length, measure.name).toBeGreaterThan(30);
      expect(measure.uMm).toBeGreaterThan(0);
      expect(measureKind(measure.name)).toBe(measure);
      expect(regionOfMeasure(sidedName(measure.name, 'left'))).toBe(region);
      const range = measure.range?.mm;
      if (range !== undefined) expect(range[1]).toBeGreaterThan(1.2 * range[0]);
    }
  });

  it('shows every measure and every landmark in a picture, within its box', () => {
    const lines = ({ outline, mark }: MeasurePicture): number[] => [...outline, ...mark].flat();
    for (const { name } of region.measures) {
      const picture = measurePicture(name);
      expect(picture?.mark.length, name).toBeGreaterThan(1);
      for (const x of lines(picture as MeasurePicture)) expect(x >= -3 && x <= 103, `${name} ${x}`).toBe(true);
    }
    for (const { name } of region.landmarks) expect(landmarkPicture(name)?.outline.length, name).toBeGreaterThan(0);
  });
});

it('has each name once, whatever the region, and knows a side behind it', () => {
  for (const kinds of [regions.flatMap((one) => one.measures), regions.flatMap((one) => one.landmarks)]) {
    const names = kinds.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
    for (const name of names) expect(splitSide(name)).toEqual({ name });
  }
  expect(splitSide(sidedName('wrist circumference', 'left'))).toEqual({ name: 'wrist circumference', side: 'left' });
  expect(measureKind('wrist circumference, right')?.name).toBe('wrist circumference');
});

it('widens no range so little that the survey’s own extremes would fall outside (NATICK/TR-15/007)', () => {
  // Where the extremes were noted down, the rule for the other measures must hold them.
  for (const { men, women } of Object.values(SURVEY)) {
    const extremes = [...(men.seenMm ?? []), ...(women.seenMm ?? [])];
    if (extremes.length < 4) continue;
    const [least, most] = [Math.min(...extremes), Math.max(...extremes)];
    expect(Math.min(men.meanMm - 4 * men.sdMm, women.meanMm - 4 * women.sdMm)).toBeLessThanOrEqual(least);
    expect(Math.max(men.meanMm + 5 * men.sdMm, women.meanMm + 5 * women.sdMm)).toBeGreaterThanOrEqual(most);
  }
  expect(measureKind('head circumference')?.range).toEqual({ mm: [500, 635], from: 'seen' });
  expect(measureKind('wrist circumference')?.range).toEqual({ mm: [124, 216], from: 'seen' });
});

describe('hat sizes', () => {
  // Rows of a printed size chart, girth in cm against US and UK (reference-values.md section 6).
  it.each([
    [53, '6 5/8', '6 1/2'],
    [55, '6 7/8', '6 3/4'],
    [56, '7', '6 7/8'],
    [57, '7 1/8', '7'],
    [58, '7 1/4', '7 1/8'],
    [60, '7 1/2', '7 3/8'],
    [62, '7 3/4', '7 5/8'],
    [64, '8', '7 7/8'],
  ])('%d cm is US %s, UK %s', (cm, us, uk) => {
    expect(hatSize(10 * cm)).toMatchObject({ cm, us, uk });
  });

  it('gives a letter only where letters are usual (common practice, no source)', () => {
    expect(hatSize(574).letter).toBe('M');
    expect(hatSize(520).letter).toBeUndefined();
    expect(hatSize(660).letter).toBeUndefined();
  });
});
