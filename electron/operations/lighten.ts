import type { z } from 'zod';
import {
  LIGHTEN_DEFAULT_FACES,
  lightenSpecification,
  type lightenFigures,
} from '../../shared-types/operations/lighten.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { volumeOf } from '../geometry/mesh/quantities.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import { lighten, LIGHTEN_PHASES, type LightenGoal } from '../geometry/simplify/lighten.ts';
import type { Operation } from './operation.ts';

export type LightenFigures = z.output<typeof lightenFigures>;

/** Lighten a mesh and state what it is now: shared with `form`, which calls it on its own meshes. */
export function lightenWithFigures(
  mesh: Mesh,
  goal: LightenGoal,
  run: RunContext,
): Outcome<{ readonly mesh: Mesh; readonly figures: LightenFigures }> {
  const outcome = lighten(mesh, goal, run);
  if (!outcome.ok) return outcome;
  const { mesh: light, deviation, selfIntersections } = outcome.value;
  const twins = findTwins(light.triangles, light.positions.length / 3);
  const watertight = twins.openEdges === 0 && twins.nonManifoldEdges === 0 && twins.flippedEdges === 0;
  const before = watertight ? volumeOf(mesh) : 0;
  return done(
    {
      mesh: light,
      figures: {
        faces: light.triangles.length / 3,
        vertices: light.positions.length / 3,
        facesBefore: mesh.triangles.length / 3,
        maxDeviationMm: deviation.maxMm,
        maxBoundMm: deviation.maxBoundMm,
        maxDeviationAt: [...deviation.atMm],
        meanDeviationMm: deviation.meanMm,
        p99DeviationMm: deviation.p99Mm,
        rmsDeviationMm: deviation.rmsMm,
        samples: deviation.samples,
        sampleSpacingMm: deviation.spacingMm,
        volumeChangePercent: before === 0 ? 0 : (volumeOf(light) / before - 1) * 100,
        openEdges: twins.openEdges,
        watertight,
        selfIntersections,
      },
    },
    outcome.warnings,
  );
}

export const lightenOperation: Operation<typeof lightenSpecification> = {
  specification: lightenSpecification,
  phases: LIGHTEN_PHASES,
  run: ([input], parameters, run) => {
    const { faces, withinMm } = parameters;
    if (faces !== undefined && withinMm !== undefined) {
      return failed(fault('job.usage', { reason: 'lighten: give --faces or --within, not both.' }));
    }
    const goal: LightenGoal = withinMm === undefined ? { faces: faces ?? LIGHTEN_DEFAULT_FACES } : { withinMm };
    const outcome = lightenWithFigures(input.mesh, goal, run);
    if (!outcome.ok) return outcome;
    return done({ ...outcome.value, matrix: IDENTITY }, outcome.warnings);
  },
};
