/** What the verbs pattern and pad share: from a patch of a surface to marked flat pieces. */
import type { z } from 'zod';
import type { cutPieceSchema, patchSchema } from '../../shared-types/operations/pattern.ts';
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
import { isNoHead } from '../geometry/register/body-regions.ts';
import { planeFrom } from './line.ts';
import type { CutPiece } from './pattern-piece.ts';

type PatchGiven = z.output<typeof patchSchema>;
type PieceFigures = z.output<typeof cutPieceSchema>;

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

export function seamsOf(given: PatchGiven, fromFile: Matrix4): SeamGiven[] {
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

/** The part of a prepared surface that a maker pointed out. */
export function cutPatch(
  sheet: SheetSurface,
  given: PatchGiven,
  name: string,
  fromFile: Matrix4,
  tick: () => void,
): Outcome<Mesh> {
  const choice = choiceOf(given, sheet.surface.triangles.length / 3, fromFile);
  if (!choice.ok) return choice;
  const needsHead = given.zone !== undefined && isNoHead(sheet.body.positions);
  if (needsHead) return failed(fault('pattern.no-head', { patch: name }));
  const patch = takePatch(sheet.body, sheet.surface, choice.value, tick);
  if (patch === undefined) return failed(fault('pattern.lost-line', { patch: name, line: 'its outline' }));
  return patch.triangles.length === 0 ? failed(fault('pattern.empty', { patch: name })) : done(patch);
}

/** One patch from a prepared surface to marked flat pieces. */
export function layPatch(
  sheet: SheetSurface,
  given: PatchGiven,
  name: string,
  options: LayPatchOptions,
  tick: () => void,
): Outcome<LaidPatch> {
  const patch = cutPatch(sheet, given, name, options.fromFile, tick);
  if (!patch.ok) return patch;
  const seams = seamsOf(given, options.fromFile);
  const grain = given.grain === undefined ? undefined : planeFrom([0, 0, 0, ...given.grain], options.fromFile).normal;
  return layMesh(patch.value, name, { ...options, seams, grain }, tick);
}

export interface LayMeshOptions {
  readonly seams: readonly SeamGiven[];
  readonly grain: Vec3 | undefined;
  readonly allowedGive: number;
  readonly relief: Relief;
}

/** A patch that lies where the sheet's middle will, to marked flat pieces. */
export function layMesh(patch: Mesh, name: string, options: LayMeshOptions, tick: () => void): Outcome<LaidPatch> {
  const laid = layFlat(patch, options, tick);
  if ('lost' in laid) return failed(fault('pattern.lost-line', { patch: name, line: `"${laid.lost}"` }));
  if ('parts' in laid) return failed(fault('pattern.parts', { patch: name, parts: laid.parts }));
  if ('handles' in laid) return failed(fault('pattern.no-disc', { patch: name }));
  return done({ name, grain: options.grain, ...laid, marks: markSeams(laid.pieces, laid.lines) });
}

/** The same marks with their lines counted from `first`. */
export function lettered(marks: SeamMarks, first: number): SeamMarks {
  return {
    ...marks,
    sides: marks.sides.map((side) => ({ ...side, line: side.line + first })),
  };
}

/** What is said of a piece; a mirrored one is cut besides. */
export function figuresOf(piece: FlatPiece, cut: CutPiece, name: string, mirrored: boolean): PieceFigures {
  const { most, p99, mean } = piece.strain;
  return {
    number: cut.number,
    name,
    count: 1,
    mirrored: mirrored ? 1 : 0,
    widthMm: cut.widthMm,
    heightMm: cut.heightMm,
    areaMm2: cut.areaMm2,
    darts: piece.darts,
    strainMaxPercent: 100 * most,
    strainP99Percent: 100 * p99,
    strainMeanPercent: 100 * mean,
    withinStretch: piece.withinAllowed,
  };
}

/** Ticks after which half of a share is told as done: a piece of usual size takes some hundreds to thousands. */
const HALF_TICKS = 600;

/** Work whose length is not known beforehand: each tick takes a part of what is left of its share. */
export function ticker(run: RunContext, phase: string, from: number, share: number): () => void {
  let ticks = 0;
  return () => {
    ticks++;
    run.step(phase, from + share * (ticks / (ticks + HALF_TICKS)), 1);
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
