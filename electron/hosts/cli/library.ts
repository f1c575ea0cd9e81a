/**
 * The verbs of the library. Each opens the file, does one thing, closes it, and answers with the exit code; --json
 * prints one object. A locked library takes its passphrase from the variable WEARWRIGHT_PASSPHRASE, never from the
 * command line, which other programs can see.
 */
import { availableParallelism } from 'node:os';
import { basename } from 'node:path';
import { parseArgs, type ParseArgsOptionsConfig } from 'node:util';
import { fault, faultSentence, type Fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { DESK_REGISTRY, JobPool } from '../../jobs/pool.ts';
import { readBytes } from '../../jobs/read-input.ts';
import { writeMesh } from '../../formats/index.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { companyWishSchema } from '../../../shared-types/calls/fittings.ts';
import { complaintOf } from '../../../shared-types/operations/complaint.ts';
import { fitSpecification } from '../../../shared-types/operations/fit.ts';
import { SURE_KINDS, sureMmSchema } from '../../../shared-types/usual-uncertainty.ts';
import { IDENTITY } from '../../geometry/mesh/transform.ts';
import * as library from '../../services/library.ts';
import { readJson } from './json-file.ts';
import { checkTarget, writeWhole } from './output.ts';
import { figuresText } from './print.ts';
import { showProgress } from './progress.ts';
import { onStopSignals } from './stop-signals.ts';
import { troubleWithWords } from './unread-words.ts';

type Figures = Readonly<Record<string, unknown>>;
type Values = Readonly<Record<string, string | boolean | undefined>>;
type Library = library.Library;

interface Task {
  readonly values: Values;
  readonly words: readonly string[];
  readonly pool: () => JobPool;
  readonly progress: (fraction: number, phase: string) => void;
  readonly signal: AbortSignal;
}

interface Verb {
  readonly usage: string;
  readonly options?: ParseArgsOptionsConfig;
  /** Words it takes: least and most. */
  readonly words: readonly [number, number];
  /** Makes what would be missed: a safety copy is looked after. */
  readonly makes?: boolean;
  /** Makes the library when it is not there. */
  readonly creates?: boolean;
  /** Opens the file itself. */
  readonly closed?: (path: string, task: Task) => Outcome<Figures>;
  readonly run?: (library: Library, task: Task) => Outcome<Figures> | Promise<Outcome<Figures>>;
}

class Stop extends Error {
  readonly fault: Fault;
  constructor(trouble: Fault) {
    super(trouble.code);
    this.fault = trouble;
  }
}

function got<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Stop(outcome.fault);
  for (const warning of outcome.warnings) console.error(`note: ${warning.sentence}`);
  return outcome.value;
}

const usage = (reason: string): never => {
  throw new Stop(fault('job.usage', { reason }));
};
const text = (value: string | boolean | undefined): string | undefined =>
  typeof value === 'string' ? value : undefined;
/** `{name: value}` unless there is no value. */
const given = (name: string, value: unknown): Record<string, unknown> => (value === undefined ? {} : { [name]: value });

function number(value: string | boolean | undefined, what: string, unit = ' of mm'): number {
  const read = Number(value);
  return value === undefined || !Number.isFinite(read) ? usage(`${what} needs a number${unit}.`) : read;
}

/** What a file of known lengths holds, as fit takes it. */
function lengthsOf(path: string): unknown {
  const lengths = got(readJson(path));
  got(troubleWithWords({ ...fitSpecification, verb: 'project part' }, 'known', path, lengths));
  return lengths;
}

function saveMesh(mesh: Mesh, out: string | undefined, sources: readonly string[]): void {
  if (out === undefined) return;
  got(checkTarget(out, sources));
  got(writeWhole(out, got(writeMesh(mesh, out)).bytes));
}

const KEEP_IT =
  'note: Keep the passphrase safe: if it is lost, nobody can read the scans and names in this library, its makers included.';
const string = { type: 'string' } as const;
const out = { out: { type: 'string', short: 'o' } } as const;

/** A trial as a person reads it in a list: its gap. Placement and all figures come with --json. */
function trialInShort({ part, wearer, form, revision, outdated, on, figures }: library.ListedTrial): Figures {
  const { leastEaseMm, meanEaseMm } = figures;
  const ease = { ...given('leastEaseMm', leastEaseMm), ...given('meanEaseMm', meanEaseMm) };
  return { part, wearer, form, revision, ...ease, outdated, on };
}

