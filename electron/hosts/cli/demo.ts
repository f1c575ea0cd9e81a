/**
 * `demo`: the whole job on the invented production, into a folder: two phone scans become forms, the forms get their
 * liners, a bought visor is brought to its true size, a helmet is tried on, padded and cut into pieces. The same jobs as the other verbs, on files, in a thread; with
 * --library the wearers and all that is made go into a new library too.
 */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { z } from 'zod';
import { fault, faultSentence } from '../../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../../shared-types/mesh.ts';
import { done, failed, type Outcome, type Warning } from '../../../shared-types/outcome.ts';
import type { formFigures } from '../../../shared-types/operations/form.ts';
import type { lineFigures } from '../../../shared-types/operations/line.ts';
import type { measureFigures } from '../../../shared-types/operations/measure.ts';
import type { trueFigures } from '../../../shared-types/operations/true.ts';
import { readMesh } from '../../formats/index.ts';
import { buildBvh, findNearest, nearestSlot } from '../../geometry/spatial/bvh.ts';
import { inventVisor } from '../../invented/visor.ts';
import {
  PRODUCTION,
  scanWearer,
  TRIM_HEIGHT_MM,
  VISOR,
  WEARERS,
  type ScannedWearer,
} from '../../invented/production.ts';
import { DESK_REGISTRY, JobPool } from '../../jobs/pool.ts';
import {
  addDemoProject,
  addDemoVisor,
  addDemoWearer,
  makeDemoForm,
  visorPlacement,
} from '../../services/demo-library.ts';
import * as library from '../../services/library.ts';
import { findRevision, fittingPaper, printed } from '../../services/papers.ts';
import { writePdfs } from '../../papers/write-pdf.ts';
import { findOperation } from '../../operations/index.ts';
import { count, got, makeFolder, mm, save, saveMesh, Stop, type Bench, type Ran, type Shelf } from './demo-bench.ts';
import { fitHelmet } from './demo-helmet.ts';
import { writeFolder } from './output.ts';
import { showProgress } from './progress.ts';
import { onStopSignals } from './stop-signals.ts';

const HELP = `demo [--out FOLDER] [--faces N] [--library FILE] [--json]

The whole job on the invented production "${PRODUCTION}", into FOLDER (out).

  --out FOLDER    Where everything goes; made if it is not there.
  --faces N       Faces of each scan, 5000 or more, instead of 53,000 and 200,000.
  --library FILE  Keep the wearers, scans, readings, forms, liners and the visor in a new library as well.
  --json          Print the account as one JSON object instead of sentences.`;

/** Room that the company's table asks for: thin padding and some ease. */
const ROOM_MM = 6;
const FOAM_MM = 8;
const WALL_MM = 3;
/** A ball this large does not get into the folds of an ear, and neither does foam. */
const BRIDGE_MM = 12;
/** Foam is cut by hand: a quarter of a millimetre is plenty, and makes a light liner. */
const TOLERANCE_MM = 0.25;
/** Room under the collar: the liner ends above the form's own end. */
const OPENING_MM = TRIM_HEIGHT_MM + 30;

type FormFigures = z.output<typeof formFigures>;
type TrueFigures = z.output<typeof trueFigures>;

