import { shellPreviewSpecification } from '../../../shared-types/operations/making-preview.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { done, failed } from '../../../shared-types/outcome.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { dropUnusedVertices } from '../../geometry/mesh/compact.ts';
import { volumeOf } from '../../geometry/mesh/quantities.ts';
import { cutOpen } from '../../geometry/offset/cut-flat.ts';
import { keptBy, knivesFor } from '../../geometry/offset/openings.ts';
import { previewOffset } from '../../geometry/offset/preview.ts';
import { fairRim } from '../../geometry/offset/rim-curve.ts';
import { SignedField } from '../../geometry/offset/signed-field.ts';
import type { Operation } from '../operation.ts';
import { shellWishes } from '../shell.ts';
import { together } from './making-preview.ts';

/** Both sides of the wall, the inner one coarse; cut at the openings, and left open there. */
export const shellPreviewOperation: Operation<typeof shellPreviewSpecification> = {
  specification: shellPreviewSpecification,
  phases: { surface: 1 },
  run: ([input], parameters, run) => {
    const wishes = shellWishes(input, parameters);
    if (!wishes.ok) return wishes;
    const openings = wishes.value;
    const tick = (): void => run.step('surface', 0.5, 1);
    const outside = input.mesh;
    const inside = previewOffset(outside, -parameters.wallMm, run);
    if (inside.triangles.length === 0) return failed(fault('shell.solid', { wallMm: parameters.wallMm }));
    const field = new SignedField(outside, tick);
    const knives = knivesFor(openings, field, new SignedField(inside, tick));
    if (knives === 'short-curve') return failed(fault('line.short-curve', {}));
    const { reaches } = keptBy(inside, knives, tick);
    const lines = openings.flatMap((opening) => {
      const line = opening.kind === 'curve' ? fairRim(opening.points, field) : undefined;
      return line === undefined ? [] : [{ name: '', points: new Float32Array(line.laid), closed: true }];
    });
    const open: Mesh[] = [];
    for (const side of [outside, inside]) {
      let mesh = side;
      for (const knife of knives) {
        const sides = knife.sides(mesh, tick);
        if (sides.kind === 'not-parted') return failed(fault('line.not-parted', { what: 'shell' }));
        mesh = dropUnusedVertices(cutOpen(mesh, sides.heightMm, tick).open);
      }
      open.push(mesh);
    }
    const { mesh, spans } = together(open);
    const hollowMm3 = volumeOf(inside);
    return done({
      mesh,
      figures: {
        outside: spans[0],
        inside: spans[1],
        lines,
        reaches: [...reaches],
        hollowMm3,
        wallMm3: volumeOf(outside) - hollowMm3,
      },
    });
  },
};
