/** Health, mending and the whole way to a form, on invented phone scans (cracks, holes, debris, a piece of chair). */
import { examine } from '../../electron/geometry/mend/health.ts';
import { mend } from '../../electron/geometry/mend/mend.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { scanWearer, WEARERS, type ScannedWearer } from '../../electron/invented/production.ts';
import { formOperation } from '../../electron/operations/form.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { benchTask, most, type BenchTask } from './harness.ts';

const SIZES = [53_000, 500_000, 1_000_000];
/** Of the first invented wearer's scan, which is in metres. */
const MM_PER_UNIT = 1000;

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
    bars: {
      53_000: most({ cpuSeconds: 1, notWatertight: 0, selfIntersections: 0, movedMaxMm: 2, movedMeanMm: 0.2 }),
      500_000: most({ cpuSeconds: 6, notWatertight: 0, selfIntersections: 0 }),
    },
    prepare: (size) => scanOf(size).scan.mesh,
    run: (mesh) => {
      const { report, after, left } = mend(mesh, { keep: 'largest' });
      return {
        notWatertight: after?.watertight === true ? 0 : 1,
        selfIntersections: left,
        // What was there; what fills its holes does not count.
        movedMaxMm: report.movedMax * MM_PER_UNIT,
        movedMeanMm: report.movedMean * MM_PER_UNIT,
      };
    },
  }),
  benchTask({
    name: 'form-to-9500-faces',
    sizes: SIZES,
    bars: { 1_000_000: most({ cpuSeconds: 10, peakRssMb: 1536, faces: 9500, selfIntersections: 0 }) },
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
