import { describe, expect, it } from 'vitest';
import { nest } from '../../../electron/geometry/nest/nest.ts';
import { inside, nearest, offsetPolygon, turned } from '../../../electron/geometry/nest/offset-polygon.ts';
import { polygonArea } from '../../../electron/geometry/flatten/outline.ts';
import { seeded } from '../../support/random.ts';

const quiet = (): void => {};

/** A star of 40 corners about a point, counter-clockwise, not crossing itself. */
function star(random: () => number, size: number): number[] {
  return Array.from({ length: 40 }, (_, i) => {
    const reach = size * (0.3 + 0.7 * random());
    return [reach * Math.cos((2 * Math.PI * i) / 40), reach * Math.sin((2 * Math.PI * i) / 40)];
  }).flat();
}

describe('a widened outline', () => {
  it('of a square is a square, of a right-angled L keeps its inner corner', () => {
    expect(polygonArea(offsetPolygon([0, 0, 40, 0, 40, 40, 0, 40], 5))).toBeCloseTo(2500, 4);
    // 30 by 30 less 20 by 20, widened by 2: 34 by 34 less 20 by 20.
    expect(polygonArea(offsetPolygon([0, 0, 30, 0, 30, 10, 10, 10, 10, 30, 0, 30], 2))).toBeCloseTo(34 * 34 - 400, 4);
  });

  it('closes a slit narrower than twice the allowance', () => {
    const slit = [0, 0, 50, 0, 50, 24, 10, 25, 50, 26, 50, 50, 0, 50];
    expect(polygonArea(offsetPolygon(slit, 3))).toBeCloseTo(56 * 56, 0);
  });

  it.each([1, 2, 3, 4, 5, 6, 7, 8])(
    'is nowhere nearer than the distance, nor farther than a mitre (seed %i)',
    (seed) => {
      const random = seeded(seed);
      const outline = star(random, 60);
      for (const distance of [1, 4, 12]) {
        const wide = offsetPolygon(outline, distance);
        for (let i = 0; i < wide.length; i += 2) {
          const j = (i + 2) % wide.length;
          for (const share of [0, 0.37, 0.5, 0.81]) {
            const far = nearest(
              outline,
              wide[i] + share * (wide[j] - wide[i]),
              wide[i + 1] + share * (wide[j + 1] - wide[i + 1]),
            );
            expect(far).toBeGreaterThan(distance - 1e-6);
            expect(far).toBeLessThan(2 * distance + 1e-6);
          }
        }
        for (let i = 0; i < outline.length; i += 2) expect(inside(wide, outline[i], outline[i + 1])).toBe(true);
      }
    },
  );
});

describe('nesting', () => {
  const random = seeded(7);
  const pieces = Array.from({ length: 14 }, () => ({ outline: star(random, 30 + 50 * random()) }));
  const options = { widthMm: 400, heightMm: 300, gapMm: 4, quarters: [0, 1, 2, 3] };
  const nested = nest(pieces, options, quiet);
  const laid = nested.placed.map((one) => ({
    sheet: one.sheet,
    outline: turned(pieces[one.piece].outline, one.quarters).map((value, i) => value + one.shift[i % 2]),
  }));

  it('lays every piece once, within its sheet', () => {
    expect(nested.placed.map((one) => one.piece)).toEqual(pieces.map((_, i) => i));
    expect(nested.tooLarge).toEqual([]);
    for (const { outline } of laid) {
      for (let i = 0; i < outline.length; i += 2) {
        expect(outline[i]).toBeGreaterThanOrEqual(0);
        expect(outline[i]).toBeLessThanOrEqual(400);
        expect(outline[i + 1]).toBeGreaterThanOrEqual(0);
        expect(outline[i + 1]).toBeLessThanOrEqual(300);
      }
    }
  });

  it('keeps the gap between any two', () => {
    for (const [i, a] of laid.entries()) {
      for (const b of laid.slice(i + 1)) {
        if (a.sheet !== b.sheet) continue;
        expect(inside(a.outline, b.outline[0], b.outline[1])).toBe(false);
        let least = Infinity;
        for (let k = 0; k < b.outline.length; k += 2)
          least = Math.min(least, nearest(a.outline, b.outline[k], b.outline[k + 1]));
        for (let k = 0; k < a.outline.length; k += 2)
          least = Math.min(least, nearest(b.outline, a.outline[k], a.outline[k + 1]));
        expect(least).toBeGreaterThanOrEqual(4);
      }
    }
  });

  it('says how much is used: area of the pieces over the sheets up to the last piece', () => {
    const area = pieces.reduce((sum, { outline }) => sum + polygonArea(outline), 0);
    const last = laid.filter((one) => one.sheet === nested.sheets - 1);
    const top = Math.max(...last.flatMap(({ outline }) => outline.filter((_, i) => i % 2 === 1)));
    const used = ((nested.sheets - 1) * 300 + top) * 400;
    expect(nested.use).toBeGreaterThan(0.25);
    expect(Math.abs(nested.use - area / used)).toBeLessThan(0.01);
  });

  it('fills a sheet of squares without loss but the raster', () => {
    const squares = Array.from({ length: 25 }, () => ({ outline: [0, 0, 18, 0, 18, 18, 0, 18] }));
    expect(nest(squares, { widthMm: 100, heightMm: 100, gapMm: 0, quarters: [0] }, quiet).sheets).toBe(1);
  });

  it('names what is larger than a sheet', () => {
    const large = [{ outline: [0, 0, 500, 0, 500, 10, 0, 10] }, pieces[0]];
    expect(nest(large, { ...options, quarters: [0] }, quiet).tooLarge).toEqual([0]);
    // Turned it would be too high as well; a narrower one fits upright only.
    const long = [{ outline: [0, 0, 290, 0, 290, 10, 0, 10] }];
    expect(nest(long, { widthMm: 100, heightMm: 300, gapMm: 2, quarters: [0, 1] }, quiet).placed[0].quarters).toBe(1);
  });
});
