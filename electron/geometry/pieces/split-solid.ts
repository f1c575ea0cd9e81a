/** A solid made into printable pieces: cut, joined by pins, numbered, proven, laid on the bed. */
import type { Mesh, Plane, Vec3 } from '../../../shared-types/mesh.ts';
import { tickingRun, type RunContext } from '../../../shared-types/progress.ts';
import { examine, HEALTH_PHASE, type Health } from '../mend/health.ts';
import { untangle } from '../mend/untangle.ts';
import { boundsOf, volumeOf } from '../mesh/quantities.ts';
import { roundToSingle, transformMesh } from '../mesh/transform.ts';
import { BORE_SIDES, boreCap, type Bore } from './cap.ts';
import { bodiesOf, cutBodies, seenFrom, type CutPiece } from './cut-apart.ts';
import { findJoints, type Joint } from './joints.ts';
import { markPiece } from './marks.ts';
import { planCuts, type Planned } from './plan-cuts.ts';
import { layDown, type Bed, type Laid } from './print-bed.ts';

export const SPLIT_PHASES = { cut: 0.25, join: 0.25, mark: 0.2, [HEALTH_PHASE]: 0.3 };

export interface SplitOptions {
  readonly bed: Bed;
  readonly planes: readonly Plane[];
  /** By how much planes of its own choice are moved, for another try, mm. */
  readonly asideMm?: number;
  readonly joint: 'dowel' | 'peg' | 'none';
  readonly pinMm: number;
  readonly pinDepthMm: number;
  readonly clearanceMm: number;
  readonly pinWallMm: number;
  readonly spacingMm: number;
  /** Height of the numbers; 0 for none. */
  readonly markMm: number;
}

export interface SplitPiece {
  /** In the solid's own coordinates. */
  readonly mesh: Mesh;
  readonly laid: Laid;
  /** As it lies on the bed, single precision. */
  readonly lying: Mesh;
  readonly marked: boolean;
  /** Whether a seam joins it to others: a body that nothing has cut has none. */
  readonly cut: boolean;
  /** Of the lying mesh. */
  readonly health: Health;
}

export interface Split {
  readonly pieces: readonly SplitPiece[];
  readonly joints: readonly Joint[];
  /** Those that cut: the planes given that met something, then the program's own. */
  readonly planes: readonly Plane[];
  /** Bodies the solid had before it was cut. */
  readonly bodies: number;
  /** Numbers of the planes given that cut nothing. */
  readonly idle: readonly number[];
  readonly volumeDifferenceMm3: number;
  readonly holeDiameterMm: number;
}

/** A hole goes this much deeper than the pin, so that the pieces meet before it strikes the ground, mm. */
export const BELOW_PIN_MM = 0.5;
/** Chamfer of a peg's end, as a share of its radius; of a flat peg, half its height at the most. */
const CHAMFER = 0.3;
/** Width and height of a raised stroke, as shares of the letter's height. */
const STROKE = 0.16;
const RAISED = 0.1;

export interface PlannedPieces extends Planned, Pick<Split, 'bodies' | 'idle'> {}

/** The pieces as they are cut, from the top down, before pins and numbers. Phase: cut. O(pieces · faces). */
export function planPieces(
  solid: Mesh,
  { bed, planes, asideMm = 0 }: Pick<SplitOptions, 'bed' | 'planes' | 'asideMm'>,
  run: RunContext,
): PlannedPieces {
  const cutting = (): void => run.step('cut', 0, 1);
  const bodies = bodiesOf(solid, cutting);
  const given = whatCuts(cutBodies(bodies, planes, cutting), planes);
  const planned = planCuts(given.pieces, given.planes, bed, asideMm, (done, total) => run.step('cut', done, total));
  const pieces = planned.pieces.toSorted((a, b) => middleHeight(b.mesh) - middleHeight(a.mesh));
  return { pieces, planes: planned.planes, bodies: bodies.length, idle: given.idle };
}

/**
 * Pieces in order of the height of their middles, from the top down. The solid must be closed, manifold, outward and
 * free of self-intersection; bodies that overlap are not looked for. Holes stand in the cut faces only. Each piece comes
 * with the examination of what will be written. O(pieces · faces · log faces).
 */
