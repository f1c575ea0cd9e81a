/**
 * The verbs on meshes, with --library: a mesh is then the name of a form, a part or a wearer (their newest scan), or
 * "form:", "part:", "scan:" or "liner:" and a name; what the library knows (landmarks, readings, planes, the recipe)
 * need not be given again. `form`, `fill` and `line` keep what they make, `fit` that a part was tried, `health` of a scan what
 * the scan is, `stand` of a scan its landmarks; the others give a file.
 */
import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import { fault } from '../../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { landmarksFileSchema } from '../../../shared-types/recipe.ts';
import { writeMesh } from '../../formats/index.ts';
import { JobPool } from '../../jobs/pool.ts';
import type { JobInput } from '../../jobs/protocol.ts';
import { readBytes } from '../../jobs/read-input.ts';
import { findOperation } from '../../operations/index.ts';
import type { Operation } from '../../operations/operation.ts';
import * as library from '../../services/library.ts';
import { neededFlag, parseArguments, type Flag, type Parsed } from './arguments.ts';
import { verbHelp } from './help.ts';
import { copyIfDue } from './library.ts';
import { writeWhole } from './output.ts';
import { figuresText } from './print.ts';
import { showProgress } from './progress.ts';
import { onStopSignals } from './stop-signals.ts';
import { keepAccount, parametersOf, tell, work, type Given } from './run-operation.ts';

type Figures = Readonly<Record<string, unknown>>;

const flag = (name: string, placeholder: string, help: string): Flag => ({
  flag: name,
  kind: 'word',
  placeholder,
  help,
  required: false,
  range: '',
});
const FLAGS: readonly Flag[] = [
  flag('library', 'FILE', 'The library.'),
  flag('wearer', 'NAME', 'form: whose scan it is, when the scan is a file; block: whose readings they are.'),
  flag('name', 'TEXT', 'form, block, fill: what the form is called; a form of that wearer and name is made again.'),
  flag('project', 'NAME', 'line: the project the liner belongs to.'),
];

/** A mesh of the library, or a file beside it. */
type Source = library.LibraryMesh | { readonly kind: 'file'; readonly path: string };

function sourceOf(file: library.Library, word: string): Outcome<Source> {
  const found = library.findMesh(file, word);
  if (!found.ok && found.fault.code === 'store.no-record' && existsSync(word))
    return done({ kind: 'file', path: word });
  return found;
}

const inputOf = (source: Source): Outcome<JobInput> =>
  source.kind === 'file' ? done({ path: source.path }) : source.read();

interface Task {
  readonly file: library.Library;
  readonly operation: Operation;
  readonly parsed: Parsed;
  readonly sources: readonly Source[];
  readonly given: Given;
}

/** Called by the command line with the words after the verb. */
export async function runOnLibrary(words: readonly string[], verb: string): Promise<number> {
  const json = words.includes('--json');
  const operation = findOperation(verb);
  if (operation === undefined) throw new Error(`${verb} is no operation`);
  const { specification } = operation;
  const parsed = parseArguments(specification, words, { flags: FLAGS, lenient: true });
  if (!parsed.ok) return tell(parsed.fault, json);
  if (parsed.value.help) {
    console.log(verbHelp(specification));
    return 0;
  }
  const path = parsed.value.extra.get('library') ?? '';
  const passphrase = process.env['WEARWRIGHT_PASSPHRASE'];
  const opened = library.openLibrary(path, passphrase === undefined ? {} : { passphrase });
  if (!opened.ok) return tell(opened.fault, json);
  try {
    const outcome = await onOpen(opened.value, operation, parsed.value);
    if (!outcome.ok) return tell(outcome.fault, json);
    if (KEEPERS[verb] !== undefined) copyIfDue(opened.value);
    for (const warning of outcome.warnings) console.error(`note: ${warning.sentence}`);
    if (json) console.log(JSON.stringify({ ...outcome.value, warnings: outcome.warnings }));
    else {
      console.log(
        `${verb} ${parsed.value.inputs.join(' ')}${parsed.value.out === undefined ? '' : ` -> ${parsed.value.out}`}`,
      );
      console.log(figuresText(outcome.value));
    }
    return 0;
  } finally {
    opened.value.close();
  }
}

