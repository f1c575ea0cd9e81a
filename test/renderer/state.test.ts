import { describe, expect, test } from 'vitest';
import { bytesText, countText, dayText, some } from '../../shared-types/counts.ts';
import { scannedByName } from '../../renderer/controls/scanned.ts';
import { checksOf, evidenceOf } from '../../shared-types/step-evidence.ts';
import { drawnSpansOf } from '../../electron/geometry/measure/drawn-spans.ts';
import { notesOfJobs, placeOfJob } from '../../renderer/state/job-news.ts';
import { createPlaceStore, hashOf, placeOf, type AddressedPage } from '../../renderer/state/routes.ts';
import { createSettingsStore, settingsFrom } from '../../renderer/state/settings.ts';
import { sinceText } from '../../renderer/state/since.ts';
import { today } from '../../renderer/state/today.ts';
import { idOf, job } from './support/fake-program.ts';

describe('places', () => {
  test('an address leads to its place and back', () => {
    for (const at of ['wearer', 'ticket', 'project', 'form', 'liner'] as const) {
      const place = { at, id: idOf(7) };
      expect(placeOf(hashOf(place))).toEqual(place);
    }
    expect(hashOf({ at: 'shelf' })).toBe('#/');
  });

  test.each([
    '',
    '#',
    '#/',
    '#/nowhere/1',
    '#/wearer',
    '#/wearer/',
    '#/wearer/1/2',
    '#/wearer/<b>',
    `#/wearer/${'1'.repeat(65)}`,
  ])('%j leads to the shelf', (hash) => {
    expect(placeOf(hash)).toEqual({ at: 'shelf' });
  });

  test('the store follows the address', () => {
    let told: () => void = () => {};
    const page: AddressedPage = { location: { hash: '#/' }, addEventListener: (_name, listener) => (told = listener) };
    const store = createPlaceStore(page);
    page.location.hash = `#/form/${idOf(3)}`;
    told();
    expect(store.get()).toEqual({ at: 'form', id: idOf(3) });
  });
});

describe('settings', () => {
  const first = { theme: 'system', unit: 'mm', paper: 'a4', takenBy: '' };

  test.each([null, '', '{', '[]', '7', '{"theme":"pink","unit":3,"paper":"toString","takenBy":{}}'])(
    '%j gives the first settings',
    (text) => {
      expect(settingsFrom(text)).toEqual(first);
    },
  );

  test('what is set is on the page and remembered; a storage that throws harms nothing', () => {
    const kept = new Map<string, string>();
    const dataset: Record<string, string | undefined> = {};
    const document = { documentElement: { dataset } };
    const localStorage = {
      getItem: (key: string) => kept.get(key) ?? null,
      setItem: (key: string, value: string) => void kept.set(key, value),
    };
    createSettingsStore({ localStorage, document }).set({
      theme: 'dark',
      unit: 'in',
      paper: 'letter',
      takenBy: 'Hobb',
    });
    expect(dataset['theme']).toBe('dark');
    expect(createSettingsStore({ localStorage, document }).get()).toEqual({
      theme: 'dark',
      unit: 'in',
      paper: 'letter',
      takenBy: 'Hobb',
    });
    const closed = {
      getItem: (): string => {
        throw new Error('forbidden');
      },
      setItem: (): void => {
        throw new Error('full');
      },
    };
    const store = createSettingsStore({ localStorage: closed, document });
    store.set({ theme: 'light', unit: 'mm', paper: 'a4', takenBy: '' });
    expect(dataset['theme']).toBe('light');
    expect(store.get().theme).toBe('light');
  });
});