export async function runDemo(words: readonly string[]): Promise<number> {
  const options = readWords(words);
  if (!options.ok) {
    console.error(faultSentence(options.fault));
    return 2;
  }
  const { folder, faces, json, help, libraryPath } = options.value;
  if (help) {
    console.log(HELP);
    return 0;
  }
  const pool = new JobPool({ registry: DESK_REGISTRY });
  pool.warm();
  const stop = new AbortController();
  const deafen = onStopSignals(() => stop.abort());
  let shelf: Shelf | undefined;
  const bench: Bench = {
    folder,
    get shelf() {
      return shelf;
    },
    onShelf: async (verb, work) => {
      if (shelf === undefined) throw new Error('there is no shelf');
      const progress = showProgress(verb, false);
      const watch = { signal: stop.signal, progress: progress.show };
      const outcome = await work({ library: shelf.library, pool, watch });
      progress.clear();
      return outcome;
    },
    say: (sentence) => {
      if (!json) console.log(sentence);
    },
    run: async (verb, input, parameters, output) => {
      const progress = showProgress(verb, false);
      const makesFolder = findOperation(verb)?.specification.makes === 'folder';
      const inputs = typeof input === 'string' ? [input] : input;
      const order = {
        verb,
        inputs: inputs.map((name) => ({ path: join(folder, name) })),
        parameters,
        ...(output === undefined || makesFolder ? {} : { writeAs: output }),
      };
      const outcome = await pool.run(order, { signal: stop.signal, progress: progress.show });
      progress.clear();
      if (!outcome.ok) return outcome;
      const { file, files = [], papers = [] } = outcome.value;
      if (output !== undefined && file !== undefined) save(folder, output, file.bytes);
      const made = [...files, ...(await writePdfs(papers))];
      if (output !== undefined && makesFolder) got(writeFolder(join(folder, output), made));
      return done({ ...outcome.value, made }, outcome.warnings);
    },
  };
  try {
    makeFolder(folder);
    if (libraryPath !== undefined) shelf = newShelf(libraryPath);
    bench.say(`${PRODUCTION}: an invented production. No such play, people or products; files go to ${folder}/.\n`);
    const wearers = [];
    for (const wearer of WEARERS) {
      wearers.push(await fitWearer(bench, scanWearer(faces === undefined ? wearer : { ...wearer, faces })));
    }
    const visor = await trueVisor(bench);
    const helmet = await fitHelmet(bench, WEARERS[0]?.id ?? '');
    const shelved = shelf === undefined ? undefined : await keepVisor(bench, shelf);
    const account = { production: PRODUCTION, invented: true, wearers, visor, helmet, ...shelved };
    save(folder, 'account.json', `${JSON.stringify(account, undefined, 1)}\n`);
    bench.say(`Everything above with all its figures: ${join(folder, 'account.json')}`);
    if (json) console.log(JSON.stringify(account));
    return 0;
  } catch (error) {
    if (!(error instanceof Stop)) throw error;
    console.error(faultSentence(error.fault));
    return 1;
  } finally {
    deafen();
    await pool.close();
    shelf?.library.close();
  }
}

/** A library of the production alone: what is invented does not get in between real people. */
function newShelf(path: string): Shelf {
  if (existsSync(path)) throw new Stop(fault('store.exists', { path }));
  const opened = got(library.openLibrary(path, { create: true }));
  return { library: opened, project: got(addDemoProject(opened)), forms: [] };
}

/** The visor beside the wearers, tried on each of them with its pivots over the tragions; then their fitting sheets. */
async function keepVisor(bench: Bench, shelf: Shelf): Promise<Record<string, unknown>> {
  const { folder, say } = bench;
  const bytes = new Uint8Array(readFileSync(join(folder, VISOR.file)));
  const part = got(addDemoVisor(shelf.library, shelf.project, bytes));
  const known = JSON.parse(readFileSync(join(folder, 'visor-spans.json'), 'utf8')) as Record<string, unknown>;
  const ready = got(await bench.run('part', VISOR.file, { known }, 'visor-ready.stl'));
  const mesh = got(readMesh(new Uint8Array(readFileSync(join(folder, 'visor-ready.stl'))), 'visor-ready.stl')).mesh;
  got(library.finishPart(shelf.library, part.id, { recipe: { known }, figures: { ...ready.figures }, mesh }));
  say('THE LIBRARY');
  // On the shelf the visor lies in true millimetres.
  const placement = visorPlacement(1);
  const trials = shelf.forms.map(({ wearer, formId }) => {
    const { figures } = got(library.tryPart(shelf.library, { partId: part.id, formId, placement }));
    const { leastEaseMm, meanEaseMm } = figures as { leastEaseMm: number; meanEaseMm: number };
    say(`  trial   ${VISOR.file} on ${wearer}: gap ${mm(leastEaseMm)} at the least, ${mm(meanEaseMm)} on average`);
    return { wearer, ...figures };
  });
  got(await bench.onShelf('company', (making) => library.runCompany(making, shelf.project.id, ROOM_MM)));
  const table = library.companyOf(shelf.library, shelf.project.id, ROOM_MM);
  for (const cell of table.cells) say(`  company ${companyLine(table, cell)}`);
  save(folder, 'company.csv', library.companyCsv(table));
  const { path } = shelf.library;
  const papers: string[] = [];
  for (const { wearer, formId } of shelf.forms) {
    const revision = got(findRevision(shelf.library, formId));
    const name = `${wearer}-fitting.pdf`;
    save(
      folder,
      name,
      (await printed(got(await bench.onShelf('sheet', (making) => fittingPaper(making, revision.id, 'a4'))))).bytes,
    );
    papers.push(name);
  }
  say(`  sheets  ${papers.join(', ')}`);
  say(`  shelf   ${shelf.forms.length} wearers, their forms and liners, the visor, the helmet: ${path}`);
  say('');
  return { library: { path, trials, company: table.cells, papers } };
}

