/** What is asked of a liner, from its parameters in the file's own coordinates to wishes in the mesh's. */
import type { z } from 'zod';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Plane, Vec3 } from '../../shared-types/mesh.ts';
import type { lineSpecification } from '../../shared-types/operations/line.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import type { KeepOut, KeepOutShape } from '../geometry/offset/keep-out.ts';
import type { LinerWishes } from '../geometry/offset/liner.ts';
import type { Opening } from '../geometry/offset/openings.ts';
import { namedRegion, type Zone, type ZoneRegion } from '../geometry/offset/zones.ts';
import { isNoHead } from '../geometry/register/body-regions.ts';
import type { InputMesh } from './operation.ts';

/** A kilometre: numbers of another unit than millimetres, over which a liner would never end. */
const MOST_ACROSS_MM = 1_000_000;

/** What keeps a mesh from being lined, if anything: it must be closed, manifold, oriented and outward. */
export function troubleOfForm(mesh: Mesh, verb: string): Fault | undefined {
  if (mesh.triangles.length === 0) return fault('mesh.no-faces', {});
  const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
  if (twins.openEdges > 0) return fault('mesh.not-closed', { openEdges: twins.openEdges, verb });
  if (twins.nonManifoldEdges > 0) {
    return fault('mesh.not-sound', { reason: `${twins.nonManifoldEdges} edges have more than two faces`, verb });
  }
  if (twins.flippedEdges > 0) {
    return fault('mesh.not-sound', {
      reason: `${twins.flippedEdges} edges lie between faces that look opposite ways`,
      verb,
    });
  }
  if (!(volumeOf(mesh) > 0)) return fault('mesh.not-sound', { reason: 'it is inside out', verb });
  const { min, max } = boundsOf(mesh.positions);
  const acrossMm = Math.max(...max.map((x, k) => x - min[k]));
  if (acrossMm > MOST_ACROSS_MM) return fault('mesh.too-large', { across: acrossMm.toPrecision(3), verb });
  return undefined;
}

/** Pressed foam thinner than this is none, mm. */
const LEAST_ROOM_MM = 0.5;
/** Blends are at least this many times as wide as the largest step, so that the liner rises by 37 degrees at most. */
const LEAST_BLEND = 2;

/** A plane given in the file's own coordinates, in those of the mesh. */
export function planeFrom(numbers: readonly number[], fromFile: Matrix4): Plane {
  const point = transformPoint(fromFile, numbers.slice(0, 3) as unknown as Vec3);
  const tip = transformPoint(fromFile, [numbers[0] + numbers[3], numbers[1] + numbers[4], numbers[2] + numbers[5]]);
  return { point, normal: [tip[0] - point[0], tip[1] - point[1], tip[2] - point[2]] };
}

type LineParameters = z.output<typeof lineSpecification.parameters>;
type ZonesGiven = NonNullable<LineParameters['zones']>['zones'];

/** The zones in the mesh's own coordinates. */
function zonesFrom(given: ZonesGiven, foamMm: number, form: Mesh, fromFile: Matrix4): Outcome<readonly Zone[]> {
  const topMm = boundsOf(form.positions).max[2];
  const zones: Zone[] = [];
  const rooms = given.map((zone) => zone.foamMm * (1 - zone.compression));
  const spread = Math.max(foamMm, ...rooms) - Math.min(foamMm, ...rooms);
  for (const [i, zone] of given.entries()) {
    const name = zone.name ?? zone.region ?? `zone ${i + 1}`;
    const trouble = (reason: string): Outcome<never> =>
      failed(fault('job.usage', { reason: `line: zones: ${name}: ${reason}` }));
    if (rooms[i] < LEAST_ROOM_MM) return trouble(`pressed foam of ${rooms[i].toFixed(2)} mm is less than 0.5 mm.`);
    if (zone.blendMm < LEAST_BLEND * spread) {
      return trouble(
        `a blend of ${zone.blendMm} mm is too short for a step of ${spread.toFixed(1)} mm; give at least ${Math.ceil(LEAST_BLEND * spread)}.`,
      );
    }
    let region: ZoneRegion;
    if (zone.region !== undefined) {
      if (isNoHead(form.positions))
        return trouble('a named region needs an upright form with its origin between the ears.');
      region = namedRegion(zone.region, topMm);
    } else if (zone.box !== undefined) {
      region = { kind: 'box', ...boxFrom(zone.box, fromFile) };
    } else {
      const centres = (zone.points ?? []).map((point) => transformPoint(fromFile, point as unknown as Vec3));
      region = { kind: 'spots', centres, radiusMm: zone.radiusMm ?? 0 };
    }
    zones.push({ name, region, thicknessMm: rooms[i], blendMm: zone.blendMm });
  }
  return done(zones);
}

/** Places of a drawn line lie on the body; one so far beside its box is of another unit or frame, mm. */
const FAR_BESIDE_MM = 50;

/** The openings in the mesh's own coordinates, planes first. `verb`: for the sentence about one that is none. */
export function openingsFrom(
  given: LineParameters['opening'],
  { mesh, fromFile }: Pick<InputMesh, 'mesh' | 'fromFile'>,
  verb: string,
): Outcome<readonly Opening[]> {
  const openings = openingsIn(given, fromFile);
  const usage = (reason: string): Outcome<never> =>
    failed(fault('job.usage', { reason: `${verb}: opening: ${reason}` }));
  const { min, max } = boundsOf(mesh.positions);
  let lines = 0;
  for (const one of openings) {
    if (one.kind === 'plane') {
      if (Math.hypot(...one.plane.normal) === 0) return usage('the normal of a plane is zero.');
      continue;
    }
    lines++;
    for (const [i, point] of one.points.entries()) {
      const besideMm = Math.hypot(...point.map((x, k) => Math.max(min[k] - x, 0, x - max[k])));
      if (besideMm <= FAR_BESIDE_MM) continue;
      return usage(
        `place ${i + 1} of curve ${lines} lies ${besideMm.toFixed(0)} mm beside the body; give places on it, in the coordinates and the unit of its file.`,
      );
    }
  }
  return done(openings);
}

