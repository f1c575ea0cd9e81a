import type { z } from 'zod';
import { patternSpecification, type patchSchema } from '../../shared-types/operations/pattern.ts';
import { some } from '../../shared-types/counts.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { invert } from '../geometry/mesh/transform.ts';
import type { Operation, OperationResult } from './operation.ts';
import {
  layPatch,
  lettered,
  sheetSurface,
  figuresOf,
  ticker,
  warningsOf,
  type LaidPatch,
  type SheetSurface,
} from './pattern-lay.ts';
import { CUT_BOTH, CUT_ONCE, letterOf, makeCutPiece, mirrorPiece, type CutPiece } from './pattern-piece.ts';
import { composePatternPaper } from './pattern-pages.ts';
import { layOnSheets, writeCsv, writeOnBody } from './pattern-sheets.ts';
import { FOAM_CAUTIONS } from './pattern-words.ts';

type PatternParameters = z.output<typeof patternSpecification.parameters>;
type PatchGiven = z.output<typeof patchSchema>;
type Figures = z.output<typeof patternSpecification.figures>;

/** Notches farther off than this are told. */
const NOTCH_TOLERANCE_MM = 0.5;
/** Share of the surface turned over by the lift that is told. */
const TURNED_SHARE = 0.01;

/** What is laid flat; undefined when it is not clear. */
export function patchesOf({ patch, zone }: PatternParameters): readonly PatchGiven[] | undefined {
  if ((patch === undefined) === (zone === undefined)) return undefined;
  if (zone !== undefined) return [{ zone, seams: [] }];
  return patch === undefined ? undefined : 'patches' in patch ? patch.patches : [patch];
}

export const WHICH_PATCH = failed<never>(
  fault('job.usage', { reason: 'pattern: give either --patch FILE or --zone NAME.' }),
);

export const patternOperation: Operation<typeof patternSpecification> = {
  specification: patternSpecification,
  phases: { surface: 0.1, flat: 0.7, sheets: 0.15, pages: 0.05 },
  run: ([input], parameters, run) => {
    const patches = patchesOf(parameters);
    if (patches === undefined) return WHICH_PATCH;
    const middleMm = ((parameters.inward ? -1 : 1) * parameters.foamMm) / 2;
    const sheet = sheetSurface(input.mesh, parameters.smoothMm, middleMm, ticker(run, 'surface', 0, 1));
    run.step('surface', 1, 1);
    const laid: LaidPatch[] = [];
    for (const [i, given] of patches.entries()) {
      const name = given.name ?? given.zone ?? (patches.length === 1 ? input.name : `patch ${i + 1}`);
      const options = {
        allowedGive: parameters.stretchPercent / 100,
        relief: parameters.relief,
        fromFile: input.fromFile,
      };
      const tick = ticker(run, 'flat', i / patches.length, 1 / patches.length);
      const one = layPatch(sheet, given, name, options, tick);
      if (!one.ok) return one;
      laid.push(one.value);
      run.step('flat', i + 1, patches.length);
    }
    return finish(input.name, laid, sheet, parameters, middleMm, invert(input.fromFile), run);
  },
};

