/** How far a body has changed between two forms of it, and where. */
import { fault } from '../../shared-types/faults/index.ts';
import { compareSpecification } from '../../shared-types/operations/compare.ts';
import { done, failed } from '../../shared-types/outcome.ts';
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { bodyChange, CHANGE_PHASES, colouredByChange } from '../geometry/register/body-change.ts';
import type { Operation } from './operation.ts';

export const compareOperation: Operation<typeof compareSpecification> = {
  specification: compareSpecification,
  phases: CHANGE_PHASES,
  run: ([older, newer], { fullColourMm }, run) => {
    const change = bodyChange(older.mesh, newer.mesh, run);
    if (change === undefined) return failed(fault('mesh.no-faces', {}));
    const { perVertexMm, matrix: _, ...told } = change;
    return done({
      mesh: colouredByChange(older.mesh, perVertexMm, fullColourMm),
      matrix: IDENTITY,
      figures: {
        ...told,
        where: [...told.where],
        regions: told.regions.map((region) => ({ ...region, at: [...region.at] as [number, number, number] })),
      },
    });
  },
};
