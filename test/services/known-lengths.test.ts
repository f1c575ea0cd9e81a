/** What a sheet of readings says: means, repeats, and what is odd about them. */
import { describe, expect, it } from 'vitest';
import { withPresentReadings } from '../../electron/services/making.ts';
import { knownLengths, repeatability } from '../../electron/services/studio/known-lengths.ts';
import { ellipsePerimeter } from '../../electron/services/studio/plausible.ts';
import { recipeSchema } from '../../shared-types/recipe.ts';
import { READING_UNCERTAINTY_MM } from '../../shared-types/tolerances.ts';
import * as records from '../../electron/store/records.ts';
import type { Reading } from '../../shared-types/records/reading.ts';
import { freshLibrary, good } from '../store/support.ts';

let number = 0;
const take = (name: string, valueMm: number, more: Partial<Reading> = {}): Reading =>
  ({
    id: `${++number}`,
    wearerId: 'w',
    revision: number,
    kind: 'span',
    name,
    valueMm,
    withdrawn: false,
    createdAt: '2026-11-29T04:00:00.000Z',
    ...more,
  }) as Reading;
const girth = (name: string, valueMm: number, more: Partial<Reading> = {}): Reading =>
  take(name, valueMm, { kind: 'girth', ...more });
const doubtOf = (sheet: readonly Reading[], name: string): string | undefined =>
  knownLengths(sheet).find((one) => one.name === name)?.doubt;

describe('repeated readings', () => {
  it('give their mean, their spread, and the larger of what they claim and what they show', () => {
    const [careful] = knownLengths([194, 196, 198].map((mm) => take('head length', mm, { uncertaintyMm: 0.6 })));
    // Standard deviation of the mean: 2 / sqrt 3.
    expect(careful).toMatchObject({ mm: 196, count: 3, spreadMm: 4 });
    expect(careful.uMm).toBeCloseTo(2 / Math.sqrt(3), 12);
    const [alike] = knownLengths([take('head length', 196), take('head length', 196)]);
    // Both claim the catalogue's 1.5 mm; agreeing by chance makes them no surer than that leaves: 1.5 / sqrt 2.
    expect(alike.uMm).toBeCloseTo(1.5 / Math.SQRT2, 12);
    expect(knownLengths([take('head length', 196)])[0].spreadMm).toBeUndefined();
  });

  it('of a body as it was more than half a year ago count no more, and lengths not taken since are doubted', () => {
    const before = { takenOn: '2026-11-29' };
    const sheet = [
      girth('chest circumference', 926.5, before),
      girth('chest circumference', 928.5, before),
      girth('waist circumference', 773.5, before),
      take('head length', 196, before),
      girth('chest circumference', 957, { takenOn: '2028-11-20' }),
      girth('chest circumference', 959, { takenOn: '2028-11-29' }),
    ];
    const [chest, waist, head] = knownLengths(sheet);
    // The mean over both bodies, 942.75 mm, would be nobody's.
    expect(chest).toMatchObject({
      mm: 958,
      count: 2,
      spreadMm: 2,
      earlier: { mm: 927.5, takenOn: '2026-11-29' },
    });
    expect(chest.doubt).toBeUndefined();
    expect(waist.mm).toBe(773.5);
    expect(waist.doubt).toMatch(/29 November 2026.*29 November 2028.*take it again/);
    // Nothing else of the head was taken again.
    expect(head.doubt).toBeUndefined();
    // How well readings repeat is not how a body has grown: two pairs, each 2 mm apart, of which the newer counts.
    expect(repeatability(sheet)).toEqual([{ kind: 'girth', temMm: Math.SQRT2, lengths: 1, readings: 2 }]);
    // Half a year is told by days: 183 of them still count together.
    const near = [
      girth('chest circumference', 900, { takenOn: '2026-01-01' }),
      girth('chest circumference', 910, { takenOn: '2026-07-03' }),
    ];
    expect(knownLengths(near)[0]).toMatchObject({ mm: 905, count: 2 });
  });

  it('are worth what the library says where they state nothing, by what was measured and how', () => {
    const usual = { ...READING_UNCERTAINTY_MM, headSpan: 4, limbGirth: 7, headArc: 9 };
    const sheet = [
      take('head length', 196),
      take('head breadth', 150, { uncertaintyMm: 0.5 }),
      girth('calf circumference, left', 370),
      girth('round the crest', 700),
      take('over the crest', 300, { kind: 'arc' }),
    ];
    // The second states its own; the last two are of no catalogue and go by how they were taken.
    expect(knownLengths(sheet, usual).map(({ uMm }) => uMm)).toEqual([4, 0.5, 7, 3, 9]);
  });

  it('have the technical error of measurement: sqrt(sum d² / 2n) for pairs, sqrt of the pooled variance in general', () => {
    // Three pairs that differ by 2, 1 and 3 mm: sqrt((4 + 1 + 9) / 6).
    const pairs = [
      [take('head length', 195), take('head length', 197)],
      [take('head breadth', 150), take('head breadth', 151)],
      [take('face length', 118), take('face length', 121)],
    ].flat();
    const [spans] = repeatability([...pairs, take('bitragion breadth', 140)]);
    expect(spans).toMatchObject({ kind: 'span', lengths: 3, readings: 6 });
    expect(spans.temMm).toBeCloseTo(Math.sqrt(14 / 6), 12);
    // Three readings of one thing: their standard deviation with n - 1.
    const [tape] = repeatability([572, 575, 578].map((mm) => girth('head circumference', mm)));
    expect(tape).toMatchObject({ kind: 'girth', lengths: 1, readings: 3, temMm: 3 });
    expect(repeatability([take('head length', 195)])).toEqual([]);
  });

  it('that lie far apart are to be looked at, whatever their mean', () => {
    expect(doubtOf([take('head length', 190), take('head length', 199)], 'head length')).toMatch(
      /2 readings differ by 9.0 mm; take it again/,
    );
  });
});

