/** What the rest of the program does with records. Each function is one transaction and one step of undo. */
import { randomUUID } from 'node:crypto';
import type { Mesh } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import type { Form, FormRevision, TicketStep } from '../../shared-types/records/form.ts';
import type { Liner, Part, Project } from '../../shared-types/records/project.ts';
import type { Reading } from '../../shared-types/records/reading.ts';
import type { Landmark, Scan } from '../../shared-types/records/scan.ts';
import type { Ticket } from '../../shared-types/records/ticket.ts';
import type { Wearer } from '../../shared-types/records/wearer.ts';
import { packBlob, readBlob, storeBlob, type PackedBlob } from './blobs.ts';
import type { Library } from './connection.ts';
import { change, fromRow, readRecord, redoChange, undoChange } from './ledger.ts';
import { decodeMesh, encodeMesh } from './meshes.ts';
import { TABLES, type RecordOf, type Row, type TableName } from './tables.ts';
import { attempt, refuse } from './trouble.ts';

/** Fields the store fills in itself. */
export type New<T, Own extends keyof T = never> = Omit<T, 'id' | 'createdAt' | Own>;
export const stamp = (library: Library) => ({ id: randomUUID() as string, createdAt: library.now() });

export const undo = (library: Library): Outcome<string> => attempt(library.path, () => undoChange(library));
export const redo = (library: Library): Outcome<string> => attempt(library.path, () => redoChange(library));

export function allOf<T extends TableName>(library: Library, name: T, where = '', ...values: unknown[]): RecordOf<T>[] {
  library.checkLock();
  const order = 'ORDER BY rowid';
  const rows = library.db.prepare(`SELECT * FROM ${name} ${where} ${order}`).all(...values) as Row[];
  return rows.map((row) => fromRow(library, name, row));
}

/**
 * The one wearer, project, form or part meant by an id, the start of an id, a whole name or a part of a name, in that
 * order. O(rows of the table): names may be sealed, so they are compared here.
 */
export function findOne<T extends 'wearers' | 'projects' | 'forms' | 'parts'>(
  library: Library,
  name: T,
  text: string,
): Outcome<RecordOf<T>> {
  return attempt(library.path, () => {
    const all = allOf(library, name) as (RecordOf<T> & { id: string; name: string })[];
    const wanted = text.toLocaleLowerCase();
    const tests: ((record: { id: string; name: string }) => boolean)[] = [
      (record) => record.id === text,
      (record) => record.name.toLocaleLowerCase() === wanted,
      (record) => text.length >= 6 && record.id.startsWith(text),
      (record) => record.name.toLocaleLowerCase().includes(wanted),
    ];
    for (const test of tests) {
      const found = all.filter(test);
      if (found.length === 1) return found[0] as RecordOf<T>;
      if (found.length > 1) refuse('store.not-one', { kind: TABLES[name].kind, text, count: found.length });
    }
    return refuse('store.no-record', { kind: TABLES[name].kind, id: text });
  });
}

export function addWearer(library: Library, wearer: New<Wearer>): Outcome<Wearer> {
  return attempt(library.path, () =>
    change(library, 'add a wearer', (w) => w.insert('wearers', { ...stamp(library), ...wearer })),
  );
}

export function editWearer(library: Library, id: string, edits: Partial<New<Wearer>>): Outcome<Wearer> {
  return attempt(library.path, () =>
    change(library, 'edit a wearer', (w) => {
      const next = { ...readRecord(library, 'wearers', id), ...edits };
      w.update('wearers', next);
      return next;
    }),
  );
}

/** Keep a scan byte for byte. The same file of the same wearer is kept once: the first record is returned. */
export function addScan(
  library: Library,
  scan: { wearerId: string; fileName: string; bytes: Uint8Array; health?: Record<string, unknown> },
): Outcome<Scan> {
  return addPackedScan(library, { ...scan, blob: packBlob(scan.bytes) });
}

/** The same for bytes that have been packed already. */
export function addPackedScan(
  library: Library,
  scan: {
    wearerId: string;
    fileName: string;
    blob: PackedBlob;
    health?: Record<string, unknown>;
    kind?: 'sheet';
  },
): Outcome<Scan> {
  const { wearerId, fileName, blob, health, kind } = scan;
  return attempt(library.path, () => {
    const known = scanWith(library, wearerId, blob.sha256);
    if (known !== undefined) return known;
    return change(library, 'add a scan', (w) => {
      readRecord(library, 'wearers', wearerId);
      storeBlob(library, blob);
      return w.insert('scans', {
        ...stamp(library),
        wearerId,
        fileName,
        byteCount: blob.byteCount,
        originalSha256: blob.sha256,
        ...(health === undefined ? {} : { health }),
        ...(kind === undefined ? {} : { kind }),
      });
    });
  });
}