async function onOpen(file: library.Library, operation: Operation, parsed: Parsed): Promise<Outcome<Figures>> {
  const { specification } = operation;
  const sources: Source[] = [];
  for (const word of parsed.inputs) {
    const source = sourceOf(file, word);
    if (!source.ok) return source;
    sources.push(source.value);
  }
  const known: Record<string, unknown> = {};
  const whose = parsed.extra.get('wearer');
  if (specification.inputs.length === 0 && whose !== undefined) {
    const wearer = library.findOne(file, 'wearers', whose);
    if (!wearer.ok) return wearer;
    if (!parsed.jsonFiles.has('sheet')) known['sheet'] = library.readingSheetOf(file, wearer.value.id);
  }
  for (const source of sources) {
    if (source.kind === 'file') continue;
    for (const [field, value] of Object.entries(source.known)) {
      const typed = field in parsed.parameters || parsed.jsonFiles.has(field);
      if (field in specification.parameters.shape && !typed && !(field in known)) known[field] = value;
    }
  }
  const has = (field: string): boolean => field in known || field in parsed.parameters || parsed.jsonFiles.has(field);
  const needed = neededFlag(specification, has);
  if (!needed.ok) return needed;
  const keeper = KEEPERS[specification.verb];
  const outMissing =
    specification.makes !== 'nothing' && specification.outOptional !== true && parsed.out === undefined;
  if (outMissing && keeper === undefined) {
    const reason = `${specification.verb}: it needs -o ${specification.makes === 'mesh' ? 'FILE' : 'FOLDER'}: the result is not kept in the library.`;
    return failed(fault('job.usage', { reason }));
  }
  const paths = sources.flatMap((source) => (source.kind === 'file' ? [source.path] : []));
  const inputs: JobInput[] = [];
  if (keeper === undefined) {
    for (const source of sources) {
      const input = inputOf(source);
      if (!input.ok) return input;
      inputs.push(input.value);
    }
  }
  const task: Task = { file, operation, parsed, sources, given: { inputs, sources: paths, known } };
  const made = keeper === undefined ? await work(operation, parsed, task.given) : await keeper(task);
  if (!made.ok) return made;
  const noted = noteIt(task, made.value);
  if (!noted.ok) return noted;
  const told = sources.map((source) =>
    source.kind === 'file'
      ? source
      : { kind: source.kind, id: source.id, name: source.name, revision: source.revision },
  );
  return done({ ...made.value, ...noted.value, on: told, fromLibrary: Object.keys(known) }, made.warnings);
}

/** What the library learns from a run whose result is a file or a figure. */
function noteIt({ file, operation, parsed, sources }: Task, figures: Figures): Outcome<Figures> {
  const [first, second] = sources;
  const { verb } = operation.specification;
  if (verb === 'health' && first?.kind === 'scan') {
    const noted = library.noteHealth(file, first.id, { ...figures });
    return noted.ok ? done({}) : noted;
  }
  const landmarks = parsed.jsonFiles.get('landmarks');
  if (verb === 'stand' && first?.kind === 'scan' && landmarks !== undefined) {
    const bytes = readBytes(landmarks);
    if (!bytes.ok) return bytes;
    const points = landmarksFileSchema.parse(JSON.parse(new TextDecoder().decode(bytes.value)));
    const set = library.setLandmarks(file, first.id, points, 'hand');
    return set.ok ? done({}) : set;
  }
  if (verb === 'fit' && first?.kind === 'part' && second?.kind === 'form') {
    const placement = (figures['placement'] ?? figures['matrix']) as Matrix4;
    const tried = library.tryPart(file, { partId: first.id, formId: second.id, placement, figures: { ...figures } });
    return tried.ok ? done({ trial: tried.value.id }) : tried;
  }
  return done({});
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
    const usual = called ?? `${wearer.value.name}, head`;
    const again = library.formOf(file, wearer.value.id, last === undefined ? { name: usual } : { id: last });
    const name = again?.name ?? usual;
    const made = await making(task, (by) =>
      library.makeForm(by, {
        wearerId: wearer.value.id,
        name,
        fileName: source.kind === 'file' ? basename(source.path) : source.name,
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