describe('a length by itself', () => {
  it.each([
    ['head circumference', 22.6, 'was it read in inches?'],
    ['head circumference', 57.4, 'was it read in centimetres?'],
    ['head circumference', 1148, 'are two readings added up in it?'],
    ['head circumference', 287, 'was only half way round measured?'],
    ['head circumference', 742, 'no mix-up of units explains it, so measure it again'],
    ['wrist circumference, left', 17.2, 'was it read in centimetres?'],
    ['foot length', 10.4, 'was it read in inches?'],
  ])('%s of %d mm: %s', (name, mm, question) => {
    const doubt = doubtOf([girth(name, mm)], name) as string;
    expect(doubt).toContain(question);
    expect(doubt).toMatch(/lies outside \d+ to \d+ mm/);
  });

  it('says whether the survey met the range, or it is only to be expected', () => {
    expect(doubtOf([girth('head circumference', 742)], 'head circumference')).toContain('all that the 2012 survey');
    expect(doubtOf([girth('calf circumference', 742)], 'calf circumference')).toContain('survey lets one expect');
    expect(doubtOf([take('foot length', 742)], 'foot length')).toContain('what one expects of an adult');
    expect(doubtOf([take('sash', 742)], 'sash')).toBeUndefined();
  });
});

describe('lengths together', () => {
  const middling = [take('head length', 199.5), take('head breadth', 154.3)];

  it('finds nothing odd about the survey’s own means (NATICK/TR-15/007)', () => {
    const means = [
      ...middling,
      girth('head circumference', 574.4),
      take('bizygomatic breadth', 142.6),
      take('bitragion chin arc', 331.7, { kind: 'arc' }),
      take('hand breadth, left', 88.3),
      girth('hand circumference, left', 212.3),
      take('biacromial breadth', 415.7),
      take('bideltoid breadth', 510.4),
      take('chest breadth', 289.4),
      take('chest depth', 253.9),
      girth('chest circumference', 1058.7),
    ];
    for (const { name, doubt } of knownLengths(means)) expect(doubt, name).toBeUndefined();
  });

  it('reckons the girth by the survey’s regression: 44.00 + 1.711 length + 1.225 breadth, men', () => {
    const expected = 44 + 1.711 * 199.5 + 1.225 * 154.3;
    expect(doubtOf([...middling, girth('head circumference', Math.round(expected))], 'head circumference')).toBe(
      undefined,
    );
    const doubt = doubtOf([...middling, girth('head circumference', 628)], 'head circumference') as string;
    expect(doubt).toContain(`${expected.toFixed(0)}`);
    // What lies farthest from the survey's mean is named first.
    expect(doubt).toMatch(
      /measure the head circumference again, then the head (length and head breadth|breadth and head length)\.$/,
    );
    const slipped = [take('head length', 171), take('head breadth', 153), girth('head circumference', 575)];
    expect(doubtOf(slipped, 'head circumference')).toMatch(/measure the head length again/);
  });

  it('compares a hand’s girth with its breadth: 2.41 ± 0.05 of it', () => {
    const doubt = doubtOf(
      [take('hand breadth, right', 80), girth('hand circumference, right', 230)],
      'hand circumference, right',
    );
    expect(doubt).toMatch(
      /230 mm of hand circumference is much for hand breadth 80 mm.*measure the hand circumference again/,
    );
    // The other hand's breadth does not count.
    expect(
      doubtOf([take('hand breadth, left', 80), girth('hand circumference, right', 230)], 'hand circumference, right'),
    ).toBe(undefined);
  });

  it('sets one limb beside the other', () => {
    const sheet = [girth('calf circumference, left', 380), girth('calf circumference, right', 450)];
    expect(doubtOf(sheet, 'calf circumference, right')).toMatch(
      /380 mm on the left and 450 mm on the right.*both again/,
    );
  });

  it('does not suspect what goes with a length that is odd by itself', () => {
    const sheet = [take('head length', 19.95), take('head breadth', 154.3), girth('head circumference', 574)];
    expect(doubtOf(sheet, 'head circumference')).toBeUndefined();
    expect(doubtOf(sheet, 'head length')).toContain('centimetres');
  });
});

