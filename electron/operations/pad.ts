import type { z } from 'zod';
import { ZONE_NAMES } from '../../shared-types/operations/zone-place.ts';
import { padSpecification } from '../../shared-types/operations/pad.ts';
import { some } from '../../shared-types/counts.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import type { SeamGiven } from '../geometry/flatten/lay-flat.ts';
import { liftAlong } from '../geometry/flatten/lift.ts';
import { determinant3, IDENTITY, invert, multiply, transformMesh } from '../geometry/mesh/transform.ts';
import { areaOf } from '../geometry/mesh/quantities.ts';
import { contactOf, type FoamSheet, type FoamStack, type PadContact } from '../geometry/pad/foam-stack.ts';
import {
  faceMeans,
  gapFigures,
  gapsTo,
  partWall,
  type GapFigures,
  type OverArea,
  type PartWall,
} from '../geometry/pad/gap.ts';
import { proposePads } from '../geometry/pad/propose-pads.ts';
import { stepLayers, type SteppedStack } from '../geometry/pad/step-layers.ts';
import { Skin } from '../geometry/pad/skin.ts';
import { isNoHead } from '../geometry/register/body-regions.ts';
import type { InputMesh, MadeFile, Operation } from './operation.ts';
import { troubleOfScale } from './part-size.ts';
import { assumptionsOf, foamOf, fromSheets, leastBought, sheetName, sheetSize } from './pad-stock.ts';
import {
  cutPatch,
  lettered,
  seamsOf,
  layMesh,
  sheetSurface,
  figuresOf,
  ticker,
  warningsOf,
  type SheetSurface,
} from './pattern-lay.ts';
import { CUT_BOTH, CUT_ONCE, makeCutPiece, mirrorPiece, type CutPiece } from './pattern-piece.ts';
import { composePatternPaper } from './pattern-pages.ts';
import { layOnSheets, writeCsv, writeOnBody } from './pattern-sheets.ts';
import { FOAM_CAUTIONS } from './pattern-words.ts';

type Parameters = z.output<typeof padSpecification.parameters>;
type Figures = z.output<typeof padSpecification.figures>;

/** What papers and files are told by. */
interface Names {
  readonly formName: string;
  readonly partName: string;
  /** From the mesh's coordinates to those of the form's file. */
  readonly toFile: Matrix4;
}

/** A place for a pad, with what has to fill it. */
interface Pad {
  readonly name: string;
  readonly mesh: Mesh;
  readonly normalsAt: (part: Mesh) => Float64Array;
  readonly gapsAt: (part: Mesh) => Float64Array;
  readonly gap: GapFigures;
  readonly over: OverArea;
  /** Cuts drawn by the maker. */
  readonly seams: readonly SeamGiven[];
  /** Cut once more, mirrored, for the other side. */
  readonly doubled: boolean;
  /** Sheets of the stock it may be made of. */
  readonly foams: readonly number[] | undefined;
}

/** A pad with less contact than this is told. */
const LEAST_CONTACT = 0.6;

export const padOperation: Operation<typeof padSpecification> = {
  specification: padSpecification,
  phases: { surface: 0.15, gap: 0.15, flat: 0.5, sheets: 0.15, pages: 0.05 },
  run: ([part, form], parameters, run) => {
    const planned = planPads(part, form, parameters, run);
    if (!planned.ok) return planned;
    const { pads, stacks, stock } = planned.value;
    const names = { formName: form.name, partName: part.name, toFile: invert(form.fromFile) };
    return makePads(pads, stacks, stock, names, parameters, run);
  },
};

