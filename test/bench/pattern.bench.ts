/** A cap of one radian laid flat (least possible ratio of stretches 1.1884), and the crown of a head as the verb does it. */
import { layFlat } from '../../electron/geometry/flatten/lay-flat.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { patternOperation } from '../../electron/operations/pattern.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { cap } from '../support/caps.ts';
import { benchTask, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'lay-flat-cap',
    sizes: [600, 2400, 9600],
    prepare: (size) => cap(100, 1, Math.round(Math.sqrt(size / 6))),
    run: (mesh) => {
      const laid = layFlat(mesh, { seams: [], allowedGive: 0, relief: 'none' }, () => {});
      return 'pieces' in laid ? { ratio: laid.pieces[0].strain.ratio, most: laid.pieces[0].strain.most } : {};
    },
  }),
  benchTask({
    name: 'pattern-crown',
    sizes: [9_500, 53_000],
    prepare: headOf,
    run: (mesh) => {
      const outcome = runOperation(patternOperation, [{ mesh, name: 'head', fromFile: IDENTITY }], {
        foamMm: 8,
        zone: 'crown',
      });
      if (!outcome.ok) return {};
      const { pieces } = outcome.value.figures;
      return { pieces: pieces.length, strainP99Percent: Math.max(...pieces.map((piece) => piece.strainP99Percent)) };
    },
  }),
];
