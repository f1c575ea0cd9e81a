import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { describe, expect, test } from 'vitest';
import { linesOf, textWidthMm } from '../../electron/papers/typeface.ts';
import { missingLetters, writePdf } from '../../electron/papers/write-pdf.ts';
import { encodePng } from '../../electron/services/png.ts';
import type { PaperDocument, PaperItem } from '../../shared-types/paper.ts';
import { drawPage, inkAlong, readPdf } from './support/read-pdf.ts';

const paper = (items: readonly PaperItem[], more: Partial<PaperDocument> = {}): PaperDocument => ({
  title: 'A paper',
  pages: [{ widthMm: 210, heightMm: 297, items }],
  ...more,
});
const text = (words: string, more: object = {}): PaperItem => ({
  kind: 'text',
  text: words,
  at: [20, 40],
  sizeMm: 4,
  ...more,
});

describe('size', () => {
  const square: PaperItem = { kind: 'line', points: [20, 30, 70, 30, 70, 80, 20, 80], closed: true, penMm: 0.2 };

  test('a 50 mm square is 50 mm on the drawn page', async () => {
    const drawn = await drawPage(await writePdf(paper([square])), 1);
    // Outer edges of a pen of 0.2 mm round 50 mm; a pixel is 0.1 mm.
    for (const way of ['row', 'column'] as const) {
      const [first, last] = inkAlong(drawn, way, 50, 5, 100);
      expect(last - first).toBeGreaterThan(50.05);
      expect(last - first).toBeLessThan(50.35);
      expect((first + last) / 2).toBeCloseTo(way === 'row' ? 45 : 55, 1);
    }
  });

  test('a page is as large as it says, in points of 1/72 inch (ISO 32000-1, 8.3.2.3)', async () => {
    const { pages } = await readPdf(
      await writePdf({
        title: 'Two',
        pages: [
          { widthMm: 210, heightMm: 297, items: [square] },
          { widthMm: 279.4, heightMm: 215.9, items: [square] },
        ],
      }),
    );
    // 210 by 297 mm; 11 by 8.5 inch.
    expect(pages.map(({ sizePt }) => sizePt.map((pt) => Number(pt.toFixed(2))))).toEqual([
      [595.28, 841.89],
      [792, 612],
    ]);
  });

  test('dashes, a filled shape without outline and grey are drawn as told', async () => {
    const drawn = await drawPage(
      await writePdf(
        paper([
          { kind: 'line', points: [20, 20, 60, 20], penMm: 1, dashMm: [4, 2] },
          { kind: 'line', points: [20, 30, 40, 30, 40, 50, 20, 50], closed: true, penMm: 0, fillGrey: 0.5 },
          { kind: 'line', points: [20, 60, 40, 60, 40, 80, 20, 80], closed: true, penMm: 2, grey: 0, fillGrey: 1 },
          { kind: 'line', points: [20, 90, 40, 90], penMm: 0 },
        ]),
      ),
      1,
    );
    expect([22, 25, 28, 31].map((x) => drawn.greyAt(x, 20) > 127)).toEqual([false, true, false, true]);
    expect(drawn.greyAt(30, 40)).toBeCloseTo(128, -0.5);
    expect(drawn.greyAt(19.5, 40)).toBe(255);
    expect(drawn.greyAt(30, 70)).toBe(255);
    expect(drawn.greyAt(19.5, 70)).toBe(0);
    expect(drawn.greyAt(30, 90)).toBe(255);
  });
});

