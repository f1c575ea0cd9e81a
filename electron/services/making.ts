/** Making forms and liners in a library: the operation runs in a thread, its result is kept in one transaction. */
import type { z } from 'zod';
import { fault, faultSentence } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { carryFigures } from '../../shared-types/operations/carry.ts';
import { compareFigures } from '../../shared-types/operations/compare.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { recipeSchema, type Recipe } from '../../shared-types/recipe.ts';
import type { Form, FormRevision, TicketStep } from '../../shared-types/records/form.ts';
import type { Liner } from '../../shared-types/records/project.ts';
import type { Scan } from '../../shared-types/records/scan.ts';
import { measureKind } from '../../shared-types/measures/index.ts';
import type { KnownLength } from '../../shared-types/contract.ts';
import { sureKindOf } from '../../shared-types/usual-uncertainty.ts';
import { IDENTITY, multiply } from '../geometry/mesh/transform.ts';
import type { JobPool, Watch } from '../jobs/pool.ts';
import type { JobInput, JobResult } from '../jobs/protocol.ts';
import type { InputMesh } from '../operations/operation.ts';
import { packBlobLater } from '../store/blobs.ts';
import type { Library } from '../store/connection.ts';
import { beginJob, endJob } from '../store/jobs.ts';
import * as records from '../store/records.ts';
import { usualUncertainty } from '../store/usual-records.ts';
import { tellingKept } from './kept.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import { knownLengths } from './studio/known-lengths.ts';

export interface Making {
  readonly library: Library;
  readonly pool: JobPool;
  readonly watch?: Watch;
}

export interface MadeForm {
  readonly form: Form;
  readonly revision: FormRevision;
  readonly scan: Scan;
  readonly figures: Readonly<Record<string, unknown>>;
  /** From the scan file's coordinates to the form's. */
  readonly matrix: Matrix4;
  readonly mesh: Mesh;
}

/**
 * The recipe with what the wearer's present sheet says of each length (of repeats their mean), and the names of the
 * readings that came from there. What was taken of an earlier body only is compared with the form, and gives no size,
 * as long as something newer does; it is told.
 */
export function withPresentReadings(
  library: Library,
  wearerId: string,
  recipe: Recipe,
): { readonly recipe: Recipe; readonly newReadings: string[]; readonly warnings: Warning[] } {
  const sheet = knownLengths(records.sheetOf(library, wearerId), usualUncertainty(library));
  const newReadings: string[] = [];
  const aside: string[] = [];
  const isOfNow = (name: string): boolean => sheet.some((one) => one.name === name && one.isOfEarlierBody !== true);
  const { spans, girths, arcs = [], levels = [] } = recipe;
  const hasNewer = [...spans, ...girths, ...arcs, ...levels].some(({ name, hold }) => hold !== true && isOfNow(name));
  const newer = eachReading(recipe, (reading, kind) => {
    const now = sheet.find((one) => one.name === reading.name && one.kind === kind);
    if (now === undefined) return reading;
    const present = { ...reading, measured: now.mm, u: now.uMm };
    newReadings.push(reading.name);
    if (now.isOfEarlierBody !== true || !hasNewer) return present;
    aside.push(reading.name);
    return { ...present, hold: true };
  });
  return { recipe: newer, newReadings, warnings: aside.length === 0 ? [] : [ofEarlierBody(aside)] };
}

const ofEarlierBody = (names: readonly string[]): Warning => ({
  code: 'true.earlier-body',
  sentence: `Not measured since this body was last: ${names.join(', ')}. The size rests on the newer readings only; take these again.`,
});

type Taken = KnownLength['kind'];

/** The recipe with each of its readings changed; levels are girths. */
function eachReading(
  recipe: Recipe,
  changed: <R extends { name: string; measured: number; u?: number | undefined }>(reading: R, kind: Taken) => R,
): Recipe {
  const { spans, girths, arcs, levels } = recipe;
  return {
    ...recipe,
    spans: spans.map((one) => changed(one, 'span')),
    girths: girths.map((one) => changed(one, 'girth')),
    ...(arcs === undefined ? {} : { arcs: arcs.map((one) => changed(one, 'arc')) }),
    ...(levels === undefined ? {} : { levels: levels.map((one) => changed(one, 'girth')) }),
  };
}

/** The recipe with this library's usual uncertainty wherever a reading states none. */
function withUsual(library: Library, recipe: Recipe): Recipe {
  const usual = usualUncertainty(library);
  return eachReading(recipe, (reading, kind) => ({
    ...reading,
    u: reading.u ?? usual[sureKindOf(kind, measureKind(reading.name))],
  }));
}

/** A mesh of the library as an operation takes it. */
export const meshInput = (mesh: Mesh, name: string): InputMesh => ({
  mesh,
  name,
  unit: 'millimetre',
  fromFile: IDENTITY,
});