const VERBS: Readonly<Record<string, Verb>> = {
  shelf: { usage: 'shelf [TEXT]', words: [0, 1], run: (file, { words }) => done(library.shelfOf(file, words[0])) },
  wearer: {
    usage: 'wearer add NAME [--note T] [--consent T] [--consent-date DAY] | wearer edit NAME [...] | wearer show NAME',
    words: [2, 2],
    creates: true,
    options: { note: string, consent: string, 'consent-date': string, name: string },
    run: (file, { words: [act, name], values }) => {
      const fields = {
        ...given('note', text(values['note'])),
        ...given('consentNote', text(values['consent'])),
        ...given('consentDate', text(values['consent-date'])),
        ...given('name', text(values['name'])),
      };
      if (act === 'add') return library.addWearer(file, { name, ...fields });
      const wearer = got(library.findOne(file, 'wearers', name));
      if (act === 'edit') return library.editWearer(file, wearer.id, fields);
      return act === 'show' ? done(library.describeWearer(file, wearer)) : usage(`wearer ${act} is not known.`);
    },
  },
  reading: {
    usage:
      'reading add WEARER --kind span|girth|arc --name T --mm N [--u N] [--instrument T] [--by T] [--on DAY] | reading list WEARER [--revision N] | reading withdraw WEARER NAME | reading import|export WEARER FILE.csv',
    words: [2, 3],
    options: {
      kind: string,
      name: string,
      mm: string,
      u: string,
      instrument: string,
      by: string,
      on: string,
      revision: string,
    },
    run: (file, { words: [act, name, third], values }) => {
      const wearer = got(library.findOne(file, 'wearers', name));
      if (act === 'list') {
        const revision = values['revision'] === undefined ? undefined : number(values['revision'], '--revision', '');
        return done(library.sheetWithSense(file, wearer.id, revision));
      }
      if (act === 'add') {
        return library.addReading(file, wearer.id, {
          kind: text(values['kind']) ?? 'span',
          name: text(values['name']) ?? usage('reading add needs --name.'),
          valueMm: number(values['mm'], '--mm'),
          ...(values['u'] === undefined ? {} : { uncertaintyMm: number(values['u'], '--u') }),
          ...given('instrument', text(values['instrument'])),
          ...given('takenBy', text(values['by'])),
          ...given('takenOn', text(values['on'])),
        });
      }
      if (third === undefined) return usage(`reading ${act} needs one more word.`);
      if (act === 'withdraw') return library.withdrawNamed(file, wearer.id, third);
      if (act === 'import') return library.importReadings(file, wearer.id, got(readBytes(third)));
      if (act === 'export') {
        const table = library.exportReadings(file, wearer.id);
        got(writeWhole(third, new TextEncoder().encode(table)));
        return done({ file: third, readings: library.sheetOf(file, wearer.id).length });
      }
      return usage(`reading ${act} is not known.`);
    },
  },
  usual: {
    usage: 'usual show | usual set KIND MM | usual reset [KIND]',
    words: [1, 3],
    run: (file, { words: [act, kind, mm] }) => {
      // As `show` prints it, too: "head span".
      const named = SURE_KINDS.find((one) => one.toLowerCase() === kind?.replace(/[\s-]/g, '').toLowerCase());
      if (kind !== undefined && named === undefined) return usage(`${kind} is none of ${SURE_KINDS.join(', ')}.`);
      if (act === 'set') {
        if (named === undefined) return usage('usual set needs a kind and a number of mm.');
        const uMm = sureMmSchema.safeParse(number(mm, `usual set ${named}`));
        if (!uMm.success) return usage(`${mm}: ${uMm.error.issues[0]?.message}.`);
        got(library.setUsual(file, { [named]: uMm.data }));
      } else if (act === 'reset') {
        got(named === undefined ? library.resetUsual(file) : library.setUsual(file, { [named]: undefined }));
      } else if (act !== 'show') return usage(`usual ${act} is not known.`);
      return done({ usualMm: library.usualUncertainty(file) });
    },
  },
  project: {
    usage:
      'project add NAME [--note T] | project use NAME FORM | project part NAME FILE [--known SPANS.json | --unit mm|cm|m|in] [--known T --mm N] | project show NAME',
    words: [2, 3],
    creates: true,
    options: { note: string, known: string, mm: string, unit: string },
    run: async (file, task) => {
      const {
        words: [act, name, third],
        values,
      } = task;
      if (act === 'add') return library.addProject(file, { name, ...given('note', text(values['note'])) });
      const project = got(library.findOne(file, 'projects', name));
      if (act === 'show') return done(library.describeProject(file, project));
      if (third === undefined) return usage(`project ${act} needs one more word.`);
      if (act === 'use') {
        const form = got(library.findOne(file, 'forms', third));
        got(library.useForm(file, project.id, form.id));
        return done(library.describeProject(file, project));
      }
      if (act === 'part') {
        const [known, mm, unit] = [text(values['known']), text(values['mm']), text(values['unit'])];
        if (known === undefined && mm !== undefined) return usage('--mm needs --known with the name of that length.');
        // With --mm the length is only noted: where on the part it lies is not known.
        const recipe = {
          ...(known === undefined || mm !== undefined ? {} : { known: lengthsOf(known) }),
          ...given('unit', unit),
        };
        const part = {
          projectId: project.id,
          name: basename(third),
          fileName: basename(third),
          bytes: got(readBytes(third)),
          ...(known === undefined || mm === undefined ? {} : { knownName: known, knownMm: number(mm, '--mm') }),
        };
        if (Object.keys(recipe).length === 0) return library.addPart(file, part);
        const sized = await library.addSizedPart({ library: file, pool: task.pool(), watch: task }, part, recipe);
        if (!sized.ok) return sized;
        const { figures, ...kept } = sized.value;
        return done({ ...kept, ...figures }, sized.warnings);
      }
      return usage(`project ${act} is not known.`);
    },
  },
  trial: {
    usage: 'trial add PART FORM [--placement FILE] [--figures FILE] | trial list PART, FORM or WEARER',
    words: [2, 3],
    options: { placement: string, figures: string },
    run: (file, { words: [act, first, second], values }) => {
      if (act === 'list') {
        const trials = library.trialsOf(file, got(library.findTried(file, first)));
        return done({ trials: values['json'] === true ? trials : trials.map(trialInShort) });
      }
      if (act !== 'add' || second === undefined) return usage('trial takes: add PART FORM, or list NAME.');
      const [placement, figures] = [text(values['placement']), text(values['figures'])];
      return library.tryPart(file, {
        partId: got(library.findOne(file, 'parts', first)).id,
        formId: got(library.findOne(file, 'forms', second)).id,
        placement: placement === undefined ? IDENTITY : got(library.placementOf(got(readJson(placement)))),
        ...(figures === undefined ? {} : { figures: got(readJson(figures)) as Record<string, unknown> }),
      });
    },
  },
  replay: {
    usage: 'replay FORM SCAN [-o OUT] [--map OUT.ply]',
    words: [2, 2],
    makes: true,
    options: { map: string, ...out },
    run: async (file, task) => {
      const [name, path] = task.words;
      const form = got(library.findOne(file, 'forms', name));
      const making = { library: file, pool: task.pool(), watch: task };
      const made = got(
        await library.replayForm(making, { formId: form.id, fileName: basename(path), bytes: got(readBytes(path)) }),
      );
      saveMesh(made.mesh, text(task.values['out']), [path]);
      saveMesh(made.map, text(task.values['map']), [path]);
      const { revision, change, carriedRmsMm, carried, newReadings, figures, matrix } = made;
      const told = { change, carriedRmsMm, carried, newReadings };
      return done({ form: form.id, revision: revision.revision, ...told, ...figures, matrix });
    },
  },
  company: {
    usage: 'company [PROJECT] [--room MM] [--csv OUT.csv]',
    words: [0, 1],
    makes: true,
    options: { room: string, csv: string },
    run: async (file, task) => {
      const [name] = task.words;
      const projectId = name === undefined ? undefined : got(library.findOne(file, 'projects', name)).id;
      const wish = companyWishSchema.safeParse(
        task.values['room'] === undefined ? {} : { roomMm: number(task.values['room'], '--room') },
      );
      if (!wish.success) return usage(`--room: ${complaintOf(wish.error).sentence}`);
      const room = wish.data.roomMm;
      const ran = got(await library.runCompany({ library: file, pool: task.pool(), watch: task }, projectId, room));
      const table = library.companyOf(file, projectId, room);
      const csv = text(task.values['csv']);
      if (csv !== undefined) got(writeWhole(csv, new TextEncoder().encode(library.companyCsv(table))));
      const rows = table.cells.map((cell) => ({
        part: table.parts.find(({ id }) => id === cell.partId)?.name ?? '',
        wearer: table.forms.find(({ id }) => id === cell.formId)?.wearerName ?? '',
        ...given('leastEaseMm', cell.leastEaseMm),
        ...given('meanEaseMm', cell.meanEaseMm),
        ...given('goesOn', cell.goesOn),
        ...given('paddingMm', cell.paddingMm),
        ...given('scale', cell.scale),
        ...given('remark', cell.sentence),
      }));
      return done({ roomMm: room, newlyTried: ran.tried, company: rows });
    },
  },
  bundle: {
    usage: 'bundle out NAME FILE.zip [--project] | bundle in FILE.zip',
    words: [2, 3],
    creates: true,
    options: { project: { type: 'boolean' } },
    run: (file, { words: [act, second, target], values }) => {
      if (act === 'in') return done({ ...got(library.importBundle(file, second, got(readBytes(second)))) });
      if (act !== 'out' || target === undefined) return usage('bundle takes: out NAME FILE.zip, or in FILE.zip.');
      const what =
        values['project'] === true
          ? { projectId: got(library.findOne(file, 'projects', second)).id }
          : { wearerId: got(library.findOne(file, 'wearers', second)).id };
      const bytes = got(library.exportBundle(file, what));
      got(writeWhole(target, bytes));
      return done({ file: target, bytes: bytes.length });
    },
  },
  forget: {
    usage:
      'forget WEARER [--yes [--copies]]; without --yes it only shows what would go; --copies deletes the safety copies that hold them too',
    words: [1, 1],
    options: { yes: { type: 'boolean' }, copies: { type: 'boolean' } },
    run: (file, { words: [name], values }) => {
      const wearer = got(library.findOne(file, 'wearers', name));
      const forgotten = values['yes'] === true;
      const plan = got(forgotten ? library.forgetWearer(file, wearer.id) : library.planForget(file, wearer.id));
      const { copiesHolding } = plan;
      if (forgotten && values['copies'] === true) {
        // First a copy without them, so that the others are not left without any.
        const copy = got(library.makeSafetyCopy(file));
        got(library.deleteCopies(file.path, copiesHolding));
        return done({ forgotten, ...plan, copiesHolding: [], copiesDeleted: copiesHolding, copy });
      }
      if (copiesHolding.length > 0) {
        console.error(
          `note: ${copiesHolding.length === 1 ? 'One safety copy still holds' : `${copiesHolding.length} safety copies still hold`} this wearer; forget with --copies, or delete those files, to be rid of them there too.`,
        );
      } else if (!forgotten)
        console.error('note: No safety copy holds this wearer: what is forgotten cannot come back.');
      return done({ forgotten, ...plan });
    },
  },
  check: {
    usage: 'check',
    words: [0, 0],
    run: (file, { progress }) => {
      const report = got(library.checkLibrary(file, (part, total) => progress(part / total, 'check')));
      if (!report.sound) {
        const what = report.structure[0] ?? `${report.damagedBlobs.length} stored files do not match their checksums`;
        throw new Stop(fault('store.damaged', { path: file.path, reason: what }));
      }
      return done({ ...report, copies: library.listCopies(file.path) });
    },
  },
  tidy: { usage: 'tidy', words: [0, 0], run: (file) => done({ ...got(library.tidyLibrary(file)) }) },
  copy: { usage: 'copy', words: [0, 0], run: (file) => done({ copy: got(library.makeSafetyCopy(file)) }) },
  restore: {
    usage: 'restore [COPY]; without COPY the newest safety copy',
    words: [0, 1],
    closed: (path, { words }) => {
      const copy = words[0] ?? library.listCopies(path)[0]?.path;
      if (copy === undefined) return failed(fault('store.missing', { path: `${path}.copies` }));
      return done({ restored: copy, ...got(library.restoreCopy(path, copy)) });
    },
  },
  rerun: {
    usage: 'rerun JOB; the ids of interrupted jobs stand on the shelf',
    words: [1, 1],
    run: async (file, task) => {
      const making = { library: file, pool: task.pool(), watch: task };
      return done(got(await library.runAgain(making, task.words[0])).figures);
    },
  },
  undo: { usage: 'undo', words: [0, 0], run: (file) => done({ undone: got(library.undo(file)) }) },
  redo: { usage: 'redo', words: [0, 0], run: (file) => done({ redone: got(library.redo(file)) }) },
  lock: {
    usage: 'lock; the passphrase is taken from WEARWRIGHT_PASSPHRASE',
    words: [0, 0],
    run: (file) => {
      const readableCopies = got(library.setPassphrase(file, process.env['WEARWRIGHT_PASSPHRASE'] ?? ''));
      console.error(KEEP_IT);
      if (readableCopies.length > 0) {
        console.error(`note: ${readableCopies.length} safety copies from before are readable without the passphrase.`);
      }
      return done({ locked: true, readableCopies });
    },
  },
  rephrase: {
    usage: 'rephrase; from the passphrase in WEARWRIGHT_PASSPHRASE to the one in WEARWRIGHT_NEW_PASSPHRASE',
    words: [0, 0],
    run: (file) => {
      const [old, next] = [process.env['WEARWRIGHT_PASSPHRASE'] ?? '', process.env['WEARWRIGHT_NEW_PASSPHRASE'] ?? ''];
      const olderCopies = got(library.changePassphrase(file, old, next));
      console.error(KEEP_IT);
      if (olderCopies.length > 0) {
        console.error(
          `note: ${olderCopies.length} safety copies from before still open with what they were locked with.`,
        );
      }
      return done({ locked: true, olderCopies });
    },
  },
  unlock: {
    usage: 'unlock; takes the passphrase off',
    words: [0, 0],
    run: (file) => {
      got(library.removePassphrase(file, process.env['WEARWRIGHT_PASSPHRASE'] ?? ''));
      return done({ locked: false });
    },
  },
};

