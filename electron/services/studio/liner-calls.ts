/** Calls about liners that are being thought over. */
import { done } from '../../../shared-types/outcome.ts';
import { IDENTITY } from '../../geometry/mesh/transform.ts';
import * as records from '../../store/records.ts';
import type { Handlers } from './session.ts';
import { byId } from '../by-id.ts';

export const linerCalls: Handlers<'liner.preview'> = {
  'liner.preview': async ({ revisionId, parameters }, { library, pool }, watch) => {
    const revision = byId(library, 'form_revisions', revisionId, 'form');
    if (!revision.ok) return revision;
    const form = records.readMeshOf(library, revision.value);
    if (!form.ok) return form;
    const input = { mesh: form.value, name: 'form', unit: 'millimetre', fromFile: IDENTITY } as const;
    const outcome = await pool.run({ verb: 'liner-preview', inputs: [input], parameters }, watch);
    if (!outcome.ok) return outcome;
    const { mesh, figures } = outcome.value;
    if (mesh === undefined) throw new Error('a preview made no mesh');
    const { depthMm, deepestMm, foamVolumeMm3, curves } = figures as {
      depthMm: Float32Array<ArrayBuffer> | null;
      deepestMm: number | null;
      foamVolumeMm3: number;
      curves: Float32Array<ArrayBuffer>[];
    };
    return done({
      positions: new Float32Array(mesh.positions),
      triangles: new Uint32Array(mesh.triangles),
      depthMm,
      deepestMm,
      foamVolumeMm3,
      curves,
    });
  },
};
