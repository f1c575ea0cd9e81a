/** The fitting sheet: what is known of a form and what was made over it, to lie beside the work and in the files. */
import type { PaperDocument, PaperItem, PaperSize } from '../../shared-types/paper.ts';
import { FAINT, HAIRLINE_MM, PageFlow, SMALL_MM, TEXT_MM, type Column } from './page-flow.ts';
import { perimeterItems, type PerimeterChart } from './perimeter-chart.ts';
import { linesOf } from './typeface.ts';

export interface SheetPicture {
  readonly png: Uint8Array<ArrayBuffer>;
  readonly caption: string;
  /** What it spans on the body, mm. */
  readonly widthMm: number;
  readonly heightMm: number;
  /** Lengths to draw over it, ends in mm on the body from the picture's upper left corner. */
  readonly lengths: readonly {
    /** Its number in the table. */
    readonly tag: string;
    readonly from: readonly [number, number];
    readonly to: readonly [number, number];
  }[];
  /** Tapes, as far as they are seen: lines of x, y pairs, as above. */
  readonly tapes: readonly { readonly tag: string; readonly runs: readonly (readonly number[])[] }[];
}

export interface SheetLength {
  /** Number on the pictures. */
  readonly tag?: string;
  readonly name: string;
  readonly kind: 'span' | 'girth' | 'arc';
  /** Mean by hand and its standard uncertainty, and of how many readings. */
  readonly byHandMm?: number;
  readonly uMm?: number;
  readonly readings?: number;
  readonly onFormMm?: number;
  /** What comparing them says: "agrees", "held back, agrees"... */
  readonly verdict?: string;
  readonly doubt?: string;
}

export interface SheetTable {
  readonly columns: readonly Column[];
  readonly rows: readonly (readonly string[])[];
}

/** One thing with its evidence: a step of the form, a liner, a part tried on... */
export interface SheetEntry {
  readonly title: string;
  readonly sentences: readonly string[];
  readonly doubts?: readonly string[];
  readonly table?: SheetTable | undefined;
  readonly charts?: readonly PerimeterChart[];
  /** In small print, after all else. */
  readonly notes?: readonly string[];
}

export interface SheetChapter {
  readonly title: string;
  /** Said when there are no entries. */
  readonly none: string;
  readonly entries: readonly SheetEntry[];
}

export interface FittingSheet {
  readonly title: string;
  /** Under the title: whose, which making, which day. */
  readonly under: string;
  readonly facts: readonly (readonly [string, string])[];
  readonly pictures: readonly SheetPicture[];
  readonly lengths: readonly SheetLength[];
  readonly chapters: readonly SheetChapter[];
  readonly cautions: readonly string[];
}

const PICTURE_GAP_MM = 6;
const TALLEST_PICTURE_MM = 105;

export function fittingSheet(sheet: FittingSheet, size: PaperSize): PaperDocument {
  const flow = new PageFlow(`Fitting sheet: ${sheet.title}`, size, sheet.under);
  flow.head(sheet.title, sheet.under);
  flow.facts(sheet.facts);
  if (sheet.pictures.length > 0) pictureRow(flow, sheet.pictures);
  flow.heading('Lengths');
  if (sheet.lengths.length === 0)
    flow.paragraph('No length of this wearer is known: the size of this form rests on nothing.');
  else lengthTable(flow, sheet.lengths);
  for (const { title, none, entries } of sheet.chapters) {
    flow.heading(title);
    if (entries.length === 0) flow.paragraph(none, { grey: FAINT });
    for (const entry of entries) writeEntry(flow, entry);
  }
  if (sheet.cautions.length > 0) {
    flow.heading('Take care');
    flow.list(sheet.cautions);
  }
  signatures(flow);
  return flow.finish();
}

