/** A sheet to take along to the wearer: each length of a body region with a picture, how it is taken, and boxes to write. */
import type { BodyRegion, LandmarkKind, MeasureKind } from '../../shared-types/measures/index.ts';
import { measurePicture, type MeasurePicture } from '../../shared-types/measures/pictures.ts';
import type { PaperDocument, PaperSize } from '../../shared-types/paper.ts';
import { READING_SPREAD_LIMIT } from '../../shared-types/tolerances.ts';
import { FAINT, HAIRLINE_MM, PageFlow, rectangle, SMALL_MM, TEXT_MM } from './page-flow.ts';
import { LINE_FACTOR, linesOf } from './typeface.ts';

/** As much of a body region as a sheet needs. */
export type SheetRegion = Pick<BodyRegion, 'title' | 'isPaired' | 'landmarks' | 'measures'>;

export interface MeasurementSheetOptions {
  readonly regions: readonly SheetRegion[];
  readonly size: PaperSize;
  /** Left open to be written when not given. */
  readonly wearerName?: string;
}

const PICTURE_MM = 20;
/** Pictures are drawn in a box of so many units. */
const PICTURE_UNITS = 100;
const TINY_MM = 2.3;
const BOX_MM = { width: 22, height: 11.5, gap: 2 } as const;
const KIND_WORDS: Readonly<Record<MeasureKind['kind'], string>> = {
  span: 'span: straight, by calliper',
  girth: 'girth: all round, by tape',
  arc: 'arc: along the surface, by tape',
};

const RULES: readonly string[] = [
  'Take every length three times, with the instrument taken off in between, and write each reading as it is, in mm. Do not look at the one before.',
  'If the three differ by more than is said beside them, take a fourth, and strike out the one that was wrong so that it stays readable.',
  'Touch, do not press. A tape lies taut and flat, square to the body; a calliper’s tips rest on the skin.',
  'Left and right are the wearer’s own. Mark the points with a skin pencil or small stickers first, if the wearer agrees.',
];

/** Each region begins on a page of its own; the points' descriptions close it. */
export function measurementSheet(options: MeasurementSheetOptions): PaperDocument {
  const { regions, size, wearerName } = options;
  const [first] = regions;
  const name = regions.length === 1 && first !== undefined ? `Measurement sheet: ${first.title}` : 'Measurement sheet';
  const flow = new PageFlow(name, size, wearerName ?? 'Wearwright measurement sheet');
  for (const [index, { title, isPaired, measures, landmarks }] of regions.entries()) {
    if (index > 0) flow.newPage();
    flow.head(
      `Measurements: ${title}`,
      'Everything in millimetres. Fill it in by hand, then type it into the wearer’s sheet.',
    );
    writingLines(flow, [
      ['Wearer', wearerName ?? '', 3],
      ['Day', '', 1.3],
    ]);
    writingLines(flow, [
      ['Taken by', '', 1.6],
      ['Instruments and their numbers', '', isPaired ? 1.7 : 2.7],
      ...(isPaired ? ([['Left or right', '', 1]] as const) : []),
    ]);
    flow.space(1);
    flow.list(RULES, true);
    flow.space(1);
    for (const measure of measures) measureRow(flow, measure, landmarks, measurePicture(measure.name));
    const used = new Set(measures.flatMap((measure) => measure.landmarks));
    flow.heading('The points');
    flow.table(
      [
        { head: 'Point', share: 3 },
        { head: 'Where it is', share: 7 },
      ],
      pointRows(landmarks.filter((landmark) => used.has(landmark.name))),
      SMALL_MM,
    );
  }
  return flow.finish();
}

/** Labels over lines to write on; shares of the width. */
function writingLines(
  flow: PageFlow,
  fields: readonly (readonly [label: string, value: string, share: number])[],
): void {
  const shares = fields.reduce((sum, [, , share]) => sum + share, 0);
  const gap = 5;
  let x = flow.left;
  const y = flow.y + 8.5;
  for (const [label, value, share] of fields) {
    const width = ((flow.innerMm + gap) * share) / shares - gap;
    const [line = ''] = linesOf(value, width - 1, TEXT_MM * 1.15, 'bold');
    if (line !== '') flow.text(line, [x + 0.5, y - 1.2], { sizeMm: TEXT_MM * 1.15, style: 'bold' });
    flow.place({ kind: 'line', points: [x, y, x + width, y], penMm: HAIRLINE_MM });
    flow.text(label, [x, y + 3.2], { sizeMm: SMALL_MM, grey: FAINT });
    x += width + gap;
  }
  flow.space(13.5);
}

