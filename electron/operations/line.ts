import { lineSpecification } from '../../shared-types/operations/line.ts';
import type { Matrix4, Mesh, Plane, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import { areaOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, transformPoint } from '../geometry/mesh/transform.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import { LINER_PHASES, makeLiner } from '../geometry/offset/liner.ts';
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
    const liner = makeLiner(form, { foamMm, toleranceMm, bridgeMm, wallMm, openings }, run);
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
          rimAreaMm2: liner.cutAreaMm2,
          cellMm: surface.cellMm,
        },
      },
      warnings,
    );
  },
};
