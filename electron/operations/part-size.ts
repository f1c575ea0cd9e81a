/** The true size of a part, and where it starts: what the user said of it brought into millimetres. */
import type { z } from 'zod';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import type { fitFigures, fitParameters, PART_UNITS } from '../../shared-types/operations/fit.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { factorOf, grown, motion } from '../geometry/fit/pose.ts';
import { guessUnit } from '../geometry/mend/health.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import {
  determinant3,
  IDENTITY,
  invert,
  multiply,
  scaling,
  transformMesh,
  transformPoint,
} from '../geometry/mesh/transform.ts';
import { fitSimilarity } from '../geometry/register/similarity.ts';
import type { InputMesh } from './operation.ts';

type FitParameters = z.output<typeof fitParameters>;
/** What says how large a part is, and where it starts. */
type SizeParameters = Pick<FitParameters, 'known' | 'unit' | 'mirror'> & { readonly place?: FitParameters['place'] };
export type TrueSize = z.output<typeof fitFigures>['trueSize'];

const MM_PER_UNIT: Readonly<Record<(typeof PART_UNITS)[number], number>> = { mm: 1, cm: 10, m: 1000, in: 25.4 };
/** Standard uncertainty of a known dimension unless stated, mm: a calliper on a printed piece. Own judgement. */
const KNOWN_U_MM = 0.5;
/** How far the columns of a placement may differ in length or from right angles, as a share. */
const EVEN_SHARE = 2 ** -10;

export interface SizedPart {
  /** In mm, mirrored if asked, in the part's own turn and place. */
  readonly mesh: Mesh;
  /** From the input mesh's coordinates to those of `mesh`. */
  readonly ownMatrix: Matrix4;
  readonly trueSize: TrueSize;
  /** Known dimensions as the part now has them, mm. */
  readonly known: readonly { readonly name: string; readonly mm: number }[];
  /** From `mesh` to the form's mesh; undefined where nothing was said. */
  readonly start: Matrix4 | undefined;
}

/** Size, mirror and start of a part from the parameters. */
export function sizedPart(
  part: InputMesh,
  { fromFile: formFromFile }: Pick<InputMesh, 'fromFile'>,
  parameters: SizeParameters,
): Outcome<SizedPart> {
  const warnings: Warning[] = [];
  const matrix = parameters.place?.matrix;
  if (matrix !== undefined) {
    const reason = unevenness(matrix);
    if (reason !== undefined) return failed(fault('fit.bad-placement', { reason }));
  }
  const size = trueSizeOf(part, formFromFile, parameters, warnings);
  if (!size.ok) return size;
  const { mmPerUnit } = size.value;
  const axis = parameters.mirror ?? (matrix !== undefined && determinant3(matrix) < 0 ? 'y' : undefined);
  const ownMatrix = multiply(mirrorOf(part.mesh, mmPerUnit, axis), scaling(mmPerUnit));
  const mesh = transformMesh(ownMatrix, part.mesh);
  const start = startOf(part, formFromFile, parameters, ownMatrix, mesh);
  if (!start.ok) return start;
  const known = (parameters.known?.spans ?? []).map(({ name, from, to }) => ({
    name,
    mm: mmPerUnit * lengthIn(part, from, to),
  }));
  return done({ mesh, ownMatrix, trueSize: size.value, known, start: start.value }, warnings);
}

/** A part so many times larger or smaller than the body it is worn on is in another unit. Own judgement. */
const TOO_LARGE = 20;
const TOO_SMALL = 1 / 200;

/** Of a part in true size, on a form: both in mm. */
export function troubleOfScale(part: Mesh, form: Mesh): Fault | undefined {
  const across = ({ positions }: Mesh): number => {
    const { min, max } = boundsOf(positions);
    return Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]);
  };
  const [partMm, formMm] = [across(part), across(form)];
  const isOfBody = partMm < TOO_LARGE * formMm && partMm > TOO_SMALL * formMm;
  return isOfBody ? undefined : fault('fit.out-of-scale', { partMm, formMm });
}

