/** Calls about forms and liners that are made, about running work, and the invented production. */
import { fault } from '../../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { recipeSchema } from '../../../shared-types/recipe.ts';
import type { FormRevision } from '../../../shared-types/records/form.ts';
import type { JobView } from '../../../shared-types/contract.ts';
import { writeMesh } from '../../formats/index.ts';
import { IDENTITY, invert, multiply, transformPoint } from '../../geometry/mesh/transform.ts';
import type { InputMesh } from '../../operations/operation.ts';
import { endJob } from '../../store/jobs.ts';
import * as records from '../../store/records.ts';
import { makeLiner } from '../making.ts';
import { runAgain } from '../run-again.ts';
import { viewOf } from './bench.ts';
import { noSuchJob } from './job-board.ts';
import { changed, type Handlers, type OpenSession, type Session } from './session.ts';
import { byId } from '../by-id.ts';
import { smallPicture } from './small-picture.ts';

function find(session: OpenSession, revisionId: string): Outcome<{ revision: FormRevision; mesh: Mesh }> {
  const revision = byId(session.library, 'form_revisions', revisionId, 'form');
  if (!revision.ok) return revision;
  const mesh = records.readMeshOf(session.library, revision.value);
  return mesh.ok ? done({ revision: revision.value, mesh: mesh.value }) : mesh;
}

/** From the scan file's coordinates to the form's, as the making noted it. */
function toFormOf(revision: FormRevision): Matrix4 | undefined {
  return revision.steps.find(({ verb }) => verb === 'form')?.figures['matrix'] as Matrix4 | undefined;
}

export const safeName = (name: string): string => name.replace(/[^\p{L}\p{N} ._-]+/gu, '-').trim() || 'form';

/** A mesh in mm as a file of its name. */
export function exported(mesh: Mesh, name: string, format: string) {
  const fileName = `${safeName(name)}.${format}`;
  const written = writeMesh(mesh, fileName);
  if (!written.ok) return written;
  return done({ fileName, bytes: new Uint8Array(written.value.bytes) }, written.warnings);
}

/** The form's name as the job was asked for it. */
const askedName = ({ request }: { request: Record<string, unknown> }): string =>
  typeof request['name'] === 'string' ? request['name'] : '';

function interruptedJobs({ library }: Session): JobView[] {
  if (library === undefined) return [];
  return records.allOf(library, 'jobs', "WHERE state = 'interrupted'").map((job) => ({
    id: job.id,
    kind: job.verb === 'line' ? 'line' : 'make',
    title: job.verb === 'line' ? 'Making a liner' : `Making the form ${askedName(job)}`,
    state: 'interrupted',
    fraction: 0,
    phase: '',
    startedAt: job.startedAt,
    ...(job.sentence === undefined ? {} : { sentence: job.sentence }),
    ...(job.wearerId === undefined ? {} : { wearerId: job.wearerId }),
  }));
}

/** Work under way and ended here, and what a crash cut off before. */
export const jobsOf = (session: Session): JobView[] => [...interruptedJobs(session), ...session.jobs.list()];

export const formCalls: Handlers<
  | 'form.show'
  | 'form.mesh'
  | 'form.deviation'
  | 'form.picture'
  | 'form.export'
  | 'form.line'
  | 'liner.show'
  | 'liner.export'
  | 'job.list'
  | 'job.stop'
  | 'job.dismiss'
  | 'job.again'
