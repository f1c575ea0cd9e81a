/** SVG read by a browser, DXF by a library: neither knows our writers. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import * as dxf from 'dxf-parser';
import type { Browser } from 'playwright-core';
import { writeDxf } from '../../electron/formats/dxf-write.ts';
import { writeSvg } from '../../electron/formats/svg-write.ts';
import type { Drawing } from '../../shared-types/drawing.ts';
import { openBrowser } from '../support/browser.ts';

/** Its types tell of a module with names, its file is one with a default. */
const { default: DxfParser } = dxf as unknown as { default: typeof dxf.DxfParser };

const turn = (i: number): number => (2 * Math.PI * i) / 72;
const circle = Array.from({ length: 72 }, (_, i) => [60 + 40 * Math.cos(turn(i)), 70 + 40 * Math.sin(turn(i))]).flat();
/** Perimeter of a regular polygon of 72 corners in a circle of 40 mm. */
const ROUND_MM = 72 * 2 * 40 * Math.sin(Math.PI / 72);

const drawing: Drawing = {
  title: 'Pads <1> & "2"',
  widthMm: 200,
  heightMm: 150,
  shapes: [
    { kind: 'path', layer: 'cut', points: circle, closed: true },
    { kind: 'path', layer: 'notch', points: [100, 70, 104, 73], closed: false },
    { kind: 'text', layer: 'text', text: 'Größe 3 & <b>', at: [60, 70], sizeMm: 5 },
  ],
};

/** Asked of the page, whose types this side does not have. */
const IN_THE_PAGE = `(() => {
  const path = (id) => document.querySelector('#' + id + ' path');
  const box = path('cut').getBBox();
  return {
    trouble: document.querySelector('parsererror')?.textContent ?? null,
    cut: path('cut').getTotalLength(),
    notch: path('notch').getTotalLength(),
    box: [box.x, box.y, box.width, box.height],
    screen: path('cut').getBoundingClientRect().height,
    width: document.documentElement.getBoundingClientRect().width,
    text: document.querySelector('#text text').textContent,
    title: document.querySelector('title').textContent,
  };
})()`;

describe('SVG', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser.close());

  it('is 1:1 in a browser: lengths in mm, 96 px an inch, y downward', async () => {
    const page = await browser.newPage();
    const source = new TextDecoder().decode(writeSvg(drawing));
    await page.goto(`data:image/svg+xml;base64,${Buffer.from(source).toString('base64')}`);
    const seen = (await page.evaluate(IN_THE_PAGE)) as {
      trouble: string | null;
      cut: number;
      notch: number;
      box: number[];
      screen: number;
      width: number;
      text: string;
      title: string;
    };
    await page.close();
    expect(seen.trouble).toBeNull();
    expect(seen.cut).toBeCloseTo(ROUND_MM, 1);
    expect(seen.notch).toBeCloseTo(5, 3);
    expect(seen.box.map((one) => Math.round(one * 100) / 100)).toEqual([20, 40, 80, 80]);
    // CSS: 25.4 mm are 96 px.
    expect(seen.width).toBeCloseTo((200 * 96) / 25.4, 1);
    expect(Math.abs(seen.screen - (80 * 96) / 25.4)).toBeLessThan(1.5);
    expect(seen.text).toBe('Größe 3 & <b>');
    expect(seen.title).toBe(drawing.title);
  });
});

interface Entity {
  readonly type: string;
  readonly layer: string;
  readonly shape?: boolean;
  readonly vertices?: readonly { x: number; y: number }[];
  readonly text?: string;
  readonly textHeight?: number;
}

describe('DXF', () => {
  const source = new TextDecoder().decode(writeDxf(drawing));
  const read = new DxfParser().parseSync(source) as unknown as {
    header: Record<string, unknown>;
    tables: { layer: { layers: Record<string, unknown> } };
    entities: readonly Entity[];
  };

  it('says it is in millimetres, on named layers', () => {
    expect(read.header['$INSUNITS']).toBe(4);
    expect(read.header['$MEASUREMENT']).toBe(1);
    expect(Object.keys(read.tables.layer.layers)).toEqual(['CUT', 'SEAM', 'NOTCH', 'GRAIN', 'TEXT', 'SHEET']);
  });

  it('holds the outline closed, at its size, y upward', () => {
    const [cut, notch] = read.entities;
    expect(cut).toMatchObject({ type: 'POLYLINE', layer: 'CUT', shape: true });
    const at = cut.vertices ?? [];
    let round = 0;
    for (const [i, one] of at.entries()) {
      const next = at[(i + 1) % at.length];
      round += Math.hypot(next.x - one.x, next.y - one.y);
    }
    expect(round).toBeCloseTo(ROUND_MM, 2);
    expect(Math.max(...at.map((one) => one.y))).toBeCloseTo(110, 3);
    expect(notch).toMatchObject({ layer: 'NOTCH', shape: false });
    expect(notch.vertices).toHaveLength(2);
  });

  it('is plain ASCII with CR LF, and its text comes back', () => {
    expect(/^[\x20-\x7e\r\n]*$/.test(source)).toBe(true);
    expect(source.split('\r\n').length).toBe(source.split('\n').length);
    expect(read.entities[2]).toMatchObject({ type: 'TEXT', textHeight: 5 });
    expect(read.entities[2].text).toMatch(/^Gr(ö|\\U\+00F6)(ß|\\U\+00DF)e 3 & <b>$/);
  });
});
