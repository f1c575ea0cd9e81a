import type { z } from 'zod';
import { splitSpecification } from '../../shared-types/operations/split.ts';
import type { Matrix4, Mesh, Plane, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { writeBodies, writeMesh } from '../formats/index.ts';
import { volumeOf } from '../geometry/mesh/quantities.ts';
import { invert, multiply, transformPoint } from '../geometry/mesh/transform.ts';
import { estimatePrint } from '../geometry/pieces/print-estimate.ts';
import type { Bed } from '../geometry/pieces/print-bed.ts';
import { BELOW_PIN_MM, isSound, SPLIT_PHASES, splitSolid, type Split } from '../geometry/pieces/split-solid.ts';
import { planeFrom, troubleOfForm } from './line.ts';
import type { InputMesh, MadeFile, Operation } from './operation.ts';

/** By how much the planes are moved, mm, until every piece is sound: rims that nearly meet cannot be held apart. */
const ASIDE_MM = [0, 2 ** -6, 2 ** -5, 2 ** -4];

/** Share of the whole by which the pieces may differ from it through rounding: far from the origin, some millionths. */
const MOST_DIFFERENCE = 2 ** -10;

const ASSUMED =
  'A solid skin all round and a filling inside; no supports, no waste, one flow throughout. Printers differ: weigh and time a first piece.';

export const splitOperation: Operation<typeof splitSpecification> = {
  specification: splitSpecification,
  phases: SPLIT_PHASES,
  run: ([input], parameters, run) => {
    const trouble = troubleOfForm(input.mesh, 'split');
    if (trouble !== undefined) return failed(trouble);
    const given = planesOf(parameters, input);
    if (!given.ok) return given;
    const planes = given.value;
    const [width, depth, height] = parameters.bed;
    const options = { ...parameters, bed: [width, depth, height] as Bed };
    let split: Split | undefined;
    for (const aside of ASIDE_MM) {
      const moved = planes.map((plane) => movedBy(plane, aside));
      split = splitSolid(input.mesh, { ...options, planes: moved, asideMm: aside }, run);
      if (split.pieces.every(({ health }) => isSound(health))) break;
    }
    if (split === undefined) throw new Error('nothing was split');
    const bad = split.pieces.findIndex(({ health }) => !isSound(health));
    if (bad >= 0) {
      const { selfIntersections, openEdges } = split.pieces[bad].health;
      const reason = `piece ${bad + 1} has ${selfIntersections} self-intersections and ${openEdges} open edges`;
      return failed(fault('mesh.not-sound', { reason, verb: 'the next step' }));
    }
    const wholeVolumeMm3 = volumeOf(input.mesh);
    if (Math.abs(split.volumeDifferenceMm3) > MOST_DIFFERENCE * wholeVolumeMm3) {
      const reason = `its pieces hold ${(wholeVolumeMm3 + split.volumeDifferenceMm3).toFixed(0)} mm³ and it holds ${wholeVolumeMm3.toFixed(0)} mm³, as when a body in it is inside out`;
      return failed(fault('mesh.not-sound', { reason, verb: 'split' }));
    }
    const files = filesOf(split);
    if (!files.ok) return files;
    const { pieces, warnings } = pieceFigures(split, parameters);
    const toFile = invert(input.fromFile);
    return done(
      {
        files: files.value,
        figures: {
          pieces: pieces.map((piece, index) => ({
            ...piece,
            placement: [...multiply(split.pieces[index].laid.matrix, input.fromFile)],
          })),
          seams: seamsOf(split, toFile),
          planes: split.planes.map((plane) => planeNumbers(plane, toFile)),
          wholeVolumeMm3,
          volumeDifferenceMm3: split.volumeDifferenceMm3,
          holeDiameterMm: split.holeDiameterMm,
          massG: pieces.reduce((sum, { massG }) => sum + massG, 0),
          hours: pieces.reduce((sum, { hours }) => sum + hours, 0),
          assumptions: {
            densityGCm3: parameters.densityGCm3,
            skinMm: parameters.skinMm,
            infillPercent: parameters.infillPercent,
            flowMm3S: parameters.flowMm3S,
            words: ASSUMED,
          },
        },
      },
      warnings,
    );
  },
};

/** The maker's own planes, in the mesh's coordinates. */
export function planesOf({ planes }: SplitParameters, { fromFile }: InputMesh): Outcome<Plane[]> {
  const given = planes.map((numbers) => planeFrom(numbers, fromFile));
  return given.some(({ normal }) => Math.hypot(...normal) === 0)
    ? failed(fault('job.usage', { reason: 'split: the normal of a plane is zero.' }))
    : done(given);
}

const movedBy = ({ point, normal }: Plane, by: number): Plane => ({
  point: point.map((x, k) => x + (by * normal[k]) / Math.hypot(...normal)) as unknown as Vec3,
  normal,
});

const fileOf = (index: number): string => `piece-${String(index + 1).padStart(2, '0')}.stl`;

/** Each piece as STL, all of them together as 3MF. */
function filesOf({ pieces }: Split): Outcome<MadeFile[]> {
  const all = writeBodies(
    pieces.map(({ lying }, index) => ({ name: `piece ${index + 1}`, mesh: lying })),
    'pieces',
  );
  if (!all.ok) return all;
  const files: MadeFile[] = [{ name: 'pieces.3mf', bytes: all.value }];
  for (const [index, { lying }] of pieces.entries()) {
    const file = asStl(lying, fileOf(index));
    if (!file.ok) return file;
    files.push(file.value);
  }
  return done(files);
}

export function asStl(mesh: Mesh, name: string): Outcome<MadeFile> {
  const written = writeMesh(mesh, name);
  return written.ok ? done({ name, bytes: new Uint8Array(written.value.bytes) }) : written;
}

type SplitParameters = z.output<typeof splitSpecification.parameters>;

function pieceFigures(split: Split, parameters: SplitParameters) {
  const warnings: Warning[] = [];
  const assumed = { ...parameters, infill: parameters.infillPercent / 100 };
  const pieces = split.pieces.map(({ lying, laid, marked }, index) => {
    const estimate = estimatePrint(lying, assumed);
    if (!laid.fits) {
      const room = laid.size.map((mm) => mm.toFixed(0)).join(' x ');
      const sentence = `Piece ${index + 1} needs ${room} mm and does not fit the bed; cut it by a plane of your own.`;
      warnings.push({ code: 'split.too-large', sentence });
    }
    if (parameters.markMm > 0 && !marked) {
      const sentence = `Piece ${index + 1} carries no number: nowhere on its inner side is it flat enough for it.`;
      warnings.push({ code: 'split.unmarked', sentence });
    }
    return {
      number: index + 1,
      file: fileOf(index),
      faces: lying.triangles.length / 3,
      sizeMm: [...laid.size],
      fits: laid.fits,
      flatDownMm2: laid.flatMm2,
      volumeMm3: volumeOf(lying),
      massG: estimate.massG,
      hours: estimate.hours,
      marked,
    };
  });
  if (split.bodies > 1) {
    const sentence = `The solid is ${split.bodies} bodies, and no piece holds parts of two; where bodies overlap, both are printed whole.`;
    warnings.push({ code: 'split.bodies', sentence });
  }
  for (const plane of split.idle) {
    const sentence = `Plane ${plane + 1} of those given cuts nothing: it misses the solid, or repeats another.`;
    warnings.push({ code: 'split.idle-plane', sentence });
  }
  const held = new Set(split.joints.flatMap((joint) => joint.pieces));
  for (const [index, { cut }] of split.pieces.entries()) {
    if (!cut || held.has(index) || held.size === 0) continue;
    const sentence = `Piece ${index + 1} is held by no pin: there is not material enough around one in its cut faces.`;
    warnings.push({ code: 'split.loose-piece', sentence });
  }
  if (parameters.joint !== 'none' && split.planes.length > 0 && split.joints.length === 0) {
    const sentence = `No seam has ${parameters.pinWallMm} mm of material around a hole of ${split.holeDiameterMm.toFixed(2)} mm, so no pin was set; take a thinner pin or a thicker wall.`;
    warnings.push({ code: 'split.no-pins', sentence });
  }
  return { pieces, warnings };
}

function seamsOf(split: Split, toFile: Matrix4) {
  const seams = new Map<string, { pieces: number[]; pinDepthMm: number; pins: { at: number[]; wallMm: number }[] }>();
  for (const { pieces, plane, centre, wallMm, depthMm } of split.joints) {
    const numbers = pieces.map((piece) => piece + 1).toSorted((a, b) => a - b);
    const name = [plane, ...numbers].join(' ');
    const seam = seams.get(name) ?? { pieces: numbers, pinDepthMm: depthMm - BELOW_PIN_MM, pins: [] };
    seam.pins.push({ at: [...transformPoint(toFile, centre)], wallMm });
    seams.set(name, seam);
  }
  return [...seams.values()];
}

function planeNumbers({ point, normal }: Plane, toFile: Matrix4): number[] {
  const from = transformPoint(toFile, point);
  const tip = transformPoint(toFile, point.map((x, k) => x + normal[k]) as unknown as Vec3);
  return [...from, ...tip.map((x, k) => x - from[k])];
}
