/**
 * One wearer or one project as a zip of open formats, readable without this program: bundle.json (every record), the
 * scans as they came, each form and liner as PLY and 3MF, the readings as CSV. Importing merges by the records' ids:
 * what is here already is left as it is, and what differs is named.
 */
import { zipSync, type Zippable } from 'fflate';
import { z } from 'zod';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { writeMesh } from '../formats/index.ts';
import { readPly } from '../formats/ply.ts';
import { atTheEdge } from '../formats/trouble.ts';
import { archiveReader, isZip, listZip } from '../formats/zip.ts';
import { QUIET_RUN } from '../../shared-types/progress.ts';
import { packBlob, sha256Of, storeBlob } from '../store/blobs.ts';
import type { Library } from '../store/connection.ts';
import { change, readRow, fromRow } from '../store/ledger.ts';
import { readMakingFile } from '../store/making-records.ts';
import { encodeMesh } from '../store/meshes.ts';
import * as records from '../store/records.ts';
import { makeSafetyCopy } from '../store/safety-copies.ts';
import { TABLES, type RecordOf, type TableName } from '../store/tables.ts';
import { attempt, isContradiction } from '../store/trouble.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import { readingsToCsv } from './readings-csv.ts';

const FORMAT = 'wearwright-bundle';
const TRAVELLING = [
  'wearers',
  'scans',
  'landmarks',
  'readings',
  'forms',
  'form_revisions',
  'projects',
  'project_forms',
  'parts',
  'trials',
  'liners',
  'tickets',
  'fittings',
  'plans',
  'makings',
  'making_files',
] as const satisfies readonly TableName[];
type Travelling = (typeof TRAVELLING)[number];

const VERSION = 1;

const manifestSchema = z.object({
  format: z.literal(FORMAT),
  version: z.literal(VERSION),
  program: z.string(),
  records: z.record(z.string(), z.array(z.record(z.string(), z.unknown()))),
  /** Entry name of each blob, by its address in the library, and how it is kept. */
  blobs: z.array(
    z.object({ sha256: z.string(), entry: z.string(), entrySha256: z.string(), kind: z.enum(['bytes', 'ply']) }),
  ),
});
type Manifest = z.infer<typeof manifestSchema>;

/** What a bundle of any version has; whether more is in it than is known here. */
const coverSchema = z.object({
  format: manifestSchema.shape.format,
  version: z.number(),
  records: z.record(z.string(), z.unknown()).default({}),
});
const isNewer = ({ version, records }: z.infer<typeof coverSchema>): boolean =>
  version > VERSION || Object.keys(records).some((name) => !(TRAVELLING as readonly string[]).includes(name));

const plain = (name: string): string =>
  name
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}._-]+/gu, '-')
    .slice(0, 60) || 'unnamed';

type Gathered = { [T in Travelling]: RecordOf<T>[] };