export function splitSolid(whole: Mesh, options: SplitOptions, run: RunContext): Split {
  const solid = roundToSingle(whole);
  const { pieces, planes, bodies, idle } = planPieces(solid, options, run);
  const volumeDifferenceMm3 = pieces.reduce((sum, { mesh }) => sum + volumeOf(mesh), 0) - volumeOf(solid);
  run.step('join', 0, 1);
  // The corners of a hole's ring stand a little out, so that its flat sides leave the room asked for.
  const across = Math.cos(Math.PI / BORE_SIDES);
  const radius = options.pinMm / 2;
  const holeRadius = (radius + options.clearanceMm / 2) / across;
  const depth = options.pinDepthMm + BELOW_PIN_MM;
  const wanted = {
    radiusMm: holeRadius,
    depthMm: depth,
    wallMm: options.pinWallMm,
    spacingMm: options.spacingMm,
  };
  const joints =
    options.joint === 'none' ? [] : findJoints(solid, pieces, planes, wanted, () => run.step('join', 0, 1));
  const hole = ({ centre, depthMm }: Joint): Bore => ({
    centre,
    rings: [
      [holeRadius, 0],
      [holeRadius, depthMm],
    ],
  });
  const chamferOf = (depthMm: number): number => Math.min(CHAMFER * radius, (depthMm - BELOW_PIN_MM) / 2);
  const peg = ({ centre, depthMm }: Joint): Bore => ({
    centre,
    rings: [
      [radius, 0],
      [radius, -(depthMm - BELOW_PIN_MM - chamferOf(depthMm))],
      [radius - chamferOf(depthMm), -(depthMm - BELOW_PIN_MM)],
    ],
  });
  const { min, max } = boundsOf(solid.positions);
  const middle = [0, 1, 2].map((k) => (min[k] + max[k]) / 2) as unknown as Vec3;
  const made = pieces.map((piece, index): SplitPiece => {
    run.step('join', index, pieces.length);
    const joining = (): void => run.step('join', index, pieces.length);
    const bored = withBores(
      piece,
      index,
      joints,
      planes,
      (joint) => (options.joint === 'peg' && joint.pieces[1] === index ? peg(joint) : hole(joint)),
      joining,
    );
    const flats = piece.cuts.map((one) => seenFrom(planes[one.plane], one));
    // A face that pegs stand on cannot lie down.
    const resting = flats.filter((_, k) => {
      const { plane } = piece.cuts[k];
      return !(options.joint === 'peg' && joints.some((one) => one.plane === plane && one.pieces[1] === index));
    });
    const marking = (): void => run.step('mark', index, pieces.length);
    const proven = (mesh: Mesh): Omit<SplitPiece, 'marked'> => {
      const laid = layDown(mesh, resting, options.bed, marking);
      return { mesh, laid, cut: piece.cuts.length > 0, ...proof(transformMesh(laid.matrix, mesh), run) };
    };
    const numbered = number(bored, index + 1, middle, options.markMm, flats, marking);
    const withNumber = proven(numbered.mesh);
    if (!numbered.marked || isSound(withNumber.health)) return { ...withNumber, marked: numbered.marked };
    // A number that spoils its piece is left off.
    return { ...proven(bored), marked: false };
  });
  return {
    pieces: made,
    joints,
    planes,
    bodies,
    idle,
    volumeDifferenceMm3,
    holeDiameterMm: 2 * holeRadius * across,
  };
}

/** Rounded as it will be written, and examined; where cuts nearly meet, slivers that touch are taken out. */
function proof(mesh: Mesh, run: RunContext): { readonly lying: Mesh; readonly health: Health } {
  const lying = roundToSingle(mesh);
  const health = examine(lying, run);
  if (isSound(health)) return { lying, health };
  const easing = tickingRun(() => run.step(HEALTH_PHASE, 0, 1));
  const eased = untangle(lying, easing).mesh;
  return { lying: eased, health: examine(eased, run) };
}

export const isSound = ({ watertight, selfIntersections }: Health): boolean => watertight && selfIntersections === 0;

/** Planes that cut nothing left out, the others numbered anew: pins would keep away from cuts that are not there. */
function whatCuts(pieces: readonly CutPiece[], planes: readonly Plane[]) {
  const used = new Set(pieces.flatMap(({ cuts }) => cuts.map(({ plane }) => plane)));
  const numbers = [...planes.keys()].filter((number) => used.has(number));
  return {
    planes: numbers.map((number) => planes[number]),
    idle: [...planes.keys()].filter((number) => !used.has(number)),
    pieces: pieces.map(({ mesh, cuts }) => ({
      mesh,
      cuts: cuts.map((one) => ({ ...one, plane: numbers.indexOf(one.plane) })),
    })),
  };
}

const middleHeight = (mesh: Mesh): number => {
  const { min, max } = boundsOf(mesh.positions);
  return (min[2] + max[2]) / 2;
};

function withBores(
  piece: CutPiece,
  index: number,
  joints: readonly Joint[],
  planes: readonly Plane[],
  boreOf: (joint: Joint) => Bore,
  tick: () => void,
): Mesh {
  let { mesh } = piece;
  for (const one of piece.cuts) {
    const here = joints.filter((joint) => joint.plane === one.plane && joint.pieces.includes(index));
    mesh = boreCap(mesh, seenFrom(planes[one.plane], one), here.map(boreOf), tick);
  }
  return mesh;
}

function number(
  mesh: Mesh,
  count: number,
  middle: Vec3,
  letterMm: number,
  flats: readonly Plane[],
  tick: () => void,
): { mesh: Mesh; marked: boolean } {
  if (letterMm === 0) return { mesh, marked: false };
  const size = { letterMm, strokeMm: STROKE * letterMm, heightMm: RAISED * letterMm };
  const { mesh: marked, at } = markPiece(mesh, String(count), middle, size, flats, tick);
  return { mesh: marked, marked: at !== undefined };
}
