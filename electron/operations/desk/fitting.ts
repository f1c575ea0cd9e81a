import { done, failed } from '../../../shared-types/outcome.ts';
import { companyPairSpecification, easeMapSpecification } from '../../../shared-types/operations/desk-fit.ts';
import { fitParameters } from '../../../shared-types/operations/fit.ts';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { EASE_PHASES, measureEase } from '../../geometry/fit/ease.ts';
import { factorOf } from '../../geometry/fit/pose.ts';
import { fittingBody, wornPart } from '../../geometry/fit/worn.ts';
import { invert, multiply } from '../../geometry/mesh/transform.ts';
import { placedBy } from '../fit.ts';
import { troubleOfForm } from '../line.ts';
import type { Operation } from '../operation.ts';
import { sizedPart, troubleOfScale } from '../part-size.ts';

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

/** As `fit --solve either`, without what a table of many does not show: maps, regions, the ease at the scale found. */
export const companyPairOperation: Operation<typeof companyPairSpecification> = {
  specification: companyPairSpecification,
  phases: { prepare: 0.1, solve: 0.9 },
  run: ([part, form], { from, roomMm, ...limits }, run) => {
    const trouble = troubleOfForm(form.mesh, 'fit');
    if (trouble !== undefined) return failed(trouble);
    const parameters = fitParameters.parse({ ...limits, place: { matrix: from }, solve: 'either', leastMm: roomMm });
    const sized = sizedPart(part, form, parameters);
    if (!sized.ok) return sized;
    const outOfScale = troubleOfScale(sized.value.mesh, form.mesh);
    if (outOfScale !== undefined) return failed(outOfScale);
    const tick = (): void => run.step('prepare', 0.5, 1);
    const body = fittingBody(form.mesh, tick);
    const worn = wornPart(sized.value.mesh, tick);
    const { ownSize, solved } = placedBy(worn, body, sized.value, part, parameters, roomMm, run, [], true) ?? {};
    if (ownSize === undefined) throw new Error('a scale was asked for');
    const { leastEaseMm, meanEaseMm, placement } = ownSize;
    const whole = multiply(multiply(placement, sized.value.ownMatrix), part.fromFile);
    const isReached = solved !== undefined && 'factor' in solved && solved.reached;
    const scale = leastEaseMm >= roomMm ? 1 : isReached ? factorOf(solved.placement) : null;
    return done({
      figures: { leastEaseMm, meanEaseMm, placement: [...multiply(invert(form.fromFile), whole)], scale },
    });
  },
};
