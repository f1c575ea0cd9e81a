import type { z } from 'zod';
import { lineSpecification } from '../../shared-types/operations/line.ts';
import type { Matrix4, Mesh, Plane, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import { areaOf, boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, invert, transformPoint } from '../geometry/mesh/transform.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import { LINER_PHASES, makeLiner } from '../geometry/offset/liner.ts';
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
      const { min, max } = zone.box;
      const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((c) =>
        transformPoint(fromFile, [0, 1, 2].map((k) => ((c >> k) & 1 ? max[k] : min[k])) as unknown as Vec3),
      );
      const { min: low, max: high } = boundsOf(Float64Array.from(corners.flat()));
      region = { kind: 'box', min: low as unknown as Vec3, max: high as unknown as Vec3 };
    } else {
      const centres = (zone.points ?? []).map((point) => transformPoint(fromFile, point as unknown as Vec3));
      region = { kind: 'spots', centres, radiusMm: zone.radiusMm ?? 0 };
    }
    zones.push({ name, region, thicknessMm: rooms[i], blendMm: zone.blendMm });
  }
  return done(zones);
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
    const { foamMm, toleranceMm, bridgeMm, wallMm, opening } = parameters;
    const given = opening === undefined ? [] : Array.isArray(opening) ? opening : [opening];
    const openings = given.map((one) => planeFrom(one.plane, input.fromFile));
    if (openings.some((plane) => Math.hypot(...plane.normal) === 0)) {
      return failed(fault('job.usage', { reason: 'line: opening: the normal of a plane is zero.' }));
    }
    const { donning, giveMm } = parameters;
    if (donning !== undefined && Math.hypot(...donning) === 0) {
      return failed(fault('job.usage', { reason: 'line: donning: the direction is zero.' }));
    }
    if (donning !== undefined && openings.length === 0) {
      return failed(fault('job.usage', { reason: 'line: donning: needs an opening for the body to go through.' }));
    }
    const way = donning === undefined ? undefined : planeFrom([0, 0, 0, ...donning], input.fromFile).normal;
    const zones = zonesFrom(parameters.zones?.zones ?? [], foamMm, form, input.fromFile);
    if (!zones.ok) return zones;
    const liner = makeLiner(
      form,
      { foamMm, toleranceMm, bridgeMm, wallMm, openings, zones: zones.value, donning: way },
      run,
    );
    if (liner === undefined) return failed(fault('line.nothing-left', { planes: openings.length }));
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
    if (liner.donning !== undefined && liner.donning.deepestMm > giveMm) {
      const tight = liner.donning.undercuts.filter((undercut) => undercut.depthMm > giveMm);
      warnings.push({
        code: 'line.undercut',
        sentence: `The body does not pass: in ${tight.length} place(s) the foam would have to give more than ${giveMm} mm, at most ${liner.donning.deepestMm.toFixed(1)} mm; open it wider there, split it, or put it on another way.`,
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
          zones: [...liner.zones],
          donning:
            liner.donning === undefined
              ? null
              : {
                  undercuts: liner.donning.undercuts.map((undercut) => ({
                    depthMm: undercut.depthMm,
                    where: [...transformPoint(toFile, undercut.where)],
                    areaMm2: undercut.areaMm2,
                    passes: undercut.depthMm <= giveMm,
                  })),
                  deepestMm: liner.donning.deepestMm,
                  giveMm,
                  passes: liner.donning.deepestMm <= giveMm,
                  samples: liner.donning.samples,
                },
          rimAreaMm2: liner.cutAreaMm2,
          cellMm: surface.cellMm,
        },
      },
      warnings,
    );
  },
};
