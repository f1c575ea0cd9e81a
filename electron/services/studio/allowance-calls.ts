/** Calls about allowances for hair, clothing and soft tissue. */
import type { z } from 'zod';
import type { ALLOWANCE_CALLS } from '../../../shared-types/calls/allowances.ts';
import type { allowFigures } from '../../../shared-types/operations/allow.ts';
import { done } from '../../../shared-types/outcome.ts';
import { formInput } from '../make.ts';
import { exported } from './form-calls.ts';
import type { Handlers } from './session.ts';
import { byId } from '../by-id.ts';

export const allowanceCalls: Handlers<keyof typeof ALLOWANCE_CALLS> = {
  'form.allow': async ({ revisionId, zones, format }, { library, pool }, watch) => {
    const revision = byId(library, 'form_revisions', revisionId, 'form');
    if (!revision.ok) return revision;
    const form = byId(library, 'forms', revision.value.formId, 'form');
    if (!form.ok) return form;
    const input = formInput(library, revisionId);
    if (!input.ok) return input;
    const grown = await pool.run({ verb: 'allow', inputs: [input.value], parameters: { zones } }, watch);
    if (!grown.ok) return grown;
    const { mesh, figures } = grown.value;
    if (mesh === undefined) throw new Error('allow made no mesh');
    const file = exported(mesh, `${form.value.name} with allowances`, format);
    if (!file.ok) return file;
    const { zones: reached, volumeMm3, formVolumeMm3 } = figures as z.output<typeof allowFigures>;
    const warnings = [...grown.warnings, ...file.warnings];
    return done({ ...file.value, zones: reached, volumeMm3, formVolumeMm3, warnings });
  },
};