/** Where pads go, what fills each, and of which sheets of the stock. Phases: surface, gap. */
export function planPads(
  part: InputMesh,
  form: InputMesh,
  parameters: Parameters,
  run: RunContext,
): Outcome<{ pads: readonly Pad[]; stacks: readonly SteppedStack[]; stock: readonly FoamSheet[] }> {
  const given = parameters.stock.stock;
  const trouble = troubleWithFoams(parameters);
  if (trouble !== undefined) return failed(fault('job.usage', { reason: `pad: foams: ${trouble}` }));
  const placed = placedPart(part, form, parameters);
  if (!placed.ok) return placed;
  const outOfScale = troubleOfScale(placed.value, form.mesh);
  if (outOfScale !== undefined) return failed(outOfScale);
  const sheet = sheetSurface(form.mesh, parameters.smoothMm, 0, ticker(run, 'surface', 0, 1));
  run.step('surface', 1, 1);
  const wall = partWall(placed.value, ticker(run, 'gap', 0, 0.3));
  const pads = findPads(wall, sheet, form, parameters, run);
  if (!pads.ok) return pads;
  run.step('gap', 1, 1);
  const stock = given.map(foamOf);
  const even = leastBought(stock, given, pads.value);
  const stacks = pads.value.map((pad, i) => layersOf(pad, even[i], stock, parameters.stepped));
  return done({ pads: pads.value, stacks, stock });
}

/** A drawn pad's name, also where none was given. */
const nameOfDrawn = (given: { readonly name?: string | undefined; readonly zone?: string | undefined }, i: number) =>
  given.name ?? given.zone ?? `pad ${i + 1}`;

/** What both of a pair are called. */
const pairOf = (name: string): string => name.replace(/ (left|right)$/, '');
/** Of a part of a usual place that falls into several. */
const placeOf = (name: string): string => pairOf(name.replace(/ \d+$/, ''));

/** A foam chosen for no pad, or of no stock, would be passed over unseen. */
function troubleWithFoams({ pads, stock }: Parameters): string | undefined {
  const { patches = [], usual = [], foams = {} } = pads ?? {};
  const drawn = patches.map(nameOfDrawn);
  for (const [name, sheets] of Object.entries(foams)) {
    const wrong = sheets.find((sheet) => sheet >= stock.stock.length);
    if (wrong !== undefined) {
      return `"${name}" names sheet ${wrong}, and the stock has ${stock.stock.length}, counted from 0.`;
    }
    const meant: string[] = drawn.filter((one) => one === name || pairOf(one) === name);
    if (usual.some((zone) => zone === placeOf(name))) meant.push(name);
    if (meant.length === 0) {
      return `there is no pad "${name}"; there are ${[...new Set([...drawn.map(pairOf), ...usual])].join(', ')}.`;
    }
    const twice = meant.find((one, i) => meant.indexOf(one) < i);
    if (twice !== undefined) return `two pads are called "${twice}"; give each a name of its own.`;
  }
  return undefined;
}

/** The whole pad under every sheet of its stack, unless it touches more with upper ones only where there is room. */
function layersOf(pad: Pad, even: FoamStack, stock: readonly FoamSheet[], stepped: boolean): SteppedStack {
  const whole = { ...even, covers: even.sheets.map(() => pad.mesh) };
  const steps = stepped ? fromSheets(stock, pad.foams, (own) => stepLayers(own, pad.mesh, pad.gapsAt)) : undefined;
  if (steps === undefined) return whole;
  const touches = (stack: FoamStack): number => contactOf(stock, stack, pad.over).contactShare;
  return touches(steps) > touches(whole) ? steps : whole;
}

/** The part in the form's coordinates. */
function placedPart(part: InputMesh, form: InputMesh, { place }: Parameters): Outcome<Mesh> {
  const matrix = place?.matrix ?? IDENTITY;
  const plain = matrix[12] === 0 && matrix[13] === 0 && matrix[14] === 0 && matrix[15] === 1;
  if (!plain || determinant3(matrix) === 0) {
    return failed(
      fault('job.usage', {
        reason: 'pad: place: the matrix must be 16 numbers by rows, the last row 0 0 0 1, and not flat.',
      }),
    );
  }
  const way = multiply(form.fromFile, multiply(matrix, invert(part.fromFile)));
  return done(transformMesh(way, part.mesh));
}

