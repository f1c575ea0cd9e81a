/** Calls about liners that are being thought over. */
import { done } from '../../../shared-types/outcome.ts';
import { IDENTITY } from '../../geometry/mesh/transform.ts';
import * as records from '../../store/records.ts';
import type { Handlers } from './session.ts';
import { byId } from '../by-id.ts';

export const linerCalls: Handlers<'liner.preview' | 'liner.map'> = {
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
  'liner.map': async ({ id }, { library, pool }, watch) => {
    const liner = byId(library, 'liners', id, 'liner');
    if (!liner.ok) return liner;
    const { formRevisionId, parameters } = liner.value;
    const revision = byId(library, 'form_revisions', formRevisionId, 'form');
    if (!revision.ok) return revision;
    const form = records.readMeshOf(library, revision.value);
    if (!form.ok) return form;
    const mesh = records.readMeshOf(library, liner.value);
    if (!mesh.ok) return mesh;
    const inputs = [form.value, mesh.value].map(
      (one, k) => ({ mesh: one, name: k === 0 ? 'form' : 'liner', unit: 'millimetre', fromFile: IDENTITY }) as const,
    );
    const outcome = await pool.run({ verb: 'liner-map', inputs, parameters }, watch);
    if (!outcome.ok) return outcome;
    return done(
      outcome.value.figures as { thicknessMm: Float32Array<ArrayBuffer>; depthMm: Float32Array<ArrayBuffer> | null },
    );
  },
};
