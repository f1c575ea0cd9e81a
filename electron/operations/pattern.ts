import type { z } from 'zod';
import { patternSpecification, type patchSchema } from '../../shared-types/operations/pattern.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { drapeSurface } from '../geometry/flatten/drape.ts';
import {
  layFlat,
  type FlatPiece,
  type PatternLine,
  type Relief,
  type SeamGiven,
} from '../geometry/flatten/lay-flat.ts';
import { liftSurface } from '../geometry/flatten/lift.ts';
import { takePatch, type PatchChoice } from '../geometry/flatten/patch.ts';
import { markSeams, type SeamMarks } from '../geometry/flatten/seam-marks.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import { planeFrom } from './line.ts';
import type { Operation } from './operation.ts';
import { letterOf, makeCutPiece, mirrorPiece, type CutPiece } from './pattern-piece.ts';
import { composePatternPaper } from './pattern-pages.ts';
import { layOnSheets, writeCsv } from './pattern-sheets.ts';
import { FOAM_CAUTIONS } from './pattern-words.ts';

type PatternParameters = z.output<typeof patternSpecification.parameters>;
type PatchGiven = z.output<typeof patchSchema>;
type Figures = z.output<typeof patternSpecification.figures>;

/** Notches farther off than this are told. */
const NOTCH_TOLERANCE_MM = 0.5;
/** Share of the surface turned over by the lift that is told. */
const TURNED_SHARE = 0.01;

/** A patch laid flat, with the marks of its seams. */
export interface LaidPatch {
  readonly name: string;
  readonly grain: Vec3 | undefined;
  readonly pieces: readonly FlatPiece[];
  readonly lines: readonly PatternLine[];
  readonly marks: SeamMarks;
}

/** A surface made ready for patterns: what a sheet on it would follow, at its own height. */
export interface SheetSurface {
  /** The body with what a sheet passes over left out. */
  readonly body: Mesh;
  readonly surface: Mesh;
  readonly turnedShare: number;
  /** How far each vertex was passed over, mm. */
  readonly movedMm: Float64Array;
}

/** `heightMm`: of the sheet's middle over the surface. */
export function sheetSurface(body: Mesh, smoothMm: number, heightMm: number, tick: () => void): SheetSurface {
  const draped = drapeSurface(body, smoothMm, tick);
  const lifted = liftSurface(draped.mesh, heightMm);
  const [p, q] = [body.positions, draped.mesh.positions];
  const movedMm = new Float64Array(p.length / 3);
  for (let i = 0; i < p.length; i += 3)
    movedMm[i / 3] = Math.hypot(q[i] - p[i], q[i + 1] - p[i + 1], q[i + 2] - p[i + 2]);
  return { body: draped.mesh, surface: lifted.mesh, turnedShare: lifted.turnedShare, movedMm };
}

/** The choice of a patch, from the file's coordinates to the mesh's. */
function choiceOf(given: PatchGiven, faces: number, fromFile: Matrix4): Outcome<PatchChoice> {
  const point = (p: readonly number[]): Vec3 => transformPoint(fromFile, p as unknown as Vec3);
  if (given.zone !== undefined) return done({ kind: 'zone', zone: given.zone });
  if (given.curve !== undefined) {
    const inside = given.inside === undefined ? undefined : point(given.inside);
    return done({ kind: 'curve', curve: given.curve.map(point), ...(inside === undefined ? {} : { inside }) });
  }
  if (given.faces !== undefined) {
    const wrong = given.faces.find((face) => face >= faces);
    if (wrong !== undefined) return failed(fault('pattern.no-face', { face: wrong, faces }));
    return done({ kind: 'faces', faces: given.faces });
  }
  if (given.points !== undefined) {
    return done({
      kind: 'region',
      region: { kind: 'spots', centres: given.points.map(point), radiusMm: given.radiusMm as number },
    });
  }
  if (given.box !== undefined) {
    const { min, max } = given.box;
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((c) => point([0, 1, 2].map((k) => ((c >> k) & 1 ? max[k] : min[k]))));
    const bounds = boundsOf(Float64Array.from(corners.flat()));
    return done({ kind: 'region', region: { kind: 'box', ...bounds } });
  }
  return done({ kind: 'whole' });
}

function seamsOf(given: PatchGiven, fromFile: Matrix4): SeamGiven[] {
  return given.seams.map((seam, i) => {
    const name = seam.name ?? `seam ${i + 1}`;
    if (seam.plane !== undefined) return { name, plane: planeFrom(seam.plane, fromFile) };
    return { name, points: (seam.points ?? []).map((p) => transformPoint(fromFile, p as unknown as Vec3)) };
  });
}

export interface LayPatchOptions {
  readonly allowedGive: number;
  readonly relief: Relief;
  readonly fromFile: Matrix4;
}

/** One patch from a prepared surface to marked flat pieces. */
export function layPatch(
  sheet: SheetSurface,
  given: PatchGiven,
  name: string,
  options: LayPatchOptions,
  tick: () => void,
): Outcome<LaidPatch> {
  const choice = choiceOf(given, sheet.surface.triangles.length / 3, options.fromFile);
  if (!choice.ok) return choice;
  const needsHead = given.zone !== undefined && !(boundsOf(sheet.body.positions).max[2] > 0);
  if (needsHead) return failed(fault('pattern.no-head', { patch: name }));
  const patch = takePatch(sheet.body, sheet.surface, choice.value, tick);
  if (patch === undefined) return failed(fault('pattern.lost-line', { patch: name, line: 'its outline' }));
  if (patch.triangles.length === 0) return failed(fault('pattern.empty', { patch: name }));
  const laid = layFlat(
    patch,
    { seams: seamsOf(given, options.fromFile), allowedGive: options.allowedGive, relief: options.relief },
    tick,
  );
  if ('lost' in laid) return failed(fault('pattern.lost-line', { patch: name, line: `"${laid.lost}"` }));
  if ('handles' in laid) return failed(fault('pattern.no-disc', { patch: name }));
  const grain = given.grain === undefined ? undefined : planeFrom([0, 0, 0, ...given.grain], options.fromFile).normal;
  return done({ name, grain, ...laid, marks: markSeams(laid.pieces, laid.lines) });
}