function measureRow(
  flow: PageFlow,
  measure: MeasureKind,
  landmarks: readonly LandmarkKind[],
  picture: MeasurePicture | undefined,
): void {
  const boxesMm = 3 * BOX_MM.width + 2 * BOX_MM.gap;
  const boxX = flow.left + flow.innerMm - boxesMm;
  const textX = flow.left + (picture === undefined ? 0 : PICTURE_MM + 4);
  const textMm = boxX - textX - 4;
  const titles = measure.landmarks.map((name) => small(landmarks.find((one) => one.name === name)?.title ?? name));
  const between = measure.kind === 'span' ? `From ${titles.join(' to ')}.` : `By way of ${titles.join('; ')}.`;
  const lines = [
    ...linesOf(measure.how, textMm, SMALL_MM).map((text) => ({ text, grey: 0 })),
    ...linesOf(between, textMm, SMALL_MM).map((text) => ({ text, grey: FAINT })),
  ];
  const lineMm = SMALL_MM * LINE_FACTOR;
  const textHeightMm = 2 * TEXT_MM * LINE_FACTOR + lines.length * lineMm + 2;
  const heightMm = Math.max(picture === undefined ? 0 : PICTURE_MM, textHeightMm, BOX_MM.height + 7) + 3;
  flow.need(heightMm);
  flow.place({
    kind: 'line',
    points: [flow.left, flow.y, flow.left + flow.innerMm, flow.y],
    penMm: HAIRLINE_MM,
    grey: 0.6,
  });
  const top = flow.y + 1.5;
  if (picture !== undefined) drawPicture(flow, picture, flow.left, top);
  flow.text(capital(measure.name), [textX, top + TEXT_MM], { style: 'bold', sizeMm: TEXT_MM * 1.1 });
  flow.text(KIND_WORDS[measure.kind], [textX, top + TEXT_MM + lineMm], { sizeMm: SMALL_MM, grey: FAINT });
  for (const [index, { text, grey }] of lines.entries()) {
    flow.text(text, [textX, top + TEXT_MM + (index + 2.2) * lineMm], { sizeMm: SMALL_MM, grey });
  }
  for (const [index, label] of ['1st', '2nd', '3rd'].entries()) {
    const x = boxX + index * (BOX_MM.width + BOX_MM.gap);
    flow.place({ kind: 'line', points: rectangle(x, top, BOX_MM.width, BOX_MM.height), closed: true, penMm: 0.25 });
    flow.text(label, [x + 1, top + 3], { sizeMm: TINY_MM, grey: FAINT });
    flow.text('mm', [x + BOX_MM.width - 1, top + BOX_MM.height - 1.3], {
      sizeMm: TINY_MM,
      grey: FAINT,
      align: 'right',
    });
  }
  const tiny = { sizeMm: TINY_MM, grey: FAINT } as const;
  const lineY = top + BOX_MM.height + 3.4;
  const mostMm = READING_SPREAD_LIMIT * measure.uMm;
  flow.text(`with a ${measure.instrument}; a fourth if they differ by over ${mostMm} mm`, [boxX, lineY], tiny);
  if (measure.range !== undefined) {
    const [least, most] = measure.range.mm;
    const words = {
      seen: 'seen in the 2012 survey',
      widened: 'to be expected after the 2012 survey',
      judged: 'to be expected',
    };
    flow.text(`${words[measure.range.from]}: ${least} to ${most} mm`, [boxX, lineY + TINY_MM * LINE_FACTOR], tiny);
  }
  flow.space(heightMm);
}

function drawPicture(flow: PageFlow, { outline, mark }: MeasurePicture, x: number, y: number): void {
  const placed = (points: readonly number[]): number[] =>
    points.map((value, k) => (k % 2 === 0 ? x : y) + (value * PICTURE_MM) / PICTURE_UNITS);
  for (const points of outline) flow.place({ kind: 'line', points: placed(points), penMm: 0.25, grey: 0.45 });
  for (const points of mark) flow.place({ kind: 'line', points: placed(points), penMm: 0.5 });
}

/** A point of both sides takes one row. */
function pointRows(points: readonly LandmarkKind[]): string[][] {
  const names = new Set(points.map(({ name }) => name));
  return points.flatMap(({ name, title, where, mirror }) => {
    if (mirror === undefined || !names.has(mirror)) return [[title, where]];
    return name.endsWith('-left') ? [[title.replace(/, left$/, ', left and right'), where]] : [];
  });
}

const small = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);
const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
