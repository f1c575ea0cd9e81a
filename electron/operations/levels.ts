/**
 * Girths told by how high they lie above a landmark, or by being the thickest or thinnest between two: level in the
 * standing body. Where a height is on the scan depends on its size, and the size on what is read there, so the two are
 * found in turn.
 */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { landmarksOf, type LevelPlace } from '../../shared-types/recipe.ts';
import { levelFrame, levelOn, type LevelFound } from '../geometry/measure/level.ts';
import { invert, transformPoint } from '../geometry/mesh/transform.ts';
import { fitScale } from '../geometry/register/scale-fit.ts';
import {
  measuresOnMesh,
  takeAll,
  wantedOf,
  type GivenReadings,
  type MeshReading,
  type ReadOnPerson,
  type WantedMeasure,
} from './readings.ts';

export type GivenLevel = LevelPlace & ReadOnPerson & { readonly name: string };

/** How the body stands, and its landmarks in the file's coordinates. */
export interface Standing {
  readonly landmarks: Readonly<Record<string, Vec3>>;
  /** From the mesh's coordinates to standing; its size does not count. */
  readonly matrix: Matrix4;
}

const MOST_ROUNDS = 16;
/** The size has settled when a round changes it by less than this share. */
const SETTLED = 2 ** -30;
/**
 * Where it swings for good, as between a size with and without a reading that is only just in doubt, tapes that move by
 * less are still where they were asked for: nobody lays one nearer by hand (common practice, no source).
 */
const SAME_HEIGHT_MM = 0.5;

export interface Leveller {
  /** The tape's plane as three points in the file's coordinates, for a scan of so many mm per unit. */
  readonly through: (mmPerUnit: number) => [Vec3, Vec3, Vec3];
  readonly warnings: readonly Warning[];
}

/** A level made ready on a mesh. A landmark that is not placed, or a stretch that meets nothing, is a fault. */
export function levellerOf(
  mesh: Mesh,
  name: string,
  place: LevelPlace,
  { landmarks, matrix }: Standing,
  toMesh: Matrix4,
  tick?: () => void,
): Outcome<Leveller> {
  const missing = landmarksOf(place).find((landmark) => landmarks[landmark] === undefined);
  if (missing !== undefined) return failed(fault('reading.no-landmark', { name, landmark: missing }));
  const onMesh = (landmark: string): Vec3 => transformPoint(toMesh, landmarks[landmark]);
  const find = levelOn(mesh, place, onMesh, levelFrame(matrix), tick);
  if (find === undefined) return failed(fault('reading.level-misses', { name }));
  const toFile = invert(toMesh);
  const inFile = ({ through }: LevelFound): [Vec3, Vec3, Vec3] => {
    const [a, b, c] = through.map((point) => transformPoint(toFile, point));
    return [a, b, c];
  };
  return done({ through: (mmPerUnit) => inFile(find(mmPerUnit)), warnings: endWarning(name, place, find(1)) });
}

function endWarning(name: string, place: LevelPlace, { endsAt }: LevelFound): Warning[] {
  if (endsAt === undefined || 'at' in place) return [];
  const sentence = `"${name}" is ${place.most} at the very end of its stretch, at the landmark "${endsAt}", and may be more so beyond it; give a landmark farther on, or a height.`;
  return [{ code: 'reading.level-end', sentence }];
}

export interface Levelled {
  readonly readings: readonly MeshReading[];
  /** Each level as the girth it has become, where it was read when the size had settled. */
  readonly girths: readonly (WantedMeasure & ReadOnPerson & { readonly points: readonly [Vec3, Vec3, Vec3] })[];
}

/**
 * Reads levels beside readings already taken, each level again as the size becomes known (fixed point; a head's girth
 * changes by a few percent for each centimetre, so a few rounds suffice). Where it does not settle, and the tape moves by more than is seen, that is told.
 * The levels' readings stand after the first `before` of the others.
 */
export function readLevels(
  take: ReturnType<typeof measuresOnMesh>,
  fixed: readonly MeshReading[],
  before: number,
  levels: readonly { readonly level: ReadOnPerson & { readonly name: string }; readonly leveller: Leveller }[],
): Outcome<Levelled> {
  const isGiving = fixed.some(({ held }) => held !== true);
  if (!isGiving && levels.every(({ level }) => level.hold === true)) return failed(fault('reading.all-held', {}));
  // Where nothing else gives a size, the tape is first laid at the landmarks themselves: no height needs one there.
  let factor = isGiving ? fitScale(fixed).factor : Infinity;
  const warnings: Warning[] = levels.flatMap(({ leveller }) => leveller.warnings);
  for (let round = 0; ; round++) {
    const girths = levels.map(({ level: { name, measured, u, hold, hairMm }, leveller }) => {
      return {
        name,
        measured,
        u,
        hold,
        hairMm,
        kind: 'girth' as const,
        isLevel: true,
        points: leveller.through(factor),
      };
    });
    const taken = takeAll(take, girths);
    if (!taken.ok) return taken;
    const readings = fixed.toSpliced(before, 0, ...taken.value);
    const next = fitScale(readings).factor;
    const isSettled = Math.abs(next / factor - 1) <= SETTLED;
    if (isSettled || round + 1 === MOST_ROUNDS) {
      const moved = Math.max(0, ...levels.map(({ leveller }) => movedMm(leveller, factor, next)));
      if (!isSettled && moved > SAME_HEIGHT_MM) {
        warnings.push({
          code: 'true.unsettled',
          sentence: `The height of ${levels.map(({ level }) => `"${level.name}"`).join(' and ')} and the size of the scan do not settle on one another; give the girth by three points, or add a span.`,
        });
      }
      return done({ readings, girths }, [...warnings, ...taken.warnings]);
    }
    factor = next;
  }
}

/** How far a tape lies from itself by one size and by another, mm. */
function movedMm({ through }: Leveller, factor: number, next: number): number {
  const [from, to] = [through(factor), through(next)];
  return Math.max(...from.map((point, k) => next * Math.hypot(...point.map((c, axis) => c - to[k][axis]))));
}

export interface WithLevels {
  /** The readings with the levels among the girths, last. */
  readonly given: GivenReadings;
  readonly readings: readonly MeshReading[];
}

/** Readings of a file with its levels. */
export function readWithLevels(
  mesh: Mesh,
  given: GivenReadings,
  levels: readonly GivenLevel[],
  standing: Standing,
  toMesh: Matrix4,
  tick?: () => void,
): Outcome<WithLevels> {
  const take = measuresOnMesh(mesh, toMesh, tick, standing.matrix);
  const fixed = takeAll(take, wantedOf(given));
  if (!fixed.ok) return fixed;
  const ready: { level: GivenLevel; leveller: Leveller }[] = [];
  for (const level of levels) {
    const leveller = levellerOf(mesh, level.name, level, standing, toMesh, tick);
    if (!leveller.ok) return leveller;
    ready.push({ level, leveller: leveller.value });
  }
  const read = readLevels(take, fixed.value, given.spans.length + given.girths.length, ready);
  if (!read.ok) return read;
  const girths = read.value.girths.map(({ kind: _girth, isLevel: _level, points, ...one }) => ({
    ...one,
    through: points,
  }));
  return done({ given: { ...given, girths: [...given.girths, ...girths] }, readings: read.value.readings }, [
    ...fixed.warnings,
    ...read.warnings,
  ]);
}
