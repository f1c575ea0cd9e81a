import { describe, expect, it } from 'vitest';
import type { z } from 'zod';
import type { patternFigures } from '../../shared-types/operations/pattern.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { PAPER_SIZES_MM, type PaperDocument, type PaperItem } from '../../shared-types/paper.ts';
import { patternOperation } from '../../electron/operations/pattern.ts';
import { clipped, composePatternPaper } from '../../electron/operations/pattern-pages.ts';
import { writeCsv } from '../../electron/operations/pattern-sheets.ts';
import type { CutPiece } from '../../electron/operations/pattern-piece.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { scaling } from '../../electron/geometry/mesh/transform.ts';
import { cap, tube } from '../support/caps.ts';
import { soup } from '../support/meshes.ts';
import { ellipsoid, sphere } from '../support/solids.ts';
import { input } from './samples.ts';

type Figures = z.output<typeof patternFigures>;
const words = new TextDecoder();

function pattern(mesh: Mesh, parameters: Record<string, unknown>) {
  const outcome = runOperation(patternOperation, [input(mesh)], parameters);
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  const { figures, files = [], papers = [] } = outcome.value;
  return { figures: figures as Figures, files, papers, warnings: outcome.warnings };
}

function faultOf(mesh: Mesh, parameters: Record<string, unknown>) {
  const outcome = runOperation(patternOperation, [input(mesh)], parameters);
  return outcome.ok ? undefined : outcome.fault.code;
}

