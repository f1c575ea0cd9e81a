/** Making forms and liners in a library: the operation runs in a thread, its result is kept in one transaction. */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { recipeSchema, type Recipe } from '../../shared-types/recipe.ts';
import type { Form, FormRevision, TicketStep } from '../../shared-types/records/form.ts';
import type { Liner } from '../../shared-types/records/project.ts';
import type { Scan } from '../../shared-types/records/scan.ts';
import { readMesh } from '../formats/index.ts';
import { guessUnit } from '../geometry/mend/health.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { invert, multiply, transformPoint } from '../geometry/mesh/transform.ts';
import { buildBvh, findNearest, nearestSlot } from '../geometry/spatial/bvh.ts';
import type { JobPool, Watch } from '../jobs/pool.ts';
import type { JobResult } from '../jobs/protocol.ts';
import type { InputMesh } from '../operations/operation.ts';
import type { Library } from '../store/connection.ts';
import { beginJob, endJob } from '../store/jobs.ts';
import * as records from '../store/records.ts';
import { bodyChange, layFormOnScan, type BodyChange } from './carry-over.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';

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

function inputOf(bytes: Uint8Array, name: string): Outcome<InputMesh> {
  const read = readMesh(bytes, name);
  if (!read.ok) return failed({ ...read.fault, where: { file: name, ...read.fault.where } });
  const { mesh, unit, fromFile } = read.value;
  return done({ mesh, name, fromFile, ...(unit === undefined ? {} : { unit }) }, read.warnings);
}

/** Run as a job of the library: a crash leaves it marked, a fault leaves nothing but the job's sentence. */
async function asJob<T>(
  making: Making,
  job: { verb: string; request: Record<string, unknown>; wearerId?: string },
  inputs: readonly InputMesh[],
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
    true: { spans: recipe.spans, girths: recipe.girths },
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
  const recipe = parsed.data;
  const input = inputOf(wanted.bytes, wanted.fileName);
  if (!input.ok) return input;
  const kept = records.addScan(library, wanted);
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
  const { wearerId, formId, name } = wanted;
  const job = { verb: 'form', request: { scanId: scan.id, recipe, formId, name }, wearerId };
  return asJob(making, job, [input.value], { recipe }, ({ mesh, figures, matrix, fromFile }) => {
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
}

export interface Replayed extends MadeForm {
  readonly change: BodyChange;
  /** How the old form lay on the new scan, in the scan's own unit. */
  readonly carriedRms: number;
  /** Names of the readings taken from the wearer's present sheet instead of the old recipe. */
  readonly newReadings: readonly string[];
}

/** The recipe of a form's newest making, run on a new scan of the same wearer. */
export async function replayForm(
  making: Making,
  wanted: { formId: string; fileName: string; bytes: Uint8Array },
): Promise<Outcome<Replayed>> {
  const { library } = making;
  const found = records.findOne(library, 'forms', wanted.formId);
  if (!found.ok) return found;
  const form = found.value;
  const last = records.revisionsOf(library, form.id).at(-1);
  if (last === undefined) return failed(fault('store.no-record', { kind: 'making of the form', id: form.name }));
  const before = records.readMeshOf(library, last);
  if (!before.ok) return before;
  const input = inputOf(wanted.bytes, wanted.fileName);
  if (!input.ok) return input;
  const { mesh, unit, fromFile } = input.value;
  const guess = guessUnit(boundsOf(mesh.positions));
  const mmPerUnit = unit !== undefined ? 1 : guess.unit === 'unknown' ? undefined : guess.mmPerUnit;
  const laid = layFormOnScan(before.value, mesh, mmPerUnit);
  const toForm = last.steps.find((step) => step.verb === 'form')?.figures['matrix'] as Matrix4 | undefined;
  if (laid === undefined || toForm === undefined) {
    return failed(fault('store.no-record', { kind: 'way from the old scan to the new one', id: form.name }));
  }
  const tree = buildBvh(mesh);
  const near = nearestSlot();
  const toFile = invert(fromFile);
  const old = recipeSchema.parse(last.recipe);
  const way = multiply(laid.matrix, toForm);
  const carryFree = (point: Vec3): Vec3 => transformPoint(toFile, transformPoint(way, point));
  const carry = (point: Vec3): Vec3 => {
    const [x, y, z] = transformPoint(way, point);
    return findNearest(tree, x, y, z, near) ? transformPoint(toFile, [near.x, near.y, near.z]) : carryFree(point);
  };
  const sheet = new Map(records.sheetOf(library, form.wearerId).map((reading) => [reading.name, reading]));
  const newReadings: string[] = [];
  const present = <R extends { name: string; measured: number; u?: number | undefined }>(reading: R): R => {
    const now = sheet.get(reading.name);
    if (now === undefined) return reading;
    newReadings.push(reading.name);
    return { ...reading, measured: now.valueMm, ...(now.uncertaintyMm === undefined ? {} : { u: now.uncertaintyMm }) };
  };
  const recipe: Recipe = {
    ...old,
    trim: old.trim.map(([px, py, pz, nx, ny, nz]) => {
      const at = carryFree([px, py, pz]);
      const tip = carryFree([px + nx, py + ny, pz + nz]);
      return [...at, tip[0] - at[0], tip[1] - at[1], tip[2] - at[2]] as Recipe['trim'][number];
    }),
    landmarks: Object.fromEntries(
      Object.entries(old.landmarks).map(([name, point]) => [name, [...carry(point)]]),
    ) as Recipe['landmarks'],
    spans: old.spans.map((span) => present({ ...span, from: [...carry(span.from)], to: [...carry(span.to)] })),
    girths: old.girths.map((girth) => {
      const [a, b, c] = girth.through;
      return present({ ...girth, through: [[...carry(a)], [...carry(b)], [...carry(c)]] });
    }),
  };
  const made = await makeForm(making, { ...wanted, wearerId: form.wearerId, name: form.name, formId: form.id, recipe });
  if (!made.ok) return made;
  const change = bodyChange(before.value, made.value.mesh);
  return done({ ...made.value, change, carriedRms: laid.rms, newReadings }, made.warnings);
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
  const identity: Matrix4 = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
  const input: InputMesh = { mesh: mesh.value, name: form.value.name, unit: 'millimetre', fromFile: identity };
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

/** Run a job that a crash, a fault or a stop cut off once more, from what it was asked; a new job is made of it. */
export async function runAgain(
  making: Making,
  jobId: string,
): Promise<Outcome<{ readonly figures: Readonly<Record<string, unknown>> }>> {
  const { library } = making;
  const job = records.allOf(library, 'jobs', 'WHERE id = ?', jobId)[0];
  if (job === undefined || job.state === 'running' || job.state === 'done') {
    return failed(fault('store.no-record', { kind: 'unfinished job', id: jobId }));
  }
  if (job.verb === 'line') return makeLiner(making, job.request as unknown as Parameters<typeof makeLiner>[1]);
  const { scanId, recipe, formId, name } = job.request as Record<string, string>;
  const scan = records.allOf(library, 'scans', 'WHERE id = ?', scanId)[0];
  if (scan === undefined) return failed(fault('store.no-record', { kind: 'scan', id: scanId }));
  const bytes = records.readOriginal(library, scan);
  if (!bytes.ok) return bytes;
  const { wearerId, fileName } = scan;
  const wanted = { wearerId, name, fileName, bytes: bytes.value, recipe };
  return makeForm(making, formId === undefined ? wanted : { ...wanted, formId });
}
