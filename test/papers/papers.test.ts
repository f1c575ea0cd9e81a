import { describe, expect, test } from 'vitest';
import { captureCard } from '../../electron/papers/capture-card.ts';
import { fittingSheet, type FittingSheet } from '../../electron/papers/fitting-sheet.ts';
import { measurementSheet } from '../../electron/papers/measurement-sheet.ts';
import { perimeterItems } from '../../electron/papers/perimeter-chart.ts';
import { LINE_FACTOR, linesOf, textWidthMm } from '../../electron/papers/typeface.ts';
import { writePdf } from '../../electron/papers/write-pdf.ts';
import { encodePng } from '../../electron/services/png.ts';
import { REGION_NAMES, REGIONS, type RegionName } from '../../shared-types/measures/index.ts';
import { PAPER_SIZES_MM, type PaperDocument, type PaperItem, type PaperSize } from '../../shared-types/paper.ts';
import { drawPage, inkAlong, readPdf, type Drawn } from './support/read-pdf.ts';

const SIZES = Object.keys(PAPER_SIZES_MM) as PaperSize[];
const LONG = 'Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft';
/** Printers leave a border white: about 4 to 6 mm on most, common practice, no source. */
const PRINTABLE_MM = 8;

/** Left, top, right and bottom of what an item covers, mm. */
function extentOf(item: PaperItem): [number, number, number, number] {
  if (item.kind === 'picture') {
    const [x, y] = item.at;
    return [x, y, x + item.widthMm, y + item.heightMm];
  }
  if (item.kind === 'line') {
    const xs = item.points.filter((_, k) => k % 2 === 0);
    const ys = item.points.filter((_, k) => k % 2 === 1);
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  }
  const { at, sizeMm, style, align, wrapMm, text } = item;
  const lines = wrapMm === undefined ? [text] : linesOf(text, wrapMm, sizeMm, style);
  const width = Math.max(...lines.map((line) => textWidthMm(line, sizeMm, style)));
  const left = at[0] - (align === 'right' ? width : align === 'middle' ? width / 2 : 0);
  return [left, at[1] - sizeMm * 0.8, left + width, at[1] + (lines.length - 1) * sizeMm * LINE_FACTOR + sizeMm * 0.25];
}

function expectOnPage({ pages }: PaperDocument): void {
  const beyond = pages.flatMap(({ widthMm, heightMm, items }) =>
    items.filter((item) => {
      const [left, top, right, bottom] = extentOf(item);
      return Math.min(left, top) < PRINTABLE_MM || right > widthMm - PRINTABLE_MM || bottom > heightMm - PRINTABLE_MM;
    }),
  );
  expect(beyond).toEqual([]);
}

/** Texts of one page must not be printed over one another. */
function expectNoOverlap({ pages }: PaperDocument): void {
  const overlaps: string[] = [];
  for (const { items } of pages) {
    const texts = items.filter((item) => item.kind === 'text').map((item) => ({ item, box: extentOf(item) }));
    for (const [k, one] of texts.entries()) {
      for (const other of texts.slice(k + 1)) {
        const across = Math.min(one.box[2], other.box[2]) - Math.max(one.box[0], other.box[0]);
        const down = Math.min(one.box[3], other.box[3]) - Math.max(one.box[1], other.box[1]);
        if (across > 0.3 && down > 0.3) overlaps.push(`"${one.item.text}" over "${other.item.text}"`);
      }
    }
  }
  expect(overlaps).toEqual([]);
}

test('the checks of a page can fail', () => {
  const text = (words: string, at: [number, number]): PaperItem => ({ kind: 'text', text: words, at, sizeMm: 4 });
  const of = (...items: PaperItem[]): PaperDocument => ({
    title: '',
    pages: [{ widthMm: 210, heightMm: 297, items }],
  });
  for (const at of [
    [5, 50],
    [190, 50],
    [50, 9],
    [50, 292],
  ] as [number, number][])
    expect(() => expectOnPage(of(text('Some words', at)))).toThrow();
  expect(() => expectNoOverlap(of(text('Some words', [50, 50]), text('more', [60, 52])))).toThrow();
  expectNoOverlap(of(text('Some words', [50, 50]), text('more', [50, 56])));
});

const measures = (size: PaperSize, wearerName?: string, regions: readonly RegionName[] = ['head']): PaperDocument =>
  measurementSheet({
    regions: regions.map((name) => REGIONS[name]),
    size,
    ...(wearerName === undefined ? {} : { wearerName }),
  });