describe('pattern', () => {
  it('of a tube in 10 mm foam is as long as the circle of its middle, 2 pi (40 + 5), outside and 2 pi (40 - 5) inside', () => {
    for (const [inward, radius] of [
      [false, 45],
      [true, 35],
    ] as const) {
      const { figures } = pattern(tube(40, 40, 100, 90, 10), {
        foamMm: 10,
        patch: { whole: true, grain: [0, 0, 1] },
        smoothMm: 0,
        inward,
      });
      expect(figures.pieces).toHaveLength(1);
      expect(Math.abs(figures.pieces[0].widthMm - 2 * Math.PI * radius)).toBeLessThan(0.1);
      expect(figures.pieces[0].heightMm).toBeCloseTo(100, 2);
      expect(figures.pieces[0].strainMaxPercent).toBeLessThan(0.001);
      expect(figures.middleMm).toBe(inward ? -5 : 5);
    }
  });

  it('widens the outline by the allowance and keeps the area covered', () => {
    const mesh = tube(40, 40, 100, 90, 10);
    const patch = { whole: true, grain: [0, 0, 1] };
    const plain = pattern(mesh, { foamMm: 0, patch, smoothMm: 0 }).figures.pieces[0];
    const wide = pattern(mesh, { foamMm: 0, patch, smoothMm: 0, allowanceMm: 7 }).figures.pieces[0];
    expect(wide.widthMm - plain.widthMm).toBeCloseTo(14, 3);
    expect(wide.heightMm - plain.heightMm).toBeCloseTo(14, 3);
    expect(wide.areaMm2).toBeCloseTo(plain.areaMm2, 6);
  });

  it('cut by two planes makes four quarters whose seams agree within 0.5 mm', () => {
    const { figures, files, papers } = pattern(cap(90, 0.9, 12), {
      foamMm: 6,
      patch: {
        whole: true,
        name: 'cap',
        seams: [
          { name: 'middle', plane: [0, 0, 0, 0, 1, 0] },
          { name: 'across', plane: [0, 0, 0, 1, 0, 0] },
        ],
      },
      relief: 'none',
      mirror: true,
      allowanceMm: 5,
    });
    expect(figures.pieces.map((piece) => piece.name)).toEqual(['cap 1', 'cap 2', 'cap 3', 'cap 4']);
    expect(figures.pieces.every((piece) => piece.mirrored === 1)).toBe(true);
    expect(figures.lines).toHaveLength(2);
    expect(figures.lines[0].sides.length).toBeGreaterThanOrEqual(4);
    expect(figures.notchMismatchMm).toBeLessThan(0.5);
    // The middle of 6 mm foam lies on a sphere of 93 mm: both seams are arcs of twice 0.9 rad.
    for (const line of figures.lines) expect(Math.abs(line.lengthMm - 93 * 1.8)).toBeLessThan(0.5);
    expect(files.map((file) => file.name)).toEqual([
      'pattern-sheet-1.svg',
      'pattern-sheet-1.dxf',
      'cut-list.csv',
      'on-body.json',
    ]);
    expect(papers.map((paper) => paper.name)).toEqual(['pattern.pdf']);
    const svg = words.decode(files[0].bytes);
    expect(svg.match(/<g id="cut"[\s\S]*?<\/g>/)?.[0].match(/<path/g)).toHaveLength(8);
    expect(svg).toContain('the mirrored one');
    const { pieces } = JSON.parse(words.decode(files[3].bytes)) as {
      pieces: { flat: number[]; body: number[]; triangles: number[]; givePercent: number[] }[];
    };
    for (const [i, { flat, body, triangles, givePercent }] of pieces.entries()) {
      expect([flat.length / 2, triangles.length / 3]).toEqual([body.length / 3, givePercent.length]);
      // The middle of the sheet, 3 mm over a sphere of 90.
      for (let v = 0; v < body.length; v += 3) {
        expect(Math.abs(Math.hypot(body[v], body[v + 1], body[v + 2]) - 93)).toBeLessThan(0.4);
      }
      expect(Math.max(...givePercent)).toBeCloseTo(figures.pieces[i].strainMaxPercent, 1);
    }
    const rows = words.decode(files[2].bytes).trim().split('\r\n');
    expect(rows).toHaveLength(5);
    expect(rows[1]).toMatch(/^1,cap 1,1,1,6,/);
  });

  it('takes points in the coordinates of the file', () => {
    const given = { ...input(sphere(90, 4)), fromFile: scaling(1000) };
    const outcome = runOperation(patternOperation, [given], {
      foamMm: 0,
      patch: { points: [[0, 0, 0.09]], radiusMm: 40 },
      stretchPercent: 10,
    });
    const figures = (outcome.ok ? outcome.value.figures : undefined) as Figures;
    // What lies within 40 mm straight of a point of the sphere has the area of a flat disc of 40 mm (Archimedes).
    expect(Math.abs(figures.pieces[0].areaMm2 / (Math.PI * 1600) - 1)).toBeLessThan(0.03);
  });

  it('says what cannot be: no patch, two, none there, no such face, a ball', () => {
    const head = ellipsoid(100, 77, 120, 3);
    expect(faultOf(head, { foamMm: 5 })).toBe('job.usage');
    expect(faultOf(head, { foamMm: 5, zone: 'crown', patch: { whole: true } })).toBe('job.usage');
    expect(faultOf(head, { foamMm: 5, patch: { points: [[500, 0, 0]], radiusMm: 20 } })).toBe('pattern.empty');
    expect(faultOf(head, { foamMm: 5, patch: { faces: [99_999] } })).toBe('pattern.no-face');
    expect(faultOf(head, { foamMm: 5, patch: { whole: true } })).toBe('pattern.no-disc');
    expect(faultOf(soup(ellipsoid(80, 70, 90, 3)), { foamMm: 5, patch: { whole: true } })).toBe('pattern.parts');
    const far = { whole: true, seams: [{ plane: [900, 0, 0, 1, 0, 0] }] };
    expect(faultOf(head, { foamMm: 5, patch: far })).toBe('pattern.lost-line');
    const low = { ...head, positions: head.positions.map((x, i) => (i % 3 === 2 ? x - 500 : x)) };
    expect(faultOf(low, { foamMm: 5, zone: 'crown' })).toBe('pattern.no-head');
  });

  it('tells of a piece that strains too much, and of one larger than a sheet', () => {
    const { warnings, files } = pattern(cap(120, 1.4, 10), {
      foamMm: 5,
      patch: { whole: true },
      relief: 'none',
      stretchPercent: 3,
      sheetMm: [200, 200],
    });
    expect(warnings.map((warning) => warning.code).toSorted()).toEqual(['pattern.strain', 'pattern.too-large']);
    expect(files.map((file) => file.name)).toContain('pattern-piece-1.dxf');
  });
});

/** A rectangle as a cut piece. */
const rectangle = (number: number, width: number, height: number): CutPiece => {
  const outline = [0, 0, width, 0, width, height, 0, height];
  return {
    number,
    name: `piece ${number}`,
    mirrored: false,
    outline,
    widthMm: width,
    heightMm: height,
    areaMm2: width * height,
    shapes: [{ kind: 'path', layer: 'cut', points: outline, closed: true }],
    onBody: { flat: outline, body: [], triangles: [0, 1, 2, 0, 2, 3], givePercent: [1, 4.2] },
  };
};

const compose = (pieces: readonly CutPiece[], paper: 'a4' | 'a3' | 'letter'): PaperDocument =>
  composePatternPaper(
    { title: 'Test', facts: [], cutList: [], cautions: ['Take care.'], pieces, paper, stretchPercent: 5 },
    () => {},
  );

