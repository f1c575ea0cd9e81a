/** Making what is cut and printed, in a library: the verb runs in a thread, its files are kept in one transaction. */
import type { Made, MakingSource } from '../../shared-types/calls/makings.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Making as MakingRecord } from '../../shared-types/records/making.ts';
import type { JobInput, JobResult } from '../jobs/protocol.ts';
import { writePdfs } from '../papers/write-pdf.ts';
import { addMaking } from '../store/making-records.ts';
import * as records from '../store/records.ts';
import type { Library } from '../store/connection.ts';
import { byId } from './by-id.ts';
import { meshInput, type Making } from './making.ts';
import { partInput } from './part-ready.ts';
import { PROGRAM_VERSION } from './program-version.ts';

const VERBS = { pieces: 'split', gauge: 'gauge', pattern: 'pattern', pads: 'pad' } as const;

/** The kind of making that a verb makes, if it makes one. */
export const makingKindOf = (verb: string): WantedMaking['kind'] | undefined =>
  (Object.keys(VERBS) as WantedMaking['kind'][]).find((kind) => VERBS[kind] === verb);

export interface WantedMaking {
  readonly kind: keyof typeof VERBS;
  readonly name: string;
  readonly source: MakingSource;
  readonly parameters: Readonly<Record<string, unknown>>;
}

/** Run the verb on the meshes it needs, keep its files, and its papers as PDF. */
export async function makeThings(making: Making, wanted: WantedMaking): Promise<Outcome<Made>> {
  const { library, pool, watch } = making;
  const { kind, name, source, parameters } = wanted;
  const inputs = inputsOf(library, kind, source);
  if (!inputs.ok) return inputs;
  const outcome = await pool.run({ verb: VERBS[kind], inputs: inputs.value, parameters }, watch);
  if (!outcome.ok) return outcome;
  const files = await filesOf(outcome.value);
  if (watch?.signal?.aborted === true) return failed(fault('job.cancelled', {}));
  const record: Omit<MakingRecord, 'id' | 'createdAt'> = {
    kind,
    name,
    ...source,
    parameters: { ...parameters },
    figures: { ...outcome.value.figures },
    programVersion: PROGRAM_VERSION,
  };
  const kept = addMaking(library, { ...record, files });
  return kept.ok ? done({ making: kept.value.making, files: [...kept.value.files] }, outcome.warnings) : kept;
}

async function filesOf({ files = [], papers = [] }: JobResult) {
  return [...files, ...(await writePdfs(papers))];
}

/** The meshes that what is made is made from, in the order of its verb. */
export const inputsOf = (library: Library, kind: WantedMaking['kind'], source: MakingSource): Outcome<JobInput[]> =>
  kind === 'pads' ? padInputs(library, source) : oneInput(library, source);

/** The mesh that is cut or laid flat: a liner, a part or a form, in that order. */
function oneInput(library: Library, { linerId, partId, formRevisionId }: MakingSource): Outcome<JobInput[]> {
  const input =
    linerId !== undefined
      ? linerInput(library, linerId)
      : partId !== undefined
        ? partInput(library, partId)
        : formRevisionId !== undefined
          ? formInput(library, formRevisionId)
          : failed<JobInput>(fault('job.usage', { reason: 'It needs a form, a liner or a part to be made from.' }));
  return input.ok ? done([input.value]) : input;
}

function padInputs(library: Library, { partId, formRevisionId }: MakingSource): Outcome<JobInput[]> {
  if (partId === undefined || formRevisionId === undefined) {
    return failed(fault('job.usage', { reason: 'Pads fill the gap between a part and a form; both are needed.' }));
  }
  const part = partInput(library, partId);
  if (!part.ok) return part;
  const form = formInput(library, formRevisionId);
  return form.ok ? done([part.value, form.value]) : form;
}

export function formInput(library: Library, revisionId: string): Outcome<JobInput> {
  const revision = byId(library, 'form_revisions', revisionId, 'form');
  if (!revision.ok) return revision;
  const mesh = records.readMeshOf(library, revision.value);
  return mesh.ok ? done(meshInput(mesh.value, 'form')) : mesh;
}

function linerInput(library: Library, linerId: string): Outcome<JobInput> {
  const liner = byId(library, 'liners', linerId, 'liner');
  if (!liner.ok) return liner;
  const mesh = records.readMeshOf(library, liner.value);
  return mesh.ok ? done(meshInput(mesh.value, 'liner')) : mesh;
}