describe('news of jobs', () => {
  const SHELF = { at: 'shelf' } as const;

  test('are short: whole sentences from the first on, and no way to where one is already', () => {
    const before = [job(1, { linerId: idOf(4) })];
    const long = 'It misses by 0.11 mm, "in places". The body does not pass. '.repeat(4).trim();
    const ended = [job(1, { linerId: idOf(4), state: 'done', sentence: long })];
    const [away] = notesOfJobs(before, ended, SHELF);
    expect(away.text.length).toBeLessThan(260);
    expect(away.text).toMatch(/\. More is told on its page\.$/);
    expect(away.action?.label).toBe('Open');
    const [there] = notesOfJobs(before, ended, { at: 'liner', id: idOf(4) });
    expect(there.action).toBeUndefined();
  });

  test('a ticket that is open and ready says so itself; its trouble is told all the same', () => {
    const open = { at: 'ticket', id: idOf(4) } as const;
    const before = [job(1, { ticketId: idOf(4) })];
    expect(notesOfJobs(before, [job(1, { ticketId: idOf(4), state: 'done' })], open)).toEqual([]);
    expect(notesOfJobs(before, [job(1, { ticketId: idOf(4), state: 'failed' })], open)).toHaveLength(1);
  });

  test('only of those that were under way and have ended', () => {
    const [running, ended] = [job(1), job(2, { state: 'done' })];
    expect(notesOfJobs([], [running, ended], SHELF)).toEqual([]);
    expect(notesOfJobs([running, ended], [running, ended], SHELF)).toEqual([]);
    const [note] = notesOfJobs([running], [job(1, { state: 'done', ticketId: idOf(4) })], SHELF);
    expect(note).toMatchObject({ tone: 'good', action: { label: 'Open' } });
    const [bad] = notesOfJobs([running], [job(1, { state: 'failed', sentence: 'The zip holds no mesh.' })], SHELF);
    expect(bad).toMatchObject({ tone: 'trouble', text: 'Mending captain-scan.zip: The zip holds no mesh.' });
    expect(notesOfJobs([running], [job(1, { state: 'stopped' })], SHELF)[0]?.tone).toBe('plain');
  });

  test('a result is opened where it can be seen', () => {
    expect(placeOfJob(job(1, { ticketId: idOf(1), revisionId: idOf(2) }))).toEqual({ at: 'ticket', id: idOf(1) });
    expect(placeOfJob(job(1, { kind: 'make', ticketId: idOf(1), revisionId: idOf(2) }))).toEqual({
      at: 'form',
      id: idOf(2),
    });
    expect(placeOfJob(job(1, { kind: 'line', revisionId: idOf(2), linerId: idOf(3) }))).toEqual({
      at: 'liner',
      id: idOf(3),
    });
    // What is cut or printed is seen on its own page, not on that of the form it was made from.
    expect(placeOfJob(job(1, { kind: 'things', revisionId: idOf(2), makingId: idOf(5) }))).toEqual({
      at: 'making',
      id: idOf(5),
    });
    expect(placeOfJob(job(1, { kind: 'fit', fittingId: idOf(6) }))).toEqual({ at: 'fitting', id: idOf(6) });
    expect(placeOfJob(job(1, { kind: 'demo' }))).toEqual({ at: 'shelf' });
    expect(placeOfJob(job(1))).toBeUndefined();
  });
});

describe('words', () => {
  test('how long ago, by days of the calendar', () => {
    const now = new Date(2026, 10, 25, 0, 5);
    const ago = (days: number): string => sinceText(new Date(2026, 10, 25 - days, 23, 50).toISOString(), now);
    expect([0, 1, 2, 13, 14, 28].map(ago)).toEqual([
      'today',
      'yesterday',
      '2 days ago',
      '13 days ago',
      '2 weeks ago',
      '4 weeks ago',
    ]);
    expect(sinceText('2024-11-25T12:00:00.000Z', now)).toBe('2 years ago');
    expect(sinceText('nonsense', now)).toBe('');
  });

  test('counts, sizes, days', () => {
    expect(countText(1_234_567)).toBe('1 234 567');
    expect([some(1, 'scan'), some(0, 'scan'), some(2, 'place in', 'places in')]).toEqual([
      '1 scan',
      '0 scans',
      '2 places in',
    ]);
    expect([bytesText(10), bytesText(12_345_678), bytesText(123_456_789)]).toEqual(['1 kB', '12.3 MB', '123 MB']);
    expect(dayText('2026-11-25')).toBe('25 November 2026');
    expect(today(new Date(2026, 0, 5, 0, 1))).toBe('2026-01-05');
  });
});