describe('letters', () => {
  const georgian = 'აბგდევზთიკლმნოპჟრსტუფქღყშჩცძწჭხჯჰ';
  /** Small letters beside a to z of languages of Europe, after Unicode CLDR's exemplar sets, from memory. */
  const LETTERS: Readonly<Record<string, string>> = {
    Polish: 'ąćęłńóśźż',
    Czech: 'áčďéěíňóřšťúůýž',
    Hungarian: 'áéíóöőúüű',
    Romanian: 'ăâîșț',
    Turkish: 'çğıöşüİ',
    Maltese: 'ċġħż',
    Latvian: 'āčēģīķļņšūž',
    Lithuanian: 'ąčęėįšųūž',
    Icelandic: 'áðéíóúýþæö',
    Welsh: 'âêîôûŵŷ',
    NorthernSami: 'áčđŋšŧž',
    German: 'äöüßẞ',
    French: 'àâæçéèêëîïôœùûüÿ',
    Catalan: 'àçéèíïóòúü·',
    Greek: 'αάβγδεέζηήθιίϊΐκλμνξοόπρσςτυύϋΰφχψωώ',
    Russian: 'абвгдеёжзийклмнопрстуфхцчшщъыьэюя',
    Ukrainian: 'ґєії’',
    Serbian: 'ђјљњћџ',
    Macedonian: 'ѓѕќ',
    Belarusian: 'ўі',
    Armenian: 'աբգդեզէըթժիլխծկհձղճմյնշոչպջռսվտրցւփքօֆև',
    Georgian: georgian,
  };

  test.each(['regular', 'bold', 'title'] as const)(
    'of all of Europe are there and come back out, %s',
    async (style) => {
      const rows = Object.values(LETTERS).flatMap((letters) => [letters, letters.toLocaleUpperCase('en')]);
      const items = rows.map((row, index) => text(row, { at: [20, 15 + index * 6], style }));
      const { pages } = await readPdf(await writePdf(paper(items)));
      const found = pages[0]?.texts.map((one) => one.text) ?? [];
      // Georgian is written without capitals; its row of them comes out as the row of letters.
      expect(found).toEqual(rows.map((row) => (row === georgian.toUpperCase() ? georgian : row.normalize('NFC'))));
      expect(pages[0]?.missing).toBe(0);
    },
  );

  test('the makers of the typeface state the same cover', () => {
    const table = readFileSync(createRequire(import.meta.url).resolve('dejavu-fonts-ttf/langcover.txt'), 'utf8');
    for (const language of ['bg', 'cs', 'cy', 'de', 'el', 'hu', 'hy', 'is', 'ka', 'lv', 'mk', 'mt', 'pl', 'ro', 'uk'])
      expect(table, language).toMatch(new RegExp(`^${language} .*?100%.*?100%`, 'm'));
  });

  test('that the typeface lacks are noticed by the reader used here', async () => {
    const { pages } = await readPdf(await writePdf(paper([text('a\u4e00b')])));
    expect(pages[0]?.missing).toBe(1);
  });

  test('that only the plain letters have are found for a title too', async () => {
    const hebrew = 'דוד';
    const bytes = await writePdf(paper([text(hebrew, { style: 'title' })]));
    expect((await readPdf(bytes)).pages[0]?.missing).toBe(0);
    expect(missingLetters(paper([text(hebrew, { style: 'title' }), text('一 and 二')]))).toBe('一二');
  });

  test('marks that stand by themselves are joined, and signs that print as nothing become blanks', async () => {
    const { pages } = await readPdf(await writePdf(paper([text('Z\u0307o\u0301l\u0142\tw\u0000x')])));
    expect(pages[0]?.whole).toBe('Żólł w x');
  });

  test('are set where they are told: left, middle, right, turned, in lines', async () => {
    const words = 'Middling words';
    const items = [
      text(words, { at: [100, 50] }),
      text(words, { at: [100, 60], align: 'middle' }),
      text(words, { at: [100, 70], align: 'right' }),
      text('turned', { at: [100, 90], turnDeg: 90 }),
      text('one two three four five six', { at: [20, 120], wrapMm: 25 }),
    ];
    const { pages } = await readPdf(await writePdf(paper(items)));
    const [left, middle, right, turned, ...lines] = pages[0]?.texts ?? [];
    const width = left?.widthMm ?? 0;
    expect(width).toBeCloseTo(textWidthMm(words, 4), 2);
    expect(left?.at[0]).toBeCloseTo(100, 3);
    expect(left?.at[1]).toBeCloseTo(50, 3);
    expect(middle?.at[0]).toBeCloseTo(100 - width / 2, 2);
    expect(right?.at[0]).toBeCloseTo(100 - width, 2);
    // Clockwise by a quarter: the base line runs down the page, which is -y of PDF.
    const [a, b] = turned?.turn ?? [];
    expect(a).toBeCloseTo(0, 6);
    expect(b).toBeLessThan(0);
    expect(lines.length).toBeGreaterThan(1);
    expect(lines.map((line) => line.text).join(' ')).toBe('one two three four five six');
    for (const line of lines) expect(line.widthMm).toBeLessThanOrEqual(25);
  });

  test('a word longer than a line is broken within, and nothing is lost', () => {
    const lines = linesOf('short Donaudampfschifffahrtsgesellschaftskapitän\n\nend', 20, 4);
    expect(lines.join('').replace('short', 'short ')).toBe('short Donaudampfschifffahrtsgesellschaftskapitänend');
    for (const line of lines) expect(textWidthMm(line, 4)).toBeLessThanOrEqual(20);
    expect(linesOf('', 20, 4)).toEqual(['']);
    // Not within a number.
    expect(linesOf('Taken at 12 345 678 points', 24, 4)).toEqual(['Taken at', '12\u00a0345\u00a0678', 'points']);
  });
});