function findPads(
  wall: PartWall,
  sheet: SheetSurface,
  form: InputMesh,
  parameters: Parameters,
  run: RunContext,
): Outcome<readonly Pad[]> {
  const tick = ticker(run, 'gap', 0.3, 0.7);
  const skin = new Skin(sheet.surface, tick);
  const places: { name: string; mesh: Mesh; side?: string; zone?: string; seams: SeamGiven[] }[] = [];
  const { patches = [], usual = ZONE_NAMES, foams = {} } = parameters.pads ?? {};
  for (const [i, given] of patches.entries()) {
    const name = nameOfDrawn(given, i);
    const mesh = cutPatch(sheet, given, name, form.fromFile, tick);
    if (!mesh.ok) return mesh;
    // Drawn on both sides, it is a pair as the usual places are.
    const [, zone, side] = /^(.+) (left|right)$/.exec(name) ?? [];
    const pair = zone === undefined || side === undefined ? {} : { zone, side };
    places.push({ name, mesh: mesh.value, seams: seamsOf(given, form.fromFile), ...pair });
  }
  if (usual.length > 0) {
    if (isNoHead(form.mesh.positions)) return failed(fault('pattern.no-head', { patch: ZONE_NAMES[0] }));
    const found = proposePads(skin, wall, [...new Set(usual)], parameters, tick);
    for (const { zone, side, mesh } of found) {
      const alike = found.filter((one) => one.zone === zone && one.side === side);
      const number = alike.length > 1 ? ` ${alike.findIndex((one) => one.mesh === mesh) + 1}` : '';
      places.push({
        name: `${zone}${side === undefined ? '' : ` ${side}`}${number}`,
        mesh,
        seams: [],
        zone,
        ...(side === undefined ? {} : { side }),
      });
    }
  }
  const paired = (place: (typeof places)[number]): boolean =>
    parameters.mirror && places.filter((one) => one.zone === place.zone && one.side !== undefined).length === 2;
  const pads: Pad[] = [];
  for (const place of places) {
    if (paired(place) && place.side === 'right') continue;
    const normalsAt = (mesh: Mesh): Float64Array => skin.normalsOf(mesh);
    const gapsAt = (mesh: Mesh): Float64Array => gapsTo(wall, mesh, normalsAt(mesh), parameters.mostMm * 2, tick);
    const over = faceMeans(place.mesh, gapsAt(place.mesh));
    const gap = gapFigures(over);
    if (gap === undefined || gap.meanMm <= 0) continue;
    const doubled = paired(place);
    pads.push({
      name: doubled ? `${place.zone}` : place.name,
      mesh: place.mesh,
      normalsAt,
      gapsAt,
      gap,
      over,
      seams: place.seams,
      doubled,
      foams: foams[place.zone ?? place.name] ?? foams[place.name],
    });
  }
  return pads.length === 0
    ? failed(fault('pad.no-room', { leastMm: parameters.leastMm, mostMm: parameters.mostMm }))
    : done(pads);
}