/** Run as a job of the library: a crash leaves it marked, a fault leaves nothing but the job's sentence. */
export async function asJob<T>(
  making: Making,
  job: { verb: string; request: Record<string, unknown>; wearerId?: string },
  inputs: readonly JobInput[],
  parameters: unknown,
  commit: (result: JobResult & { mesh: Mesh }) => Outcome<T>,
): Promise<Outcome<T>> {
  const { library, pool, watch } = making;
  const begun = beginJob(library, job);
  if (!begun.ok) return begun;
  const { id } = begun.value;
  const outcome = await pool.run({ verb: job.verb, inputs, parameters }, watch);
  if (!outcome.ok) {
    const state = outcome.fault.code === 'job.cancelled' ? 'cancelled' : 'failed';
    const ended = endJob(library, id, state, () => undefined, faultSentence(outcome.fault));
    return ended.ok ? outcome : ended;
  }
  const { mesh } = outcome.value;
  if (mesh === undefined) throw new Error(`${job.verb} made no mesh`);
  // A fault of `commit` must undo the transaction it is in.
  let trouble: Outcome<T> | undefined;
  try {
    const ended = endJob(library, id, 'done', () => {
      const kept = commit({ ...outcome.value, mesh });
      if (kept.ok) return kept.value;
      trouble = kept;
      throw new Error('not kept');
    });
    return ended.ok ? done(ended.value, outcome.warnings) : ended;
  } catch (error) {
    if (trouble === undefined || trouble.ok) throw error;
    const ended = endJob(library, id, 'failed', () => undefined, faultSentence(trouble.fault));
    return ended.ok ? trouble : ended;
  }
}

/** The ticket: each step of the operation's figures with the part of the recipe it used. */
function ticketOf(recipe: Recipe, figures: Readonly<Record<string, unknown>>, matrix: Matrix4): TicketStep[] {
  const parameters: Readonly<Record<string, Record<string, unknown>>> = {
    mend: { keep: recipe.keep },
    trim: { planes: recipe.trim },
    stand: { landmarks: recipe.landmarks },
    true: {
      spans: recipe.spans,
      girths: recipe.girths,
      ...(recipe.arcs === undefined ? {} : { arcs: recipe.arcs }),
      ...(recipe.levels === undefined ? {} : { levels: recipe.levels }),
    },
    lighten: { faces: recipe.faces },
  };
  const steps = Object.entries(parameters).map(([verb, used]) => ({
    verb,
    parameters: used,
    figures: figures[verb] as Record<string, unknown>,
  }));
  const rest = Object.fromEntries(Object.entries(figures).filter(([name]) => !(name in parameters)));
  return [...steps, { verb: 'form', parameters: {}, figures: { ...rest, matrix } }];
}

/** Keep the scan, make the form by the recipe, keep recipe and evidence. */
export async function makeForm(
  making: Making,
  wanted: { wearerId: string; name: string; fileName: string; bytes: Uint8Array; recipe: unknown; formId?: string },
): Promise<Outcome<MadeForm>> {
  const { library } = making;
  const parsed = recipeSchema.safeParse(wanted.recipe);
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    return failed(
      fault('job.usage', { reason: `recipe: ${issue?.path.join('.')}: ${issue?.message ?? 'not valid'}.` }),
    );
  }
  const recipe = withUsual(library, parsed.data);
  const { wearerId, formId, name, fileName, bytes } = wanted;
  const blob = await packBlobLater(bytes);
  const known = records.scanWith(library, wearerId, blob.sha256);
  const kept = records.addPackedScan(library, { wearerId, fileName, blob });
  if (!kept.ok) return kept;
  const scan = kept.value;
  if (Object.keys(recipe.landmarks).length > 0) {
    const landmarks = records.setLandmarks(
      library,
      scan.id,
      recipe.landmarks,
      wanted.formId === undefined ? 'hand' : 'carried',
    );
    if (!landmarks.ok) return landmarks;
  }
  const job = { verb: 'form', request: { scanId: scan.id, recipe, formId, name }, wearerId };
  const input = { bytes, name: fileName };
  const made = await asJob(making, job, [input], { recipe }, ({ mesh, figures, matrix, fromFile }) => {
    if (matrix === undefined) throw new Error('form told no matrix');
    const whole = multiply(matrix, fromFile);
    const made = records.addFormRevision(library, {
      wearerId,
      name,
      scanId: scan.id,
      recipe: recipe as unknown as Record<string, unknown>,
      steps: ticketOf(recipe, figures, whole),
      programVersion: PROGRAM_VERSION,
      mesh,
      ...(formId === undefined ? {} : { formId }),
    });
    return made.ok ? done({ ...made.value, scan, figures, matrix: whole, mesh }) : made;
  });
  // What is no mesh at all is no scan; one that was here before stays.
  if (!made.ok && known === undefined && made.fault.code.startsWith('file.')) {
    const dropped = records.dropScan(library, scan.id);
    if (!dropped.ok) return dropped;
  }
  return tellingKept(made, known === undefined ? 'the scan is' : undefined);
}

/** Keep a scan as it came; compressing it does not hold the caller's thread. The same scan is kept once. */
export async function keepScan(
  library: Library,
  scan: { wearerId: string; fileName: string; bytes: Uint8Array },
): Promise<Outcome<Scan>> {
  return records.addPackedScan(library, { ...scan, blob: await packBlobLater(scan.bytes) });
}