/** One part on one wearer, in a line. */
function companyLine(table: library.Company, cell: library.Company['cells'][number]): string {
  const part = table.parts.find(({ id }) => id === cell.partId)?.name ?? '';
  const wearer = table.forms.find(({ id }) => id === cell.formId)?.wearerName ?? '';
  if (cell.leastEaseMm === undefined) return `${part} on ${wearer}: ${cell.sentence ?? 'not tried'}`;
  const room = `${mm(cell.leastEaseMm)} of room at the least`;
  if (cell.goesOn === true) return `${part} on ${wearer}: goes on, ${room}`;
  return `${part} on ${wearer}: ${room}, not the ${ROOM_MM} mm wanted${cell.scale === undefined ? '' : `; at ${(100 * cell.scale).toFixed(1)} % it would`}`;
}

interface Options {
  readonly folder: string;
  readonly libraryPath?: string;
  readonly faces: number | undefined;
  readonly json: boolean;
  readonly help: boolean;
}

const LEAST_FACES = 5000;
const MOST_FACES = 2_000_000;

function readWords(words: readonly string[]): Outcome<Options> {
  const usage = (reason: string): Outcome<never> => failed(fault('job.usage', { reason: `demo: ${reason}` }));
  let folder = 'out';
  let faces: number | undefined;
  let libraryPath: string | undefined;
  for (let at = 0; at < words.length; at++) {
    if (words[at] === '--out' && words[at + 1] !== undefined) folder = words[++at];
    else if (words[at] === '--library' && words[at + 1] !== undefined) libraryPath = words[++at];
    else if (words[at].startsWith('--library=')) libraryPath = words[at].slice('--library='.length);
    else if (words[at] === '--faces') {
      faces = Number(words[++at]);
      if (!(Number.isInteger(faces) && faces >= LEAST_FACES && faces <= MOST_FACES)) {
        return usage(`--faces takes a whole number from ${LEAST_FACES} to ${MOST_FACES}.`);
      }
    } else if (!['--json', '--help', '-h'].includes(words[at])) {
      return usage(`"${words[at]}" is not understood; demo --help lists what is.`);
    }
  }
  return done({
    folder,
    faces,
    ...(libraryPath === undefined ? {} : { libraryPath }),
    json: words.includes('--json'),
    help: words.includes('--help') || words.includes('-h'),
  });
}

