import { linerMapSpecification } from '../../../shared-types/operations/liner-map.ts';
import { done } from '../../../shared-types/outcome.ts';
import { findUndercuts } from '../../geometry/offset/donning.ts';
import { innerSide } from '../../geometry/offset/inner-side.ts';
import { RoomyField } from '../../geometry/offset/roomy-field.ts';
import { wishesFrom } from '../line-wishes.ts';
import type { Operation } from '../operation.ts';

/** Read off the liner as it was made: nothing is made again. */
export const linerMapOperation: Operation<typeof linerMapSpecification> = {
  specification: linerMapSpecification,
  phases: { measure: 0.6, donning: 0.4 },
  run: ([form, { mesh: liner }], parameters, run) => {
    const wishes = wishesFrom(parameters, form);
    if (!wishes.ok) return wishes;
    const { foamMm, zones = [], keepOuts, donning, wallMm } = wishes.value;
    const tick = (): void => run.step('measure', 0, 1);
    const field = new RoomyField(form.mesh, { foamMm, zones, keepOuts, clear: undefined }, tick);
    const { isInner, perVertexMm } = innerSide(field, liner, wallMm !== undefined, tick);
    const figures = { thicknessMm: perVertexMm, depthMm: null };
    if (donning === undefined) return done({ figures });
    const { depthMm } = findUndercuts(field, foamMm, liner, donning, isInner, run);
    return done({ figures: { ...figures, depthMm: new Float32Array(depthMm) } });
  },
};