/** A wearer's scan of these bytes, if it is here. */
export const scanWith = (library: Library, wearerId: string, sha256: string): Scan | undefined =>
  allOf(library, 'scans', 'WHERE wearer_id = ? AND original_sha256 = ?', wearerId, sha256)[0];

/** What intake found about a scan. */
export function noteHealth(library: Library, scanId: string, health: Record<string, unknown>): Outcome<void> {
  return attempt(library.path, () => {
    const scan = readRecord(library, 'scans', scanId);
    if (JSON.stringify(scan.health) === JSON.stringify(health)) return;
    change(library, 'note what a scan is', (w) => w.update('scans', { ...scan, health }));
  });
}

/** Take back a scan from which nothing has been made, with its landmarks. */
export function dropScan(library: Library, scanId: string): Outcome<void> {
  return attempt(library.path, () =>
    change(library, 'take back a scan', (w) => {
      for (const { id } of allOf(library, 'landmarks', 'WHERE scan_id = ?', scanId)) w.remove('landmarks', id);
      w.remove('scans', scanId);
    }),
  );
}

export function setLandmarks(
  library: Library,
  scanId: string,
  points: Readonly<Record<string, readonly [number, number, number]>>,
  origin: Landmark['origin'],
): Outcome<Landmark[]> {
  return attempt(library.path, () =>
    change(library, 'set landmarks', (w) => {
      readRecord(library, 'scans', scanId);
      const there = allOf(library, 'landmarks', 'WHERE scan_id = ?', scanId);
      return Object.entries(points).map(([name, [x, y, z]]) => {
        const old = there.find((landmark) => landmark.name === name);
        const next: Landmark = { id: old?.id ?? randomUUID(), scanId, name, point: [x, y, z], origin };
        if (old === undefined) w.insert('landmarks', next);
        else w.update('landmarks', next);
        return next;
      });
    }),
  );
}

/** Bytes of a scan or part as they came, verified. */
export function readOriginal(library: Library, record: Scan | Part): Outcome<Uint8Array> {
  return attempt(library.path, () => readBlob(library, record.originalSha256));
}

export function readMeshOf(library: Library, record: { meshSha256: string }): Outcome<Mesh> {
  return attempt(library.path, () => {
    const mesh = decodeMesh(readBlob(library, record.meshSha256));
    return mesh ?? refuse('store.damaged-blob', { sha256: record.meshSha256, reason: 'it is not a mesh' });
  });
}

/** Add readings to a wearer's sheet in one step; each gets the next revision number. */
export function addReadings(
  library: Library,
  wearerId: string,
  readings: readonly New<Reading, 'wearerId' | 'revision' | 'withdrawn'>[],
): Outcome<Reading[]> {
  return attempt(library.path, () =>
    change(library, readings.length === 1 ? 'add a reading' : `add ${readings.length} readings`, (w) => {
      readRecord(library, 'wearers', wearerId);
      let revision = lastRevision(library, wearerId);
      return readings.map((reading) => {
        if (reading.replacesId !== undefined) replaceable(library, wearerId, reading.replacesId);
        const numbers = { wearerId, revision: ++revision, withdrawn: false };
        return w.insert('readings', { ...stamp(library), ...reading, ...numbers });
      });
    }),
  );
}

function lastRevision(library: Library, wearerId: string): number {
  const text = 'SELECT coalesce(max(revision), 0) FROM readings WHERE wearer_id = ?';
  return library.db.prepare(text).pluck().get(wearerId) as number;
}

function replaceable(library: Library, wearerId: string, id: string): Reading {
  const old = readRecord(library, 'readings', id);
  if (old.wearerId !== wearerId) refuse('store.no-record', { kind: 'reading', id });
  const used = library.db.prepare('SELECT 1 FROM readings WHERE replaces_id = ?').get(id);
  if (used !== undefined || old.withdrawn) refuse('store.in-use', { kind: 'reading', id });
  return old;
}

/** Take a reading off the sheet; it stays in the sheet's history. */
export function withdrawReading(library: Library, wearerId: string, id: string): Outcome<Reading> {
  return attempt(library.path, () =>
    change(library, 'withdraw a reading', (w) => {
      const old = replaceable(library, wearerId, id);
      const revision = lastRevision(library, wearerId) + 1;
      return w.insert('readings', { ...old, ...stamp(library), revision, withdrawn: true, replacesId: id });
    }),
  );
}

/** The wearer's sheet as it stands, or as it stood at a revision. */
export function sheetOf(library: Library, wearerId: string, revision = Number.MAX_SAFE_INTEGER): Reading[] {
  const rows = allOf(library, 'readings', 'WHERE wearer_id = ? AND revision <= ?', wearerId, revision);
  const replaced = new Set(rows.map((row) => row.replacesId));
  return rows.filter((row) => !row.withdrawn && !replaced.has(row.id)).sort((a, b) => a.revision - b.revision);
}