async function fitWearer(bench: Bench, scanned: ScannedWearer): Promise<Record<string, unknown>> {
  const { wearer, scan, recipe } = scanned;
  const { folder, say } = bench;
  const id = wearer.id;
  saveMesh(folder, wearer.scanFile, scan.mesh);
  const saved = { note: 'invented', ...recipe };
  save(folder, `${id}-recipe.json`, `${JSON.stringify(saved, undefined, 1)}\n`);
  say(`${wearer.role.toUpperCase()}`);
  say(`  scan    ${wearer.scanFile}: ${count(scan.mesh.triangles.length / 3)} faces, unit and way up unknown`);

  const formed = await makeForm(bench, scanned);
  const form = got(formed);
  const figures = form.figures as unknown as FormFigures;
  const { mend, trim, stand, health, lighten, checks } = figures;
  // The cut was made before the size was known, in the unit that mending assumed.
  const cappedCm2 = trim.cappedAreaMm2 / 100;
  say(
    `  mend    ${mend.dropped.length} loose pieces dropped, ${mend.closedCracks} crack edges closed, ${mend.filled.length} holes filled`,
  );
  say(`  trim    ${trim.cut.length} cut at the root of the neck, closed flat, ${cappedCm2.toFixed(0)} cm²`);
  say(`  stand   by ${stand.method === 'frankfurt' ? 'both tragions and an orbitale' : stand.method}`);
  sayTrue(say, figures.true, scan.truth.mmPerUnit);
  say(
    `  lighten ${count(lighten.facesBefore)} to ${count(lighten.faces)} faces; largest deviation ${mm(lighten.maxDeviationMm, 2)}, mean ${mm(lighten.meanDeviationMm, 3)}`,
  );
  say(
    `  form    ${id}-form.stl, .3mf: ${health.watertight ? 'closed' : 'OPEN'}, ${health.selfIntersections} self-intersections, ${figures.sizeMm.map((x) => x.toFixed(0)).join(' x ')} mm`,
  );
  for (const check of checks) {
    say(
      `            ${check.name}: ${mm(check.onFormMm)} on the form, ${mm(check.measuredMm)} on the person (u ${mm(check.uMm)})${check.role === 'used' ? '' : `, ${check.role}`}: ${mm(Math.abs(check.differenceMm))} apart, ${check.agrees ? 'within' : 'beyond'} twice the uncertainty`,
    );
  }
  const formMesh = got(readMesh(new Uint8Array(readFileSync(join(folder, `${id}-form.stl`))), `${id}-form.stl`)).mesh;
  saveMesh(folder, `${id}-form.3mf`, formMesh);
  const truth = againstTruth(formMesh, scanned);
  say(
    `  truth   known here because the head is invented: the form lies ${mm(truth.meanMm, 2)} from it on average, ${mm(truth.p99Mm, 2)} or less for 99 % of its points`,
  );

  const foam = {
    foamMm: FOAM_MM,
    toleranceMm: TOLERANCE_MM,
    bridgeMm: BRIDGE_MM,
    wallMm: WALL_MM,
    opening: { plane: [0, 0, OPENING_MM, 0, 0, 1] },
  };
  const lined = await makeLiner(bench, id, foam);
  const liner = got(lined);
  const line = liner.figures as unknown as z.output<typeof lineFigures>;
  say(
    `  line    ${id}-liner.3mf: ${FOAM_MM} mm foam, hollows bridged at ${BRIDGE_MM} mm, ${WALL_MM} mm wall, open below`,
  );
  say(
    `            ${count(line.faces)} faces, ${line.watertight ? 'closed' : 'OPEN'}, ${line.selfIntersections} self-intersections; misses its thickness by ${mm(line.meanAbsErrorMm, 3)} on average, ${mm(line.p99AbsErrorMm, 2)} at 99 %, ${mm(line.maxAbsErrorMm, 2)} at most`,
  );
  say(
    `            ${(line.volumeMm3 / 1000).toFixed(0)} cm³ of material, ${(line.foamVolumeMm3 / 1000).toFixed(0)} cm³ of foam`,
  );
  const warnings: Warning[] = [...notes(formed), ...notes(lined)];
  // What the readings say has been said above.
  for (const { code, sentence } of warnings) if (!code.startsWith('true.')) say(`  note    ${sentence}`);
  say('');
  return {
    id,
    scan: wearer.scanFile,
    form: { ...figures, matrix: form.matrix },
    liner: { ...line },
    knownTruth: { mmPerUnit: scan.truth.mmPerUnit, ...truth },
    warnings: warnings.map((warning) => warning.sentence),
  };
}

/** The form as files, and on the shelf if there is one. */
async function makeForm(bench: Bench, scanned: ScannedWearer): Promise<Outcome<Ran>> {
  const { folder, shelf } = bench;
  const { wearer, recipe } = scanned;
  const target = `${wearer.id}-form.stl`;
  if (shelf === undefined) return bench.run('form', wearer.scanFile, { recipe }, target);
  const person = got(addDemoWearer(shelf.library, scanned));
  const fileName = wearer.scanFile;
  const bytes = new Uint8Array(readFileSync(join(folder, fileName)));
  const order = { wearer: person, project: shelf.project, scanned, fileName, bytes };
  const made = await bench.onShelf('form', (making) => makeDemoForm(making, order));
  if (!made.ok) return made;
  shelf.forms.push({ wearer: wearer.id, formId: made.value.form.id });
  saveMesh(folder, target, made.value.mesh);
  return made;
}

