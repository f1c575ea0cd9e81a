/** A mesh whose faces all proved to be none (no area, or the same corner twice) made mend fail on an absent piece. */
import { expect, it } from 'vitest';
import { mend } from '../../electron/geometry/mend/mend.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { mendOperation } from '../../electron/operations/mend.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { meshOf } from '../support/meshes.ts';

it('says in one sentence that nothing can be made of faces of no area', () => {
  const mesh = meshOf([0, 0, 0, 100, 0, 0, 200, 0, 0, 300, 0, 0], [0, 1, 2, 1, 2, 3, 0, 0, 3]);
  expect(mend(mesh, { keep: 'largest' })).toMatchObject({ left: 1, report: { degenerateFaces: 3 } });
  const outcome = runOperation(mendOperation, [{ mesh, name: 'a line', fromFile: IDENTITY }], {});
  expect(outcome.ok).toBe(false);
  if (!outcome.ok) expect(outcome.fault.code).toBe('mesh.no-faces');
});
