/**
 * The verbs on meshes, with --library: a mesh is then the name of a form, a part or a wearer (their newest scan), or
 * "form:", "part:", "scan:" or "liner:" and a name; what the library knows (landmarks, readings, planes, the recipe,
 * how a part is worn, the stock of foam) need not be given again. A part is in its true size, in mm. What is kept of
 * the result stands in keepers.ts; of a fit that the part was tried, of a scan's health and landmarks what was found.
 */
import { existsSync } from 'node:fs';
import { fault, type Fault } from '../../../shared-types/faults/index.ts';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { landmarksFileSchema } from '../../../shared-types/recipe.ts';
import type { JobInput } from '../../jobs/protocol.ts';
import { readBytes } from '../../jobs/read-input.ts';
import { findOperation } from '../../operations/index.ts';
import type { Operation } from '../../operations/operation.ts';
import * as library from '../../services/library.ts';
import { neededFlag, parseArguments, type Flag, type Parsed } from './arguments.ts';
import { verbHelp } from './help.ts';
import { readJson } from './json-file.ts';
import { keeperOf, type Figures, type Source, type Task } from './keepers.ts';
import { copyIfDue } from './library.ts';
import { figuresText } from './print.ts';
import { tell, work } from './run-operation.ts';

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
  flag(
    'name',
    'TEXT',
    'form, block, fill: what the form is called, and a form of that wearer and name is made again; pad, pattern, split, gauge: what is made is called so.',
  ),
  flag('project', 'NAME', 'line, pad, pattern, split, gauge: the project what is made belongs to.'),
];

function sourceOf(file: library.Library, word: string): Outcome<Source> {
  const found = library.findMesh(file, word);
  if (!found.ok && found.fault.code === 'store.no-record' && existsSync(word))
    return done({ kind: 'file', path: word });
  return found;
}

const inputOf = (source: Source): Outcome<JobInput> =>
  source.kind === 'file' ? done({ path: source.path }) : source.read();

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
  const isTyped = (field: string): boolean => field in parsed.parameters || parsed.jsonFiles.has(field);
  const meshes = sources.filter((source) => source.kind !== 'file');
  for (const learned of [
    ...meshes.map((mesh) => mesh.known),
    library.knownTogether(file, specification.verb, meshes),
  ]) {
    for (const [field, value] of Object.entries(learned)) {
      if (field in specification.parameters.shape && !isTyped(field) && !(field in known)) known[field] = value;
    }
  }
  const needed = neededFlag(specification, (field) => field in known || isTyped(field));
  if (!needed.ok) return needed;
  const trouble = troubleOfReady(file, parsed, sources[0]);
  if (trouble !== undefined) return failed(trouble);
  const keeper = keeperOf(specification.verb, sources);
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
  if (keeper !== undefined) copyIfDue(file);
  const noted = noteIt(task, made.value);
  if (!noted.ok) return noted;
  const told = sources.map((source) =>
    source.kind === 'file'
      ? source
      : { kind: source.kind, id: source.id, name: source.name, revision: source.revision },
  );
  return done({ ...made.value, ...noted.value, on: told, fromLibrary: Object.keys(known) }, made.warnings);
}

/** What is said of a part as its file has it does not hold for the part in true size that the library gives. */
function troubleOfReady(file: library.Library, parsed: Parsed, source: Source | undefined): Fault | undefined {
  if (source?.kind !== 'part' || source.isReady !== true) return undefined;
  const said = ['known', 'unit'].find((field) => field in parsed.parameters || parsed.jsonFiles.has(field));
  if (said !== undefined) {
    const reason = `${source.name} has its true size in this library already; leave --${said} out, or give the part another size in the studio.`;
    return fault('job.usage', { reason });
  }
  const path = parsed.jsonFiles.get('place') ?? parsed.jsonFiles.get('placement');
  const contents = path === undefined ? undefined : readJson(path);
  const placement = contents?.ok === true ? library.placementOf(contents.value) : undefined;
  const part = library.findOne(file, 'parts', source.id);
  // What cannot be read, or is no placement, is told when the parameters are checked.
  return placement?.ok === true && part.ok ? library.troubleOfPlacement(part.value, placement.value) : undefined;
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
