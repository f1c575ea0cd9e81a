/** Making what is cut and printed, in a library: the verb runs in a thread, its files are kept in one transaction. */
import type { Made, MakingSource } from '../../shared-types/calls/makings.ts';
import { fault } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Making as MakingRecord } from '../../shared-types/records/making.ts';
import type { Part } from '../../shared-types/records/project.ts';
import { writeMesh } from '../formats/index.ts';
import type { JobInput, JobResult } from '../jobs/protocol.ts';
import type { MadeFile } from '../operations/operation.ts';
import { writePdfs } from '../papers/write-pdf.ts';
import { addMaking } from '../store/making-records.ts';
import * as records from '../store/records.ts';
import type { Library } from '../store/connection.ts';
import { byId } from './by-id.ts';
import { meshInput, type Making } from './making.ts';
import { partInput, partState } from './part-ready.ts';
import { PROGRAM_VERSION } from './program-version.ts';

const VERBS = { pieces: 'split', gauge: 'gauge', pattern: 'pattern', pads: 'pad', shell: 'shell' } as const;

/** The file of a shell that it is looked at and kept as a part by. */
export const SHELL_FILE = 'shell.stl';

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
  const files = await filesOf(outcome.value, kind);
  if (!files.ok) return files;
  const part = records.allOf(library, 'parts', 'WHERE id = ?', source.partId ?? '').at(0);
  if (watch?.signal?.aborted === true) return failed(fault('job.cancelled', {}));
  const record: Omit<MakingRecord, 'id' | 'createdAt'> = {
    kind,
    name,
    ...source,
    parameters: { ...parameters },
    figures: { ...outcome.value.figures, ...(part === undefined ? {} : { partState: partState(part) }) },
    programVersion: PROGRAM_VERSION,
  };
  const kept = addMaking(library, { ...record, files: files.value });
  return kept.ok ? done({ making: kept.value.making, files: [...kept.value.files] }, outcome.warnings) : kept;
}

/** The files of a verb, its papers as PDF, and a mesh by itself as STL and as 3MF. */
async function filesOf(result: JobResult, kind: string): Promise<Outcome<MadeFile[]>> {
  const { files = [], papers = [], mesh } = result;
  const made = [...files, ...(await writePdfs(papers))];
  for (const ending of mesh === undefined ? [] : ['stl', '3mf']) {
    const name = `${kind}.${ending}`;
    const written = writeMesh(mesh as Mesh, name);
    if (!written.ok) return written;
    made.push({ name, bytes: new Uint8Array(written.value.bytes) });
  }
  return done(made);
}

/** The shell that a part is, if it is one: its file is that making's. */
export function makerOf(library: Library, { originalSha256 }: Part): MakingRecord | undefined {
  const files = records.allOf(library, 'making_files', 'WHERE sha256 = ?', originalSha256);
  const makingId = files.find(({ name }) => name === SHELL_FILE)?.makingId;
  return records.allOf(library, 'makings', 'WHERE id = ?', makingId ?? '').at(0);
}

/** What has changed since of what it was made from. */
export function outdatedBy(library: Library, { partId, formRevisionId, figures }: MakingRecord): Made['outdated'] {
  const part = records.allOf(library, 'parts', 'WHERE id = ?', partId ?? '').at(0);
  // Makings from before do not say what the part was.
  const then = figures['partState'];
  if (part !== undefined && then !== undefined && then !== partState(part)) return 'part';
  const revision = records.allOf(library, 'form_revisions', 'WHERE id = ?', formRevisionId ?? '').at(0);
  if (revision === undefined) return undefined;
  return records.revisionsOf(library, revision.formId).at(-1)?.id === revision.id ? undefined : 'form';
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
