/** Calls about parts, parts tried on forms, and the company's table. */
import type { CompanyCell, FITTING_CALLS } from '../../../shared-types/calls/fittings.ts';
import type { CallResult } from '../../../shared-types/contract.ts';
import { done, failed } from '../../../shared-types/outcome.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { partFigures } from '../../../shared-types/operations/part.ts';
import type { Fitting } from '../../../shared-types/records/making.ts';
import { readMesh } from '../../formats/index.ts';
import type { Library } from '../../store/connection.ts';
import { addFitting, editFitting, editPart } from '../../store/making-records.ts';
import * as records from '../../store/records.ts';
import { companyCsv, companyOf, runCompany } from '../company.ts';
import { makerOf, outdatedBy } from '../make.ts';
import { draftOf, easeOfFitting, sizePart, triedOf, tryFitting } from '../fitting.ts';
import { viewOf } from './bench.ts';
import { changed, type Handlers } from './session.ts';
import { allThere, byId } from '../by-id.ts';
import { quietly } from './shelf-calls.ts';
import { given } from '../given.ts';

type Shown = CallResult<'fitting.show'>;

function shown(library: Library, fitting: Fitting): Shown {
  const [form] = records.allOf(library, 'forms', 'WHERE id = ?', fitting.formId);
  const [wearer] = records.allOf(library, 'wearers', 'WHERE id = ?', form?.wearerId ?? '');
  const [part] = records.allOf(library, 'parts', 'WHERE id = ?', fitting.partId ?? '');
  const revision = records.revisionsOf(library, fitting.formId).at(-1);
  const tried = triedOf(library, fitting);
  const region = revision?.recipe['region'];
  if (form === undefined || wearer === undefined) throw new Error('a fitting hangs in the air');
  return {
    fitting,
    draft: draftOf(fitting),
    formName: form.name,
    wearerName: wearer.name,
    wearerId: wearer.id,
    ...(revision === undefined ? {} : { revisionId: revision.id }),
    ...(typeof region === 'string' ? { region } : {}),
    ...(part === undefined ? {} : { partName: part.name }),
    ...(tried === undefined ? {} : { tried }),
  };
}

/** The table of a company is filled cell by cell, no oftener than this. */
const TABLE_EVERY_MS = 1500;