export type BodyChange = z.output<typeof compareFigures>;
export type CarriedPoint = z.output<typeof carryFigures>['points'][number];

export interface Replayed extends MadeForm {
  readonly change: BodyChange;
  /** The form's last making before this one, coloured by the change. */
  readonly map: Mesh;
  /** How the old form lay on the new scan, mm. */
  readonly carriedRmsMm: number;
  /** Each point carried, in the new scan's coordinates, with the uncertainty of the carrying. */
  readonly carried: readonly CarriedPoint[];
  /** Names of the readings taken from the wearer's present sheet instead of the old recipe. */
  readonly newReadings: readonly string[];
}

/** The part of a watch that one of several jobs gets. */
export function shareOf(watch: Watch | undefined, from: number, to: number): Watch {
  const { signal, progress } = watch ?? {};
  return {
    ...(signal === undefined ? {} : { signal }),
    ...(progress === undefined
      ? {}
      : { progress: (fraction: number, phase: string) => progress(from + (to - from) * fraction, phase) }),
  };
}

/** Shares of the progress of a replay. */
const CARRY_END = 0.2;
const FORM_END = 0.93;

/** The recipe of a form's newest making, run on a new scan of the same wearer. */
export async function replayForm(
  making: Making,
  wanted: { formId: string; fileName: string; bytes: Uint8Array },
): Promise<Outcome<Replayed>> {
  const { library, pool, watch } = making;
  const found = records.findOne(library, 'forms', wanted.formId);
  if (!found.ok) return found;
  const form = found.value;
  const last = records.revisionsOf(library, form.id).at(-1);
  if (last === undefined) return failed(fault('store.no-record', { kind: 'making of the form', id: form.name }));
  if (last.steps.some(({ verb }) => verb === 'block')) return failed(fault('block.no-replay', { form: form.name }));
  if (last.steps.some(({ verb }) => verb === 'fill')) return failed(fault('fill.no-replay', { form: form.name }));
  const before = records.readMeshOf(library, last);
  if (!before.ok) return before;
  const way = last.steps.find((step) => step.verb === 'form')?.figures['matrix'];
  const older = meshInput(before.value, form.name);
  const order = {
    verb: 'carry',
    inputs: [older, { bytes: wanted.bytes, name: wanted.fileName }],
    parameters: { recipe: last.recipe, way },
  };
  const laid = await pool.run(order, shareOf(watch, 0, CARRY_END));
  if (!laid.ok) return laid;
  const carried = carryFigures.parse(laid.value.figures);
  const { recipe, newReadings, warnings } = withPresentReadings(library, form.wearerId, carried.recipe);
  const made = await makeForm(
    { ...making, watch: shareOf(watch, CARRY_END, FORM_END) },
    { ...wanted, wearerId: form.wearerId, name: form.name, formId: form.id, recipe },
  );
  if (!made.ok) return made;
  const pair = [older, meshInput(made.value.mesh, form.name)];
  const compared = await pool.run({ verb: 'compare', inputs: pair, parameters: {} }, shareOf(watch, FORM_END, 1));
  if (!compared.ok) return tellingKept(compared, 'the new making of the form is');
  const { mesh: map, figures } = compared.value;
  if (map === undefined) throw new Error('compare made no map');
  const told = {
    change: compareFigures.parse(figures),
    map,
    carriedRmsMm: carried.rmsMm,
    carried: carried.points,
    newReadings,
  };
  return done({ ...made.value, ...told }, [...laid.warnings, ...warnings, ...made.warnings, ...compared.warnings]);
}

/** A liner over the newest making of a form. */
export async function makeLiner(
  making: Making,
  wanted: { formId: string; parameters: Record<string, unknown>; projectId?: string },
): Promise<Outcome<{ liner: Liner; figures: Readonly<Record<string, unknown>>; mesh: Mesh }>> {
  const { library } = making;
  const last = records.revisionsOf(library, wanted.formId).at(-1);
  if (last === undefined) return failed(fault('store.no-record', { kind: 'form', id: wanted.formId }));
  const mesh = records.readMeshOf(library, last);
  if (!mesh.ok) return mesh;
  const form = records.findOne(library, 'forms', wanted.formId);
  if (!form.ok) return form;
  const { parameters, projectId } = wanted;
  const input = meshInput(mesh.value, form.value.name);
  const job = { verb: 'line', request: { ...wanted }, wearerId: form.value.wearerId };
  return asJob(making, job, [input], parameters, ({ mesh: made, figures }) => {
    const kept = records.addLiner(library, {
      formRevisionId: last.id,
      parameters,
      figures,
      foamMm: parameters['foamMm'] as number,
      programVersion: PROGRAM_VERSION,
      mesh: made,
      ...(projectId === undefined ? {} : { projectId }),
    });
    return kept.ok ? done({ liner: kept.value, figures, mesh: made }) : kept;
  });
}