const CHART = { caption: 'An eye', clearDeg: Array(120).fill(40), naturalDeg: Array(120).fill(90) };
const png = encodePng(new Uint8Array(60 * 80).fill(200), 60, 80, 1);
const sheet = (lengths: number, words = 'Invented'): FittingSheet => ({
  title: `Head of ${words}`,
  under: `Form of ${words}, making 3, 1 January 2026`,
  facts: [
    ['Wearer', words],
    ['Note', `${words} ${words} ${words}`],
  ],
  pictures: ['front', 'left'].map((side) => ({
    png,
    caption: `From the ${side}`,
    widthMm: 180,
    heightMm: 280,
    lengths: [
      { tag: '1', from: [10, 100], to: [170, 100] },
      { tag: '2', from: [10, 101], to: [170, 103] },
      { tag: '3', from: [90, 90], to: [90.5, 90.5] },
    ],
    tapes: [
      {
        tag: '4',
        runs: [
          [10, 80, 90, 84, 170, 80],
          [20, 70, 21, 70],
        ],
      },
      { tag: '5', runs: [] },
    ],
  })),
  lengths: Array.from({ length: lengths }, (_, k) => ({
    name: `length number-${k + 1}.`,
    kind: 'span' as const,
    byHandMm: 100 + k,
    uMm: 0.5,
    readings: 3,
    onFormMm: 100.2 + k,
    verdict: 'gave the size; agrees, +0.2 mm',
    ...(k % 7 === 3 ? { doubt: `The readings of ${words} differ` } : {}),
  })),
  chapters: [
    {
      title: 'How',
      none: 'Nothing.',
      entries: [{ title: words, sentences: [words, `${words} again.`], doubts: [words], charts: [CHART, CHART] }],
    },
    { title: 'Empty', none: 'Nothing was made.', entries: [] },
  ],
  cautions: ['Take care.', `${words} must take care.`],
});

const EVERY: readonly (readonly [string, (size: PaperSize) => PaperDocument])[] = [
  ['capture card', captureCard],
  ['blank measurement sheet', (size) => measures(size)],
  ['measurement sheet of a whole body', (size) => measures(size, 'Invented', REGION_NAMES)],
  ['measurement sheet of a long name', (size) => measures(size, LONG + LONG)],
  ['fitting sheet', (size) => fittingSheet(sheet(6), size)],
  ['fitting sheet with long words', (size) => fittingSheet(sheet(40, LONG), size)],
  ['fitting sheet of nothing', (size) => fittingSheet({ ...sheet(0), pictures: [], chapters: [], facts: [] }, size)],
];

describe.each(EVERY)('%s', (_name, compose) => {
  test.each(SIZES)('stays within what a printer can reach, nothing over anything, %s', (size) => {
    const paper = compose(size);
    expectOnPage(paper);
    expectNoOverlap(paper);
    for (const { widthMm, heightMm } of paper.pages) expect([widthMm, heightMm]).toEqual([...PAPER_SIZES_MM[size]]);
  });

  test('tells on every page which of how many it is, and has 50 mm of tape on each', async () => {
    const bytes = await writePdf(compose('a4'));
    const { pages } = await readPdf(bytes);
    for (const [index, { whole, missing }] of pages.entries()) {
      expect(whole).toContain(`${index + 1} of ${pages.length}`);
      expect(missing).toBe(0);
    }
    const drawn = await drawPage(bytes, pages.length);
    // The tape's line: find its row near the foot, then its ends.
    const rows = Array.from({ length: 200 }, (_, k) => 270 + k / 10);
    const long = rows.map((row) => inkAlong(drawn, 'row', row, 77, 133)).filter(([a, b]) => b - a > 40);
    expect(long.length).toBeGreaterThan(0);
    const [first, last] = long.at(-1) as [number, number];
    // Centres of the outer ticks of 0.18 mm are 50 mm apart.
    expect(last - first).toBeGreaterThan(49.95);
    expect(last - first).toBeLessThan(50.35);
  });

  test('prints in grey: no pixel has a colour', async () => {
    const { pixels } = await drawPage(await writePdf(compose('letter')), 1, 3);
    let coloured = 0;
    for (let at = 0; at < pixels.length; at += 4) {
      if (pixels[at] !== pixels[at + 1] || pixels[at] !== pixels[at + 2]) coloured++;
    }
    expect(coloured).toBe(0);
  });
});

