/**
 * The verbs that keep what they make in the library: form, block, fill and line; and of bodies in the library pads,
 * patterns, pieces, gauge bands and shells, which then need no file or folder to go to.
 */
import { basename, extname } from 'node:path';
import { fault } from '../../../shared-types/faults/index.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { readMesh, writeMesh } from '../../formats/index.ts';
import { JobPool } from '../../jobs/pool.ts';
import type { JobInput } from '../../jobs/protocol.ts';
import { readBytes } from '../../jobs/read-input.ts';
import type { Operation } from '../../operations/operation.ts';
import * as library from '../../services/library.ts';
import type { Parsed } from './arguments.ts';
import { writeFolder, writeWhole } from './output.ts';
import { showProgress } from './progress.ts';
import { onStopSignals } from './stop-signals.ts';
import { keepAccount, parametersOf, type Given } from './run-operation.ts';

export type Figures = Readonly<Record<string, unknown>>;

/** A mesh of the library, or a file beside it. */
export type Source = library.LibraryMesh | { readonly kind: 'file'; readonly path: string };

export interface Task {
  readonly file: library.Library;
  readonly operation: Operation;
  readonly parsed: Parsed;
  readonly sources: readonly Source[];
  readonly given: Given;
}

type Keeper = (task: Task) => Promise<Outcome<Figures>>;

/** What keeps the result of a verb on these meshes; undefined where it goes to a file, or is figures alone. */
export function keeperOf(verb: string, sources: readonly Source[]): Keeper | undefined {
  const kind = library.makingKindOf(verb);
  if (kind === undefined) return KEEPERS[verb];
  return sources.every((source) => source.kind !== 'file' && source.kind !== 'scan')
    ? (task) => keepThings(task, kind)
    : undefined;
}

/** Things to cut or print, made as the studio makes them. */
async function keepThings(task: Task, kind: library.WantedMaking['kind']): Promise<Outcome<Figures>> {
  const { file, operation, parsed, given } = task;
  const parameters = parametersOf(operation, parsed, given);
  if (!parameters.ok) return parameters;
  const meshes = task.sources.filter((source) => source.kind !== 'file');
  const source = library.sourceOfMeshes(file, meshes, parsed.extra.get('project'));
  if (!source.ok) return source;
  const name = parsed.extra.get('name') ?? `${kind}: ${meshes.map((mesh) => mesh.name).join(' on ')}`;
  const wanted = { kind, name, source: source.value, parameters: parameters.value };
  const made = await making(task, (by) => library.makeThings(by, wanted));
  if (!made.ok) return made;
  const { making: kept, files } = made.value;
  if (parsed.out !== undefined && operation.specification.makes === 'mesh') {
    const saved = savedAs(parsed.out, file, files);
    if (!saved.ok) return saved;
  } else if (parsed.out !== undefined) {
    const written = [];
    for (const { id } of files) {
      const read = library.readMakingFile(file, id);
      if (!read.ok) return read;
      written.push(read.value);
    }
    const wrote = writeFolder(parsed.out, written);
    if (!wrote.ok) return wrote;
  }
  return done({ making: kept.id, name, ...kept.figures, files: files.map((one) => one.name) }, made.warnings);
}

/** The mesh of a making as a file of any format. */
function savedAs(out: string, file: library.Library, files: library.Made['files']): Outcome<void> {
  const [first] = files;
  const read = library.readMakingFile(file, first.id);
  if (!read.ok) return read;
  const mesh = readMesh(read.value.bytes, first.name);
  return mesh.ok ? save(mesh.value.mesh, out) : mesh;
}

/** Run a making of the service with a pool and progress of its own. */
async function making<T>(
  { file, operation, parsed }: Task,
  act: (making: library.Making) => Promise<Outcome<T>>,
): Promise<Outcome<T>> {
  const pool = new JobPool({ log: keepAccount });
  const stop = new AbortController();
  const deafen = onStopSignals(() => stop.abort());
  const progress = showProgress(operation.specification.verb, parsed.progress);
  try {
    return await act({ library: file, pool, watch: { signal: stop.signal, progress: progress.show } });
  } finally {
    deafen();
    progress.clear();
    await pool.close();
  }
}

function save(mesh: Mesh, out: string | undefined): Outcome<void> {
  if (out === undefined) return done(undefined);
  const written = writeMesh(mesh, out);
  return written.ok ? writeWhole(out, written.value.bytes) : written;
}

