/** The verb `sheet`: papers as PDF, from a library or blank. */
import { statSync } from 'node:fs';
import { dirname, extname } from 'node:path';
import { parseArgs } from 'node:util';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { REGION_NAMES, type RegionName } from '../../../shared-types/measures/index.ts';
import { PAPER_SIZES_MM, type PaperSize } from '../../../shared-types/paper.ts';
import { DESK_REGISTRY, JobPool } from '../../jobs/pool.ts';
import { findOne, openLibrary, type Library } from '../../services/library.ts';
import {
  capturePaper,
  findRevision,
  fittingPaper,
  measurementPaper,
  printed,
  type Paper,
} from '../../services/papers.ts';
import { writeWhole } from './output.ts';
import { figuresText } from './print.ts';
import { showProgress } from './progress.ts';
import { keepAccount, tell } from './run-operation.ts';
import { onStopSignals } from './stop-signals.ts';

const KINDS = ['fitting', 'measures', 'capture'] as const;
type Kind = (typeof KINDS)[number];

const USAGE = `sheet [FORM or WEARER] -o OUT.pdf [--kind ${KINDS.join('|')}] [--paper ${Object.keys(PAPER_SIZES_MM).join('|')}] [--library FILE] [--json]
fitting (a form's or a wearer's; needs --library), measures (for a wearer, or blank; [--region ${REGION_NAMES.join('|')}], may be repeated), capture (how to take the pictures, and a scale card)`;

interface Asked {
  readonly kind: Kind;
  readonly size: PaperSize;
  readonly regions: readonly RegionName[];
  readonly out: string;
  readonly name: string | undefined;
  readonly library: string | undefined;
}

const usage = (reason: string): Outcome<never> => failed(fault('job.usage', { reason: `sheet: ${reason}` }));
const isKind = (word: string): word is Kind => (KINDS as readonly string[]).includes(word);
const isRegion = (word: string): word is RegionName => (REGION_NAMES as readonly string[]).includes(word);
const isSize = (word: string): word is PaperSize => Object.hasOwn(PAPER_SIZES_MM, word);

function read(words: readonly string[]): Outcome<Asked | 'help'> {
  const string = { type: 'string' } as const;
  let parsed;
  try {
    parsed = parseArgs({
      args: [...words],
      allowPositionals: true,
      options: {
        out: { type: 'string', short: 'o' },
        kind: string,
        paper: string,
        region: { type: 'string', multiple: true },
        library: string,
        json: { type: 'boolean' },
        help: { type: 'boolean', short: 'h' },
      },
    });
  } catch (error) {
    return usage((error as Error).message);
  }
  const { values, positionals } = parsed;
  if (values.help === true) return done('help');
  const { out, kind = 'fitting', paper: size = 'a4', library, region: regions = ['head'] } = values;
  if (positionals.length > 1) return usage('it takes one name; put a name of several words in quotes.');
  if (out === undefined) return usage('it needs -o OUT.pdf.');
  if (extname(out).toLowerCase() !== '.pdf') return usage(`it writes PDF; let -o end in .pdf, not "${out}".`);
  if (statSync(out, { throwIfNoEntry: false })?.isDirectory() === true) return usage(`"${out}" is a folder.`);
  if (statSync(dirname(out), { throwIfNoEntry: false })?.isDirectory() !== true) {
    return usage(`there is no folder "${dirname(out)}" for -o.`);
  }
  if (!isKind(kind)) return usage(`--kind is one of ${KINDS.join(', ')}.`);
  if (!isSize(size)) return usage(`--paper is one of ${Object.keys(PAPER_SIZES_MM).join(', ')}.`);
  if (!regions.every(isRegion)) return usage(`--region is one of ${REGION_NAMES.join(', ')}, and may be repeated.`);
  return done({ kind, size, regions, out, name: positionals[0], library });
}

async function compose({ kind, size, regions, name }: Asked, library: Library | undefined): Promise<Outcome<Paper>> {
  if (kind === 'capture') return done(capturePaper(size));
  if (kind === 'measures') {
    if (name === undefined || library === undefined) return done(measurementPaper(size, regions, name));
    const wearer = findOne(library, 'wearers', name);
    return wearer.ok ? done(measurementPaper(size, regions, wearer.value.name)) : wearer;
  }
  if (library === undefined) return usage('a fitting sheet needs --library FILE.');
  if (name === undefined) return usage('a fitting sheet needs the name of a form or a wearer.');
  const revision = findRevision(library, name);
  if (!revision.ok) return revision;
  const pool = new JobPool({ registry: DESK_REGISTRY, log: keepAccount });
  const stop = new AbortController();
  const deafen = onStopSignals(() => stop.abort());
  const progress = showProgress('sheet', false);
  try {
    const watch = { signal: stop.signal, progress: progress.show };
    return await fittingPaper({ library, pool, watch }, revision.value.id, size);
  } finally {
    deafen();
    progress.clear();
    await pool.close();
  }
}

async function make(asked: Asked): Promise<Outcome<Readonly<Record<string, unknown>>>> {
  const passphrase = process.env['WEARWRIGHT_PASSPHRASE'];
  const opened =
    asked.library === undefined
      ? done(undefined)
      : openLibrary(asked.library, passphrase === undefined ? {} : { passphrase });
  if (!opened.ok) return opened;
  try {
    const paper = await compose(asked, opened.value);
    if (!paper.ok) return paper;
    const { bytes, warnings } = await printed(paper.value);
    const written = writeWhole(asked.out, bytes);
    if (!written.ok) return written;
    const { title, pages } = paper.value.document;
    return done({ file: asked.out, title, pages: pages.length, bytes: bytes.length }, warnings);
  } finally {
    opened.value?.close();
  }
}

/** Called by the command line with the words after the verb. */
export async function runSheet(words: readonly string[]): Promise<number> {
  const json = words.includes('--json');
  const asked = read(words);
  if (!asked.ok) return tell(asked.fault, json);
  if (asked.value === 'help') {
    console.log(USAGE);
    return 0;
  }
  const made = await make(asked.value);
  if (!made.ok) return tell(made.fault, json);
  for (const { sentence } of made.warnings) console.error(`note: ${sentence}`);
  console.log(json ? JSON.stringify({ ...made.value, warnings: made.warnings }) : figuresText(made.value));
  return 0;
}