function openingsIn(given: LineParameters['opening'], fromFile: Matrix4): readonly Opening[] {
  const inMesh = (point: readonly number[]): Vec3 => transformPoint(fromFile, point as unknown as Vec3);
  const flat = (numbers: readonly number[]): Opening => ({ kind: 'plane', plane: planeFrom(numbers, fromFile) });
  if (given === undefined) return [];
  if (Array.isArray(given)) return given.map(({ plane }) => flat(plane));
  if ('plane' in given) return [flat(given.plane)];
  const curves = given.curves.map(
    ({ points, away, goes }): Opening => ({
      kind: 'curve',
      points: points.map(inMesh),
      away: away === undefined ? (goes === 'larger' ? goes : undefined) : inMesh(away),
    }),
  );
  return [...given.planes.map(flat), ...curves];
}

type KeepOutsGiven = NonNullable<LineParameters['keepOut']>['keepOut'];

/** The volumes left free, in the mesh's own coordinates. */
function keepOutsFrom(given: KeepOutsGiven, fromFile: Matrix4): Outcome<readonly KeepOut[]> {
  const inMesh = (point: readonly number[]): Vec3 => transformPoint(fromFile, point as unknown as Vec3);
  const found: KeepOut[] = [];
  for (const [i, one] of given.entries()) {
    const name = one.name ?? `volume ${i + 1}`;
    const { clearanceMm } = one;
    const put = (shape: KeepOutShape): void => void found.push({ name, shape, clearanceMm });
    if (one.ball !== undefined) {
      put({ kind: 'ball', centre: inMesh(one.ball.centre), radiusMm: one.ball.radiusMm });
    } else if (one.capsule !== undefined) {
      const { from, to, radiusMm } = one.capsule;
      put({ kind: 'capsule', from: inMesh(from), to: inMesh(to), radiusMm });
    } else if (one.box !== undefined) {
      put({ kind: 'box', ...boxFrom(one.box, fromFile) });
    } else if (one.mesh !== undefined) {
      const { positions, triangles } = one.mesh;
      const trouble = (reason: string): Outcome<never> =>
        failed(fault('job.usage', { reason: `line: keep-out: ${name}: ${reason}` }));
      const count = positions.length / 3;
      if (!Number.isInteger(count) || triangles.length % 3 !== 0 || triangles.some((v) => v < 0 || v >= count)) {
        return trouble('its mesh needs coordinates and corner numbers in threes, and each corner among its points.');
      }
      const mesh = transformMesh(fromFile, {
        positions: Float64Array.from(positions),
        triangles: Uint32Array.from(triangles),
      });
      if (troubleOfForm(mesh, 'line') !== undefined) return trouble('its mesh must be closed and look outward.');
      put({ kind: 'mesh', mesh });
    }
  }
  return done(found);
}

/** A box of the file as one of the mesh (a file's frame is turned by quarter turns only). */
function boxFrom(
  box: { readonly min: readonly number[]; readonly max: readonly number[] },
  fromFile: Matrix4,
): { min: Vec3; max: Vec3 } {
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((c) =>
    transformPoint(fromFile, [0, 1, 2].map((k) => ((c >> k) & 1 ? box.max[k] : box.min[k])) as unknown as Vec3),
  );
  const { min, max } = boundsOf(Float64Array.from(corners.flat()));
  return { min: min as unknown as Vec3, max: max as unknown as Vec3 };
}

/** The wishes, or why they cannot be met; the form itself is looked at too. */
export function wishesFrom(
  parameters: LineParameters,
  input: InputMesh,
): Outcome<LinerWishes & { readonly keepOuts: readonly KeepOut[] }> {
  const { mesh: form, fromFile } = input;
  const trouble = troubleOfForm(form, 'line');
  if (trouble !== undefined) return failed(trouble);
  const usage = (reason: string): Outcome<never> => failed(fault('job.usage', { reason: `line: ${reason}` }));
  const { foamMm, toleranceMm, bridgeMm, wallMm, donning, giveMm, clear } = parameters;
  const given = openingsFrom(parameters.opening, input, 'line');
  if (!given.ok) return given;
  const openings = given.value;
  if (donning !== undefined && Math.hypot(...donning) === 0) return usage('donning: the direction is zero.');
  if (donning !== undefined && openings.length === 0) {
    return usage('donning: needs an opening for the body to go through.');
  }
  if (clear && donning === undefined) return usage('clear: needs the direction of --donning.');
  const keepOuts = keepOutsFrom(parameters.keepOut?.keepOut ?? [], fromFile);
  if (!keepOuts.ok) return keepOuts;
  const zones = zonesFrom(parameters.zones?.zones ?? [], foamMm, form, fromFile);
  if (!zones.ok) return zones;
  return done({
    foamMm,
    toleranceMm,
    bridgeMm,
    wallMm,
    openings,
    zones: zones.value,
    donning: donning === undefined ? undefined : planeFrom([0, 0, 0, ...donning], fromFile).normal,
    keepOuts: keepOuts.value,
    giveMm,
    isCleared: clear,
    mostTiltDegrees: parameters.tiltDegrees,
  });
}
