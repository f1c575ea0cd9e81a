import type { HealthFigures } from '../../shared-types/operations/health.ts';
import { healthSpecification } from '../../shared-types/operations/health.ts';
import { done, failed } from '../../shared-types/outcome.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { LengthUnit } from '../../shared-types/units.ts';
import { examine, guessUnit, HEALTH_PHASE, type Health } from '../geometry/mend/health.ts';
import type { Operation } from './operation.ts';

/** The figures of a health report; a unit the file states is no guess. */
export function healthAsFigures(health: Health, stated?: LengthUnit): HealthFigures {
  const { area, volume, bounds, ...counts } = health;
  return {
    ...counts,
    bounds: { min: [...bounds.min], max: [...bounds.max] },
    areaMm2: area,
    volumeMm3: health.openEdges === 0 && health.nonManifoldEdges === 0 ? volume : null,
    unitGuess:
      stated === undefined
        ? guessUnit(bounds)
        : { unit: 'millimetre', mmPerUnit: 1, reason: `the file states its unit (${stated}); shown in millimetres` },
  };
}

export const healthOperation: Operation<typeof healthSpecification> = {
  specification: healthSpecification,
  phases: { [HEALTH_PHASE]: 1 },
  run: ([input], _parameters, run) => {
    if (input.mesh.triangles.length === 0) return failed(fault('mesh.no-faces', {}));
    return done({ figures: healthAsFigures(examine(input.mesh, run), input.unit) });
  },
};
