import {
  padsPreviewSpecification,
  patternPreviewSpecification,
  piecesPreviewSpecification,
} from '../../../shared-types/operations/making-preview.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { done } from '../../../shared-types/outcome.ts';
import { borderLoops } from '../../geometry/flatten/disc.ts';
import { giveOf } from '../../geometry/flatten/flat-frame.ts';
import type { FlatPiece } from '../../geometry/flatten/lay-flat.ts';
import { liftAlong, liftSurface } from '../../geometry/flatten/lift.ts';
import { areaOf, volumeOf } from '../../geometry/mesh/quantities.ts';
import { contactOf } from '../../geometry/pad/foam-stack.ts';
import type { Bed } from '../../geometry/pieces/print-bed.ts';
import { planPieces } from '../../geometry/pieces/split-solid.ts';
import type { Operation } from '../operation.ts';
import { planPads } from '../pad.ts';
import { layPatch, sheetSurface, ticker } from '../pattern-lay.ts';
import { patchesOf, WHICH_PATCH } from '../pattern.ts';
import { planesOf } from '../split.ts';

/** What is shown lies this far over the body, so that it is seen, mm. */
const OVER_MM = 1.5;

/** Meshes as one, each as a stretch of its faces. */
export function together(meshes: readonly Mesh[]): { mesh: Mesh; spans: { faceFrom: number; faceCount: number }[] } {
  const positions = new Float64Array(meshes.reduce((sum, one) => sum + one.positions.length, 0));
  const triangles = new Uint32Array(meshes.reduce((sum, one) => sum + one.triangles.length, 0));
  const spans: { faceFrom: number; faceCount: number }[] = [];
  let [at, corner] = [0, 0];
  for (const one of meshes) {
    positions.set(one.positions, at);
    for (const [k, v] of one.triangles.entries()) triangles[corner + k] = v + at / 3;
    spans.push({ faceFrom: corner / 3, faceCount: one.triangles.length / 3 });
    at += one.positions.length;
    corner += one.triangles.length;
  }
  return { mesh: { positions, triangles }, spans };
}

/** The rims of a piece of surface. */
const rimsOf = ({ positions, triangles }: Mesh): Float32Array<ArrayBuffer>[] =>
  borderLoops(triangles, positions.length / 3).map((loop) =>
    Float32Array.from(loop.flatMap((v) => [...positions.subarray(v * 3, v * 3 + 3)])),
  );

/** Pads where they would lie, the room under the part at each, and the foam they would be made of. */
export const padsPreviewOperation: Operation<typeof padsPreviewSpecification> = {
  specification: padsPreviewSpecification,
  phases: { surface: 0.5, gap: 0.5 },
  run: ([part, form], parameters, run) => {
    const planned = planPads(part, form, parameters, run);
    if (!planned.ok) return planned;
    const { pads, stacks, stock } = planned.value;
    const lifted = pads.map(({ mesh, normalsAt }) => liftAlong(mesh, normalsAt(mesh), OVER_MM).mesh);
    const { mesh, spans } = together(lifted);
    return done({
      mesh,
      figures: {
        roomMm: Float32Array.from(pads.flatMap((pad) => [...pad.gapsAt(pad.mesh)])),
        lines: lifted.flatMap((one, i) => rimsOf(one).map((points) => ({ name: pads[i].name, points, closed: true }))),
        pads: pads.map(({ name, gap: { areaMm2, p10Mm, meanMm, p90Mm }, over }, i) => ({
          name,
          ...spans[i],
          areaMm2,
          room: { p10Mm, meanMm, p90Mm },
          stack: stacks[i].sheets.map((sheet) => ({
            material: stock[sheet].material,
            nominalMm: stock[sheet].nominalMm,
          })),
          contactPercent: 100 * contactOf(stock, stacks[i], over).contactShare,
        })),
      },
    });
  },
};

/** The pieces of a pattern on the body, parted by the seams given and by nothing else. */
export const patternPreviewOperation: Operation<typeof patternPreviewSpecification> = {
  specification: patternPreviewSpecification,
  phases: { surface: 0.3, flat: 0.7 },
  run: ([input], parameters, run) => {
    const patches = patchesOf(parameters);
    if (patches === undefined) return WHICH_PATCH;
    const middleMm = ((parameters.inward ? -1 : 1) * parameters.foamMm) / 2;
    const sheet = sheetSurface(input.mesh, parameters.smoothMm, middleMm, ticker(run, 'surface', 0, 1));
    run.step('surface', 1, 1);
    const options = {
      allowedGive: parameters.stretchPercent / 100,
      relief: 'none',
      fromFile: input.fromFile,
    } as const;
    const pieces: FlatPiece[] = [];
    const lines: { name: string; points: Float32Array<ArrayBuffer>; closed: boolean }[] = [];
    for (const [i, given] of patches.entries()) {
      const name = given.name ?? given.zone ?? input.name;
      const laid = layPatch(sheet, given, name, options, ticker(run, 'flat', i / patches.length, 1 / patches.length));
      if (!laid.ok) return laid;
      pieces.push(...laid.value.pieces);
      for (const line of laid.value.lines) {
        lines.push({ name: line.name, points: Float32Array.from(line.points), closed: false });
      }
    }
    const lifted = pieces.map((piece) => liftSurface(piece.mesh, OVER_MM).mesh);
    const { mesh, spans } = together(lifted);
    return done({
      mesh,
      figures: {
        givePercent: Float32Array.from(pieces.flatMap((piece) => [...giveAtVertices(piece)])),
        lines: [
          ...lines,
          ...lifted.flatMap((one) => rimsOf(one).map((points) => ({ name: '', points, closed: true }))),
        ],
        pieces: pieces.map(({ mesh: own, strain, overlaps, withinAllowed }, i) => ({
          ...spans[i],
          areaMm2: areaOf(own),
          giveP99Percent: 100 * strain.p99,
          giveMeanPercent: 100 * strain.mean,
          overlaps,
          withinStretch: withinAllowed,
        })),
      },
    });
  },
};

/** Mean of the faces at each vertex, percent. O(faces). */
function giveAtVertices({ mesh, strain }: FlatPiece): Float64Array {
  const { triangles } = mesh;
  const sum = new Float64Array(mesh.positions.length / 3);
  const count = new Float64Array(sum.length);
  for (const [corner, v] of triangles.entries()) {
    const face = (corner / 3) | 0;
    sum[v] += 100 * giveOf(strain.larger[face], strain.smaller[face]);
    count[v]++;
  }
  return sum.map((total, v) => total / count[v]);
}

/** The pieces as they would be cut, without pins, numbers and proof. */
export const piecesPreviewOperation: Operation<typeof piecesPreviewSpecification> = {
  specification: piecesPreviewSpecification,
  phases: { cut: 1 },
  run: ([input], parameters, run) => {
    const planes = planesOf(parameters, input);
    if (!planes.ok) return planes;
    const [width, depth, height] = parameters.bed;
    const bed: Bed = [width, depth, height];
    const { pieces, planes: cuts, idle } = planPieces(input.mesh, { bed, planes: planes.value }, run);
    const { mesh, spans } = together(pieces.map((piece) => piece.mesh));
    return done({
      mesh,
      figures: {
        pieces: pieces.map(({ mesh: own, laid }, i) => ({
          ...spans[i],
          sizeMm: [...laid.size],
          fits: laid.fits,
          volumeMm3: volumeOf(own),
        })),
        planes: cuts.map(({ point, normal }) => [...point, ...normal]),
        idle: [...idle],
      },
    });
  },
};
