/** What a host may do with a library, in one place: hosts do not import the store. */
import { fault } from '../../shared-types/faults/index.ts';
import { linerTold, linerWords } from '../../shared-types/liner-words.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { Form } from '../../shared-types/records/form.ts';
import type { Making } from '../../shared-types/records/making.ts';
import type { Liner, Project } from '../../shared-types/records/project.ts';
import type { KnownLength, Repeatability } from '../../shared-types/contract.ts';
import type { Reading } from '../../shared-types/records/reading.ts';
import type { Wearer } from '../../shared-types/records/wearer.ts';
import { readingSchema } from '../../shared-types/records/reading.ts';
import type { Library } from '../store/connection.ts';
import * as records from '../store/records.ts';
import { filesOf } from '../store/making-records.ts';
import { usualUncertainty } from '../store/usual-records.ts';
import { knownLengths, repeatability } from './studio/known-lengths.ts';
import { readingsFromCsv, readingsToCsv } from './readings-csv.ts';

export { openLibrary, type Library, type OpenOptions } from '../store/connection.ts';
export {
  addPart,
  addProject,
  addWearer,
  editWearer,
  findOne,
  noteHealth,
  readMeshOf,
  redo,
  setLandmarks,
  sheetOf,
  undo,
  useForm,
} from '../store/records.ts';
export {
  addFitting,
  addMaking,
  addStock,
  dropMaking,
  dropStock,
  editFitting,
  editPart,
  editStock,
  filesOf,
  finishPart,
  readMakingFile,
} from '../store/making-records.ts';
export { companyCsv, companyOf, runCompany, type Company } from './company.ts';
export { addSizedPart } from './fitting.ts';
export { resetUsual, setUsual, usualUncertainty } from '../store/usual-records.ts';
export { checkLibrary } from '../store/check.ts';
export { StoreTrouble } from '../store/trouble.ts';
export {
  changePassphrase,
  forgetWearer,
  planForget,
  removePassphrase,
  setPassphrase,
  tidyLibrary,
} from '../store/privacy.ts';
export { deleteCopies, listCopies, makeCopyIfDue, makeSafetyCopy, restoreCopy } from '../store/safety-copies.ts';
export { exportBundle, importBundle } from './bundle.ts';
export { findMesh, knownTogether, sourceOfMeshes, type LibraryMesh } from './library-inputs.ts';
export { makeThings, makingKindOf, type WantedMaking } from './make.ts';
export type { Made } from '../../shared-types/calls/makings.ts';
export { troubleOfPlacement } from './part-ready.ts';
export { makeBlockedForm, readingSheetOf } from './block-form.ts';
export { makeFilledForm } from './fill-form.ts';
export { runAgain } from './run-again.ts';
export { makeForm, makeLiner, replayForm, type Making } from './making.ts';
export { findTried, placementOf, trialsOf, tryPart, type ListedTrial } from './trial.ts';

/** Wearers and projects, those whose name holds `text` if given, with what hangs on each; and jobs cut off. */
export function shelfOf(library: Library, text = '') {
  const wanted = text.toLocaleLowerCase();
  const named = (record: { name: string }): boolean => record.name.toLocaleLowerCase().includes(wanted);
  const count = (table: string, column: string): Map<string, number> => {
    const sql = `SELECT ${column} AS owner, count(*) AS count FROM ${table} GROUP BY ${column}`;
    const rows = library.db.prepare(sql).all() as { owner: string; count: number }[];
    return new Map(rows.map((row) => [row.owner, row.count]));
  };
  const [scans, forms, used] = [
    count('scans', 'wearer_id'),
    count('forms', 'wearer_id'),
    count('project_forms', 'project_id'),
  ];
  return {
    wearers: records
      .allOf(library, 'wearers')
      .filter(named)
      .map(({ id, name, consentDate }) => ({
        name,
        id,
        scans: scans.get(id) ?? 0,
        forms: forms.get(id) ?? 0,
        consent: consentDate ?? 'none noted',
      })),
    projects: records
      .allOf(library, 'projects')
      .filter(named)
      .map(({ id, name }) => ({ name, id, forms: used.get(id) ?? 0 })),
    interruptedJobs: records.allOf(library, 'jobs', "WHERE state = 'interrupted'").map(({ id, verb, startedAt }) => ({
      verb,
      id,
      startedAt,
    })),
  };
}

/** A wearer's form of exactly this name, or this id. */
export const formOf = (
  library: Library,
  wearerId: string,
  which: { name: string } | { id: string },
): Form | undefined =>
  records
    .allOf(library, 'forms', 'WHERE wearer_id = ?', wearerId)
    .find((form) => ('id' in which ? form.id === which.id : form.name === which.name));

