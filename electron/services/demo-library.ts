/**
 * The invented production as a library: wearers with their consent, scans, readings, landmarks, forms, a visor with the
 * one dimension its maker states, liners, a project, and the visor tried on both. Everything in it is marked invented.
 */
import { done, type Outcome } from '../../shared-types/outcome.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import type { Part, Project } from '../../shared-types/records/project.ts';
import type { Wearer } from '../../shared-types/records/wearer.ts';
import { writeMesh } from '../formats/index.ts';
import { scaling } from '../geometry/mesh/transform.ts';
import { PRODUCTION, scanWearer, VISOR, WEARERS, type ScannedWearer } from '../invented/production.ts';
import { inventVisor } from '../invented/visor.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import { makeForm, makeLiner, type MadeForm, type Making } from './making.ts';
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
