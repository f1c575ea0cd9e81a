import { linerPreviewSpecification } from '../../../shared-types/operations/liner-preview.ts';
import { done, failed } from '../../../shared-types/outcome.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { dropUnusedVertices } from '../../geometry/mesh/compact.ts';
import { BridgedField } from '../../geometry/offset/bridged-field.ts';
import { cutOpen } from '../../geometry/offset/cut-flat.ts';
import { findUndercuts } from '../../geometry/offset/donning.ts';
import { foamVolume } from '../../geometry/offset/foam-volume.ts';
import { knifeFor } from '../../geometry/offset/openings.ts';
import { previewOfField, walled } from '../../geometry/offset/preview.ts';
import { fairRim } from '../../geometry/offset/rim-curve.ts';
import { RoomyField } from '../../geometry/offset/roomy-field.ts';
import { wishesFrom } from '../line-wishes.ts';
import { builtOf } from './last-form.ts';
import type { Operation } from '../operation.ts';

/** Cubes are so many times as large as a plain preview's where more is asked of it. */
const COARSER = 4 / 3;

/** Coarse in all, with bridging and wall; cut at the openings, where a liner without a wall is left open. */
export const linerPreviewOperation: Operation<typeof linerPreviewSpecification> = {
  specification: linerPreviewSpecification,
  phases: { surface: 0.8, donning: 0.2 },
  run: ([input], parameters, run) => {
    const wishes = wishesFrom(parameters, input);
    if (!wishes.ok) return wishes;
    const { foamMm, bridgeMm, wallMm, zones = [], keepOuts, donning, giveMm = 0, isCleared, openings } = wishes.value;
    const clear = isCleared === true && donning !== undefined ? { direction: donning, giveMm } : undefined;
    const tick = (): void => run.step('surface', 0, 1);
    const room = { foamMm, zones, keepOuts, clear };
    const built = builtOf(input.mesh, donning, tick);
    const field =
      bridgeMm === undefined
        ? new RoomyField(input.mesh, room, tick, built)
        : new BridgedField(input.mesh, bridgeMm, room, run, { isCoarse: true, built });
    const isMuch = bridgeMm !== undefined || donning !== undefined;
    let mesh = previewOfField(field, foamMm, run, isMuch ? COARSER : 1);
    const foamVolumeMm3 = foamVolume(input.mesh, mesh);
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
    let depthMm: Float64Array | undefined;
    let deepestMm: number | null = null;
    if (donning !== undefined) {
      const all = new Uint8Array(mesh.positions.length / 3).fill(1);
      ({ depthMm, deepestMm } = findUndercuts(field, foamMm, mesh, donning, all, run, {
        isCoarse: true,
        swept: built.swept,
      }));
    }
    if (wallMm !== undefined) {
      const planes = openings.flatMap((opening) => (opening.kind === 'plane' ? [opening.plane] : []));
      mesh = walled(mesh, wallMm, planes);
    }
    let told: Float32Array | null = null;
    if (depthMm !== undefined) {
      // The outer side of a wall is told what lies under it.
      told = new Float32Array(mesh.positions.length / 3);
      for (let from = 0; from < told.length; from += depthMm.length) told.set(depthMm, from);
    }
    return done({ mesh, figures: { depthMm: told, deepestMm, foamVolumeMm3, curves } });
  },
};
