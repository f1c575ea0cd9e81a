/** Readings of a person taken on a mesh: shared by `true`, `measure` and `form`. */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { measureKind } from '../../shared-types/measures/index.ts';
import { READING_UNCERTAINTY_MM } from '../../shared-types/tolerances.ts';
import { sureKindOf } from '../../shared-types/usual-uncertainty.ts';
import { planeThrough, tapeGirth, type TapeGirth } from '../geometry/measure/girth.ts';
import { endUncertainty, surfaceNear } from '../geometry/measure/end-uncertainty.ts';
import { isOffSurface } from '../geometry/measure/off-surface.ts';
import { arcThrough, type Arc } from '../geometry/measure/arc.ts';
import { determinant3, IDENTITY, transformPoint } from '../geometry/mesh/transform.ts';
import { SignedField } from '../geometry/offset/signed-field.ts';
import type { ScaleReading } from '../geometry/register/scale-fit.ts';

export interface GivenReadings {
  readonly spans: readonly {
    name: string;
    from: Vec3;
    to: Vec3;
    measured: number;
    u?: number | undefined;
    hold?: boolean | undefined;
  }[];
  readonly girths: readonly {
    name: string;
    through: readonly [Vec3, Vec3, Vec3];
    hairMm?: number | undefined;
    measured: number;
    u?: number | undefined;
    hold?: boolean | undefined;
  }[];
  readonly arcs?:
    | readonly {
        name: string;
        along: readonly Vec3[];
        taut?: boolean | undefined;
        measured: number;
        u?: number | undefined;
        hold?: boolean | undefined;
      }[]
    | undefined;
}

export type ReadingKind = 'span' | 'girth' | 'arc';

export type MeshReading = ScaleReading & {
  readonly kind: ReadingKind;
  /** What hair under the tape made the reading longer, mm; taken off `measuredMm` already. */
  readonly hairAllowanceMm?: number;
};

/** Share of a reading's own length beyond which its points are not on the body: another unit, scan or frame. */
const OFF_SHARE = 0.1;

function offSurfaceWarning(
  mesh: Mesh,
  name: string,
  points: readonly Vec3[],
  length: number,
  tick?: () => void,
): Warning[] {
  if (!points.some((point) => isOffSurface(mesh, point, OFF_SHARE * length, tick))) return [];
  return [
    {
      code: 'reading.off-surface',
      sentence: `The points of "${name}" do not lie on the surface, so its length may mean nothing; check that they were picked on this scan and are in its own coordinates and unit.`,
    },
  ];
}

/** Share of a span's length within which the surface about its ends shows how rough it is. */
const NEAR_SHARE = 1 / 18;

/** Straight distance and direction of a span, in the mesh's coordinates. */
export function spanOnMesh(from: Vec3, to: Vec3, toMesh: Matrix4): { a: Vec3; b: Vec3; length: number } {
  const a = transformPoint(toMesh, from),
    b = transformPoint(toMesh, to);
  return { a, b, length: Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]) };
}

/** The tape through three points. */
export function girthOnMesh(
  mesh: Mesh,
  { name, isLevel }: { readonly name: string; readonly isLevel?: boolean | undefined },
  through: readonly [Vec3, Vec3, Vec3],
  toMesh: Matrix4,
  tick?: () => void,
): Outcome<TapeGirth> {
  const points = through.map((point) => transformPoint(toMesh, point)) as [Vec3, Vec3, Vec3];
  const plane = planeThrough(...points);
  const girth = plane === undefined ? undefined : tapeGirth(mesh, plane, points, tick);
  if (girth !== undefined) return done(girth);
  return failed(fault(isLevel === true ? 'reading.level-misses' : 'reading.misses', { name }));
}

/** The tape through points in turn, along the skin or, with the signed distance to the mesh, taut. */
export function arcOnMesh(
  mesh: Mesh,
  name: string,
  along: readonly Vec3[],
  toMesh: Matrix4,
  body: SignedField | undefined,
  tick?: () => void,
): Outcome<Arc> {
  const points = along.map((point) => transformPoint(toMesh, point));
  const arc = arcThrough(mesh, points, body, tick);
  if (arc === undefined) return failed(fault('reading.no-way', { name }));
  return arc.length > 0 ? done(arc) : failed(fault('reading.no-length', { name }));
}

/** The signed distance that taut arcs need, made once and only if one of them is taut. */
export function bodyForArcs(
  mesh: Mesh,
  tick?: () => void,
): (arc: { taut?: boolean | undefined }) => SignedField | undefined {
  let body: SignedField | undefined;
  return ({ taut }) => (taut === true ? (body ??= new SignedField(mesh, tick)) : undefined);
}