describe('the file', () => {
  const grey = encodePng(
    Uint8Array.from({ length: 400 }, (_, k) => k % 256),
    20,
    20,
    1,
  );
  const items: PaperItem[] = [
    text('Its name', { style: 'title' }),
    { kind: 'picture', png: grey, at: [20, 60], widthMm: 40, heightMm: 40, words: 'A chequered test picture' },
  ];

  test('asks to be printed unscaled, and says its name, its language and no date', async () => {
    const bytes = await writePdf(paper(items, { title: 'Żółw', language: 'pl' }));
    const { info, preferences, pages } = await readPdf(bytes);
    // ISO 32000-1, table 150: PrintScaling None is "no page scaling".
    expect(preferences).toMatchObject({ PrintScaling: 'None', DisplayDocTitle: true });
    expect(info).toMatchObject({ Title: 'Żółw', Language: 'pl' });
    expect(info['CreationDate']).toBeUndefined();
    expect(pages[0]?.pictures).toEqual(['A chequered test picture']);
  });

  test('brings its letters: no typeface is expected on the reader’s side', async () => {
    const raw = Buffer.from(await writePdf(paper(items))).toString('latin1');
    const descriptors = raw.match(/\/Type \/FontDescriptor/g) ?? [];
    expect(descriptors.length).toBe(1);
    expect(raw.match(/\/FontFile[23]? /g) ?? []).toHaveLength(descriptors.length);
    expect(raw).not.toMatch(/\/Subtype \/Type1\b/);
  });

  test('is the same to the byte for the same paper, and has another id for another', async () => {
    const [once, twice] = [await writePdf(paper(items)), await writePdf(paper(items))];
    expect(Buffer.compare(once, twice)).toBe(0);
    const other = paper([...items.slice(0, 1), text('more')]);
    const ids = await Promise.all(
      [once, await writePdf(other)].map(async (bytes) => (await readPdf(bytes)).fingerprint),
    );
    expect(ids[0]).not.toBe(ids[1]);
  });

  test('shows a picture in its place and size', async () => {
    const drawn = await drawPage(await writePdf(paper(items)), 1, 4);
    const [first, last] = inkAlong(drawn, 'row', 61, 5, 100);
    expect(first).toBeCloseTo(20, 0);
    expect(last).toBeLessThanOrEqual(60.3);
  });

  test('a paper without pages or without words is still one', async () => {
    expect((await readPdf(await writePdf(paper([])))).pages).toHaveLength(1);
  });
});
