import { linerPreviewSpecification } from '../../../shared-types/operations/liner-preview.ts';
import { done, failed } from '../../../shared-types/outcome.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { dropUnusedVertices } from '../../geometry/mesh/compact.ts';
import { volumeOf } from '../../geometry/mesh/quantities.ts';
import { cutOpen } from '../../geometry/offset/cut-flat.ts';
import { findUndercuts } from '../../geometry/offset/donning.ts';
import { knifeFor } from '../../geometry/offset/openings.ts';
import { previewOfField } from '../../geometry/offset/preview.ts';
import { fairRim } from '../../geometry/offset/rim-curve.ts';
import { RoomyField } from '../../geometry/offset/roomy-field.ts';
import { wishesFrom } from '../line-wishes.ts';
import type { Operation } from '../operation.ts';

/** Without bridging, wall and tolerance; cut at the openings, and left open there. */
export const linerPreviewOperation: Operation<typeof linerPreviewSpecification> = {
  specification: linerPreviewSpecification,
  phases: { surface: 0.8, donning: 0.2 },
  run: ([input], parameters, run) => {
    const wishes = wishesFrom(parameters, input);
    if (!wishes.ok) return wishes;
    const { foamMm, zones = [], keepOuts, donning, giveMm = 0, isCleared, openings } = wishes.value;
    const clear = isCleared === true && donning !== undefined ? { direction: donning, giveMm } : undefined;
    const tick = (): void => run.step('surface', 0, 1);
    const field = new RoomyField(input.mesh, { foamMm, zones, keepOuts, clear }, tick);
    let mesh = previewOfField(field, foamMm, run);
    const foamVolumeMm3 = volumeOf(mesh) - volumeOf(input.mesh);
    const curves: Float32Array[] = [];
    for (const opening of openings) {
      const knife = knifeFor(opening, field);
      if (knife === undefined) return failed(fault('line.short-curve', {}));
      if (opening.kind === 'curve') {
        const line = fairRim(opening.points, field);
        if (line !== undefined) curves.push(new Float32Array(line.laid));
      }
      const sides = knife.sides(mesh, tick);
      // Left open: to look at, a rim without faces shows as well.
      if (sides.kind === 'not-parted') return failed(fault('line.not-parted', { what: 'liner' }));
      mesh = dropUnusedVertices(cutOpen(mesh, sides.heightMm, tick).open);
    }
    const figures = { depthMm: null, deepestMm: null, foamVolumeMm3, curves };
    if (donning === undefined) return done({ mesh, figures });
    const all = new Uint8Array(mesh.positions.length / 3).fill(1);
    const { depthMm, deepestMm } = findUndercuts(field, foamMm, mesh, donning, all, run);
    return done({ mesh, figures: { ...figures, depthMm: new Float32Array(depthMm), deepestMm } });
  },
};