export interface NewFormRevision {
  readonly wearerId: string;
  /** Add a revision to this form; without it a new form is made. */
  readonly formId?: string;
  readonly name: string;
  readonly scanId: string;
  readonly recipe: Record<string, unknown>;
  readonly steps: TicketStep[];
  readonly programVersion: string;
  readonly mesh: Mesh;
}

export function addFormRevision(
  library: Library,
  made: NewFormRevision,
): Outcome<{ readonly form: Form; readonly revision: FormRevision }> {
  return attempt(library.path, () => {
    const blob = packBlob(encodeMesh(made.mesh));
    return change(library, made.formId === undefined ? 'make a form' : 'make a form again', (w) => {
      const scan = readRecord(library, 'scans', made.scanId);
      if (scan.wearerId !== made.wearerId) refuse('store.no-record', { kind: 'scan', id: made.scanId });
      const form =
        made.formId === undefined
          ? w.insert('forms', { ...stamp(library), wearerId: made.wearerId, name: made.name })
          : readRecord(library, 'forms', made.formId);
      const text = 'SELECT coalesce(max(revision), 0) FROM form_revisions WHERE form_id = ?';
      const last = library.db.prepare(text).pluck().get(form.id) as number;
      const revision = w.insert('form_revisions', {
        ...stamp(library),
        formId: form.id,
        revision: last + 1,
        scanId: made.scanId,
        recipe: made.recipe,
        steps: made.steps,
        programVersion: made.programVersion,
        meshSha256: storeBlob(library, blob),
        faceCount: made.mesh.triangles.length / 3,
      });
      return { form, revision };
    });
  });
}

/** Every making of a form, oldest first. */
export const revisionsOf = (library: Library, formId: string): FormRevision[] =>
  allOf(library, 'form_revisions', 'WHERE form_id = ?', formId).sort((a, b) => a.revision - b.revision);

export function addLiner(library: Library, liner: New<Liner, 'meshSha256'> & { mesh: Mesh }): Outcome<Liner> {
  return attempt(library.path, () => {
    const { mesh, ...rest } = liner;
    const blob = packBlob(encodeMesh(mesh));
    return change(library, 'make a liner', (w) =>
      w.insert('liners', { ...stamp(library), ...rest, meshSha256: storeBlob(library, blob) }),
    );
  });
}

export function addProject(library: Library, project: New<Project>): Outcome<Project> {
  return attempt(library.path, () =>
    change(library, 'start a project', (w) => w.insert('projects', { ...stamp(library), ...project })),
  );
}

/** Use a form in a project: a reference, not a copy. Doing it twice changes nothing. */
export function useForm(library: Library, projectId: string, formId: string): Outcome<void> {
  return attempt(library.path, () => {
    readRecord(library, 'projects', projectId);
    readRecord(library, 'forms', formId);
    const text = 'SELECT 1 FROM project_forms WHERE project_id = ? AND form_id = ?';
    if (library.db.prepare(text).get(projectId, formId) !== undefined) return;
    change(library, 'use a form in a project', (w) =>
      w.insert('project_forms', { id: randomUUID(), projectId, formId }),
    );
  });
}

/** A part as its file came; with the sized mesh beside it where its size was found at once. */
export function addPart(
  library: Library,
  part: New<Part, 'originalSha256' | 'madeSha256'> & { bytes: Uint8Array; mesh?: Mesh },
): Outcome<Part> {
  return attempt(library.path, () => {
    const { bytes, mesh, ...rest } = part;
    const blob = packBlob(bytes);
    const sized = mesh === undefined ? undefined : packBlob(encodeMesh(mesh));
    return change(library, 'add a part', (w) =>
      w.insert('parts', {
        ...stamp(library),
        ...rest,
        originalSha256: storeBlob(library, blob),
        ...(sized === undefined ? {} : { madeSha256: storeBlob(library, sized) }),
      }),
    );
  });
}

export function addTrial(library: Library, trial: New<RecordOf<'trials'>>): Outcome<RecordOf<'trials'>> {
  return attempt(library.path, () =>
    change(library, 'try a part on a form', (w) => w.insert('trials', { ...stamp(library), ...trial })),
  );
}

export function addTicket(library: Library, ticket: New<Ticket>): Outcome<Ticket> {
  return attempt(library.path, () =>
    change(library, 'start a ticket', (w) => {
      const scan = readRecord(library, 'scans', ticket.scanId);
      if (scan.wearerId !== ticket.wearerId) refuse('store.no-record', { kind: 'scan', id: ticket.scanId });
      return w.insert('tickets', { ...stamp(library), ...ticket });
    }),
  );
}

/** Change what has been decided; `label` says in words what undo would take back. */
export function editTicket(
  library: Library,
  id: string,
  edits: Partial<Pick<Ticket, 'name' | 'draft' | 'formId'>>,
  label: string,
): Outcome<Ticket> {
  return attempt(library.path, () =>
    change(library, label, (w) => {
      const next = { ...readRecord(library, 'tickets', id), ...edits };
      w.update('tickets', next);
      return next;
    }),
  );
}