/** The liner of the form just made. */
async function makeLiner(bench: Bench, id: string, parameters: Record<string, unknown>): Promise<Outcome<Ran>> {
  const { folder, shelf } = bench;
  const target = `${id}-liner.3mf`;
  const on = shelf?.forms.at(-1);
  if (shelf === undefined || on === undefined) return bench.run('line', `${id}-form.stl`, parameters, target);
  const wanted = { formId: on.formId, parameters, projectId: shelf.project.id };
  const made = await bench.onShelf('line', (making) => library.makeLiner(making, wanted));
  if (made.ok) saveMesh(folder, target, made.value.mesh);
  return made;
}

const notes = (outcome: Outcome<unknown>): readonly Warning[] => (outcome.ok ? outcome.warnings : []);

function sayTrue(say: Bench['say'], figures: TrueFigures, known: number): void {
  say(
    `  true    1 file unit is ${figures.factor.toPrecision(5)} mm, standard uncertainty ${figures.standardUncertainty.toPrecision(2)} mm (known here: ${known.toPrecision(5)})`,
  );
  for (const sentence of figures.advice) say(`            ${sentence}`);
}

/** How far the form lies from the invented head: distances of its vertices, the flat cut left out. */
function againstTruth(form: Mesh, { scan }: ScannedWearer): { meanMm: number; p99Mm: number; maxMm: number } {
  const tree = buildBvh(scan.truth.clean);
  const slot = nearestSlot();
  const distances: number[] = [];
  for (let at = 0; at < form.positions.length; at += 3) {
    const [x, y, z] = form.positions.subarray(at, at + 3);
    if (z < TRIM_HEIGHT_MM + 2) continue;
    findNearest(tree, x, y, z, slot);
    distances.push(slot.distance);
  }
  distances.sort((a, b) => a - b);
  const sum = distances.reduce((total, one) => total + one, 0);
  const last = distances.length - 1;
  return {
    meanMm: sum / distances.length,
    p99Mm: distances[Math.floor(last * 0.99)],
    maxMm: distances[last],
  };
}

async function trueVisor(bench: Bench): Promise<Record<string, unknown>> {
  const { folder, say } = bench;
  const visor = inventVisor(VISOR.pivotToPivotMm, VISOR.mmPerUnit);
  saveMesh(folder, VISOR.file, visor.mesh);
  const spans = [
    { name: 'pivot to pivot', from: visor.pivotLeft, to: visor.pivotRight, measured: VISOR.pivotToPivotMm, u: 0.25 },
  ];
  save(folder, 'visor-spans.json', `${JSON.stringify({ spans }, undefined, 1)}\n`);
  const outcome = await bench.run('true', VISOR.file, { spans }, 'visor-true.stl');
  const result = got(outcome);
  const figures = result.figures as unknown as TrueFigures;
  say('A BOUGHT VISOR (invented)');
  say(`  part    ${VISOR.file}: ${count(visor.mesh.triangles.length / 3)} faces, its maker states one dimension`);
  sayTrue(say, figures, VISOR.mmPerUnit);
  const measured = await bench.run('measure', 'visor-true.stl', {
    spans: atTrueSize(spans, result.matrix),
  });
  const again = got(measured).figures as unknown as z.output<typeof measureFigures>;
  say(`  check   ${again.spans.map((span) => `${span.name} measures ${mm(span.lengthMm)}`).join()} on visor-true.stl`);
  say('');
  return { file: VISOR.file, true: { ...figures, matrix: result.matrix }, measuredAgain: again };
}

type Ends = { readonly from: readonly number[]; readonly to: readonly number[] };

function atTrueSize<S extends Ends>(spans: readonly S[], matrix: Matrix4 | undefined): S[] {
  const factor = matrix?.[0] ?? 1;
  return spans.map((span) => ({ ...span, from: span.from.map((x) => x * factor), to: span.to.map((x) => x * factor) }));
}
