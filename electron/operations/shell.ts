import { shellSpecification } from '../../shared-types/operations/shell.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { areaOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { hollow, HOLLOW_PHASES } from '../geometry/offset/hollow.ts';
import { openingsFrom, troubleOfForm, WALL_SLACK } from './line-wishes.ts';
import type { Operation } from './operation.ts';

/** Thicker than so many walls is told: there the solid was too thin to be hollow, or comes to a point. */
const FULL = 2;

export const shellOperation: Operation<typeof shellSpecification> = {
  specification: shellSpecification,
  phases: HOLLOW_PHASES,
  run: ([{ mesh: solid, fromFile }], { wallMm, toleranceMm, opening }, run) => {
    const trouble = troubleOfForm(solid, 'shell');
    if (trouble !== undefined) return failed(trouble);
    const openings = openingsFrom(opening, fromFile);
    if (openings.some((one) => one.kind === 'plane' && Math.hypot(...one.plane.normal) === 0)) {
      return failed(fault('job.usage', { reason: 'shell: opening: the normal of a plane is zero.' }));
    }
    const made = hollow(solid, { wallMm, toleranceMm, openings }, run);
    if (made === 'void') return failed(fault('shell.void', {}));
    if (made === 'solid') return failed(fault('shell.solid', { wallMm }));
    if (made === 'nothing-left') return failed(fault('line.nothing-left', { planes: openings.length }));
    if (made === 'not-parted') return failed(fault('line.not-parted', {}));
    if (made === 'short-curve') return failed(fault('line.short-curve', {}));
    if (made === 'crosses') {
      return failed(fault('mesh.not-sound', { reason: 'its faces pass through one another', verb: 'shell' }));
    }
    const { mesh, evidence, wall } = made;
    if (made.troubles > 0 || made.selfIntersections > 0) {
      return failed(fault('line.not-sound', { crossings: made.selfIntersections, edges: made.troubles }));
    }
    const warnings: Warning[] = [];
    if (wall.minMm < wallMm - WALL_SLACK * toleranceMm) {
      warnings.push({
        code: 'line.wall-thin',
        sentence: `In places the wall is only ${wall.minMm.toFixed(2)} mm thick, not ${wallMm} mm.`,
      });
    }
    if (wall.maxMm > FULL * wallMm) {
      warnings.push({
        code: 'shell.full',
        sentence: `In places it is full up to ${wall.maxMm.toFixed(1)} mm deep: the solid is too thin there to be hollow, or comes to a point.`,
      });
    }
    if (openings.length === 0) {
      warnings.push({
        code: 'shell.shut',
        sentence: 'The hollow is shut: liquid resin or powder would stay in it. Give an opening to print it so.',
      });
    }
    return done(
      {
        mesh,
        matrix: IDENTITY,
        figures: {
          faces: mesh.triangles.length / 3,
          vertices: mesh.positions.length / 3,
          wallMinMm: wall.minMm,
          wallMaxMm: wall.maxMm,
          wallMeanMm: wall.meanMm,
          wallSamples: wall.samples,
          maxAbsErrorMm: evidence.maxAbsErrorMm,
          meanAbsErrorMm: evidence.meanAbsErrorMm,
          p99AbsErrorMm: evidence.p99AbsErrorMm,
          samples: evidence.samples,
          missingMaxMm: evidence.missingMaxMm,
          missingSamples: evidence.missingSamples,
          watertight: true,
          selfIntersections: 0,
          volumeMm3: volumeOf(mesh),
          hollowMm3: made.hollowMm3,
          areaMm2: areaOf(mesh),
          hollows: made.hollows,
          openings: [...made.openings],
        },
      },
      warnings,
    );
  },
};