const linesOf = (items: readonly PaperItem[], penMm: number): (readonly number[])[] =>
  items.flatMap((item) =>
    item.kind === 'line' && item.penMm === penMm && item.dashMm === undefined ? [item.points] : [],
  );

function lengthOf(points: readonly number[]): number {
  let length = 0;
  for (let i = 2; i < points.length; i += 2)
    length += Math.hypot(points[i] - points[i - 2], points[i + 1] - points[i - 1]);
  return length;
}

describe('the pages of a pattern', () => {
  it('begin with a check square of 50 mm', () => {
    const [front] = compose([rectangle(1, 60, 60)], 'a4').pages;
    const square = linesOf(front.items, 0.3).find((points) => points.length === 8) as readonly number[];
    expect([square[2] - square[0], square[5] - square[1]]).toEqual([50, 50]);
  });

  it.each(['a4', 'a3', 'letter'] as const)(
    'show all of a large piece on %s at its true size, within every page',
    (paper) => {
      const document = compose([rectangle(1, 500, 420)], paper);
      const tiles = document.pages.slice(1);
      expect(tiles.length).toBeGreaterThan(1);
      const [wide, high] = PAPER_SIZES_MM[paper];
      let drawn = 0;
      for (const page of document.pages) {
        expect([page.widthMm, page.heightMm]).toEqual([wide, high]);
        for (const item of page.items) {
          const points = item.kind === 'line' ? item.points : item.at;
          for (let i = 0; i < points.length; i += 2) {
            expect(points[i]).toBeGreaterThanOrEqual(5);
            expect(points[i]).toBeLessThanOrEqual(wide - 5);
            expect(points[i + 1]).toBeGreaterThanOrEqual(5);
            expect(points[i + 1]).toBeLessThanOrEqual(high - 5);
          }
        }
      }
      for (const page of tiles) for (const points of linesOf(page.items, 0.4)) drawn += lengthOf(points);
      // The whole outline, and what overlapping strips of 12 mm show twice: each crossing of a strip.
      expect(drawn).toBeGreaterThan(2 * (500 + 420) - 1e-6);
      const names = tiles.map((page) => page.items.flatMap((item) => (item.kind === 'text' ? [item.text] : [])));
      const parts = names.map((texts) => texts.find((text) => text.includes('part '))?.match(/part (\w\d)/)?.[1] ?? '');
      expect(new Set(parts).size).toBe(tiles.length);
      // Every page named as a neighbour is there.
      for (const texts of names) {
        for (const text of texts) {
          const joined = text.match(/^joins (\w\d)$/)?.[1];
          if (joined !== undefined) expect(parts).toContain(joined);
        }
      }
    },
  );

  it('put overlap marks of neighbours on the same place of the piece', () => {
    // 300 by 100 mm on A4: two pages side by side; the crosses lie in the strip both show.
    const tiles = compose([rectangle(1, 360, 100)], 'a4').pages.slice(1);
    expect(tiles).toHaveLength(2);
    const crosses = tiles.map((page) => linesOf(page.items, 0.2).filter((points) => points.length === 8));
    expect(crosses.map((one) => one.length)).toEqual([2, 2]);
    const middle = (points: readonly number[]): number => (points[0] + points[4]) / 2;
    // The second page begins one page less a strip further on: 186 - 12 mm.
    expect(middle(crosses[0][0]) - middle(crosses[1][0])).toBeCloseTo(186 - 12, 9);
    expect(crosses[0].map((points) => points[1])).toEqual(crosses[1].map((points) => points[1]));
  });

  it('gather small pieces on one page', () => {
    expect(
      compose(
        [1, 2, 3, 4].map((n) => rectangle(n, 70, 90)),
        'a4',
      ).pages,
    ).toHaveLength(2);
  });
});

it('a chain clipped to a box keeps what lies inside, in parts', () => {
  expect(clipped([-5, 5, 15, 5], 0, 0, 10, 10)).toEqual([[0, 5, 10, 5]]);
  expect(clipped([5, 5, 5, 15, 8, 15, 8, 5], 0, 0, 10, 10)).toEqual([
    [5, 5, 5, 10],
    [8, 10, 8, 5],
  ]);
  expect(clipped([20, 20, 30, 30], 0, 0, 10, 10)).toEqual([]);
});

it('a cut list survives commas, quotes and formulas (RFC 4180)', () => {
  expect(words.decode(writeCsv([['a,b', 'say "x"', 3, '=1+1']]))).toBe('"a,b","say ""x""",3,\'=1+1\r\n');
});
