/** The whole form, from a phone-like scan (cracked, holed, with a piece of chair) to 9,500 faces. */
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { scanWearer, WEARERS } from '../../electron/invented/production.ts';
import { formOperation } from '../../electron/operations/form.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { benchTask, type BenchTask } from './harness.ts';

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'form-to-9500',
    sizes: [53_000, 250_000, 1_000_000],
    prepare: (faces) => scanWearer({ ...WEARERS[0], faces }),
    run: ({ scan, recipe }) => {
      const outcome = runOperation(formOperation, [{ mesh: scan.mesh, name: 'scan', fromFile: IDENTITY }], { recipe });
      if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
      const { health, lighten, true: sized } = outcome.value.figures;
      return {
        facesBefore: scan.mesh.triangles.length / 3,
        faces: health.faces,
        selfIntersections: health.selfIntersections,
        maxDeviationMm: lighten.maxDeviationMm,
        meanDeviationMm: lighten.meanDeviationMm,
        sizeErrorPercent: 100 * (sized.factor / scan.truth.mmPerUnit - 1),
        reskinned: outcome.warnings.some(({ code }) => code === 'mend.reskinned') ? 1 : 0,
      };
    },
  }),
];