/** Every record that belongs to the wearers and projects given. */
function gather(library: Library, wearerIds: readonly string[], projectIds: readonly string[]): Gathered {
  const all = <T extends Travelling>(name: T, keep: (record: RecordOf<T>) => boolean): RecordOf<T>[] =>
    records.allOf(library, name).filter(keep);
  const ids = (list: readonly { id: string }[]): Set<string> => new Set(list.map(({ id }) => id));
  const wearers = all('wearers', ({ id }) => wearerIds.includes(id));
  const scans = all('scans', ({ wearerId }) => wearerIds.includes(wearerId));
  const forms = all('forms', ({ wearerId }) => wearerIds.includes(wearerId));
  const [scanIds, formIds] = [ids(scans), ids(forms)];
  const revisions = all('form_revisions', ({ formId }) => formIds.has(formId));
  const revisionIds = ids(revisions);
  const trials = all('trials', ({ formRevisionId }) => revisionIds.has(formRevisionId));
  const tried = new Set(trials.map(({ partId }) => partId));
  const liners = all('liners', ({ formRevisionId }) => revisionIds.has(formRevisionId));
  const [linerIds, fittings] = [ids(liners), all('fittings', ({ formId }) => formIds.has(formId))];
  const fittingIds = ids(fittings);
  const has = (set: ReadonlySet<string>, id: string | undefined): boolean => id !== undefined && set.has(id);
  const ofBody = all(
    'makings',
    ({ fittingId, formRevisionId, linerId }) =>
      has(fittingIds, fittingId) || has(revisionIds, formRevisionId) || has(linerIds, linerId),
  );
  const used = new Set([...tried, ...[...fittings, ...ofBody].flatMap(({ partId }) => partId ?? [])]);
  const parts = all(
    'parts',
    ({ id, projectId }) => used.has(id) || (projectId !== undefined && projectIds.includes(projectId)),
  );
  const partIds = ids(parts);
  // What was made of a part alone is nobody's, and goes where the part goes.
  const ofPart = all(
    'makings',
    ({ partId, fittingId, formRevisionId, linerId }) =>
      has(partIds, partId) && (fittingId ?? formRevisionId ?? linerId) === undefined,
  );
  const makings = [...ofBody, ...ofPart];
  const makingIds = ids(makings);
  const inProjects = [...liners, ...parts, ...fittings, ...makings];
  const needed = new Set([...projectIds, ...inProjects.flatMap(({ projectId }) => projectId ?? [])]);
  const projects = all('projects', ({ id }) => needed.has(id));
  const plans = all(
    'plans',
    ({ formId, linerId, partId, fittingId }) =>
      has(formIds, formId) || has(linerIds, linerId) || has(partIds, partId) || has(fittingIds, fittingId),
  );
  return {
    wearers,
    scans,
    landmarks: all('landmarks', ({ scanId }) => scanIds.has(scanId)),
    readings: all('readings', ({ wearerId }) => wearerIds.includes(wearerId)),
    forms,
    form_revisions: revisions,
    projects,
    project_forms: all('project_forms', ({ projectId, formId }) => needed.has(projectId) && formIds.has(formId)),
    parts,
    trials,
    liners,
    tickets: all('tickets', ({ scanId }) => scanIds.has(scanId)),
    fittings,
    plans,
    makings,
    making_files: all('making_files', ({ makingId }) => makingIds.has(makingId)),
  };
}

/** The bundle's bytes. Memory: all its meshes at once. */
export function exportBundle(
  library: Library,
  what: { wearerId: string } | { projectId: string },
): Outcome<Uint8Array> {
  let wearerIds: string[];
  if ('wearerId' in what) wearerIds = [what.wearerId];
  else {
    const used = new Set(
      records.allOf(library, 'project_forms', 'WHERE project_id = ?', what.projectId).map((one) => one.formId),
    );
    wearerIds = [
      ...new Set(records.allOf(library, 'forms').flatMap((form) => (used.has(form.id) ? [form.wearerId] : []))),
    ];
  }
  const gathered = gather(library, wearerIds, 'projectId' in what ? [what.projectId] : []);
  const files: Zippable = {};
  const blobs: Manifest['blobs'] = [];
  const put = (sha256: string, entry: string, bytes: Uint8Array, kind: 'bytes' | 'ply'): void => {
    files[entry] = bytes;
    blobs.push({ sha256, entry, entrySha256: sha256Of(bytes), kind });
  };
  const seen = new Set<string>();
  const unseen = (sha256: string): boolean => !seen.has(sha256) && seen.add(sha256).size > 0;
  for (const record of [...gathered.scans, ...gathered.parts]) {
    if (!unseen(record.originalSha256)) continue;
    const bytes = records.readOriginal(library, record);
    if (!bytes.ok) return bytes;
    const folder = 'wearerId' in record ? 'scans' : 'parts';
    put(
      record.originalSha256,
      `${folder}/${record.originalSha256.slice(0, 12)}-${plain(record.fileName)}`,
      bytes.value,
      'bytes',
    );
  }
  const nameOfForm = new Map(gathered.forms.map((form) => [form.id, form.name]));
  const nameOfRevision = new Map(
    gathered.form_revisions.map((one) => [one.id, `${plain(nameOfForm.get(one.formId) ?? '')}-${one.revision}`]),
  );
  const meshes = [
    ...gathered.form_revisions.map((one) => [one.meshSha256, `forms/${nameOfRevision.get(one.id)}`] as const),
    ...gathered.liners.map(
      (one) => [one.meshSha256, `liners/${nameOfRevision.get(one.formRevisionId)}-${one.foamMm}mm`] as const,
    ),
    ...gathered.parts.flatMap(({ madeSha256, name }) =>
      madeSha256 === undefined ? [] : [[madeSha256, `parts/${plain(name)}`] as const],
    ),
  ];
  for (const [sha256, stem] of meshes) {
    if (!unseen(sha256)) continue;
    const mesh = records.readMeshOf(library, { meshSha256: sha256 });
    if (!mesh.ok) return mesh;
    const entry = `${stem}-${sha256.slice(0, 8)}`;
    const ply = writeMesh(mesh.value, `${entry}.ply`);
    if (!ply.ok) return ply;
    const again = readPly(ply.value.bytes);
    const exact = again.ok && sha256Of(encodeMesh(again.value.mesh)) === sha256;
    if (exact) put(sha256, `${entry}.ply`, ply.value.bytes, 'ply');
    else {
      // Doubles that PLY's single precision would round: the exact bytes travel beside it.
      files[`${entry}.ply`] = ply.value.bytes;
      put(sha256, `${entry}.mesh`, encodeMesh(mesh.value), 'bytes');
    }
    const threeMf = writeMesh(mesh.value, `${entry}.3mf`);
    if (threeMf.ok) files[`${entry}.3mf`] = [threeMf.value.bytes, { level: 0 }];
  }
  for (const file of gathered.making_files) {
    if (!unseen(file.sha256)) continue;
    const kept = readMakingFile(library, file.id);
    if (!kept.ok) return kept;
    put(file.sha256, `made/${file.sha256.slice(0, 8)}-${plain(file.name)}`, kept.value.bytes, 'bytes');
  }
  for (const wearer of gathered.wearers) {
    const sheet = readingsToCsv(records.sheetOf(library, wearer.id));
    files[`readings/${plain(wearer.name)}-${wearer.id.slice(0, 8)}.csv`] = new TextEncoder().encode(sheet);
  }
  const manifest: Manifest = { format: FORMAT, version: VERSION, program: PROGRAM_VERSION, records: gathered, blobs };
  files['bundle.json'] = new TextEncoder().encode(JSON.stringify(manifest, null, 1));
  return done(zipSync(files, { level: 6 }));
}