function makePads(
  pads: readonly Pad[],
  stacks: readonly SteppedStack[],
  stock: readonly FoamSheet[],
  names: Names,
  parameters: Parameters,
  run: RunContext,
): ReturnType<(typeof padOperation)['run']> {
  const warnings: Warning[] = [];
  const figures: Figures['pads'] = [];
  const pieceFigures: Figures['pieces'] = [];
  /** Pieces of each sheet of the stock. */
  const ofSheet: CutPiece[][] = stock.map(() => []);
  let seams = 0;
  for (const [i, pad] of pads.entries()) {
    const stack = stacks[i];
    const contact = contactOf(stock, stack, pad.over);
    const numbers: number[] = [];
    let belowMm = 0;
    for (const [layer, sheet] of stack.sheets.entries()) {
      const foam = stock[sheet];
      const cover = stack.covers[layer];
      const wornMm = foam.thicknessMm * (1 - foam.compression);
      const middle = liftAlong(cover, pad.normalsAt(cover), belowMm + wornMm / 2).mesh;
      belowMm += wornMm;
      const laid = layMesh(
        middle,
        pad.name,
        { seams: pad.seams, grain: undefined, allowedGive: parameters.stretchPercent / 100, relief: 'darts' },
        ticker(run, 'flat', (i + layer / stack.sheets.length) / pads.length, 1 / stack.sheets.length / pads.length),
      );
      if (!laid.ok) return laid;
      for (const [at, piece] of laid.value.pieces.entries()) {
        const number = pieceFigures.length + 1;
        const part = laid.value.pieces.length > 1 ? ` ${at + 1}` : '';
        const name = `${pad.name}${part}${stack.sheets.length > 1 ? `, layer ${layer + 1}` : ''}`;
        const words = {
          number,
          name,
          lines: [
            pad.doubled ? CUT_BOTH : CUT_ONCE,
            sheetName(foam),
            ...(stack.sheets.length > 1 ? [layer === 0 ? 'against the body' : `over layer ${layer}`] : []),
          ],
        };
        const cut = makeCutPiece(piece, at, lettered(laid.value.marks, seams), words, 0, undefined);
        ofSheet[sheet].push(cut, ...(pad.doubled ? [mirrorPiece(cut)] : []));
        numbers.push(number);
        pieceFigures.push(figuresOf(piece, cut, name, pad.doubled));
        warnings.push(...warningsOf(piece, number, parameters.stretchPercent));
      }
      seams += laid.value.lines.length;
    }
    run.step('flat', i + 1, pads.length);
    const { areaMm2, ...gap } = pad.gap;
    figures.push({
      name: pad.name,
      areaMm2,
      gap,
      stack: stack.sheets.map((sheet, layer) => ({
        material: stock[sheet].material,
        nominalMm: stock[sheet].nominalMm,
        thicknessMm: stock[sheet].thicknessMm,
        coversMm2: areaOf(stack.covers[layer]),
      })),
      freeMm: stack.freeMm,
      wornMm: stack.wornMm,
      easeMm: contact.easeMm,
      contactPercent: 100 * contact.contactShare,
      givesPercent: 100 * contact.meanShare,
      givesP90Percent: 100 * contact.p90Share,
      pressureKPa: contact.meanKPa ?? null,
      pressureP90KPa: contact.p90KPa ?? null,
      pieces: numbers,
    });
    warnings.push(...warningsOfPad(pad, contact, stack, parameters.limitKPa));
  }
  return papersOf(figures, pieceFigures, ofSheet, stock, names, parameters, warnings, run);
}

/** What is told beside the pads for as long as they are looked at. */
const OF_PADS: ReadonlySet<string> = new Set(['pad.uneven', 'pad.hard']);

function warningsOfPad(pad: Pad, contact: PadContact, stack: FoamStack, limitKPa: number): Warning[] {
  const warnings: Warning[] = [];
  const spread = pad.gap.p90Mm - pad.gap.p10Mm;
  if (contact.contactShare < LEAST_CONTACT || spread > stack.freeMm - stack.wornMm + 1) {
    warnings.push({
      code: 'pad.uneven',
      sentence: `Pad "${pad.name}": the room goes from ${pad.gap.p10Mm.toFixed(1)} to ${pad.gap.p90Mm.toFixed(1)} mm, so its foam touches over ${(100 * contact.contactShare).toFixed(0)} % only; add layers where there is more room, divide it, or place the part more evenly.`,
    });
  }
  if (contact.p90KPa !== undefined && contact.p90KPa > limitKPa) {
    warnings.push({
      code: 'pad.hard',
      sentence: `Pad "${pad.name}" presses with about ${contact.p90KPa.toFixed(0)} kPa in places, more than ${limitKPa} kPa; use softer foam or a thinner stack there.`,
    });
  }
  return warnings;
}