function finish(
  source: string,
  laid: readonly LaidPatch[],
  sheet: SheetSurface,
  parameters: PatternParameters,
  middleMm: number,
  toFile: Matrix4,
  run: RunContext,
): Outcome<OperationResult<Figures>> {
  const warnings: Warning[] = [];
  const base: CutPiece[] = [];
  const figures: Figures['pieces'] = [];
  const lines: Figures['lines'] = [];
  const thickness = parameters.foamMm > 0 ? `${parameters.foamMm} mm thick` : 'thin sheet';
  for (const patch of laid) {
    // Letters go on from patch to patch, so that no two seams share one.
    const letters = lines.length;
    const first = base.length;
    for (const [at, piece] of patch.pieces.entries()) {
      const number = base.length + 1;
      const name = patch.pieces.length > 1 ? `${patch.name} ${at + 1}` : patch.name;
      // On the piece its number tells it apart already.
      const words = {
        number,
        name: laid.length > 1 ? name : patch.name,
        lines: [parameters.mirror ? CUT_BOTH : CUT_ONCE, thickness],
      };
      const cut = makeCutPiece(piece, at, lettered(patch.marks, letters), words, parameters.allowanceMm, patch.grain);
      base.push(cut);
      figures.push(figuresOf(piece, cut, name, parameters.mirror));
      warnings.push(...warningsOf(piece, number, parameters.stretchPercent));
    }
    for (const [line, given] of patch.lines.entries()) {
      const sides = patch.marks.sides.filter((side) => side.line === line);
      const fold = patch.marks.foldDeg[line];
      lines.push({
        letter: letterOf(letters + line),
        name: given.name,
        kind: given.kind,
        lengthMm: given.lengthMm,
        sides: sides.map((side) => ({ piece: first + side.piece + 1, flatMm: side.flatMm })),
        bevelDeg: fold === null ? null : fold / 2,
      });
    }
  }
  const notchMismatchMm = Math.max(0, ...laid.map((patch) => patch.marks.notchMismatchMm));
  if (notchMismatchMm > NOTCH_TOLERANCE_MM) {
    warnings.push({
      code: 'pattern.notches',
      sentence: `Two sides of a seam differ by up to ${notchMismatchMm.toFixed(1)} mm between notches; ease the longer one in, or allow less strain.`,
    });
  }
  if (sheet.turnedShare > TURNED_SHARE) {
    warnings.push({
      code: 'pattern.hollows',
      sentence: `${(100 * sheet.turnedShare).toFixed(1)} % of the surface is hollowed too narrowly for foam of ${parameters.foamMm} mm; lengths are not to be trusted there.`,
    });
  }
  const pieces = parameters.mirror ? base.flatMap((piece) => [piece, mirrorPiece(piece)]) : base;
  const sheets = layOnSheets(pieces, parameters, 'pattern', `Pattern of ${source}`, ticker(run, 'sheets', 0, 1));
  run.step('sheets', 1, 1);
  for (const at of sheets.tooLarge) {
    warnings.push({
      code: 'pattern.too-large',
      sentence: `Piece ${pieces[at].number} (${pieces[at].widthMm.toFixed(0)} by ${pieces[at].heightMm.toFixed(0)} mm) is larger than a sheet; give a larger sheet or cut it by a seam.`,
    });
  }
  const document = composePatternPaper(
    {
      title: laid.length === 1 ? `Pattern: ${laid[0].name}` : `Pattern: ${laid.length} patches`,
      facts: [
        `From ${source}, for foam ${thickness}; made for the middle of the sheet. ${some(pieces.length, 'piece')}, ${some(sheets.sheets, 'stock sheet')} of ${parameters.sheetMm.join(' by ')} mm, ${(100 * sheets.use).toFixed(0)} % of the area used.`,
        `Seam allowance: ${parameters.allowanceMm} mm. The sheet may give ${parameters.stretchPercent} % along itself.`,
      ],
      cutList: [...figures.map(cutListSentence), ...lines.map(lineSentence)],
      cautions: FOAM_CAUTIONS,
      pieces,
      paper: parameters.paper,
      stretchPercent: parameters.stretchPercent,
    },
    ticker(run, 'pages', 0, 1),
  );
  const heads = [
    'number',
    'name',
    'cut',
    'mirrored',
    'foam mm',
    'width mm',
    'height mm',
    'area mm2',
    'darts',
    'strain %',
  ];
  const csv = writeCsv([
    heads,
    ...figures.map((one) => [
      one.number,
      one.name,
      one.count,
      one.mirrored,
      parameters.foamMm,
      one.widthMm.toFixed(1),
      one.heightMm.toFixed(1),
      one.areaMm2.toFixed(0),
      one.darts,
      one.strainP99Percent.toFixed(2),
    ]),
  ]);
  const files = [...sheets.files, { name: 'cut-list.csv', bytes: csv }, writeOnBody(base, toFile)];
  const papers = [{ name: 'pattern.pdf', document }];
  const moved = sheet.movedMm;
  return done(
    {
      files,
      papers,
      figures: {
        pieces: figures,
        lines,
        notchMismatchMm,
        middleMm,
        movedMaxMm: moved.reduce((most, one) => Math.max(most, one), 0),
        movedMeanMm: moved.reduce((sum, one) => sum + one, 0) / moved.length,
        sheets: sheets.sheets,
        sheetUsePercent: 100 * sheets.use,
        pages: document.pages.length,
        files: [...files.map((file) => file.name), ...papers.map((paper) => paper.name)],
      },
    },
    warnings,
  );
}

function cutListSentence(piece: Figures['pieces'][number]): string {
  const darts = piece.darts === 0 ? '' : `, ${some(piece.darts, 'dart')}`;
  const times = piece.mirrored === 0 ? 'once' : 'once and once mirrored';
  return `${piece.number} ${piece.name}: cut ${times}, ${piece.widthMm.toFixed(0)} by ${piece.heightMm.toFixed(0)} mm${darts}; gives ${piece.strainP99Percent.toFixed(1)} %.`;
}

/** Bevels below this are within what a blade does anyway, degrees. */
const LEAST_BEVEL_DEG = 3;

function lineSentence(line: Figures['lines'][number]): string {
  const pieces = line.sides.map((side) => side.piece);
  const joins =
    line.kind === 'dart' ? `dart in piece ${pieces[0]}` : `joins ${pieces.map((one) => `piece ${one}`).join(' and ')}`;
  const bevel =
    line.bevelDeg === null || Math.abs(line.bevelDeg) < LEAST_BEVEL_DEG
      ? 'cut square'
      : `cut at ${Math.abs(line.bevelDeg).toFixed(0)} degrees off square, the ${line.bevelDeg > 0 ? 'outer' : 'inner'} side longer`;
  return `Seam ${line.letter} (${line.name}): ${joins}, ${line.lengthMm.toFixed(0)} mm, ${bevel}.`;
}