export interface Merged {
  readonly added: Readonly<Record<string, number>>;
  readonly alreadyHere: number;
  /** Records that are here with other contents: ours were kept. */
  readonly conflicts: readonly { readonly kind: string; readonly id: string; readonly fields: readonly string[] }[];
  /** Wearers that came in beside another of the same name. */
  readonly sameNames: readonly string[];
}

function open(path: string, bytes: Uint8Array): Outcome<{ manifest: Manifest; blob: Map<string, Uint8Array> }> {
  const notOne = (reason: string): Outcome<never> => failed(fault('bundle.not-one', { path, reason }));
  if (!isZip(bytes)) return notOne('it is not a zip');
  const outcome = atTheEdge<{ manifest: Manifest; blob: Map<string, Uint8Array> }>(() => {
    const entries = new Map(listZip(bytes).map((entry) => [entry.name, entry]));
    const read = archiveReader(bytes, QUIET_RUN);
    const head = entries.get('bundle.json');
    if (head === undefined) return notOne('it has no bundle.json');
    let raw: unknown;
    try {
      raw = JSON.parse(new TextDecoder().decode(read(head)));
    } catch (error) {
      if (!(error instanceof SyntaxError)) throw error;
      return notOne('its bundle.json is not JSON');
    }
    const cover = coverSchema.safeParse(raw);
    if (cover.success && isNewer(cover.data)) return failed(fault('bundle.newer', { path }));
    const parsed = manifestSchema.safeParse(raw);
    if (!parsed.success) return notOne('its bundle.json is of another kind');
    const blob = new Map<string, Uint8Array>();
    for (const one of parsed.data.blobs) {
      const entry = entries.get(one.entry);
      const damaged = failed<never>(fault('bundle.damaged', { path, entry: one.entry }));
      if (entry === undefined) return damaged;
      const contents = read(entry);
      if (sha256Of(contents) !== one.entrySha256) return damaged;
      let exact = contents;
      if (one.kind === 'ply') {
        const mesh = readPly(contents);
        if (!mesh.ok) return damaged;
        exact = encodeMesh(mesh.value.mesh);
      }
      if (sha256Of(exact) !== one.sha256) return damaged;
      blob.set(one.sha256, exact);
    }
    return done({ manifest: parsed.data, blob });
  });
  if (outcome.ok || outcome.fault.code.startsWith('bundle.')) return outcome;
  return failed({ ...outcome.fault, where: { ...outcome.fault.where, file: path } });
}

/** Fields in which two records differ. */
function differences(ours: object, theirs: object): string[] {
  const names = new Set([...Object.keys(ours), ...Object.keys(theirs)]);
  const [a, b] = [ours as Record<string, unknown>, theirs as Record<string, unknown>];
  return [...names].filter((name) => JSON.stringify(a[name]) !== JSON.stringify(b[name]));
}

