import { linerMapSpecification } from '../../../shared-types/operations/liner-map.ts';
import { done } from '../../../shared-types/outcome.ts';
import { BridgedField } from '../../geometry/offset/bridged-field.ts';
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
    const { foamMm, bridgeMm, zones = [], keepOuts, donning, giveMm = 0, isCleared, wallMm } = wishes.value;
    const tick = (): void => run.step('measure', 0, 1);
    const field = new RoomyField(form.mesh, { foamMm, zones, keepOuts, clear: undefined }, tick);
    const clear = isCleared === true && donning !== undefined ? { direction: donning, giveMm } : undefined;
    const room = { foamMm, zones, keepOuts, clear };
    let made: { field: RoomyField; foamMm: number } | undefined;
    if (bridgeMm !== undefined) {
      const inMade = run.within('measure', { surface: 1 });
      made = { field: new BridgedField(form.mesh, bridgeMm, room, inMade), foamMm };
    } else if (clear !== undefined) made = { field: new RoomyField(form.mesh, room, tick), foamMm };
    const { isInner, perVertexMm } = innerSide(field, liner, wallMm !== undefined, tick, made);
    const figures = { thicknessMm: perVertexMm, depthMm: null };
    if (donning === undefined) return done({ figures });
    const { depthMm } = findUndercuts(field, foamMm, liner, donning, isInner, run);
    return done({ figures: { ...figures, depthMm: new Float32Array(depthMm) } });
  },
};