function papersOf(
  figures: Figures['pads'],
  pieceFigures: Figures['pieces'],
  ofSheet: readonly (readonly CutPiece[])[],
  stock: readonly FoamSheet[],
  { formName, partName, toFile }: Names,
  parameters: Parameters,
  warnings: Warning[],
  run: RunContext,
): ReturnType<(typeof padOperation)['run']> {
  const given = parameters.stock.stock;
  const files: MadeFile[] = [];
  const shopping: Figures['shopping'] = [];
  for (const [sheet, pieces] of ofSheet.entries()) {
    if (pieces.length === 0) continue;
    const sheetMm = sheetSize(given[sheet]);
    const name = `foam-${sheet + 1}`;
    const tick = ticker(run, 'sheets', sheet / ofSheet.length, 1 / ofSheet.length);
    const options = { sheetMm, gapMm: parameters.gapMm, keepGrain: parameters.keepGrain };
    const laid = layOnSheets(pieces, options, name, `Pads, ${sheetName(stock[sheet])}`, tick);
    files.push(...laid.files);
    for (const at of laid.tooLarge) {
      warnings.push({
        code: 'pattern.too-large',
        sentence: `Piece ${pieces[at].number} (${pieces[at].widthMm.toFixed(0)} by ${pieces[at].heightMm.toFixed(0)} mm) is larger than a sheet of ${sheetName(stock[sheet])}.`,
      });
    }
    shopping.push({
      material: stock[sheet].material,
      nominalMm: stock[sheet].nominalMm,
      sheets: laid.sheets,
      sheetWidthMm: sheetMm[0],
      sheetHeightMm: sheetMm[1],
      usePercent: 100 * laid.use,
    });
  }
  run.step('sheets', 1, 1);
  const assumptions = assumptionsOf(stock, given, figures);
  const document = composePatternPaper(
    {
      title: 'Pads',
      facts: [
        `Between ${partName} and ${formName}. ${some(figures.length, 'pad')}, ${some(pieceFigures.length, 'piece')}.`,
        ...shopping.map(
          (one) =>
            `To have: ${some(one.sheets, 'sheet')} of ${one.material} ${one.nominalMm} mm, ${one.sheetWidthMm} by ${one.sheetHeightMm} mm.`,
        ),
      ],
      cutList: [...figures.map(padSentence), ...assumptions],
      cautions: FOAM_CAUTIONS,
      pieces: ofSheet.flat(),
      paper: parameters.paper,
      stretchPercent: parameters.stretchPercent,
    },
    ticker(run, 'pages', 0, 1),
  );
  files.push(
    writeOnBody(
      ofSheet.flat().filter((piece) => !piece.mirrored),
      toFile,
    ),
  );
  files.push({ name: 'cut-list.csv', bytes: writeCsv(cutRows(figures, pieceFigures)) });
  files.push({
    name: 'shopping-list.csv',
    bytes: writeCsv([
      ['material', 'thickness mm', 'sheets', 'width mm', 'height mm', 'used %'],
      ...shopping.map((one) => [
        one.material,
        one.nominalMm,
        one.sheets,
        one.sheetWidthMm,
        one.sheetHeightMm,
        one.usePercent.toFixed(0),
      ]),
    ]),
  });
  const papers = [{ name: 'pads.pdf', document }];
  return done(
    {
      files,
      papers,
      figures: {
        pads: figures,
        pieces: pieceFigures,
        shopping,
        doubts: warnings.filter(({ code }) => OF_PADS.has(code)).map(({ sentence }) => sentence),
        assumptions,
        pages: document.pages.length,
        files: [...files.map((file) => file.name), ...papers.map((paper) => paper.name)],
      },
    },
    warnings,
  );
}

function cutRows(figures: Figures['pads'], pieces: Figures['pieces']): (string | number)[][] {
  const heads = ['number', 'name', 'pad', 'cut', 'mirrored', 'width mm', 'height mm', 'area mm2', 'darts', 'strain %'];
  return [
    heads,
    ...pieces.map((one) => [
      one.number,
      one.name,
      figures.find((pad) => pad.pieces.includes(one.number))?.name ?? '',
      one.count,
      one.mirrored,
      one.widthMm.toFixed(1),
      one.heightMm.toFixed(1),
      one.areaMm2.toFixed(0),
      one.darts,
      one.strainP99Percent.toFixed(2),
    ]),
  ];
}

function padSentence(pad: Figures['pads'][number]): string {
  const stack = pad.stack.map((sheet) => `${sheet.material} ${sheet.nominalMm} mm`).join(' + ');
  const pressure = pad.pressureKPa === null ? '' : `, about ${pad.pressureKPa.toFixed(1)} kPa`;
  return `${pad.name} (pieces ${pad.pieces.join(', ')}): room ${pad.gap.p10Mm.toFixed(1)} to ${pad.gap.p90Mm.toFixed(1)} mm; ${stack}; touches over ${pad.contactPercent.toFixed(0)} %${pressure}.`;
}