function lengthIn(part: InputMesh, from: Vec3, to: Vec3): number {
  const a = transformPoint(part.fromFile, from),
    b = transformPoint(part.fromFile, to);
  return Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

function trueSizeOf(
  part: InputMesh,
  formFromFile: Matrix4,
  { known, place, unit }: SizeParameters,
  warnings: Warning[],
): Outcome<TrueSize> {
  if (known !== undefined) {
    // Least squares through the origin, each dimension by its own uncertainty.
    let [up, down] = [0, 0];
    const lengths: number[] = [];
    for (const { name, from, to, measured, u = KNOWN_U_MM } of known.spans) {
      const length = lengthIn(part, from, to);
      if (!(length > 0)) return failed(fault('fit.bad-known', { name }));
      lengths.push(length);
      up += (length * measured) / u ** 2;
      down += length ** 2 / u ** 2;
    }
    const mmPerUnit = up / down;
    const residuals = known.spans.map(({ name, measured }, i) => ({
      name,
      measuredMm: measured,
      missMm: mmPerUnit * lengths[i] - measured,
    }));
    return done({ mmPerUnit, how: 'known dimension', residuals });
  }
  const told = (mmPerUnit: number, how: TrueSize['how']): Outcome<TrueSize> => done({ mmPerUnit, how, residuals: [] });
  if (place?.matrix !== undefined) {
    // From the mesh's own unit; fromFile is part of what the placement does.
    return told(factorOf(multiply(multiply(formFromFile, place.matrix), invert(part.fromFile))), 'placement');
  }
  if (unit !== undefined)
    return told(MM_PER_UNIT[unit] / (part.unit === undefined ? 1 : factorOf(part.fromFile)), 'unit given');
  if (part.unit !== undefined) return told(1, 'unit of the file');
  const guess = guessUnit(boundsOf(part.mesh.positions));
  warnings.push({
    code: 'fit.size-guessed',
    sentence: `${part.name} states no unit and no dimension of it is known: ${guess.reason}; give --known or --unit.`,
  });
  return told(guess.mmPerUnit, 'guessed from its size');
}

/** Mirror about the middle of the part's own box, which is in mm already. */
function mirrorOf(mesh: Mesh, mmPerUnit: number, axis: 'x' | 'y' | 'z' | undefined): Matrix4 {
  if (axis === undefined) return IDENTITY;
  const k = 'xyz'.indexOf(axis);
  const { min, max } = boundsOf(mesh.positions);
  return IDENTITY.map((value, i) => {
    if (i === 5 * k) return -1;
    return i === 4 * k + 3 ? mmPerUnit * (min[k] + max[k]) : value;
  });
}

function unevenness(m: Matrix4): string | undefined {
  const columns = [0, 1, 2].map((c) => [m[c], m[4 + c], m[8 + c]]);
  const size = Math.cbrt(Math.abs(determinant3(m)));
  if (!(size > 0)) return 'makes the part flat';
  if (m[12] !== 0 || m[13] !== 0 || m[14] !== 0 || m[15] !== 1) return 'does not end with the row 0, 0, 0, 1';
  for (let a = 0; a < 3; a++) {
    for (let b = a; b < 3; b++) {
      const dot = columns[a].reduce((sum, value, k) => sum + value * columns[b][k], 0) / size ** 2;
      if (Math.abs(dot - (a === b ? 1 : 0)) > EVEN_SHARE) return 'stretches or skews the part';
    }
  }
  return undefined;
}

function startOf(
  part: InputMesh,
  formFromFile: Matrix4,
  { place }: SizeParameters,
  ownMatrix: Matrix4,
  mesh: Mesh,
): Outcome<Matrix4 | undefined> {
  if (place?.matrix !== undefined) {
    const start = multiply(multiply(formFromFile, place.matrix), multiply(invert(part.fromFile), invert(ownMatrix)));
    // A known dimension overrules the size that the placement gives the part.
    const { min, max } = boundsOf(mesh.positions);
    const middle: Vec3 = [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
    return done(grown(start, 1 / factorOf(start), transformPoint(start, middle)));
  }
  if (place?.pairs === undefined) return done(undefined);
  const way = multiply(ownMatrix, part.fromFile);
  const from = place.pairs.map((pair) => transformPoint(way, pair.part)),
    to = place.pairs.map((pair) => transformPoint(formFromFile, pair.form));
  const start = throughPairs(from, to);
  return start === undefined ? failed(fault('fit.bad-pairs', {})) : done(start);
}

/** One pair shifts, two also turn as little as brings their line over, three or more fit best. */
function throughPairs(from: readonly Vec3[], to: readonly Vec3[]): Matrix4 | undefined {
  if (from.length >= 3) return fitSimilarity(from, to, false)?.matrix;
  const shift: Vec3 = [to[0][0] - from[0][0], to[0][1] - from[0][1], to[0][2] - from[0][2]];
  if (from.length === 1) return motion([0, 0, 0], [0, 0, 0], shift);
  const u = from[1].map((value, k) => value - from[0][k]),
    v = to[1].map((value, k) => value - to[0][k]);
  const sizes = Math.hypot(...u) * Math.hypot(...v);
  if (!(sizes > 0)) return undefined;
  const cross = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
  const size = Math.hypot(...cross);
  const angle = Math.atan2(size, u[0] * v[0] + u[1] * v[1] + u[2] * v[2]);
  const turn: Vec3 =
    size > 0 ? [(cross[0] * angle) / size, (cross[1] * angle) / size, (cross[2] * angle) / size] : [0, 0, 0];
  // Turned about the first point, then its middle brought over the other's.
  const half = [0, 1, 2].map((k) => (v[k] * (1 - Math.hypot(...u) / Math.hypot(...v))) / 2);
  return motion(from[0], turn, [shift[0] + half[0], shift[1] + half[1], shift[2] + half[2]]);
}