export const fittingCalls: Handlers<keyof typeof FITTING_CALLS> = {
  'part.keep': ({ upload, fileName, name, projectId }, session) => {
    const { library, uploads } = session;
    const bytes = uploads.read(upload);
    if (!bytes.ok) return bytes;
    // A file that is no mesh is refused before it is kept.
    const read = readMesh(bytes.value, fileName);
    if (!read.ok) return read;
    const project = allThere(library, { projectId });
    if (!project.ok) return project;
    const part = { name, fileName, bytes: bytes.value, ...(projectId === undefined ? {} : { projectId }) };
    const kept = changed(session, records.addPart(library, part));
    if (!kept.ok) return kept;
    uploads.putAway(upload);
    return done({ id: kept.value.id }, read.warnings);
  },
  'part.list': (_given, { library }) => {
    const fittings = records.allOf(library, 'fittings');
    const parts = records.allOf(library, 'parts').map((part) => ({
      ...part,
      ready: part.madeSha256 !== undefined,
      fittings: fittings.filter(({ partId }) => partId === part.id).length,
    }));
    return done({ parts });
  },
  'part.show': ({ id }, { library }) => {
    const part = byId(library, 'parts', id, 'part');
    if (!part.ok) return part;
    const fittings = records.allOf(library, 'fittings', 'WHERE part_id = ?', id);
    const by = makerOf(library, part.value);
    if (by === undefined) return done({ part: part.value, fittings });
    const madeBy = { id: by.id, name: by.name, isOutdated: outdatedBy(library, by) !== undefined };
    return done({ part: part.value, fittings, madeBy });
  },
  'part.mesh': ({ id, which }, { library }) => {
    const part = byId(library, 'parts', id, 'part');
    if (!part.ok) return part;
    if (which === 'ready') {
      const { madeSha256 } = part.value;
      if (madeSha256 === undefined) {
        return failed(fault('job.usage', { reason: `${part.value.name} has no true size yet; give it one first.` }));
      }
      const mesh = records.readMeshOf(library, { meshSha256: madeSha256 });
      return mesh.ok ? done(viewOf(mesh.value)) : mesh;
    }
    const bytes = records.readOriginal(library, part.value);
    if (!bytes.ok) return bytes;
    const read = readMesh(bytes.value, part.value.fileName);
    return read.ok ? done(viewOf(read.value.mesh, undefined, read.value.fromFile), read.warnings) : read;
  },
  'part.edit': ({ id, ...edits }, session) => {
    const project = allThere(session.library, { projectId: edits.projectId });
    return project.ok ? changed(session, quietly(editPart(session.library, id, given(edits)))) : project;
  },
  'part.size': async ({ id, ...recipe }, session, watch) => {
    const { library, pool } = session;
    const part = byId(library, 'parts', id, 'part');
    if (!part.ok) return part;
    const sized = changed(session, await sizePart({ library, pool, watch }, part.value, given(recipe)));
    if (!sized.ok) return sized;
    return done(partFigures.parse(sized.value.figures), sized.warnings);
  },

  'fitting.start': ({ name, formId, partId, projectId }, session) => {
    const found = allThere(session.library, { formId, partId, projectId });
    if (!found.ok) return found;
    const fitting = { name, formId, partId, draft: {}, ...(projectId === undefined ? {} : { projectId }) };
    const added = changed(session, addFitting(session.library, fitting));
    return added.ok ? done({ id: added.value.id }) : added;
  },
  'fitting.list': ({ formId, partId, projectId }, { library }) => {
    const wanted = Object.entries(given({ formId, partId, projectId })) as [keyof Fitting, string][];
    const fittings = records
      .allOf(library, 'fittings')
      .filter((fitting) => wanted.every(([field, id]) => fitting[field] === id));
    return done({ fittings: fittings.map((fitting) => shown(library, fitting)) });
  },
  'fitting.show': ({ id }, { library }) => {
    const fitting = byId(library, 'fittings', id, 'fitting');
    return fitting.ok ? done(shown(library, fitting.value)) : fitting;
  },
  'fitting.edit': ({ id, label, ...edits }, session) =>
    changed(session, quietly(editFitting(session.library, id, given(edits), label))),
  'fitting.try': ({ id, ...wanted }, session) => {
    const fitting = byId(session.library, 'fittings', id, 'fitting');
    if (!fitting.ok) return fitting;
    const jobId = session.jobs.start({
      kind: 'fit',
      title: `Trying on: ${fitting.value.name}`,
      fittingId: id,
      work: async (watch) => {
        const { library, pool } = session;
        // What has been decided since it was asked for counts.
        const now = byId(library, 'fittings', id, 'fitting');
        if (!now.ok) return now;
        const tried = changed(session, await tryFitting({ library, pool, watch }, now.value, wanted));
        return tried.ok ? done({ fittingId: id }, tried.warnings) : tried;
      },
    });
    return done({ jobId });
  },
  'fitting.ease': async ({ id }, session, watch) => {
    const { library, pool } = session;
    const fitting = byId(library, 'fittings', id, 'fitting');
    if (!fitting.ok) return fitting;
    const outcome = await easeOfFitting({ library, pool, watch }, fitting.value);
    return outcome.ok ? done(outcome.value.figures as CallResult<'fitting.ease'>, outcome.warnings) : outcome;
  },

  'company.show': ({ projectId, wish }, { library }) => {
    const found = allThere(library, { projectId });
    if (!found.ok) return found;
    const { forms, parts, cells } = companyOf(library, projectId, wish.roomMm);
    return done({
      forms: [...forms],
      parts: parts.map(({ id, name }) => ({ id, name })),
      cells: cells as CompanyCell[],
    });
  },
  'company.run': ({ projectId, wish }, session) => {
    const found = allThere(session.library, { projectId });
    if (!found.ok) return found;
    const jobId = session.jobs.start({
      kind: 'company',
      title: 'Trying every part on everyone',
      work: async (watch) => {
        const { library, pool } = session;
        let told = Date.now();
        const run = await runCompany({ library, pool, watch }, projectId, wish.roomMm, () => {
          if (Date.now() - told < TABLE_EVERY_MS) return;
          told = Date.now();
          session.tell('changed', { what: 'library' });
        });
        session.tell('changed', { what: 'library' });
        return run.ok ? done({}, run.warnings) : run;
      },
    });
    return done({ jobId });
  },
  'company.export': ({ projectId, wish }, { library }) => {
    const found = allThere(library, { projectId });
    return found.ok ? done({ csv: companyCsv(companyOf(library, projectId, wish.roomMm)) }) : found;
  },
};
