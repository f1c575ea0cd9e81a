/**
 * The command line: one verb per registered operation, files in, files and figures out. The work runs in a thread, so
 * that Ctrl-C is heard while it is busy.
 *
 * With --json there is exactly one JSON object on standard output, also when it could not be done:
 * {"fault": {...}}. The sentence for a person is on standard error either way.
 */
import { existsSync } from 'node:fs';
import { fault } from '../../../shared-types/faults/index.ts';
import { findOperation, OPERATIONS } from '../../operations/index.ts';
import type { Operation } from '../../operations/operation.ts';
import { nearest, parseArguments } from './arguments.ts';
import { overallHelp, verbHelp } from './help.ts';
import { figuresText } from './print.ts';
import { keepAccount, tell, work, type ExitCode } from './run-operation.ts';

/** Verbs that are not operations on mesh files: a module beside this one, loaded when asked for. */
const HOST_VERBS: Readonly<Record<string, HostVerb>> = {
  demo: {
    module: './demo.ts',
    entry: 'runDemo',
    summary: 'The whole job on an invented production, into out/.',
  },
  trial: library('Try a part on a form, or list what was tried.'),
  sheet: {
    module: './sheet.ts',
    entry: 'runSheet',
    summary: 'A paper as PDF: fitting sheet of a form, measurement sheet, or capture card.',
  },
  company: library('Every part against every wearer: who can wear what, with how much padding, at which scale.'),
  shelf: library('The wearers and projects of a library.'),
  wearer: library('Add, edit or show a wearer.'),
  reading: library('Add, list, withdraw, import or export readings of a wearer.'),
  usual: library('How sure readings are where nobody said, by kind: show, set, or take back.'),
  project: library('Start or show a project; use a form or a part in it.'),
  replay: library('Make a form again from a new scan of the same wearer, and say how far the body has changed.'),
  bundle: library('One wearer or project out to, or in from, one zip of open formats.'),
  forget: library('Remove a wearer and everything of them.'),
  check: library('Check a whole library, every stored byte.'),
  tidy: library('Remove stored bytes that nothing needs any more, and free pages.'),
  copy: library('Make a verified safety copy of a library.'),
  restore: library('Put a safety copy in place of a library, which is set aside.'),
  rerun: library('Run a job again that was cut off.'),
  undo: library('Take back the last change to a library.'),
  redo: library('Bring back the change taken back last.'),
  lock: library('Seal a library with the passphrase in WEARWRIGHT_PASSPHRASE.'),
  rephrase: library('Change the passphrase, to the one in WEARWRIGHT_NEW_PASSPHRASE.'),
  unlock: library('Take the passphrase off a library.'),
};

function library(summary: string): HostVerb {
  return { module: './library.ts', entry: 'runLibrary', summary };
}

/** Operations on the meshes of a library. */
const ON_LIBRARY: HostVerb = { module: './on-library.ts', entry: 'runOnLibrary', summary: '' };

interface HostVerb {
  readonly module: string;
  /** Exported function that takes the words after the verb, and the verb, and answers with the exit code. */
  readonly entry: string;
  readonly summary: string;
}

type Entry = (words: readonly string[], verb: string) => Promise<number | undefined>;

async function main(words: readonly string[]): Promise<number> {
  const [verb = 'help', ...rest] = words;
  const known = [
    ...OPERATIONS.map(({ specification }) => specification),
    ...Object.entries(HOST_VERBS)
      .filter(([, { module }]) => existsSync(new URL(module, import.meta.url)))
      .map(([name, { summary }]) => ({ verb: name, summary })),
  ];
  if (verb === 'help' || verb === '--help' || verb === '-h') {
    console.log(overallHelp(known));
    return 0;
  }
  const operation = findOperation(verb);
  const onLibrary = rest.some((word) => word === '--library' || word.startsWith('--library='));
  if (operation !== undefined && !onLibrary) return runVerb(operation, rest);
  const host =
    operation !== undefined ? ON_LIBRARY : known.some((one) => one.verb === verb) ? HOST_VERBS[verb] : undefined;
  if (host !== undefined) {
    const module = (await import(new URL(host.module, import.meta.url).href)) as Readonly<Record<string, Entry>>;
    return (await module[host.entry](rest, verb)) ?? 0;
  }
  const near = nearest(
    verb,
    known.map((one) => one.verb),
  );
  const reason = `There is no "${verb}"${near === undefined ? '; help lists what there is.' : `; did you mean ${near}?`}`;
  return tell(fault('job.usage', { reason }), rest.includes('--json'));
}

async function runVerb(operation: Operation, words: readonly string[]): Promise<ExitCode> {
  const { specification } = operation;
  const parsed = parseArguments(specification, words);
  if (!parsed.ok) return tell(parsed.fault, words.includes('--json'));
  if (parsed.value.help) {
    console.log(verbHelp(specification));
    return 0;
  }
  const { inputs: paths } = parsed.value;
  const outcome = await work(operation, parsed.value, { inputs: paths.map((path) => ({ path })), sources: paths });
  if (!outcome.ok) return tell(outcome.fault, parsed.value.json);
  for (const warning of outcome.warnings) console.error(`note: ${warning.sentence}`);
  const { json, out, inputs } = parsed.value;
  const told = outcome.value;
  if (json) console.log(JSON.stringify({ ...told, warnings: outcome.warnings }));
  else {
    console.log(`${specification.verb} ${inputs.join(' ')}${out === undefined ? '' : ` -> ${out}`}`);
    console.log(figuresText(told));
  }
  return 0;
}

// A reader that goes away early (a pager, head) is no trouble of ours.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
});

try {
  process.exitCode = await main(process.argv.slice(2));
} catch (error) {
  // Loaded only here: verbs on files do without a store.
  const { StoreTrouble } = await import('../../services/library.ts');
  if (error instanceof StoreTrouble) process.exitCode = tell(error.fault, process.argv.includes('--json'));
  else process.exitCode = unexpected(error);
}

function unexpected(error: unknown): ExitCode {
  const reference = Date.now().toString(36);
  keepAccount(reference, error instanceof Error ? (error.stack ?? error.message) : String(error));
  return tell(fault('job.internal', { reference }), process.argv.includes('--json'));
}