/** All at one scale, side by side, and the scale is said. */
function pictureRow(flow: PageFlow, pictures: readonly SheetPicture[]): void {
  const wide = pictures.reduce((sum, { widthMm }) => sum + widthMm, 0);
  const tall = Math.max(...pictures.map(({ heightMm }) => heightMm));
  const room = flow.innerMm - PICTURE_GAP_MM * (pictures.length - 1);
  const scale = Math.min(room / wide, TALLEST_PICTURE_MM / tall);
  flow.need(tall * scale + 12);
  let x = flow.left + (room - wide * scale) / 2;
  for (const { png, caption, widthMm, heightMm, lengths, tapes } of pictures) {
    const [width, height] = [widthMm * scale, heightMm * scale];
    flow.place({ kind: 'picture', png, at: [x, flow.y], widthMm: width, heightMm: height, words: caption });
    const words = `${caption}, 1 : ${(1 / scale).toFixed(2)}`;
    flow.text(words, [x + width / 2, flow.y + tall * scale + 4], { sizeMm: SMALL_MM, align: 'middle' });
    const [left, top] = [x, flow.y];
    const onPaper = ([px, py]: Place): Place => [left + px * scale, top + py * scale];
    const tags: Place[] = [];
    for (const tape of tapes) flow.place(...tapeLines(tape, onPaper, tags));
    for (const length of lengths) flow.place(...dimension(length, onPaper, tags));
    x += width + PICTURE_GAP_MM;
  }
  flow.space(tall * scale + 7);
}

/** Where along a line its number may stand. */
const TAG_PLACES = [0.5, 0.32, 0.68, 0.2, 0.8] as const;
const TAG_RADIUS_MM = 1.7;
/** Shorter ones on the paper are only in the table. */
const SHORTEST_DRAWN_MM = 4;

type Place = readonly [number, number];

const DRAWN_PEN_MM = 0.3;

/** A calliper's line with a stroke across at both ends, and its number. */
function dimension(length: SheetPicture['lengths'][number], onPaper: (at: Place) => Place, tags: Place[]): PaperItem[] {
  const [[ax, ay], [bx, by]] = [onPaper(length.from), onPaper(length.to)];
  const across = Math.hypot(bx - ax, by - ay);
  if (across < SHORTEST_DRAWN_MM) return [];
  const [nx, ny] = [(1.4 * (by - ay)) / across, (-1.4 * (bx - ax)) / across];
  const line = (...points: number[]): PaperItem => ({ kind: 'line', points, penMm: DRAWN_PEN_MM });
  const places = TAG_PLACES.map((share): Place => [ax + share * (bx - ax), ay + share * (by - ay)]);
  return [
    line(ax, ay, bx, by),
    line(ax - nx, ay - ny, ax + nx, ay + ny),
    line(bx - nx, by - ny, bx + nx, by + ny),
    ...tagItems(length.tag, places, tags),
  ];
}

/** A tape: a light band with a dark line in it, and its number on the longest stretch. */
function tapeLines(tape: SheetPicture['tapes'][number], onPaper: (at: Place) => Place, tags: Place[]): PaperItem[] {
  const runs = tape.runs.map((run) =>
    Array.from({ length: run.length / 2 }, (_, k) => onPaper([run[2 * k] as number, run[2 * k + 1] as number])),
  );
  const lengthOf = (run: readonly Place[]): number =>
    run.slice(1).reduce((sum, [x, y], k) => sum + Math.hypot(x - run[k][0], y - run[k][1]), 0);
  const longest = runs.reduce((best, run) => (lengthOf(run) > lengthOf(best) ? run : best), runs[0] ?? []);
  if (lengthOf(longest) < SHORTEST_DRAWN_MM) return [];
  const lines = runs.flatMap((run): PaperItem[] => [
    { kind: 'line', points: run.flat(), penMm: 4 * DRAWN_PEN_MM, grey: 1 },
    { kind: 'line', points: run.flat(), penMm: DRAWN_PEN_MM, dashMm: [1.5, 0.6] },
  ]);
  const places = TAG_PLACES.map((share) => longest[Math.round(share * (longest.length - 1))]);
  return [...lines, ...tagItems(tape.tag, places, tags)];
}

/** A number in a ring at the first place that is clear of the numbers before, else at the clearest. */
function tagItems(tag: string, places: readonly Place[], tags: Place[]): PaperItem[] {
  const roomAt = (place: Place): number => Math.min(...tags.map(([x, y]) => Math.hypot(x - place[0], y - place[1])));
  const free = places.find((place) => roomAt(place) > 2.5 * TAG_RADIUS_MM);
  const at = free ?? places.reduce((best, place) => (roomAt(place) > roomAt(best) ? place : best));
  tags.push(at);
  const ring = Array.from({ length: 24 }, (_, k) => (2 * Math.PI * k) / 24).flatMap((angle) => [
    at[0] + TAG_RADIUS_MM * Math.cos(angle),
    at[1] + TAG_RADIUS_MM * Math.sin(angle),
  ]);
  return [
    { kind: 'line', points: ring, closed: true, penMm: 0.25, fillGrey: 1 },
    { kind: 'text', text: tag, at: [at[0], at[1] + 0.8], sizeMm: 2.3, style: 'bold', align: 'middle' },
  ];
}