/** Work done is not undone by a copy that could not be made: that is only told. */
export function copyIfDue(file: Library): void {
  const copy = library.makeCopyIfDue(file);
  if (!copy.ok) console.error(`note: No safety copy was made. ${faultSentence(copy.fault)}`);
}

async function run(name: string, words: readonly string[]): Promise<number> {
  const verb = VERBS[name];
  const asJson = words.includes('--json');
  let pool: JobPool | undefined;
  let file: Library | undefined;
  const stop = new AbortController();
  let deafen: (() => void) | undefined;
  try {
    let parsed;
    try {
      parsed = parseArgs({
        args: [...words],
        allowPositionals: true,
        options: {
          ...verb.options,
          library: string,
          json: { type: 'boolean' },
          progress: { type: 'boolean' },
          help: { type: 'boolean', short: 'h' },
        },
      });
    } catch (error) {
      return usage(`${name}: ${(error as Error).message}`);
    }
    const values = parsed.values as Values;
    const line = `${verb.usage}  --library FILE [--json]`;
    if (values['help'] === true) {
      console.log(line);
      return 0;
    }
    const path = text(values['library']) ?? usage(`${name} needs --library FILE. It takes: ${line}`);
    const [least, most] = verb.words;
    if (parsed.positionals.length < least || parsed.positionals.length > most) return usage(`It takes: ${line}`);
    const progress = showProgress(name, values['progress'] === true);
    deafen = onStopSignals(() => stop.abort());
    const task: Task = {
      values,
      words: parsed.positionals,
      pool: () => (pool ??= new JobPool({ threads: availableParallelism(), registry: DESK_REGISTRY })),
      progress: progress.show,
      signal: stop.signal,
    };
    let figures: Figures;
    if (verb.closed !== undefined) figures = got(verb.closed(path, task));
    else {
      const passphrase = name === 'lock' ? undefined : process.env['WEARWRIGHT_PASSPHRASE'];
      file = got(
        library.openLibrary(path, {
          create: verb.creates === true,
          ...(passphrase === undefined ? {} : { passphrase }),
        }),
      );
      if (verb.run === undefined) throw new Error(`${name} does nothing`);
      figures = got(await verb.run(file, task));
    }
    progress.clear();
    if (file !== undefined && verb.makes === true) copyIfDue(file);
    console.log(asJson ? JSON.stringify(figures) : figuresText(figures, Infinity));
    return 0;
  } catch (error) {
    if (!(error instanceof Stop)) throw error;
    const sentence = faultSentence(error.fault);
    console.error(sentence);
    if (asJson) console.log(JSON.stringify({ fault: { ...error.fault, sentence } }));
    return error.fault.code === 'job.usage' ? 2 : 1;
  } finally {
    deafen?.();
    await pool?.close();
    file?.close();
  }
}

/** Called by the command line with the words after the verb. */
export const runLibrary = (words: readonly string[], verb: string): Promise<number> => run(verb, words);
