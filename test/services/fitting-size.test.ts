/** A size that was asked for is told; what is tried on afterwards is the part as large as it is. */
import { expect, it } from 'vitest';
import { writeMesh } from '../../electron/formats/index.ts';
import { DESK_REGISTRY, JobPool } from '../../electron/jobs/pool.ts';
import { draftOf, newestTrial, tryFitting } from '../../electron/services/fitting.ts';
import { addFitting, finishPart } from '../../electron/store/making-records.ts';
import * as records from '../../electron/store/records.ts';
import { determinant3 } from '../../electron/geometry/mesh/transform.ts';
import type { Matrix4 } from '../../shared-types/mesh.ts';
import { freshLibrary, good } from '../store/support.ts';
import { inward, sphere } from '../support/solids.ts';

const BODY_MM = 80;
const HOLE_MM = 95;
const LEAST_MM = 5;

it('a hollow ball that could be smaller keeps its size in the fitting after that was asked', async () => {
  const library = freshLibrary();
  const { id: wearerId } = good(records.addWearer(library, { name: 'A ball (invented)' }));
  const scan = good(records.addScan(library, { wearerId, fileName: 'a.obj', bytes: Buffer.from('v 0 0 0') }));
  const made = { wearerId, name: 'ball', scanId: scan.id, recipe: {}, steps: [], programVersion: '0' };
  const { form } = good(records.addFormRevision(library, { ...made, mesh: sphere(BODY_MM, 2) }));
  const bowl = inward(sphere(HOLE_MM, 2));
  const { bytes } = good(writeMesh(bowl, 'bowl.stl'));
  const part = good(records.addPart(library, { name: 'Bowl', fileName: 'bowl.stl', bytes }));
  good(finishPart(library, part.id, { recipe: { unit: 'mm' }, figures: {}, mesh: bowl }));
  const draft = { foamMm: 0, leastMm: LEAST_MM };
  const fitting = good(addFitting(library, { name: 'Bowl on ball', formId: form.id, partId: part.id, draft }));
  const pool = new JobPool({
    threads: 1,
    registry: DESK_REGISTRY,
    log: (_reference, account) => console.error(account),
  });
  const trial = good(await tryFitting({ library, pool }, fitting, { solve: 'scale', donning: false, sight: false }));
  // Concentric balls: the hole must be as large as body and gap together; facets take 3 mm at most.
  expect(Math.abs(Number(trial.figures['scale']) - (BODY_MM + LEAST_MM) / HOLE_MM)).toBeLessThan(0.03);
  const [now = fitting] = records.allOf(library, 'fittings', 'WHERE id = ?', fitting.id);
  for (const placement of [draftOf(now).placement, newestTrial(library, fitting)?.placement]) {
    expect(determinant3(placement as unknown as Matrix4)).toBeCloseTo(1, 9);
  }
  await pool.close();
  library.close();
});
