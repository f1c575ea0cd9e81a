/**
 * The invented production as a library: wearers with their consent, scans, readings, landmarks, forms, a visor with the
 * one dimension its maker states, liners, a project, and the visor tried on both. Everything in it is marked invented.
 */
import { done, type Outcome } from '../../shared-types/outcome.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import type { Part, Project } from '../../shared-types/records/project.ts';
import type { Fitting, Making as MakingRecord } from '../../shared-types/records/making.ts';
import type { Wearer } from '../../shared-types/records/wearer.ts';
import { writeMesh } from '../formats/index.ts';
import { scaling } from '../geometry/mesh/transform.ts';
import { PRODUCTION, scanWearer, VISOR, WEARERS, type ScannedWearer } from '../invented/production.ts';
import { inventVisor } from '../invented/visor.ts';
import type { Library } from '../store/connection.ts';
import { addFitting, addMaking, finishPart } from '../store/making-records.ts';
import * as records from '../store/records.ts';
import { partState } from './part-ready.ts';
import { makeForm, makeLiner, type MadeForm, type Making } from './making.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import { tryPart, type Trial } from './trial.ts';

/** An invented day: the same library each time, but for ids and moments. */
const DAY = '2026-01-15';

/** The wearer, with consent and the sheet of readings. */
export function addDemoWearer(library: Library, { wearer, recipe }: ScannedWearer): Outcome<Wearer> {
  const added = records.addWearer(library, {
    name: wearer.role.charAt(0).toUpperCase() + wearer.role.slice(1),
    note: `Invented for "${PRODUCTION}": no such person.`,
    consentNote: 'Invented: agreed to be scanned and measured for this production.',
    consentDate: DAY,
  });
  if (!added.ok) return added;
  const taken = { takenBy: 'an invented hand', takenOn: DAY };
  const readings = [
    ...recipe.spans.map((one) => ({ ...one, kind: 'span' as const, instrument: 'spreading calliper' })),
    ...recipe.girths.map((one) => ({ ...one, kind: 'girth' as const, instrument: 'tape' })),
  ].map(({ kind, name, measured, u, instrument }) => ({
    kind,
    name,
    valueMm: measured,
    ...(u === undefined ? {} : { uncertaintyMm: u }),
    instrument,
    ...taken,
  }));
  const sheet = records.addReadings(library, added.value.id, readings);
  return sheet.ok ? added : sheet;
}

/** Scan kept, landmarks set, form made, and used in the project. */
export async function makeDemoForm(
  making: Making,
  order: { wearer: Wearer; project: Project; scanned: ScannedWearer; fileName: string; bytes: Uint8Array },
): Promise<Outcome<MadeForm>> {
  const { wearer, project, scanned, fileName, bytes } = order;
  const name = `Head of ${scanned.wearer.role.replace(' (invented)', '')}`;
  const made = await makeForm(making, { wearerId: wearer.id, name, fileName, bytes, recipe: scanned.recipe });
  if (!made.ok) return made;
  const used = records.useForm(making.library, project.id, made.value.form.id);
  return used.ok ? made : used;
}

export const addDemoProject = (library: Library): Outcome<Project> =>
  records.addProject(library, {
    name: `${PRODUCTION} (invented)`,
    note: 'An invented production with an invented visor.',
  });

export function addDemoVisor(library: Library, project: Project, bytes: Uint8Array): Outcome<Part> {
  return records.addPart(library, {
    projectId: project.id,
    name: 'Visor (invented)',
    fileName: VISOR.file,
    bytes,
    knownName: 'pivot to pivot',
    knownMm: VISOR.pivotToPivotMm,
  });
}

/** The visor at true size with its pivots over the tragions: where a form's frame has its origin. */
export const visorPlacement = (mmPerUnit: number): Matrix4 => scaling(mmPerUnit);

export interface FilledLibrary {
  readonly wearers: readonly Wearer[];
  readonly forms: readonly MadeForm[];
  readonly project: Project;
  readonly part: Part;
  readonly trials: readonly Trial[];
}