describe('scale card', () => {
  /** Where black turns to white along a line through a target's quarters: its centre, to a pixel of 0.1 mm. */
  function turnAlong(drawn: Drawn, way: 'row' | 'column', across: number, near: number): number {
    const dark = (at: number): boolean => (way === 'row' ? drawn.greyAt(at, across) : drawn.greyAt(across, at)) < 128;
    const before = dark(near - 3);
    for (let at = near - 3; at < near + 3; at += 0.1) if (dark(at) !== before) return at - 0.05;
    throw new Error('no turn found');
  }

  test.each(SIZES)('its targets are drawn 150 and 100 mm apart, centre to centre, on %s', async (size) => {
    const paper = captureCard(size);
    const number = paper.pages.length;
    const drawn = await drawPage(await writePdf(paper), number);
    // Rough places by the letters beside the targets; the centres themselves are found on the drawn page.
    const letters = paper.pages[number - 1]?.items.filter(
      (item) => item.kind === 'text' && /^[ABCD]$/.test(item.text),
    ) as Extract<PaperItem, { kind: 'text' }>[];
    const centres = Object.fromEntries(
      letters.map(({ text, at }) => {
        const [x, y] = [at[0] + (text === 'A' || text === 'D' ? -13 : 13), at[1] - 2.2];
        return [text, [turnAlong(drawn, 'row', y - 4, x), turnAlong(drawn, 'column', x - 4, y)] as const];
      }),
    );
    const apart = (a: string, b: string): number => {
      const [[ax, ay], [bx, by]] = [centres[a], centres[b]] as unknown as [[number, number], [number, number]];
      return Math.hypot(ax - bx, ay - by);
    };
    for (const [a, b, mm] of [
      ['A', 'B', 150],
      ['D', 'C', 150],
      ['A', 'D', 100],
      ['B', 'C', 100],
      // Pythagoras.
      ['A', 'C', 180.28],
      ['B', 'D', 180.28],
    ] as const)
      expect(Math.abs(apart(a, b) - mm), `${a}${b}`).toBeLessThan(0.16);
  });
});

test.each(REGION_NAMES)(
  'the measurement sheet has every length of the %s with its way and three boxes',
  async (name) => {
    const { measures: kinds, landmarks } = REGIONS[name];
    const { pages } = await readPdf(await writePdf(measures('a4', 'Łucja Invented', [name])));
    const whole = pages.map((page) => page.whole).join(' ');
    for (const kind of kinds) {
      expect(whole.toLowerCase()).toContain(kind.name.toLowerCase());
      expect(whole).toContain(kind.how);
    }
    for (const nth of ['1st', '2nd', '3rd']) expect(whole.split(nth).length - 1).toBe(kinds.length);
    expect(whole).toContain('Łucja Invented');
    const used = new Set(kinds.flatMap((kind) => kind.landmarks));
    for (const landmark of landmarks) if (used.has(landmark.name)) expect(whole).toContain(landmark.where);
  },
);

test('a long fitting sheet flows over pages, says its table’s head on each, and loses no row', async () => {
  const { pages } = await readPdf(await writePdf(fittingSheet(sheet(300), 'a4')));
  expect(pages.length).toBeGreaterThan(6);
  const whole = pages.map((page) => page.whole).join(' ');
  for (let k = 1; k <= 300; k++) expect(whole.split(`number-${k}.`).length - 1, `row ${k}`).toBe(1);
  for (const page of pages) if (page.whole.includes('number-')) expect(page.whole).toContain('On the form');
  expect(whole).toContain('Nothing was made.');
  expect(pages[0]?.pictures).toEqual(['From the front', 'From the left']);
});

test('a perimeter chart is drawn as the wearer sees it: what is clear to their left lies at the left', async () => {
  // From the left over up, right and down: 60° to the left, 30° else; 90° without the part.
  const clearDeg = Array.from({ length: 120 }, (_, k) => (k < 8 || k > 112 ? 60 : 30));
  const items = perimeterItems({ caption: '', clearDeg, naturalDeg: Array(120).fill(90) }, 20, 20, 120);
  const drawn = await drawPage(
    await writePdf({ title: 'Chart', pages: [{ widthMm: 210, heightMm: 297, items }] }),
    1,
    4,
  );
  // Half a mm is a degree; the middle is at 80, 80. Between lines and rings: white where clear, grey where hidden.
  const toneAt = (right: number, up: number): number => drawn.greyAt(80 + right / 2, 80 - up / 2);
  expect(toneAt(-45, 6)).toBe(255);
  expect(toneAt(45, 6)).toBeLessThan(230);
  expect(toneAt(6, 45)).toBeLessThan(230);
  expect(toneAt(6, -45)).toBeLessThan(230);
  expect(toneAt(20, 8)).toBe(255);
  expect(toneAt(-100, 20)).toBe(255);
});