/**
 * Merge a bundle into the library: one change, one step of undo, all or nothing, after a safety copy. `path` only names it in sentences.
 */
export function importBundle(library: Library, path: string, bytes: Uint8Array): Outcome<Merged> {
  const opened = open(path, bytes);
  if (!opened.ok) return opened;
  const { manifest, blob } = opened.value;
  for (const name of TRAVELLING) {
    for (const record of manifest.records[name] ?? []) {
      if (!TABLES[name].schema.safeParse(record).success) {
        return failed(fault('bundle.not-one', { path, reason: `a ${TABLES[name].kind} in it is not valid` }));
      }
    }
  }
  const anyone = library.db.prepare('SELECT 1 FROM wearers LIMIT 1').get();
  const copy = anyone === undefined ? undefined : makeSafetyCopy(library);
  if (copy?.ok === false) return copy;
  const packed = new Map([...blob].map(([sha256, contents]) => [sha256, packBlob(contents)]));
  const merge = (): Merged =>
    change(library, 'import a bundle', (writer) => {
      const added: Record<string, number> = {};
      let alreadyHere = 0;
      const conflicts: { kind: string; id: string; fields: string[] }[] = [];
      const sameNames: string[] = [];
      const names = new Map(records.allOf(library, 'wearers').map((wearer) => [wearer.name, wearer.id]));
      for (const one of packed.values()) storeBlob(library, one);
      for (const name of TRAVELLING) {
        for (const raw of manifest.records[name] ?? []) {
          const record = raw as RecordOf<Travelling> & Record<string, unknown>;
          const row = readRow(library, name, record.id);
          if (row !== undefined) {
            const fields = differences(fromRow(library, name, row), record).filter((field) => field !== 'revision');
            if (fields.length === 0) alreadyHere++;
            else conflicts.push({ kind: TABLES[name].kind, id: record.id, fields });
            continue;
          }
          const taken = takenBy(library, name, record);
          if (taken !== undefined && name !== 'readings' && name !== 'form_revisions') {
            conflicts.push({ kind: TABLES[name].kind, id: record.id, fields: [taken] });
            continue;
          }
          // Two libraries counted on from the same revision: the newcomer takes the next number here.
          const next = taken === undefined ? record : { ...record, revision: nextRevision(library, name, record) };
          writer.insert(name, next as never);
          added[name] = (added[name] ?? 0) + 1;
          if (name === 'wearers') {
            const text = String(record['name']);
            if (names.has(text)) sameNames.push(text);
          }
        }
      }
      return { added, alreadyHere, conflicts, sameNames };
    });
  try {
    return attempt(library.path, merge);
  } catch (error) {
    // Every record is valid by itself; together they name what is not there, or too much.
    if (isContradiction(error))
      return failed(fault('bundle.not-one', { path, reason: 'its records do not go together' }));
    throw error;
  }
}

/** Pairs of columns that only one record may have. */
const ONLY_ONE: Partial<Record<TableName, readonly (readonly [string, string])[]>> = {
  landmarks: [['scanId', 'name']],
  readings: [['wearerId', 'revision']],
  form_revisions: [['formId', 'revision']],
  project_forms: [['projectId', 'formId']],
  plans: [
    ['formId', 'kind'],
    ['linerId', 'kind'],
    ['partId', 'kind'],
    ['fittingId', 'kind'],
  ],
};
const COLUMN: Readonly<Record<string, string>> = {
  scanId: 'scan_id',
  wearerId: 'wearer_id',
  formId: 'form_id',
  projectId: 'project_id',
  linerId: 'liner_id',
  partId: 'part_id',
  fittingId: 'fitting_id',
};

function takenBy(library: Library, name: TableName, record: Record<string, unknown>): string | undefined {
  // A column without a value names nothing.
  const pair = ONLY_ONE[name]?.find((fields) => fields.every((field) => record[field] !== undefined));
  if (pair === undefined) return undefined;
  const where = pair.map((field) => `${COLUMN[field] ?? field} = ?`).join(' AND ');
  const there = library.db.prepare(`SELECT 1 FROM ${name} WHERE ${where}`).get(...pair.map((field) => record[field]));
  return there === undefined ? undefined : pair[1];
}

function nextRevision(library: Library, name: TableName, record: Record<string, unknown>): number {
  const owner = name === 'readings' ? 'wearerId' : 'formId';
  const text = `SELECT max(revision) FROM ${name} WHERE ${COLUMN[owner]} = ?`;
  return (library.db.prepare(text).pluck().get(record[owner]) as number) + 1;
}
