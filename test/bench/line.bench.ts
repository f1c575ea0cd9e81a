/** The liner at 8 mm of a head, making and measuring apart. */
import { measureOffset } from '../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { benchTask, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const FOAM_MM = 8;
const TOLERANCE_MM = 0.1;
const SIZES = [10_000, 53_000, 250_000, 1_000_000];

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'line-8-mm-make',
    sizes: SIZES,
    prepare: headOf,
    run: (mesh) => {
      const made = offsetSurface(new SignedField(mesh), FOAM_MM, TOLERANCE_MM, QUIET_RUN);
      return { faces: (made?.mesh.triangles.length ?? 0) / 3, selfIntersections: made?.selfIntersections ?? -1 };
    },
  }),
  benchTask({
    name: 'line-8-mm-make-and-measure',
    sizes: SIZES,
    prepare: headOf,
    run: (mesh) => {
      const field = new SignedField(mesh);
      const made = offsetSurface(field, FOAM_MM, TOLERANCE_MM, QUIET_RUN);
      if (made === undefined) return {};
      const evidence = measureOffset(field, FOAM_MM, made.mesh, QUIET_RUN);
      return {
        faces: made.mesh.triangles.length / 3,
        maxMm: evidence.maxAbsErrorMm,
        p99Mm: evidence.p99AbsErrorMm,
        meanMm: evidence.meanAbsErrorMm,
        missingMaxMm: evidence.missingMaxMm,
      };
    },
  }),
];