> = {
  'form.show': ({ revisionId }, session) => {
    const revision = byId(session.library, 'form_revisions', revisionId, 'form');
    if (!revision.ok) return revision;
    const form = byId(session.library, 'forms', revision.value.formId, 'form');
    if (!form.ok) return form;
    const wearer = byId(session.library, 'wearers', form.value.wearerId, 'wearer');
    if (!wearer.ok) return wearer;
    return done({ form: form.value, revision: revision.value, wearer: wearer.value });
  },
  'form.mesh': ({ revisionId }, session) => {
    const found = find(session, revisionId);
    return found.ok ? done(viewOf(found.value.mesh)) : found;
  },
  'form.deviation': async ({ revisionId }, session, watch) => {
    const found = find(session, revisionId);
    if (!found.ok) return found;
    const { revision, mesh } = found.value;
    const toForm = toFormOf(revision);
    const recipe = recipeSchema.safeParse(revision.recipe);
    if (toForm === undefined || !recipe.success) {
      return failed(fault('store.no-record', { kind: 'way from the scan to the form', id: revisionId }));
    }
    const ready = await session.bench.prepare(session.library, revision.scanId, recipe.data.keep, watch);
    if (!ready.ok) return ready;
    const { mended } = ready.value;
    const form: InputMesh = { mesh, name: 'form', unit: 'millimetre', fromFile: IDENTITY };
    const planes = recipe.data.trim.map(([px, py, pz, nx, ny, nz]) => {
      const at = transformPoint(toForm, [px, py, pz]);
      const tip = transformPoint(toForm, [px + nx, py + ny, pz + nz]);
      return [...at, ...tip.map((x, k) => x - at[k])];
    });
    const parameters = { toForm: [...multiply(toForm, invert(mended.fromFile))], planes };
    const outcome = await session.pool.run({ verb: 'deviation', inputs: [form, mended], parameters }, watch);
    if (!outcome.ok) return outcome;
    return done(outcome.value.figures as { perVertexMm: Float32Array<ArrayBuffer>; maxMm: number; meanMm: number });
  },
  'form.picture': ({ revisionId, pixels }, session) => {
    const found = find(session, revisionId);
    return found.ok ? done({ png: smallPicture(found.value.mesh, pixels) }) : found;
  },
  'form.export': ({ revisionId, format }, session) => {
    const found = find(session, revisionId);
    if (!found.ok) return found;
    const form = byId(session.library, 'forms', found.value.revision.formId, 'form');
    return form.ok ? exported(found.value.mesh, form.value.name, format) : form;
  },
  'form.line': ({ revisionId, parameters, projectId }, session) => {
    const revision = byId(session.library, 'form_revisions', revisionId, 'form');
    if (!revision.ok) return revision;
    const form = byId(session.library, 'forms', revision.value.formId, 'form');
    if (!form.ok) return form;
    const jobId = session.jobs.start({
      kind: 'line',
      title: `Making a liner for ${form.value.name}`,
      wearerId: form.value.wearerId,
      revisionId,
      work: async (watch) => {
        const { library, pool } = session;
        const made = await makeLiner(
          { library, pool, watch },
          {
            formId: form.value.id,
            parameters,
            ...(projectId === undefined ? {} : { projectId }),
          },
        );
        if (!made.ok) return made;
        session.tell('changed', { what: 'library' });
        return done({ linerId: made.value.liner.id }, made.warnings);
      },
    });
    return done({ jobId });
  },
  'liner.show': ({ id }, session) => {
    const liner = byId(session.library, 'liners', id, 'liner');
    if (!liner.ok) return liner;
    const mesh = records.readMeshOf(session.library, liner.value);
    return mesh.ok ? done({ liner: liner.value, mesh: viewOf(mesh.value) }) : mesh;
  },
  'liner.export': ({ id, format }, session) => {
    const liner = byId(session.library, 'liners', id, 'liner');
    if (!liner.ok) return liner;
    const mesh = records.readMeshOf(session.library, liner.value);
    return mesh.ok ? exported(mesh.value, `liner ${liner.value.foamMm} mm`, format) : mesh;
  },

  'job.list': (_given, session) => done({ jobs: jobsOf(session) }),
  'job.stop': ({ id }, session) => {
    session.jobs.stop(id);
    return done({});
  },
  'job.dismiss': ({ id }, session) => {
    const interrupted = interruptedJobs(session).some((job) => job.id === id);
    if (!interrupted) {
      session.jobs.dismiss(id);
      return done({});
    }
    const ended = endJob(session.library, id, 'cancelled', () => undefined, 'Put away without being run again.');
    if (ended.ok) session.tell('jobs', { jobs: jobsOf(session) });
    return ended.ok ? done({}) : ended;
  },
  'job.again': ({ id }, session) => {
    const again = session.jobs.again(id);
    if (again !== undefined) return done({ jobId: again });
    const old = interruptedJobs(session).find((job) => job.id === id);
    if (old === undefined) return noSuchJob(id);
    const { kind, title, wearerId } = old;
    const jobId = session.jobs.start({
      kind,
      title,
      ...(wearerId === undefined ? {} : { wearerId }),
      work: async (watch) => {
        const { library, pool } = session;
        const made = changed(session, await runAgain({ library, pool, watch }, id));
        if (!made.ok) return made;
        const put = endJob(library, id, 'cancelled', () => undefined, 'Run again.');
        return put.ok ? done({}, made.warnings) : put;
      },
    });
    return done({ jobId });
  },
};
