/** Calls about forms filled where their scan missed something. */
import type { z } from 'zod';
import type { FILL_CALLS } from '../../../shared-types/calls/fills.ts';
import type { fillPreviewSpecification } from '../../../shared-types/operations/fill-preview.ts';
import { done } from '../../../shared-types/outcome.ts';
import { fillTask, makeFilledForm } from '../fill-form.ts';
import { changed, type Handlers } from './session.ts';

export const fillCalls: Handlers<keyof typeof FILL_CALLS> = {
  'fill.preview': async (wanted, { library, pool }, watch) => {
    const task = fillTask(library, wanted);
    if (!task.ok) return task;
    const { input, parameters } = task.value;
    const outcome = await pool.run({ verb: 'fill-preview', inputs: [input], parameters }, watch);
    if (!outcome.ok) return outcome;
    const { mesh, figures } = outcome.value;
    if (mesh === undefined) throw new Error('a preview made no mesh');
    const { told, movedMm } = figures as z.output<typeof fillPreviewSpecification.figures>;
    return done({
      positions: new Float32Array(mesh.positions),
      triangles: new Uint32Array(mesh.triangles),
      movedMm: movedMm as Float32Array<ArrayBuffer>,
      figures: told,
    });
  },
  'fill.make': (wanted, session) => {
    const task = fillTask(session.library, wanted);
    if (!task.ok) return task;
    const jobId = session.jobs.start({
      kind: 'make',
      title: `Making the form ${wanted.name}`,
      wearerId: task.value.form.wearerId,
      work: async (watch) => {
        const { library, pool } = session;
        const made = changed(session, await makeFilledForm({ library, pool, watch }, wanted));
        return made.ok ? done({ revisionId: made.value.revision.id }, made.warnings) : made;
      },
    });
    return done({ jobId });
  },
};
