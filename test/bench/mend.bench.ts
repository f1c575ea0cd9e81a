/** Health, mending and the whole way to a form, on invented phone scans (cracks, holes, debris, a piece of chair). */
import { examine } from '../../electron/geometry/mend/health.ts';
import { mend } from '../../electron/geometry/mend/mend.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { scanWearer, WEARERS, type ScannedWearer } from '../../electron/invented/production.ts';
import { formOperation } from '../../electron/operations/form.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { benchTask, type BenchTask } from './harness.ts';

const SIZES = [53_000, 250_000, 1_000_000];

const scanOf = (faces: number): ScannedWearer => scanWearer({ ...WEARERS[0], faces });

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'health',
    sizes: SIZES,
    prepare: (size) => scanOf(size).scan.mesh,
    run: (mesh) => {
      const { openEdges, pieces, selfIntersections } = examine(mesh);
      return { openEdges, pieces, selfIntersections };
    },
  }),
  benchTask({
    name: 'mend',
    sizes: SIZES,
    prepare: (size) => scanOf(size).scan.mesh,
    run: (mesh) => {
      const { report, after, left } = mend(mesh, { keep: 'largest' });
      return {
        watertight: after?.watertight === true ? 1 : 0,
        selfIntersections: left,
        movedMaxFileUnits: report.movedMax,
        movedMeanFileUnits: report.movedMean,
      };
    },
  }),
  benchTask({
    name: 'form-to-9500-faces',
    sizes: SIZES,
    prepare: scanOf,
    run: ({ scan, recipe, wearer }) => {
      const input = { mesh: scan.mesh, name: wearer.scanFile, fromFile: IDENTITY };
      const outcome = runOperation(formOperation, [input], { recipe });
      if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
      const { lighten } = outcome.value.figures;
      return {
        faces: lighten.faces,
        lightenMaxMm: lighten.maxDeviationMm,
        lightenMeanMm: lighten.meanDeviationMm,
        selfIntersections: lighten.selfIntersections,
      };
    },
  }),
];
