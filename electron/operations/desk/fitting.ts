import { done } from '../../../shared-types/outcome.ts';
import { easeMapSpecification } from '../../../shared-types/operations/desk-fit.ts';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { EASE_PHASES, measureEase } from '../../geometry/fit/ease.ts';
import { fittingBody, wornPart } from '../../geometry/fit/worn.ts';
import type { Operation } from '../operation.ts';

export const easeMapOperation: Operation<typeof easeMapSpecification> = {
  specification: easeMapSpecification,
  phases: { prepare: 0.3, ease: 0.7 },
  run: ([part, form], { placement }, run) => {
    const tick = (): void => run.step('prepare', 1, 2);
    const worn = wornPart(part.mesh, tick);
    const body = fittingBody(form.mesh, tick);
    const report = measureEase(
      worn,
      body,
      { placement: placement as unknown as Matrix4 },
      run.within('ease', EASE_PHASES),
    );
    return done({
      figures: {
        partMm: Float32Array.from(report.perVertexMm),
        bodyMm: Float32Array.from(report.bodyPerVertexMm),
        leastEaseMm: report.leastEaseMm,
      },
    });
  },
};