describe('evidence of a making, in words', () => {
  const step = (verb: string, figures: Record<string, unknown>) => evidenceOf({ verb, parameters: {}, figures });

  test('says what was done, and doubts what deserves it', () => {
    const mended = step('mend', {
      dropped: [{}],
      filled: [{ perimeterMm: 214.4 }, { perimeterMm: 3 }],
      movedMeanMm: 0.04,
      movedMaxMm: 1.1,
      holesLeft: 1,
      reskinned: { resolutionMm: 3.5, reason: 'the faces met everywhere' },
    });
    expect(mended.sentences).toEqual([
      '1 piece of debris dropped, 2 holes filled, the largest 214 mm round.',
      'The surface moved by 0.040 mm on average and 1.10 mm at most.',
    ]);
    expect(mended.doubts).toHaveLength(2);
    expect(step('stand', { method: 'guess', confidence: 0.6 }).doubts[0]).toContain('sure to 60 %');
    expect(step('form', { health: { watertight: false, selfIntersections: 2, openEdges: 3 } }).doubts[0]).toContain(
      'Not sound',
    );
    expect(step('true', { factor: 1.0037, outliers: ['face length'], advice: [] }).doubts[0]).toContain('face length');
  });

  test('a figure that is missing gives no sentence, and no figure breaks it', () => {
    for (const verb of ['mend', 'trim', 'stand', 'true', 'lighten', 'form', 'later']) {
      for (const figures of [{}, { filled: 3, cut: null, advice: 'x', sizeMm: [1], health: {} }]) {
        const { sentences, doubts } = step(verb, figures);
        for (const sentence of [...sentences, ...doubts]) expect(sentence).not.toMatch(/undefined|NaN|Infinity/);
      }
    }
    expect(checksOf([{ verb: 'form', parameters: {}, figures: { checks: [{ name: 'x' }] } }])).toEqual([]);
  });
});

test('a span is drawn where the way from scan to form leads it: metres, turned a quarter, moved', () => {
  const matrix = [0, -1000, 0, 5, 1000, 0, 0, 0, 0, 0, 1000, 0, 0, 0, 0, 1];
  const check = { name: 'head breadth', role: 'used', onFormMm: 150, measuredMm: 150, differenceMm: 0, agrees: true };
  const steps = [{ verb: 'form', parameters: {}, figures: { matrix, checks: [check] } }];
  const span = { name: 'head breadth', from: [0.075, 0, 0.06], to: [-0.075, 0, 0.06] };
  const [drawn] = drawnSpansOf({ recipe: { spans: [span, { name: 'other', from: 1 }] }, steps });
  expect(drawn).toMatchObject({ name: 'head breadth', onFormMm: 150, agrees: true });
  expect(drawn?.from).toEqual([5, 75, 60]);
  expect(drawn?.to).toEqual([5, -75, 60]);
  expect(drawnSpansOf({ recipe: {}, steps })).toEqual([]);
  expect(drawnSpansOf({ recipe: { spans: [span] }, steps: [] })).toEqual([]);
});

test('what a scan is of is first taken from its file’s name, whole words only', () => {
  expect(scannedByName('Torso-2028.ply')).toEqual({ region: 'torso' });
  expect(scannedByName('left_forearm.obj')).toEqual({ region: 'arm', side: 'left' });
  expect(scannedByName('FOOT 2.stl')).toEqual({ region: 'leg', side: 'right' });
  expect(scannedByName('harmless-handsome.glb')).toEqual({ region: 'head' });
});