/** A length on the mesh as a reading is compared with it. */
export interface TakenLength {
  readonly length: number;
  /** Standard uncertainty that the mesh's roughness and the way it was found give it. */
  readonly u: number;
}

/**
 * What roughness adds to a length may be the scan's noise, which the person does not have, or their own, as of hair
 * under a cap, on which the tape lies: half of it is taken off, with the uncertainty of anything from none to all
 * (rectangular, JCGM 100:2008 4.3.7).
 */
const lessHalf = (length: number, excess: number, otherU: number): TakenLength => ({
  length: length - excess / 2,
  u: roughUncertainty(excess, otherU),
});

export const roughUncertainty = (excess: number, otherU: number): number => Math.hypot(excess / Math.sqrt(12), otherU);

export const girthTaken = ({ length, roughness }: TapeGirth): TakenLength =>
  lessHalf(length, roughness.excess, roughness.scatter);

export const arcTaken = ({ length, excess, finenessU }: Arc): TakenLength => lessHalf(length, excess, finenessU);

/** What hair under the tape made a girth longer, mm: a closed tape N off the skin all round reads 2 pi N more (Steiner). */
export const hairAllowance = (hairMm: number | undefined): number => 2 * Math.PI * (hairMm ?? 0);
/** How well such an allowance is known, as a share of it (own judgement; it is told by eye). */
const HAIR_U_SHARE = 0.3;

/**
 * Standard uncertainty, mesh units, that the mesh's own fineness and roughness at its ends give the span from a to b.
 */
export function spanUncertainty(mesh: Mesh, a: Vec3, b: Vec3, tick?: () => void): number {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
  if (!(length > 0)) return 0;
  const along: Vec3 = [(b[0] - a[0]) / length, (b[1] - a[1]) / length, (b[2] - a[2]) / length];
  let square = 0;
  for (const end of [a, b]) {
    const near = surfaceNear(mesh, end, tick, NEAR_SHARE * length);
    if (near !== undefined) square += endUncertainty(near, along) ** 2;
  }
  return Math.sqrt(square);
}

/** One measure taken on the mesh, whether it was read on the person or not. */
export interface TakenMeasure extends TakenLength {
  /** Where it lies, xyz triples in the mesh's coordinates; a girth closes. */
  readonly line: Float64Array;
  /** Unit direction of a span, and the middle of the line; both turned into the frame asked for. */
  readonly along?: Vec3;
  readonly at: Vec3;
}

/** A measure as the recipe's three lists and the ticket have it in common; `points` in the file's coordinates. */
export interface WantedMeasure {
  readonly name: string;
  readonly kind: ReadingKind;
  readonly points: readonly Vec3[];
  readonly taut?: boolean | undefined;
  /** A girth whose points only fix its plane: they were picked on no skin. */
  readonly isLevel?: boolean | undefined;
}

/**
 * Takes measures on one mesh, what taut arcs need being made only once. Directions and places are told in the frame
 * that `frame` turns the mesh into, at the mesh's own size.
 */
export function measuresOnMesh(
  mesh: Mesh,
  toMesh: Matrix4,
  tick?: () => void,
  frame: Matrix4 = IDENTITY,
): (wanted: WantedMeasure) => Outcome<TakenMeasure> {
  const size = Math.cbrt(determinant3(frame));
  const turned = ([x, y, z]: Vec3): Vec3 => [
    (frame[0] * x + frame[1] * y + frame[2] * z) / size,
    (frame[4] * x + frame[5] * y + frame[6] * z) / size,
    (frame[8] * x + frame[9] * y + frame[10] * z) / size,
  ];
  const middleOf = (line: Float64Array): Vec3 =>
    turned(
      [0, 1, 2].map((k) => {
        let [low, high] = [Infinity, -Infinity];
        for (let i = k; i < line.length; i += 3) [low, high] = [Math.min(low, line[i]), Math.max(high, line[i])];
        return (low + high) / 2;
      }) as unknown as Vec3,
    );
  const bodyOf = bodyForArcs(mesh, tick);
  return (wanted) => {
    const { name, kind, points } = wanted;
    const at = points.map((point) => transformPoint(toMesh, point));
    if (kind === 'span') {
      const { a, b, length } = spanOnMesh(points[0], points[1], toMesh);
      if (!(length > 0)) return failed(fault('reading.no-length', { name }));
      const along = turned([(b[0] - a[0]) / length, (b[1] - a[1]) / length, (b[2] - a[2]) / length]);
      const line = Float64Array.from([...a, ...b]);
      const u = spanUncertainty(mesh, a, b, tick);
      return done({ length, u, line, along, at: middleOf(line) }, offSurface(length, [a, b]));
    }
    if (kind === 'girth') {
      const girth = girthOnMesh(mesh, wanted, [points[0], points[1], points[2]], toMesh, tick);
      if (!girth.ok) return girth;
      const { tape, offMax, length } = girth.value;
      const warnings = wanted.isLevel !== true && offMax > OFF_SHARE * length ? offSurface(length, at) : [];
      return done({ ...girthTaken(girth.value), line: tape, at: middleOf(tape) }, warnings);
    }
    const arc = arcOnMesh(mesh, name, points, toMesh, bodyOf(wanted), tick);
    if (!arc.ok) return arc;
    const line = arc.value.points;
    return done({ ...arcTaken(arc.value), line, at: middleOf(line) }, offSurface(arc.value.length, at));

    function offSurface(length: number, of: readonly Vec3[]): Warning[] {
      return offSurfaceWarning(mesh, name, of, length, tick);
    }
  };
}

