/** Readings of a person taken on a mesh: shared by `true`, `measure` and `form`. */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { READING_UNCERTAINTY_MM } from '../../shared-types/tolerances.ts';
import { planeThrough, tapeGirth, type TapeGirth } from '../geometry/measure/girth.ts';
import { endUncertainty, surfaceNear } from '../geometry/measure/end-uncertainty.ts';
import { isOffSurface } from '../geometry/measure/off-surface.ts';
import { shortestPath } from '../geometry/measure/shortest-path.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
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
    measured: number;
    u?: number | undefined;
    hold?: boolean | undefined;
  }[];
  readonly arcs?:
    | readonly {
        name: string;
        along: readonly Vec3[];
        measured: number;
        u?: number | undefined;
        hold?: boolean | undefined;
      }[]
    | undefined;
}

export type ReadingKind = 'span' | 'girth' | 'arc';

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

/** Straight distance and direction of a span, in the mesh's coordinates. */
export function spanOnMesh(from: Vec3, to: Vec3, toMesh: Matrix4): { a: Vec3; b: Vec3; length: number } {
  const a = transformPoint(toMesh, from),
    b = transformPoint(toMesh, to);
  return { a, b, length: Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]) };
}

/** The tape through three points. */
export function girthOnMesh(
  mesh: Mesh,
  name: string,
  through: readonly [Vec3, Vec3, Vec3],
  toMesh: Matrix4,
  tick?: () => void,
): Outcome<TapeGirth> {
  const points = through.map((point) => transformPoint(toMesh, point)) as [Vec3, Vec3, Vec3];
  const plane = planeThrough(...points);
  const girth = plane === undefined ? undefined : tapeGirth(mesh, plane, points, tick);
  return girth === undefined ? failed(fault('reading.misses', { name })) : done(girth);
}

/** The tape along the skin through points in turn. */
export function arcOnMesh(
  mesh: Mesh,
  name: string,
  along: readonly Vec3[],
  toMesh: Matrix4,
  tick?: () => void,
): Outcome<{ readonly length: number; readonly straight: number; readonly points: readonly Vec3[] }> {
  const points = along.map((point) => transformPoint(toMesh, point));
  let length = 0,
    straight = 0;
  for (let leg = 1; leg < points.length; leg++) {
    const [a, b] = [points[leg - 1], points[leg]];
    const path = shortestPath(mesh, a, b, tick);
    if (path === undefined) return failed(fault('reading.no-way', { name }));
    length += path.length;
    straight += Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
  }
  return length > 0 ? done({ length, straight, points }) : failed(fault('reading.no-length', { name }));
}

/**
 * Standard uncertainty, mesh units, that the mesh's own fineness and roughness at its ends give the span from a to b.
 */
export function spanUncertainty(mesh: Mesh, a: Vec3, b: Vec3, tick?: () => void): number {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
  if (!(length > 0)) return 0;
  const along: Vec3 = [(b[0] - a[0]) / length, (b[1] - a[1]) / length, (b[2] - a[2]) / length];
  let square = 0;
  for (const end of [a, b]) {
    const near = surfaceNear(mesh, end, tick);
    if (near !== undefined) square += endUncertainty(near, along) ** 2;
  }
  return Math.sqrt(square);
}

/** All readings with their lengths on the mesh; `toMesh` takes the readings' points to the mesh's coordinates. */
export function readingsOnMesh(
  mesh: Mesh,
  given: GivenReadings,
  toMesh: Matrix4,
  tick?: () => void,
): Outcome<(ScaleReading & { kind: ReadingKind })[]> {
  const arcs = given.arcs ?? [];
  if (given.spans.length + given.girths.length + arcs.length === 0) return failed(fault('reading.none', {}));
  const readings: (ScaleReading & { kind: ReadingKind })[] = [];
  const warnings: Warning[] = [];
  for (const one of [...given.spans, ...given.girths, ...arcs]) {
    if (!(one.measured > 0)) return failed(fault('reading.not-positive', { name: one.name, value: one.measured }));
  }
  for (const span of given.spans) {
    const { a, b, length } = spanOnMesh(span.from, span.to, toMesh);
    if (!(length > 0)) return failed(fault('reading.no-length', { name: span.name }));
    warnings.push(...offSurfaceWarning(mesh, span.name, [a, b], length, tick));
    readings.push({
      kind: 'span',
      name: span.name,
      onScan: length,
      measuredMm: span.measured,
      uMm: span.u ?? READING_UNCERTAINTY_MM.headSpan,
      held: span.hold === true,
      along: [(b[0] - a[0]) / length, (b[1] - a[1]) / length, (b[2] - a[2]) / length],
    });
  }
  for (const girth of given.girths) {
    const taken = girthOnMesh(mesh, girth.name, girth.through, toMesh, tick);
    if (!taken.ok) return taken;
    if (taken.value.offMax > OFF_SHARE * taken.value.length) {
      const points = girth.through.map((point) => transformPoint(toMesh, point));
      warnings.push(...offSurfaceWarning(mesh, girth.name, points, taken.value.length, tick));
    }
    readings.push({
      kind: 'girth',
      name: girth.name,
      onScan: taken.value.length,
      measuredMm: girth.measured,
      uMm: girth.u ?? READING_UNCERTAINTY_MM.headGirth,
      held: girth.hold === true,
    });
  }
  for (const arc of arcs) {
    const taken = arcOnMesh(mesh, arc.name, arc.along, toMesh, tick);
    if (!taken.ok) return taken;
    const { length, points } = taken.value;
    warnings.push(...offSurfaceWarning(mesh, arc.name, points, length, tick));
    readings.push({
      kind: 'arc',
      name: arc.name,
      onScan: length,
      measuredMm: arc.measured,
      uMm: arc.u ?? READING_UNCERTAINTY_MM.headGirth,
      held: arc.hold === true,
    });
  }
  const giving = readings.filter((reading) => reading.held !== true);
  const [only] = given.spans.filter((span) => span.hold !== true);
  if (giving.length === 1 && only !== undefined) {
    // Several show by their own scatter what the mesh does to them; one alone cannot.
    const { a, b } = spanOnMesh(only.from, only.to, toMesh);
    readings[readings.indexOf(giving[0])] = { ...giving[0], uOnScan: spanUncertainty(mesh, a, b, tick) };
  }
  if (readings.every((reading) => reading.held === true)) return failed(fault('reading.all-held', {}));
  return done(readings, warnings);
}