/** What a sheet must give, as a percentage with its figures' names. */
export function strainFigures(
  piece: FlatPiece,
): Pick<Figures['pieces'][number], 'strainMaxPercent' | 'strainP99Percent' | 'strainMeanPercent'> {
  const { most, p99, mean } = piece.strain;
  return { strainMaxPercent: 100 * most, strainP99Percent: 100 * p99, strainMeanPercent: 100 * mean };
}

function patchesOf({ patch, zone }: PatternParameters): readonly PatchGiven[] | undefined {
  if ((patch === undefined) === (zone === undefined)) return undefined;
  if (zone !== undefined) return [{ zone, seams: [] }];
  return patch === undefined ? undefined : 'patches' in patch ? patch.patches : [patch];
}

export const patternOperation: Operation<typeof patternSpecification> = {
  specification: patternSpecification,
  phases: { surface: 0.1, flat: 0.7, sheets: 0.15, pages: 0.05 },
  run: ([input], parameters, run) => {
    const patches = patchesOf(parameters);
    if (patches === undefined) {
      return failed(fault('job.usage', { reason: 'pattern: give either --patch FILE or --zone NAME.' }));
    }
    const middleMm = ((parameters.inward ? -1 : 1) * parameters.foamMm) / 2;
    const sheet = sheetSurface(input.mesh, parameters.smoothMm, middleMm, ticker(run, 'surface', 0, 1));
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
    }
    return finish(input.name, laid, sheet, parameters, middleMm, run);
  },
};

/** Work whose length is not known beforehand: each tick takes a part of what is left of its share. */
export function ticker(run: RunContext, phase: string, from: number, share: number): () => void {
  let ticks = 0;
  return () => {
    ticks++;
    run.step(phase, from + share * (ticks / (ticks + 2000)), 1);
  };
}

function finish(
  source: string,
  laid: readonly LaidPatch[],
  sheet: SheetSurface,
  parameters: PatternParameters,
  middleMm: number,
  run: RunContext,
): Outcome<{
  files: ReturnType<typeof layOnSheets>['files'];
  papers: { name: string; document: ReturnType<typeof composePatternPaper> }[];
  figures: Figures;
}> {
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
      const words = { number, name, lines: [parameters.mirror ? 'cut 1, and 1 mirrored' : 'cut 1', thickness] };
      const cut = makeCutPiece(piece, at, lettered(patch.marks, letters), words, parameters.allowanceMm, patch.grain);
      base.push(cut);
      figures.push({
        number,
        name,
        count: 1,
        mirrored: parameters.mirror ? 1 : 0,
        widthMm: cut.widthMm,
        heightMm: cut.heightMm,
        areaMm2: cut.areaMm2,
        darts: piece.darts,
        ...strainFigures(piece),
        withinStretch: piece.withinAllowed,
      });
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
  for (const at of sheets.tooLarge) {
    warnings.push({
      code: 'pattern.too-large',
      sentence: `Piece ${pieces[at].number} (${pieces[at].widthMm.toFixed(0)} by ${pieces[at].heightMm.toFixed(0)} mm) is larger than a sheet; give a larger --sheet or cut it by a seam.`,
    });
  }
  const document = composePatternPaper(
    {
      title: laid.length === 1 ? `Pattern: ${laid[0].name}` : `Pattern: ${laid.length} patches`,
      facts: [
        `From ${source}, for foam ${thickness}; made for the middle of the sheet. ${pieces.length} piece(s), ${sheets.sheets} stock sheet(s) of ${parameters.sheetMm.join(' by ')} mm, ${(100 * sheets.use).toFixed(0)} % of the area used.`,
        `Seam allowance: ${parameters.allowanceMm} mm. The sheet may give ${parameters.stretchPercent} % along itself.`,
      ],
      cutList: [...figures.map(cutListSentence), ...lines.map(lineSentence)],
      cautions: FOAM_CAUTIONS,
      pieces,
      paper: parameters.paper,
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
  const files = [...sheets.files, { name: 'cut-list.csv', bytes: csv }];
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

/** The same marks with their lines counted from `first`. */
function lettered(marks: SeamMarks, first: number): SeamMarks {
  return {
    ...marks,
    sides: marks.sides.map((side) => ({ ...side, line: side.line + first })),
  };
}

export function warningsOf(piece: FlatPiece, number: number, stretchPercent: number): Warning[] {
  if (piece.overlaps) {
    return [
      {
        code: 'pattern.overlaps',
        sentence: `Piece ${number} overlaps itself when laid flat and cannot be cut as it is; cut it by a seam.`,
      },
    ];
  }
  if (piece.withinAllowed) return [];
  return [
    {
      code: 'pattern.strain',
      sentence: `Piece ${number} must give ${(100 * piece.strain.p99).toFixed(1)} % along itself, more than the ${stretchPercent} % allowed; cut it by a seam where it bends most, or use softer foam.`,
    },
  ];
}

function cutListSentence(piece: Figures['pieces'][number]): string {
  const darts = piece.darts === 0 ? '' : `, ${piece.darts} dart(s)`;
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