/** What was read on the person, beside what was taken on the mesh. */
export interface ReadOnPerson {
  readonly measured: number;
  readonly u?: number | undefined;
  readonly hold?: boolean | undefined;
  /** Of a girth. */
  readonly hairMm?: number | undefined;
}

/** A reading against its length on the mesh; hair under the tape is taken off here. */
export function asReading(wanted: WantedMeasure, read: ReadOnPerson, taken: TakenMeasure): Outcome<MeshReading> {
  const { name, kind } = wanted;
  const allowance = kind === 'girth' ? hairAllowance(read.hairMm) : 0;
  if (!(read.measured > 0)) return failed(fault('reading.not-positive', { name, value: read.measured }));
  if (!(read.measured > allowance)) return failed(fault('reading.all-hair', { name, hairMm: read.hairMm ?? 0 }));
  const typical = READING_UNCERTAINTY_MM[sureKindOf(kind, measureKind(name))];
  return done({
    kind,
    name,
    onScan: taken.length,
    uOnScan: taken.u,
    measuredMm: read.measured - allowance,
    ...(allowance > 0 ? { hairAllowanceMm: allowance } : {}),
    uMm: Math.hypot(read.u ?? typical, HAIR_U_SHARE * allowance),
    held: read.hold === true,
    at: taken.at,
    ...(taken.along === undefined ? {} : { along: taken.along }),
  });
}

/** The recipe's three lists as one. */
export function wantedOf(given: GivenReadings): (WantedMeasure & ReadOnPerson)[] {
  return [
    ...given.spans.map((one) => ({ ...one, kind: 'span' as const, points: [one.from, one.to] })),
    ...given.girths.map((one) => ({ ...one, kind: 'girth' as const, points: one.through })),
    ...(given.arcs ?? []).map((one) => ({ ...one, kind: 'arc' as const, points: one.along })),
  ];
}

/**
 * All readings with their lengths on the mesh; `toMesh` takes the readings' points to the mesh's coordinates, `frame`
 * turns it into the frame in which directions and places are told.
 */
export function readingsOnMesh(
  mesh: Mesh,
  given: GivenReadings,
  toMesh: Matrix4,
  tick?: () => void,
  frame?: Matrix4,
): Outcome<MeshReading[]> {
  const all = wantedOf(given);
  if (all.length === 0) return failed(fault('reading.none', {}));
  const readings = takeAll(measuresOnMesh(mesh, toMesh, tick, frame), all);
  if (readings.ok && readings.value.every(({ held }) => held === true)) return failed(fault('reading.all-held', {}));
  return readings;
}

/** Each of the readings taken in turn, with what is doubtful about it. */
export function takeAll(
  take: ReturnType<typeof measuresOnMesh>,
  all: readonly (WantedMeasure & ReadOnPerson)[],
): Outcome<MeshReading[]> {
  const readings: MeshReading[] = [];
  const warnings: Warning[] = [];
  for (const one of all) {
    if (!(one.measured > 0)) return failed(fault('reading.not-positive', { name: one.name, value: one.measured }));
    const taken = take(one);
    if (!taken.ok) return taken;
    warnings.push(...taken.warnings);
    const reading = asReading(one, one, taken.value);
    if (!reading.ok) return reading;
    readings.push(reading.value);
  }
  return done(readings, warnings);
}
