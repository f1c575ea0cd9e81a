/**
 * Girths given by how high they lie above a landmark: level in the standing body, so many millimetres up. Where that is
 * on the scan depends on its size, and the size on what is read there, so the two are found in turn.
 */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { invert, transformPoint } from '../geometry/mesh/transform.ts';
import { fitScale } from '../geometry/register/scale-fit.ts';
import {
  measuresOnMesh,
  takeAll,
  wantedOf,
  type GivenReadings,
  type MeshReading,
  type ReadOnPerson,
} from './readings.ts';

export interface GivenLevel extends ReadOnPerson {
  readonly name: string;
  /** The landmark, and how far above it the tape lies, mm; below zero under it. */
  readonly at: string;
  readonly aboveMm: number;
}

/** How the body stands, and its landmarks in the file's coordinates. */
export interface Standing {
  readonly landmarks: Readonly<Record<string, Vec3>>;
  /** From the mesh's coordinates to standing; its size does not count. */
  readonly matrix: Matrix4;
}

/** Share of the body's extent by which the plane's second and third point lie beside the first. */
const BESIDE = 0.02;
const MOST_ROUNDS = 16;
/** The size has settled when a round changes it by less than this share. */
const SETTLED = 2 ** -30;

type LevelGirth = GivenReadings['girths'][number];

/** The levels as girths through three points, in the file's coordinates, for a scan of so many mm per unit. */
function girthsAt(
  mesh: Mesh,
  levels: readonly GivenLevel[],
  { landmarks, matrix }: Standing,
  toMesh: Matrix4,
  mmPerUnit: number,
): Outcome<LevelGirth[]> {
  const toFile = invert(toMesh);
  const { min, max } = boundsOf(mesh.positions);
  const beside = BESIDE * Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
  const size = Math.hypot(matrix[8], matrix[9], matrix[10]);
  const along = (row: number, by: number, [x, y, z]: Vec3): Vec3 => {
    const share = by / size;
    return [x + share * matrix[row * 4], y + share * matrix[row * 4 + 1], z + share * matrix[row * 4 + 2]];
  };
  const girths: LevelGirth[] = [];
  for (const { at, aboveMm, ...read } of levels) {
    const landmark = landmarks[at];
    if (landmark === undefined) return failed(fault('reading.no-landmark', { name: read.name, landmark: at }));
    const first = along(2, aboveMm / mmPerUnit, transformPoint(toMesh, landmark));
    const points = [first, along(0, beside, first), along(1, beside, first)].map((p) => transformPoint(toFile, p));
    girths.push({ ...read, through: [points[0], points[1], points[2]] });
  }
  return done(girths);
}

export interface WithLevels {
  /** The readings with the levels among the girths, last: where they were read when the size had settled. */
  readonly given: GivenReadings;
  readonly readings: readonly MeshReading[];
}

/**
 * Readings with levels, each level read again as the size becomes known (fixed point; a head's girth changes by a few
 * percent for each centimetre, so a few rounds suffice). Where it does not settle that is told.
 */
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
  const isGiving = fixed.value.some(({ held }) => held !== true);
  if (!isGiving && levels.every(({ hold }) => hold === true)) return failed(fault('reading.all-held', {}));
  // Where nothing else gives a size, the tape is first laid at the landmarks themselves: no height needs one there.
  let factor = isGiving ? fitScale(fixed.value).factor : Infinity;
  const warnings: Warning[] = [...fixed.warnings];
  for (let round = 0; ; round++) {
    const girths = girthsAt(mesh, levels, standing, toMesh, factor);
    if (!girths.ok) return girths;
    const taken = takeAll(take, wantedOf({ spans: [], girths: girths.value }));
    if (!taken.ok) return taken;
    const before = given.spans.length + given.girths.length;
    const readings = fixed.value.toSpliced(before, 0, ...taken.value);
    const next = fitScale(readings).factor;
    const isSettled = Math.abs(next / factor - 1) <= SETTLED;
    if (isSettled || round + 1 === MOST_ROUNDS) {
      if (!isSettled) {
        warnings.push({
          code: 'true.unsettled',
          sentence: `The height of ${levels.map(({ name }) => `"${name}"`).join(' and ')} and the size of the scan do not settle on one another; give the girth by three points, or add a span.`,
        });
      }
      return done({ given: { ...given, girths: [...given.girths, ...girths.value] }, readings }, [
        ...warnings,
        ...taken.warnings,
      ]);
    }
    factor = next;
  }
}