export function describeWearer(library: Library, wearer: Wearer) {
  const forms = records.allOf(library, 'forms', 'WHERE wearer_id = ?', wearer.id);
  const revisions = new Set(forms.flatMap(({ id }) => records.revisionsOf(library, id).map((one) => one.id)));
  const liners = records.allOf(library, 'liners').filter(({ formRevisionId }) => revisions.has(formRevisionId));
  const isOver = ({ formRevisionId, linerId }: Making): boolean =>
    revisions.has(formRevisionId ?? '') || liners.some(({ id }) => id === linerId);
  return {
    ...wearer,
    scans: records.allOf(library, 'scans', 'WHERE wearer_id = ?', wearer.id),
    readings: records.sheetOf(library, wearer.id),
    forms: forms.map((form) => ({
      name: form.name,
      id: form.id,
      revisions: records.revisionsOf(library, form.id).map(({ revision, faceCount, programVersion, createdAt }) => ({
        revision,
        faceCount,
        programVersion,
        createdAt,
      })),
    })),
    liners: liners.map(listedLiner),
    makings: records
      .allOf(library, 'makings')
      .filter((making) => isOver(making))
      .map((making) => listedMaking(library, making)),
  };
}

export function describeProject(library: Library, project: Project) {
  const used = new Set(
    records.allOf(library, 'project_forms', 'WHERE project_id = ?', project.id).map((one) => one.formId),
  );
  return {
    ...project,
    forms: records.allOf(library, 'forms').filter((form) => used.has(form.id)),
    parts: records.allOf(library, 'parts', 'WHERE project_id = ?', project.id),
    liners: records.allOf(library, 'liners', 'WHERE project_id = ?', project.id).map(listedLiner),
    fittings: records
      .allOf(library, 'fittings', 'WHERE project_id = ?', project.id)
      .map(({ id, name, createdAt }) => ({ name, id, createdAt })),
    makings: records
      .allOf(library, 'makings', 'WHERE project_id = ?', project.id)
      .map((making) => listedMaking(library, making)),
  };
}

/** A liner in a list. */
const listedLiner = ({ id, foamMm, parameters, createdAt }: Liner) => ({
  id,
  foamMm,
  asked: linerWords(linerTold(parameters)),
  createdAt,
});

/** A making in a list. */
const listedMaking = (library: Library, { id, kind, name, createdAt }: Making) => ({
  name,
  kind,
  id,
  files: filesOf(library, id).length,
  createdAt,
});

const oneReading = readingSchema.omit({ id: true, wearerId: true, revision: true, withdrawn: true, createdAt: true });

/**
 * A sheet's readings, the lengths they give (mean, uncertainty, spread, what is odd about each), and how well readings
 * of each kind repeat.
 */
export function sheetWithSense(
  library: Library,
  wearerId: string,
  revision?: number,
): { readings: Reading[]; known: KnownLength[]; repeatability: Repeatability[] } {
  const readings = records.sheetOf(library, wearerId, revision);
  const known = knownLengths(readings, usualUncertainty(library));
  return { readings, known, repeatability: repeatability(readings) };
}

/** One more reading. */
export function addReading(library: Library, wearerId: string, raw: Record<string, unknown>): Outcome<Reading> {
  const parsed = oneReading.safeParse(raw);
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    const reason = `is not valid: ${issue?.message ?? ''}`;
    return failed(fault('store.bad-record', { kind: 'reading', field: issue?.path.join('.') ?? '', reason }));
  }
  const added = records.addReadings(library, wearerId, [parsed.data]);
  return added.ok ? done(added.value[0]) : added;
}

/** Withdraw the one reading of that name (or id) on the sheet. */
export function withdrawNamed(library: Library, wearerId: string, text: string): Outcome<Reading> {
  const found = records.sheetOf(library, wearerId).filter((reading) => reading.id === text || reading.name === text);
  const [only] = found;
  if (only === undefined) return failed(fault('store.no-record', { kind: 'reading', id: text }));
  if (found.length > 1) return failed(fault('store.not-one', { kind: 'reading', text, count: found.length }));
  return records.withdrawReading(library, wearerId, only.id);
}

/** Readings of a table that are not on the sheet yet; the same table twice adds nothing. */
export function importReadings(
  library: Library,
  wearerId: string,
  bytes: Uint8Array,
): Outcome<{ readonly added: number; readonly alreadyHere: number }> {
  const table = readingsFromCsv(new TextDecoder().decode(bytes));
  if (!table.ok) return table;
  const key = (reading: object): string => {
    const one = reading as Reading;
    return JSON.stringify([
      one.kind,
      one.name,
      one.valueMm,
      one.uncertaintyMm,
      one.instrument,
      one.takenBy,
      one.takenOn,
    ]);
  };
  const there = new Map<string, number>();
  for (const reading of records.sheetOf(library, wearerId)) there.set(key(reading), (there.get(key(reading)) ?? 0) + 1);
  // Two equal readings in the table are two readings; each meets its own twin on the sheet.
  const fresh = table.value.filter((reading) => {
    const left = there.get(key(reading)) ?? 0;
    if (left > 0) there.set(key(reading), left - 1);
    return left === 0;
  });
  if (fresh.length > 0) {
    const added = records.addReadings(library, wearerId, fresh);
    if (!added.ok) return added;
  }
  return done({ added: fresh.length, alreadyHere: table.value.length - fresh.length });
}

export const exportReadings = (library: Library, wearerId: string): string =>
  readingsToCsv(records.sheetOf(library, wearerId));