const KEEPERS: Readonly<Record<string, (task: Task) => Promise<Outcome<Figures>>>> = {
  form: async (task) => {
    const { file, operation, parsed, sources, given } = task;
    const [source] = sources;
    const parameters = parametersOf(operation, parsed, given);
    if (!parameters.ok) return parameters;
    const whose = parsed.extra.get('wearer');
    const own = source.kind === 'file' ? undefined : source.wearerId;
    if (source.kind !== 'file' && source.kind !== 'scan') {
      return failed(
        fault('job.usage', { reason: `form: ${source.name} is a ${source.kind}; give a scan: scan:NAME.` }),
      );
    }
    if (whose === undefined && own === undefined) {
      return failed(fault('job.usage', { reason: 'form: a scan from a file needs --wearer NAME.' }));
    }
    const wearer = library.findOne(file, 'wearers', whose ?? own ?? '');
    if (!wearer.ok) return wearer;
    const input = source.kind === 'file' ? readBytes(source.path) : asBytes(source.read());
    if (!input.ok) return input;
    const called = parsed.extra.get('name');
    const last = source.kind === 'scan' && called === undefined ? source.formId : undefined;
    const fileName = source.kind === 'file' ? basename(source.path) : source.name;
    const usual = called ?? `${wearer.value.name}, ${partOf(parameters.value['recipe'], fileName)}`;
    const again = library.formOf(file, wearer.value.id, last === undefined ? { name: usual } : { id: last });
    const name = again?.name ?? usual;
    const made = await making(task, (by) =>
      library.makeForm(by, {
        wearerId: wearer.value.id,
        name,
        fileName,
        bytes: input.value,
        recipe: parameters.value['recipe'],
        ...(again === undefined ? {} : { formId: again.id }),
      }),
    );
    if (!made.ok) return made;
    const { form, revision, scan, figures, matrix, mesh } = made.value;
    const saved = save(mesh, parsed.out);
    if (!saved.ok) return saved;
    const told = { form: form.id, name: form.name, revision: revision.revision, scan: scan.id, ...figures, matrix };
    return done(told, made.warnings);
  },
  block: async (task) => {
    const { file, operation, parsed, given } = task;
    const parameters = parametersOf(operation, parsed, given);
    if (!parameters.ok) return parameters;
    const whose = parsed.extra.get('wearer');
    if (whose === undefined || parsed.jsonFiles.has('sheet')) {
      const reason =
        'block: a form kept in the library is made from the readings on a sheet there: give --wearer NAME and no --sheet.';
      return failed(fault('job.usage', { reason }));
    }
    const wearer = library.findOne(file, 'wearers', whose);
    if (!wearer.ok) return wearer;
    const name = parsed.extra.get('name') ?? `${wearer.value.name}, head by measures`;
    const again = library.formOf(file, wearer.value.id, { name });
    const { sheet: _sheet, ...rest } = parameters.value;
    const made = await making(task, (by) =>
      library.makeBlockedForm(by, {
        ...rest,
        wearerId: wearer.value.id,
        name,
        ...(again === undefined ? {} : { formId: again.id }),
      }),
    );
    if (!made.ok) return made;
    const { form, revision, source, figures, mesh } = made.value;
    const saved = save(mesh, parsed.out);
    if (!saved.ok) return saved;
    return done(
      { form: form.id, name: form.name, revision: revision.revision, sheet: source.id, ...figures },
      made.warnings,
    );
  },
  fill: async (task) => {
    const { operation, parsed, sources, given } = task;
    const [source] = sources;
    if (source.kind !== 'form' || source.revisionId === undefined) {
      return failed(fault('job.usage', { reason: 'fill: give the name of a form; on files, leave --library out.' }));
    }
    if (parsed.jsonFiles.has('sheet')) {
      return failed(
        fault('job.usage', { reason: 'fill: the readings are those of the wearer here; leave --sheet out.' }),
      );
    }
    const parameters = parametersOf(operation, parsed, given);
    if (!parameters.ok) return parameters;
    const { sheet: _sheet, ...rest } = parameters.value;
    const name = parsed.extra.get('name') ?? `${source.name}, filled`;
    const wanted = { ...rest, revisionId: source.revisionId, name } as Parameters<typeof library.makeFilledForm>[1];
    const made = await making(task, (by) => library.makeFilledForm(by, wanted));
    if (!made.ok) return made;
    const { form, revision, figures, mesh } = made.value;
    const saved = save(mesh, parsed.out);
    if (!saved.ok) return saved;
    return done({ form: form.id, name: form.name, revision: revision.revision, ...figures }, made.warnings);
  },
  line: async (task) => {
    const { file, operation, parsed, sources, given } = task;
    const [source] = sources;
    if (source.kind !== 'form') {
      return failed(fault('job.usage', { reason: 'line: give the name of a form; on files, leave --library out.' }));
    }
    const parameters = parametersOf(operation, parsed, given);
    if (!parameters.ok) return parameters;
    const called = parsed.extra.get('project');
    const project = called === undefined ? undefined : library.findOne(file, 'projects', called);
    if (project?.ok === false) return project;
    const made = await making(task, (by) =>
      library.makeLiner(by, {
        formId: source.id,
        parameters: parameters.value,
        ...(project === undefined ? {} : { projectId: project.value.id }),
      }),
    );
    if (!made.ok) return made;
    const saved = save(made.value.mesh, parsed.out);
    if (!saved.ok) return saved;
    return done({ liner: made.value.liner.id, form: source.id, ...made.value.figures }, made.warnings);
  },
};

function asBytes(input: Outcome<JobInput>): Outcome<Uint8Array> {
  if (!input.ok) return input;
  if (!('bytes' in input.value)) throw new Error('a scan is read as bytes');
  return done(input.value.bytes);
}

/** What a form is called by: there is one head and one torso, but limbs are told apart by their scan's file. */
export function partOf(recipe: unknown, fileName: string): string {
  const { region = 'head' } = recipe as { region?: string };
  return region === 'limb' ? basename(fileName, extname(fileName)) : region;
}
