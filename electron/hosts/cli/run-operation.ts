/** One operation in a thread, its files read and written, its trouble told: what every verb on meshes shares. */
import { appendFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { faultSentence, type Fault } from '../../../shared-types/faults/index.ts';
import { done, type Outcome, type Warning } from '../../../shared-types/outcome.ts';
import { multiply } from '../../geometry/mesh/transform.ts';
import { JobPool } from '../../jobs/pool.ts';
import type { JobInput } from '../../jobs/protocol.ts';
import type { MadePaper, Operation } from '../../operations/operation.ts';
import { troubleWithParameters, type Parsed } from './arguments.ts';
import { readJson } from './json-file.ts';
import { checkFolder, checkTarget, writeFolder, writeWhole } from './output.ts';
import { showProgress } from './progress.ts';
import { onStopSignals } from './stop-signals.ts';
import { troubleWithWords } from './unread-words.ts';

/** What main ends with. */
export type ExitCode = 0 | 1 | 2;

export interface Given {
  readonly inputs: readonly JobInput[];
  /** Files that are read: the result must not go over them. */
  readonly sources: readonly string[];
  /** Parameters that need not be typed. */
  readonly known?: Readonly<Record<string, unknown>>;
}

/** The parameters as typed, with the contents of JSON files, checked; and the target, before any work. */
export function parametersOf(operation: Operation, parsed: Parsed, given: Given): Outcome<Record<string, unknown>> {
  const parameters: Record<string, unknown> = { ...given.known, ...parsed.parameters };
  for (const [field, path] of parsed.jsonFiles) {
    const contents = readJson(path);
    if (!contents.ok) return contents;
    parameters[field] = contents.value;
    const unread = troubleWithWords(operation.specification, field, path, contents.value);
    if (!unread.ok) return unread;
    // Told at once: what is not read is no part of any result.
    for (const { sentence } of unread.warnings) console.error(`note: ${sentence}`);
  }
  const checked = troubleWithParameters(operation.specification, parameters, parsed.jsonFiles);
  if (!checked.ok) return checked;
  if (parsed.out !== undefined) {
    const target =
      operation.specification.makes === 'folder'
        ? checkFolder(parsed.out)
        : checkTarget(parsed.out, [...given.sources, ...parsed.jsonFiles.values()]);
    if (!target.ok) return target;
  }
  return done(parameters);
}

export async function work(
  operation: Operation,
  parsed: Parsed,
  given: Given,
): Promise<Outcome<Readonly<Record<string, unknown>>>> {
  const { specification } = operation;
  const pool = new JobPool({ log: keepAccount });
  pool.warm();
  const stop = new AbortController();
  const deafen = onStopSignals(() => stop.abort());
  try {
    const parameters = parametersOf(operation, parsed, given);
    if (!parameters.ok) return parameters;
    const progress = showProgress(specification.verb, parsed.progress);
    const order = {
      verb: specification.verb,
      inputs: given.inputs,
      parameters: parameters.value,
      ...(parsed.out === undefined || specification.makes !== 'mesh' ? {} : { writeAs: parsed.out }),
    };
    const outcome = await pool.run(order, { signal: stop.signal, progress: progress.show });
    progress.clear();
    if (!outcome.ok) return outcome;
    const { figures, matrix, fromFile, file, files = [], papers = [] } = outcome.value;
    const warnings: Warning[] = [...outcome.warnings];
    if (parsed.out !== undefined && specification.makes === 'folder') {
      const written = writeFolder(parsed.out, [...files, ...(await asPdf(papers))]);
      if (!written.ok) return written;
    } else if (parsed.out !== undefined) {
      if (file === undefined) throw new Error(`${specification.verb} made no mesh`);
      const written = writeWhole(parsed.out, file.bytes);
      if (!written.ok) return written;
    }
    if (matrix === undefined) return done(figures, warnings);
    const moved = multiply(matrix, fromFile);
    return done({ ...figures, matrix: file === undefined ? moved : multiply(file.toFile, moved) }, warnings);
  } finally {
    deafen();
    await pool.close();
  }
}

/** The writer of PDF is loaded only when there is something to write: its start costs more than most verbs. */
async function asPdf(papers: readonly MadePaper[]) {
  if (papers.length === 0) return [];
  const { writePdfs } = await import('../../papers/write-pdf.ts');
  return writePdfs(papers);
}

/** One sentence on standard error, the fault as data for a script, and the exit code. */
export function tell(trouble: Fault, json: boolean): ExitCode {
  const sentence = faultSentence(trouble);
  console.error(sentence);
  if (json) console.log(JSON.stringify({ fault: { ...trouble, sentence } }));
  return trouble.code === 'job.usage' ? 2 : 1;
}

/** The whole account of a mistake of ours goes to a file; the person gets its reference. */
export function keepAccount(reference: string, account: string): void {
  const path = join(tmpdir(), 'wearwright-faults.log');
  try {
    appendFileSync(path, `${new Date().toISOString()} ${reference} ${account}\n\n`);
    console.error(`note: The whole account is in ${path}.`);
  } catch {
    console.error(`[${reference}] ${account}`);
  }
}
