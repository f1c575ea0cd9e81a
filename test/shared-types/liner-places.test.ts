import { expect, it } from 'vitest';
import { linerPlaces } from '../../shared-types/liner-places.ts';

const figures = {
  maxAbsErrorMm: 0.09,
  p99AbsErrorMm: 0.04,
  maxAbsErrorAt: [1, 2, 3],
  missingMaxMm: 0.2,
  missingAt: [4, 5, 6],
  missingGapMm: 2.5,
  pocketsDropped: 0,
  wallMinMm: 2.9,
  wallMinAt: [7, 8, 9],
};
const asked = { toleranceMm: 0.1, wallMm: 3 };

it('of a liner that holds its figures only the wall is marked, and nothing is doubted', () => {
  expect(linerPlaces(figures, asked)).toEqual([
    { id: 'wall', words: 'wall at its thinnest,', mm: 2.9, at: [7, 8, 9], doubt: undefined },
  ]);
  expect(linerPlaces({ ...figures, wallMinMm: null }, { toleranceMm: 0.1 })).toEqual([]);
});

it('what is off by more than was asked for is doubted, and marked where it is', () => {
  const poor = { ...figures, maxAbsErrorMm: 0.21, missingMaxMm: 1.4, wallMinMm: 2.6 };
  const [miss, gap, wall] = linerPlaces(poor, asked);
  expect([miss.mm, miss.at, gap.mm, gap.at, wall.mm]).toEqual([0.21, [1, 2, 3], 2.5, [4, 5, 6], 2.6]);
  expect(miss.doubt).toContain('by up to 0.21 mm, more than the 0.1 mm asked for; 99 in 100 points lie within 0.04 mm');
  expect(gap.doubt).toContain('2.5 mm wide, and ends there up to 1.4 mm away');
  expect(wall.doubt).toContain('only 2.60 mm thick, not 3 mm');
  // Round a pocket that was left out on purpose more is missing.
  expect(linerPlaces({ ...poor, pocketsDropped: 1 }, asked).map(({ id }) => id)).toEqual(['miss', 'wall']);
});

it('a liner of before places were kept is doubted without one', () => {
  const { maxAbsErrorMm, p99AbsErrorMm, wallMinMm, pocketsDropped } = { ...figures, maxAbsErrorMm: 0.3 };
  const places = linerPlaces({ maxAbsErrorMm, p99AbsErrorMm, wallMinMm, pocketsDropped }, asked);
  expect(places.map(({ id, at }) => [id, at])).toEqual([
    ['miss', undefined],
    ['wall', undefined],
  ]);
});