it('knows the perimeter of an ellipse (semi-axes 100 and 77: 558.4117073488, by series to 25 digits)', () => {
  expect(ellipsePerimeter(200, 154)).toBeCloseTo(558.4117073488, 4);
  expect(ellipsePerimeter(200, 200)).toBeCloseTo(200 * Math.PI, 10);
});

describe('a recipe run again on a newer scan', () => {
  const span = (name: string, measured: number) => ({
    name,
    from: [0, 0, 0] as [number, number, number],
    to: [1, 0, 0] as [number, number, number],
    measured,
  });

  it('rests on what was taken of the body as it is; what was not taken since is only compared, and told', () => {
    const library = freshLibrary();
    const wearer = good(records.addWearer(library, { name: 'Nobody (invented)' }));
    const of = (name: string, valueMm: number, takenOn: string) => ({ kind: 'span', name, valueMm, takenOn }) as const;
    const readings = [
      of('chest breadth', 320, '2026-11-29'),
      of('chest depth', 225, '2026-11-29'),
      of('chest breadth', 331, '2028-11-29'),
    ];
    good(records.addReadings(library, wearer.id, readings));
    const recipe = recipeSchema.parse({ spans: [span('chest breadth', 320), span('chest depth', 225)] });
    const now = withPresentReadings(library, wearer.id, recipe);
    expect(now.recipe.spans).toMatchObject([{ measured: 331 }, { measured: 225, hold: true }]);
    expect(now.recipe.spans[0]).not.toHaveProperty('hold');
    expect(now.warnings.map(({ sentence }) => sentence).join()).toMatch(
      /Not measured since.*chest depth\. .*take these again/,
    );
    // Of a recipe that holds nothing newer, the older is better than nothing.
    const old = withPresentReadings(library, wearer.id, { ...recipe, spans: [span('chest depth', 225)] });
    expect(old.recipe.spans[0]).not.toHaveProperty('hold');
    expect(old.warnings).toEqual([]);
    library.close();
  });
});