export interface DemoHelmet {
  readonly formId: string;
  readonly fileName: string;
  readonly bytes: Uint8Array;
  readonly known: Record<string, unknown>;
  /** In true millimetres, and the figures of making it so. */
  readonly mesh: Mesh;
  readonly figures: Record<string, unknown>;
  /** From the part in true millimetres to the form. */
  readonly placement: Matrix4;
  readonly fit: Record<string, unknown>;
  readonly sight: Record<string, unknown>;
  readonly wish: { readonly foamMm: number; readonly compression: number; readonly leastMm: number };
  readonly made: readonly {
    readonly kind: MakingRecord['kind'];
    /** By which it can be made again from the part on the shelf. */
    readonly parameters: Record<string, unknown>;
    readonly figures: Record<string, unknown>;
    readonly files: readonly { readonly name: string; readonly bytes: Uint8Array }[];
  }[];
}

/** The helmet as it was fitted: part, fitting, trial, and what was made from it. */
export function keepDemoHelmet(library: Library, project: Project, helmet: DemoHelmet): Outcome<Fitting> {
  const { formId, fileName, bytes, known, placement, fit, sight, wish, made } = helmet;
  const name = 'Helmet (invented)';
  const part = records.addPart(library, { projectId: project.id, name, fileName, bytes });
  if (!part.ok) return part;
  const sized = finishPart(library, part.value.id, { recipe: { known }, figures: helmet.figures, mesh: helmet.mesh });
  if (!sized.ok) return sized;
  const draft = { ...wish, placement: [...placement] };
  const fitting = addFitting(library, {
    projectId: project.id,
    formId,
    partId: part.value.id,
    name: `${name} on the captain`,
    draft,
  });
  if (!fitting.ok) return fitting;
  const revision = records.revisionsOf(library, formId).at(-1);
  const [ready] = records.allOf(library, 'parts', 'WHERE id = ?', part.value.id);
  if (revision === undefined || ready === undefined) throw new Error('the helmet lost its form');
  const figures = { ...fit, placement: [...placement], sight, partState: partState(ready) };
  const trial = { partId: ready.id, formRevisionId: revision.id, placement: [...placement], figures };
  const tried = records.addTrial(library, trial);
  if (!tried.ok) return tried;
  for (const one of made) {
    const kept = addMaking(library, {
      ...one,
      name: `Helmet: ${one.kind}`,
      projectId: project.id,
      fittingId: fitting.value.id,
      formRevisionId: revision.id,
      partId: ready.id,
      programVersion: PROGRAM_VERSION,
    });
    if (!kept.ok) return kept;
  }
  return fitting;
}

/** The whole production in small: scans of `faces` faces, coarse liners. The same records as the demo makes. */
export async function fillSmallLibrary(making: Making, faces: number): Promise<Outcome<FilledLibrary>> {
  const { library } = making;
  const project = addDemoProject(library);
  if (!project.ok) return project;
  const visor = writtenAs(inventVisor(VISOR.pivotToPivotMm, VISOR.mmPerUnit).mesh, VISOR.file);
  if (!visor.ok) return visor;
  const part = addDemoVisor(library, project.value, visor.value);
  if (!part.ok) return part;
  const wearers: Wearer[] = [];
  const forms: MadeForm[] = [];
  const trials: Trial[] = [];
  for (const one of WEARERS) {
    const scanned = scanWearer({ ...one, faces });
    const fileName = `${one.id}-scan.ply`;
    const bytes = writtenAs(scanned.scan.mesh, fileName);
    if (!bytes.ok) return bytes;
    const wearer = addDemoWearer(library, scanned);
    if (!wearer.ok) return wearer;
    const order = { wearer: wearer.value, project: project.value, scanned, fileName, bytes: bytes.value };
    const made = await makeDemoForm(making, order);
    if (!made.ok) return made;
    const formId = made.value.form.id;
    const parameters = { foamMm: 10, toleranceMm: 1 };
    const liner = await makeLiner(making, { formId, parameters, projectId: project.value.id });
    if (!liner.ok) return liner;
    const trial = tryPart(library, { partId: part.value.id, formId, placement: visorPlacement(VISOR.mmPerUnit) });
    if (!trial.ok) return trial;
    wearers.push(wearer.value);
    forms.push(made.value);
    trials.push(trial.value);
  }
  return done({ wearers, forms, project: project.value, part: part.value, trials });
}

function writtenAs(mesh: Mesh, name: string): Outcome<Uint8Array> {
  const written = writeMesh(mesh, name);
  return written.ok ? done(written.value.bytes) : written;
}
