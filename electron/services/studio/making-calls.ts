/** Calls about what is cut and printed, and about the stock of foam. */
import { zipSync } from 'fflate';
import type { MAKING_CALLS, Made, MakingSource } from '../../../shared-types/calls/makings.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed } from '../../../shared-types/outcome.ts';
import type { Making } from '../../../shared-types/records/making.ts';
import type { Library } from '../../store/connection.ts';
import { addStock, dropMaking, dropStock, editStock, filesOf, readMakingFile } from '../../store/making-records.ts';
import { readMesh } from '../../formats/index.ts';
import { viewOf } from './bench.ts';
import * as records from '../../store/records.ts';
import { inputsOf, makeThings, outdatedBy, SHELL_FILE } from '../make.ts';
import { addSizedPart } from '../fitting.ts';
import { changed, type Handlers } from './session.ts';
import { safeName } from './form-calls.ts';
import { allThere, byId } from '../by-id.ts';
import { quietly } from './shelf-calls.ts';
import { given } from '../given.ts';

const TITLES = {
  pieces: 'Cutting into pieces',
  gauge: 'Making gauge bands',
  pattern: 'Laying a pattern flat',
  pads: 'Making pads',
  shell: 'Making hollow',
} as const;

function withFiles(library: Library, making: Making): Made {
  const files = filesOf(library, making.id);
  const solid = making.kind === 'shell' ? files.find(({ name }) => name === SHELL_FILE) : undefined;
  const [kept] = records.allOf(library, 'parts', 'WHERE original_sha256 = ?', solid?.sha256 ?? '');
  const outdated = outdatedBy(library, making);
  return {
    making,
    files,
    ...(outdated === undefined ? {} : { outdated }),
    ...(kept === undefined ? {} : { keptAs: { id: kept.id, name: kept.name } }),
  };
}

/** Makings that name all of what is given. */
export function makingsOf(library: Library, source: MakingSource): Made[] {
  const wanted = Object.entries(given(source)) as [keyof MakingSource, string][];
  return records
    .allOf(library, 'makings')
    .filter((making) => wanted.every(([field, id]) => making[field] === id))
    .map((making) => withFiles(library, making));
}

export const makingCalls: Handlers<keyof typeof MAKING_CALLS> = {
  'stock.list': (_given, { library }) => done({ stock: records.allOf(library, 'stock') }),
  'stock.add': (foam, session) => {
    const added = changed(session, addStock(session.library, foam));
    return added.ok ? done({ id: added.value.id }) : added;
  },
  'stock.edit': ({ id, ...edits }, session) => changed(session, quietly(editStock(session.library, id, given(edits)))),
  'stock.drop': ({ id }, session) => changed(session, quietly(dropStock(session.library, id))),
  'making.start': ({ kind, name, source: named, parameters }, session) => {
    const source = given(named);
    const found = allThere(session.library, source);
    if (!found.ok) return found;
    const { formRevisionId, linerId } = source;
    const jobId = session.jobs.start({
      kind: 'things',
      title: `${TITLES[kind]}: ${name}`,
      ...given({ revisionId: formRevisionId, linerId }),
      work: async (watch) => {
        const { library, pool } = session;
        const made = changed(session, await makeThings({ library, pool, watch }, { kind, name, source, parameters }));
        return made.ok ? done({ makingId: made.value.making.id }, made.warnings) : made;
      },
    });
    return done({ jobId });
  },
  'making.preview': async ({ kind, source, parameters }, { library, pool }, watch) => {
    const inputs = inputsOf(library, kind, given(source));
    if (!inputs.ok) return inputs;
    const outcome = await pool.run({ verb: `${kind}-preview`, inputs: inputs.value, parameters }, watch);
    if (!outcome.ok) return outcome;
    const { mesh, figures } = outcome.value;
    if (mesh === undefined) throw new Error('a preview made no mesh');
    const { positions, triangles } = viewOf(mesh);
    return done({ positions, triangles, [kind]: figures });
  },
  'making.body': ({ kind, source }, { library }) => {
    const inputs = inputsOf(library, kind, given(source));
    if (!inputs.ok) return inputs;
    // Pads lie on the form; everything else is made of one body.
    const body = inputs.value.at(-1);
    if (body === undefined || !('mesh' in body)) throw new Error('a body that is no mesh');
    const { positions, triangles } = viewOf(body.mesh);
    return done({ positions, triangles });
  },
  'making.list': (source, { library }) => done({ made: makingsOf(library, source) }),
  'making.show': ({ id }, { library }) => {
    const making = byId(library, 'makings', id, 'making');
    return making.ok ? done(withFiles(library, making.value)) : making;
  },
  'making.file': ({ fileId }, { library }) => {
    const read = readMakingFile(library, fileId);
    return read.ok ? done({ fileName: read.value.name, bytes: new Uint8Array(read.value.bytes) }) : read;
  },
  'making.mesh': ({ fileId }, { library }) => {
    const file = readMakingFile(library, fileId);
    if (!file.ok) return file;
    const read = readMesh(file.value.bytes, file.value.name);
    if (!read.ok) return read;
    const { positions, triangles } = viewOf(read.value.mesh);
    return done({ positions, triangles });
  },
  'making.files': ({ id }, { library }) => {
    const making = byId(library, 'makings', id, 'making');
    if (!making.ok) return making;
    const files: Record<string, Uint8Array> = {};
    for (const file of filesOf(library, id)) {
      const read = readMakingFile(library, file.id);
      if (!read.ok) return read;
      files[read.value.name] = read.value.bytes;
    }
    return done({
      fileName: `${safeName(making.value.name)}.zip`,
      bytes: zipSync(files, { level: 6, mtime: new Date(1980, 0, 1) }),
    });
  },
  'making.part': async ({ id }, session, watch) => {
    const { library, pool } = session;
    const making = byId(library, 'makings', id, 'making');
    if (!making.ok) return making;
    const { kind, name, partId, projectId } = making.value;
    const file = filesOf(library, id).find((one) => one.name === SHELL_FILE);
    if (kind !== 'shell' || file === undefined) {
      return failed(fault('job.usage', { reason: `${name} is no shell; only shells are kept as parts.` }));
    }
    const read = readMakingFile(library, file.id);
    if (!read.ok) return read;
    const [solid] = records.allOf(library, 'parts', 'WHERE id = ?', partId ?? '');
    const project = projectId ?? solid?.projectId;
    const part = {
      name: solid === undefined ? name : `${solid.name}, hollow`,
      fileName: SHELL_FILE,
      bytes: read.value.bytes,
      ...(project === undefined ? {} : { projectId: project }),
    };
    const kept = changed(session, await addSizedPart({ library, pool, watch }, part, { unit: 'mm' }));
    return kept.ok ? done({ id: kept.value.id }, kept.warnings) : kept;
  },
  'making.drop': ({ id }, session) => changed(session, quietly(dropMaking(session.library, id))),
};