const mm = (value: number, digits = 1): string => `${value.toFixed(digits)} mm`;

function lengthTable(flow: PageFlow, lengths: readonly SheetLength[]): void {
  const columns: readonly Column[] = [
    { head: '', share: 0.7 },
    { head: 'Length', share: 4.4 },
    { head: 'By hand', share: 3, align: 'right' },
    { head: 'Readings', share: 1.6, align: 'right' },
    { head: 'On the form', share: 2.3, align: 'right' },
    { head: '', share: 0.3 },
    { head: 'So', share: 5.7 },
  ];
  const rows = lengths.map(({ tag, name, kind, byHandMm, uMm, readings, onFormMm, verdict, doubt }) => [
    tag ?? '',
    kind === 'span' ? name : `${name} (${kind})`,
    byHandMm === undefined ? '' : uMm === undefined ? mm(byHandMm) : `${byHandMm.toFixed(1)} ± ${mm(uMm)}`,
    readings === undefined ? '' : `${readings}`,
    onFormMm === undefined ? '' : mm(onFormMm),
    '',
    [verdict, doubt].filter((text) => text !== undefined).join('. '),
  ]);
  flow.table(columns, rows);
  flow.paragraph(
    '± is the standard uncertainty of the mean; “agrees” is within twice that of hand and form together.',
    {
      sizeMm: SMALL_MM,
      grey: FAINT,
    },
  );
}

const CHART_MM = 52;

function chartRow(flow: PageFlow, charts: readonly PerimeterChart[]): void {
  flow.need(CHART_MM + 8);
  const step = flow.innerMm / charts.length;
  for (const [index, chart] of charts.entries()) {
    const x = flow.left + (index + 0.5) * step - CHART_MM / 2;
    flow.place(...perimeterItems(chart, x, flow.y + 2, CHART_MM));
  }
  flow.space(CHART_MM + 8);
}

function writeEntry(
  flow: PageFlow,
  { title, sentences, doubts = [], table, charts = [], notes = [] }: SheetEntry,
): void {
  // A title does not stand alone at the foot of a page, nor without the head of its table.
  flow.need(TEXT_MM * (table === undefined ? 5 : 10));
  flow.space(1.2);
  flow.paragraph(title, { style: 'bold' });
  if (sentences.length > 0) flow.paragraph(sentences.join(' '));
  for (const doubt of doubts) {
    // A mark, not a colour: it must be seen on a grey print.
    const lines = linesOf(doubt, flow.innerMm - 6, TEXT_MM);
    flow.need(lines.length * TEXT_MM * 1.4);
    const top = flow.y + 1;
    flow.paragraph(doubt, {}, flow.left + 6);
    flow.place({ kind: 'line', points: [flow.left + 2.5, top, flow.left + 2.5, flow.y], penMm: 1 });
  }
  if (table !== undefined && table.rows.length > 0) flow.table(table.columns, table.rows);
  if (charts.length > 0) chartRow(flow, charts);
  if (notes.length > 0) flow.paragraph(notes.join(' '), { sizeMm: SMALL_MM });
}

const NOTE_LINES = 3;
const NOTE_LINE_MM = 8;

/** Room to write on at the fitting. */
function signatures(flow: PageFlow): void {
  flow.need(17 + NOTE_LINES * NOTE_LINE_MM);
  flow.space(11);
  const rule = (x: number, widthMm: number): void =>
    flow.place({ kind: 'line', points: [x, flow.y, x + widthMm, flow.y], penMm: HAIRLINE_MM });
  const half = (flow.innerMm - 8) / 2;
  for (const [index, label] of ['Tried on by, day', 'Worn for how long'].entries()) {
    const x = flow.left + index * (half + 8);
    rule(x, half);
    flow.text(label, [x, flow.y + 3.4], { sizeMm: SMALL_MM, grey: FAINT });
  }
  flow.space(4);
  for (let line = 0; line < NOTE_LINES; line++) {
    flow.space(NOTE_LINE_MM);
    rule(flow.left, flow.innerMm);
  }
  flow.text('What is to be changed', [flow.left, flow.y + 3.4], { sizeMm: SMALL_MM, grey: FAINT });
  flow.space(6);
}
