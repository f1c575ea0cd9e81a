import type { z } from 'zod';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { standSpecification, type standFigures } from '../../shared-types/operations/stand.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { Landmarks, Standing } from '../../shared-types/recipe.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { factorOf } from '../geometry/fit/pose.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import { findLandmarks } from '../geometry/register/find-landmarks.ts';
import {
  mirroredLandmark,
  openEnd,
  standByFrankfurt,
  standByGuess,
  standByLandmarks,
  type Stood,
} from '../geometry/register/stand-up.ts';
import type { InputMesh, Operation } from './operation.ts';
import { standBody } from './stand-body.ts';

export const STAND_PHASES = { stand: 1 };

/** Stand a mesh up by landmarks in its file's coordinates, or by a guess: shared with `form`. */
export function standWithFigures(
  input: InputMesh,
  landmarks: Landmarks,
  run: RunContext,
  region: Standing = 'head',
): Outcome<{ readonly mesh: Mesh; readonly matrix: Matrix4; readonly figures: z.output<typeof standFigures> }> {
  run.step('stand', 0, 1);
  const placed: Record<string, Vec3> = {};
  for (const [name, point] of Object.entries(landmarks)) placed[name] = transformPoint(input.fromFile, point);
  const far = farOff(input, placed);
  if (far !== undefined) return failed(far);
  const warnings: Warning[] = [];
  const stood =
    region === 'head'
      ? standHead(input.mesh, placed, warnings, run)
      : standBody(region, input.mesh, placed, warnings, run);
  if (!stood.ok) return stood;
  const { matrix, method, confidence } = stood.value;
  run.step('stand', 1, 1);
  return done(
    { mesh: transformMesh(matrix, input.mesh), matrix, figures: { transform: [...matrix], method, confidence } },
    warnings,
  );
}

/** A landmark that lies farther outside the box round the mesh than that is across cannot be meant. */
function farOff(input: InputMesh, placed: Readonly<Record<string, Vec3>>): Fault | undefined {
  const { min, max } = boundsOf(input.mesh.positions);
  const acrossMm = Math.hypot(...max.map((x, k) => x - min[k]));
  for (const [name, point] of Object.entries(placed)) {
    const awayMm = Math.hypot(...point.map((x, k) => Math.max(min[k] - x, 0, x - max[k])));
    if (!(awayMm > acrossMm)) continue;
    const perUnit = factorOf(input.fromFile);
    const short = (mm: number): number => Number((mm / perUnit).toPrecision(3));
    return fault('landmark.far-off', { name, away: short(awayMm), across: short(acrossMm) });
  }
  return undefined;
}

/** Share of the breadth by which an orbitale must lie on the other side to count as exchanged. */
const WRONG_SIDE = 0.1;
/** Cosine to upright from which an end counts as looking up. */
const LOOKS_UP = 0.5;

function standHead(
  mesh: Mesh,
  placed: Readonly<Record<string, Vec3>>,
  warnings: Warning[],
  run: RunContext,
): Outcome<Stood> {
  const mirrored = mirroredLandmark(placed);
  if (mirrored !== undefined) return failed(fault('landmark.mirrored', { name: mirrored }));
  const left = placed['tragion-left'],
    right = placed['tragion-right'];
  const orbitales = [placed['orbitale-left'], placed['orbitale-right']].filter((point) => point !== undefined);
  if (left !== undefined && right !== undefined && orbitales.length > 0) {
    const matrix = standByFrankfurt(left, right, orbitales);
    if (matrix === undefined) return failed(fault('landmark.in-line', {}));
    const breadth = Math.hypot(...left.map((x, k) => x - right[k]));
    for (const side of ['left', 'right'] as const) {
      const orbitale = placed[`orbitale-${side}`];
      if (orbitale === undefined) continue;
      const toLeft = transformPoint(matrix, orbitale)[1] * (side === 'left' ? 1 : -1);
      if (toLeft < -WRONG_SIDE * breadth) return failed(fault('landmark.mirrored', { name: `orbitale-${side}` }));
    }
    const end = openEnd(mesh, () => run.step('stand', 0, 1));
    // Rows of the matrix are the axes: the third is up.
    const rise = end === undefined ? 0 : end.normal.reduce((sum, x, k) => sum + x * matrix[8 + k], 0);
    if (rise > LOOKS_UP) {
      warnings.push({
        code: 'stand.upside-down',
        sentence:
          "With these landmarks the open or cut end of the head is on top; if it is the neck, left and right are exchanged: left is the wearer's own left.",
      });
    }
    return done<Stood>({ matrix, method: 'frankfurt', confidence: rise > LOOKS_UP ? 0.5 : 1 });
  }
  const names = Object.keys(placed);
  if (names.length >= 3) {
    const fit = standByLandmarks(placed);
    if (fit === undefined) return failed(fault('landmark.in-line', {}));
    warnings.push({
      code: 'stand.fitted',
      sentence: `Without both tragions and an orbitale the head was stood up by ${names.length} landmarks of a middling head (they fit within ${fit.missMm.toFixed(0)} mm); its level is approximate.`,
    });
    return done<Stood>({ matrix: fit.matrix, method: 'landmarks', confidence: Math.max(0.3, 1 - fit.missMm / 40) });
  }
  if (names.length > 0)
    return failed(fault('landmark.missing', { names: 'tragion-left, tragion-right and orbitale-left' }));
  const first = standByGuess(mesh, (share) => run.step('stand', share * GUESS_SHARE, 1));
  if (first === undefined) return failed(fault('mesh.no-faces', {}));
  const guess = byItsFace(mesh, first, run);
  warnings.push({
    code: 'stand.guessed',
    sentence: `No landmarks were given, so the head was stood up by a guess (confidence ${(guess.confidence * 100).toFixed(0)} %); look at it and give the tragions and an orbitale.`,
  });
  return done(guess);
}

/** Share of the progress that the first guess takes. */
const GUESS_SHARE = 0.7;
/** What a guess by the face is sure of, less for each share of its length that the face differs from a middling one. */
const FACE_CONFIDENCE = 0.9;
const LESS_PER_MISFIT = 5;

/**
 * A guess settled by where a face is, if one is seen: which end is up, which way it looks, and about level, where the
 * neck's cut alone would leave it leaning.
 */
function byItsFace(mesh: Mesh, guess: Stood, run: RunContext): Stood {
  const face = findLandmarks(mesh, guess.matrix, () => run.step('stand', GUESS_SHARE, 1));
  if (face === undefined) return guess;
  const at = (name: string): Vec3 | undefined => face.landmarks.find((one) => one.name === name)?.point;
  const [left, right] = [at('tragion-left'), at('tragion-right')];
  const orbitales = [at('orbitale-left'), at('orbitale-right')].filter((point) => point !== undefined);
  if (left === undefined || right === undefined || orbitales.length === 0) return guess;
  const matrix = standByFrankfurt(left, right, orbitales);
  if (matrix === undefined) return guess;
  const confidence = Math.max(guess.confidence, FACE_CONFIDENCE - LESS_PER_MISFIT * face.miss);
  return { matrix, method: 'guess', confidence: Math.min(FACE_CONFIDENCE, confidence) };
}

export const standOperation: Operation<typeof standSpecification> = {
  specification: standSpecification,
  phases: STAND_PHASES,
  run: ([input], { landmarks, region }, run) => standWithFigures(input, landmarks ?? {}, run, region),
};
