import type { z } from 'zod';
import { lineSpecification } from '../../shared-types/operations/line.ts';
import type { Matrix4, Mesh, Plane, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import { areaOf, boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { determinant3, IDENTITY, invert, transformMesh, transformPoint } from '../geometry/mesh/transform.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import type { KeepOut, KeepOutShape } from '../geometry/offset/keep-out.ts';
import { LINER_PHASES, makeLiner } from '../geometry/offset/liner.ts';
import type { Opening } from '../geometry/offset/openings.ts';
import type { WaysIn } from '../geometry/offset/ways-in.ts';
import { namedRegion, type Zone, type ZoneRegion } from '../geometry/offset/zones.ts';
import type { Operation } from './operation.ts';

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
  return undefined;
}

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
      if (!(topMm > 0)) return trouble('a named region needs an upright form with its origin between the ears.');
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

/** The openings in the mesh's own coordinates, planes first. */
function openingsFrom(given: LineParameters['opening'], fromFile: Matrix4): readonly Opening[] {
  const inMesh = (point: readonly number[]): Vec3 => transformPoint(fromFile, point as unknown as Vec3);
  const flat = (numbers: readonly number[]): Opening => ({ kind: 'plane', plane: planeFrom(numbers, fromFile) });
  if (given === undefined) return [];
  if (Array.isArray(given)) return given.map(({ plane }) => flat(plane));
  if ('plane' in given) return [flat(given.plane)];
  const curves = given.curves.map(
    ({ points, away }): Opening => ({
      kind: 'curve',
      points: points.map(inMesh),
      away: away === undefined ? undefined : inMesh(away),
    }),
  );
  return [...given.planes.map(flat), ...curves];
}

type KeepOutsGiven = NonNullable<LineParameters['keepOut']>['keepOut'];

/** The volumes left free, in the mesh's own coordinates; radii grow with the file's unit. */
function keepOutsFrom(given: KeepOutsGiven, fromFile: Matrix4): Outcome<readonly KeepOut[]> {
  const inMesh = (point: readonly number[]): Vec3 => transformPoint(fromFile, point as unknown as Vec3);
  const mmPerUnit = Math.cbrt(Math.abs(determinant3(fromFile)));
  const found: KeepOut[] = [];
  for (const [i, one] of given.entries()) {
    const name = one.name ?? `volume ${i + 1}`;
    const { clearanceMm } = one;
    const put = (shape: KeepOutShape): void => void found.push({ name, shape, clearanceMm });
    if (one.ball !== undefined) {
      put({ kind: 'ball', centre: inMesh(one.ball.centre), radiusMm: one.ball.radiusMm * mmPerUnit });
    } else if (one.capsule !== undefined) {
      const { from, to, radiusMm } = one.capsule;
      put({ kind: 'capsule', from: inMesh(from), to: inMesh(to), radiusMm: radiusMm * mmPerUnit });
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

/** What would let the body pass, in a sentence. */
function helpOf(ways: WaysIn | undefined): string {
  if (ways === undefined) return 'Open it wider there, split it, or put it on another way.';
  const { widen, split, flare } = ways;
  const halves = split.passes
    ? `split in two it goes on (${split.deepestMm.toFixed(1)} mm to give)`
    : `split in two it still has to give ${split.deepestMm.toFixed(1)} mm`;
  return `Opened ${widen.raiseMm.toFixed(0)} mm higher it passes; ${halves}; or let it out (--clear) by up to ${flare.byMm.toFixed(1)} mm from the opening up to ${flare.upToMm.toFixed(0)} mm over it.`;
}

function waysInFile({ widen, split, flare }: WaysIn, toFile: Matrix4) {
  const normal = turned(split.normal, toFile);
  return { widen, flare, split: { ...split, normal: [...normal] } };
}

/** A direction in other coordinates, unit. */
function turned(direction: Vec3, by: Matrix4): Vec3 {
  const [tip, foot] = [transformPoint(by, direction), transformPoint(by, [0, 0, 0])];
  const along: Vec3 = [tip[0] - foot[0], tip[1] - foot[1], tip[2] - foot[2]];
  const size = Math.hypot(...along);
  return [along[0] / size, along[1] / size, along[2] / size];
}

/** A wall thinner by more than this many tolerances is told: each of its surfaces may miss by one and a half. */
const WALL_SLACK = 3;
/** Pressed foam thinner than this is none, mm. */
const LEAST_ROOM_MM = 0.5;
/** Blends are at least this many times as wide as the largest step, so that the liner rises by 37 degrees at most. */
const LEAST_BLEND = 2;

export const lineOperation: Operation<typeof lineSpecification> = {
  specification: lineSpecification,
  phases: LINER_PHASES,
  run: ([input], parameters, run) => {
    const form = input.mesh;
    const trouble = troubleOfForm(form, 'line');
    if (trouble !== undefined) return failed(trouble);
    const { foamMm, toleranceMm, bridgeMm, wallMm, donning, giveMm, clear } = parameters;
    const openings = openingsFrom(parameters.opening, input.fromFile);
    if (openings.some((one) => one.kind === 'plane' && Math.hypot(...one.plane.normal) === 0)) {
      return failed(fault('job.usage', { reason: 'line: opening: the normal of a plane is zero.' }));
    }
    if (donning !== undefined && Math.hypot(...donning) === 0) {
      return failed(fault('job.usage', { reason: 'line: donning: the direction is zero.' }));
    }
    if (donning !== undefined && openings.length === 0) {
      return failed(fault('job.usage', { reason: 'line: donning: needs an opening for the body to go through.' }));
    }
    if (clear && donning === undefined) {
      return failed(fault('job.usage', { reason: 'line: clear: needs the direction of --donning.' }));
    }
    const keepOuts = keepOutsFrom(parameters.keepOut?.keepOut ?? [], input.fromFile);
    if (!keepOuts.ok) return keepOuts;
    const way = donning === undefined ? undefined : planeFrom([0, 0, 0, ...donning], input.fromFile).normal;
    const zones = zonesFrom(parameters.zones?.zones ?? [], foamMm, form, input.fromFile);
    if (!zones.ok) return zones;
    const liner = makeLiner(
      form,
      {
        foamMm,
        toleranceMm,
        bridgeMm,
        wallMm,
        openings,
        zones: zones.value,
        donning: way,
        keepOuts: keepOuts.value,
        giveMm,
        isCleared: clear,
      },
      run,
    );
    if (liner === 'nothing-left') return failed(fault('line.nothing-left', { planes: openings.length }));
    if (liner === 'not-parted') return failed(fault('line.not-parted', {}));
    if (liner === 'short-curve') return failed(fault('line.short-curve', {}));
    const { mesh, evidence, surface } = liner;
    if (liner.troubles > 0 || liner.selfIntersections > 0) {
      return failed(fault('line.not-sound', { crossings: liner.selfIntersections, edges: liner.troubles }));
    }
    const warnings: Warning[] = [];
    if (surface.pocketsDropped > 0) {
      warnings.push({
        code: 'line.pockets',
        sentence: `Left out ${surface.pocketsDropped} enclosed pocket(s) of ${Math.round(surface.pocketVolumeMm3)} mm³ that the foam would close off.`,
      });
    }
    if (surface.pieces > 1) {
      warnings.push({
        code: 'line.pieces',
        sentence: `The liner is in ${surface.pieces} separate pieces, as the form is.`,
      });
    }
    if (evidence.maxAbsErrorMm > toleranceMm) {
      warnings.push({
        code: 'line.tolerance',
        sentence: `In places the liner misses its thickness by up to ${evidence.maxAbsErrorMm.toFixed(2)} mm, more than the ${toleranceMm} mm asked for; 99 in 100 points are within ${evidence.p99AbsErrorMm.toFixed(3)} mm.`,
      });
    }
    for (const zone of liner.zones) {
      if (zone.samples > 0) continue;
      warnings.push({
        code: 'line.zone-empty',
        sentence: `Zone "${zone.name}" counts fully nowhere on this form: it is too small for its blend, covered, or elsewhere.`,
      });
    }
    // What was cleared is as near to what the foam gives as the liner is to its thickness.
    const passesMm = giveMm + (clear ? toleranceMm : 0);
    if (liner.donning !== undefined && liner.donning.deepestMm > passesMm) {
      const tight = liner.donning.undercuts.filter((undercut) => undercut.depthMm > passesMm);
      warnings.push({
        code: 'line.undercut',
        sentence: `The body does not pass: in ${tight.length} place(s) the foam would have to give more than ${giveMm} mm, at most ${liner.donning.deepestMm.toFixed(1)} mm. ${helpOf(liner.waysIn)}`,
      });
    }
    for (const keepOut of keepOuts.value) {
      if (liner.asked.some((one) => one.keepOut === keepOut.name && one.areaMm2 > 0)) continue;
      warnings.push({
        code: 'line.keep-out-idle',
        sentence: `The volume "${keepOut.name}" changes nothing: it lies within the foam or the body, or does not touch the liner.`,
      });
    }
    const thinMm = (wallMm ?? 0) - WALL_SLACK * toleranceMm;
    if (liner.wallEvidence !== undefined && liner.wallEvidence.minMm < thinMm) {
      warnings.push({
        code: 'line.wall-thin',
        sentence: `In places the wall is only ${liner.wallEvidence.minMm.toFixed(2)} mm thick, not ${wallMm} mm.`,
      });
    }
    const toFile = invert(input.fromFile);
    const areaMm2 = areaOf(mesh);
    return done(
      {
        mesh,
        matrix: IDENTITY,
        figures: {
          faces: mesh.triangles.length / 3,
          vertices: mesh.positions.length / 3,
          minMm: liner.minMm,
          maxMm: liner.maxMm,
          maxAbsErrorMm: evidence.maxAbsErrorMm,
          meanAbsErrorMm: evidence.meanAbsErrorMm,
          p99AbsErrorMm: evidence.p99AbsErrorMm,
          samples: evidence.samples,
          missingMaxMm: evidence.missingMaxMm,
          missingSamples: evidence.missingSamples,
          sampleSpacingMm: Math.sqrt(areaOf(surface.mesh) / evidence.samples),
          watertight: true,
          selfIntersections: 0,
          pieces: surface.pieces,
          pocketsDropped: surface.pocketsDropped,
          volumeMm3: volumeOf(mesh),
          areaMm2,
          foamVolumeMm3: liner.foamVolumeMm3,
          wallMinMm: liner.wallEvidence?.minMm ?? null,
          wallMaxMm: liner.wallEvidence?.maxMm ?? null,
          wallMeanMm: liner.wallEvidence?.meanMm ?? null,
          wallSamples: liner.wallEvidence?.samples ?? null,
          zones: liner.zones.map((zone, i) => ({
            ...zone,
            boughtVolumeMm3: zone.volumeMm3 / (1 - (parameters.zones?.zones[i]?.compression ?? 0)),
          })),
          openings: [...liner.openings],
          leastOpening:
            liner.leastOpening === undefined
              ? null
              : {
                  liner: liner.leastOpening.liner,
                  body: liner.leastOpening.body,
                  shortMm: liner.leastOpening.shortMm,
                },
          standsOff: liner.asked.map(({ keepOut, ...rest }) => ({ keepOut: keepOut ?? null, ...rest })),
          waysIn: liner.waysIn === undefined ? null : waysInFile(liner.waysIn, toFile),
          donning:
            liner.donning === undefined
              ? null
              : {
                  undercuts: liner.donning.undercuts.map((undercut) => ({
                    depthMm: undercut.depthMm,
                    where: [...transformPoint(toFile, undercut.where)],
                    areaMm2: undercut.areaMm2,
                    passes: undercut.depthMm <= passesMm,
                  })),
                  deepestMm: liner.donning.deepestMm,
                  giveMm,
                  passes: liner.donning.deepestMm <= passesMm,
                  samples: liner.donning.samples,
                },
          rimAreaMm2: liner.openings.reduce((sum, one) => sum + one.rimAreaMm2, 0),
          cellMm: surface.cellMm,
        },
      },
      warnings,
    );
  },
};
