/**
 * Forgetting a wearer, and the passphrase. Both end with a rebuilt file (VACUUM) and an emptied log, so that nothing of
 * what was removed or was readable stays in free pages. What the disk itself keeps of overwritten sectors (a solid-state
 * drive's spare blocks, a file system's snapshots) is beyond a program's reach.
 */
import Database from 'better-sqlite3';
import type { Outcome } from '../../shared-types/outcome.ts';
import { rekeyBlobs } from './blobs.ts';
import type { Library } from './connection.ts';
import { fromRow, readRecord, toRow } from './ledger.ts';
import { listCopies } from './safety-copies.ts';
import { newLock, openLock, wrapKey, type LockRow } from './sealing.ts';
import { TABLES, type Row, type TableName } from './tables.ts';
import { attempt, refuse } from './trouble.ts';

export const PASSPHRASE_LEAST = 12;

/** Rows of a wearer, children first; `@wearerId` is the wearer's id. */
const FORMS = 'SELECT id FROM forms WHERE wearer_id = @wearerId';
const REVISIONS = `SELECT id FROM form_revisions WHERE form_id IN (${FORMS})`;
const LINERS = `SELECT id FROM liners WHERE form_revision_id IN (${REVISIONS})`;
const FITTINGS = `SELECT id FROM fittings WHERE form_id IN (${FORMS})`;
const MAKING = `form_revision_id IN (${REVISIONS}) OR liner_id IN (${LINERS}) OR fitting_id IN (${FITTINGS})`;
const OF_WEARER: readonly (readonly [TableName, string])[] = [
  ['making_files', `making_id IN (SELECT id FROM makings WHERE ${MAKING})`],
  ['makings', MAKING],
  ['plans', `form_id IN (${FORMS}) OR liner_id IN (${LINERS}) OR fitting_id IN (${FITTINGS})`],
  ['fittings', `form_id IN (${FORMS})`],
  ['trials', `form_revision_id IN (${REVISIONS})`],
  ['liners', `form_revision_id IN (${REVISIONS})`],
  ['form_revisions', `form_id IN (${FORMS})`],
  ['project_forms', `form_id IN (${FORMS})`],
  ['tickets', 'wearer_id = @wearerId'],
  ['forms', 'wearer_id = @wearerId'],
  ['landmarks', 'scan_id IN (SELECT id FROM scans WHERE wearer_id = @wearerId)'],
  ['scans', 'wearer_id = @wearerId'],
  ['readings', 'wearer_id = @wearerId'],
  ['jobs', 'wearer_id = @wearerId'],
  ['wearers', 'id = @wearerId'],
];

export interface ForgetPlan {
  readonly name: string;
  /** Rows that go, by table. */
  readonly rows: Readonly<Record<string, number>>;
  /** Steps of undo that go: the history is cut, since it holds what the records held. */
  readonly historySteps: number;
  /** Safety copies that still hold this wearer afterwards, and copies that could not be read to tell. */
  readonly copiesHolding: readonly string[];
  readonly copiesUnread: readonly string[];
}

function copiesWith(path: string, wearerId: string): { holding: string[]; unread: string[] } {
  const holding: string[] = [];
  const unread: string[] = [];
  for (const copy of listCopies(path)) {
    let db: Database.Database | undefined;
    try {
      db = new Database(copy.path, { readonly: true });
      if (db.prepare('SELECT 1 FROM wearers WHERE id = ?').get(wearerId) !== undefined) holding.push(copy.path);
    } catch {
      unread.push(copy.path);
    } finally {
      db?.close();
    }
  }
  return { holding, unread };
}

/** What `forget` would remove. Changes nothing. */
export function planForget(library: Library, wearerId: string): Outcome<ForgetPlan> {
  return attempt(library.path, () => {
    const { name } = readRecord(library, 'wearers', wearerId);
    const rows: Record<string, number> = {};
    for (const [table, where] of OF_WEARER) {
      rows[table] = library.db
        .prepare(`SELECT count(*) FROM ${table} WHERE ${where}`)
        .pluck()
        .get({ wearerId }) as number;
    }
    const historySteps = library.db.prepare('SELECT count(*) FROM changes').pluck().get() as number;
    const { holding, unread } = copiesWith(library.path, wearerId);
    return { name, rows, historySteps, copiesHolding: holding, copiesUnread: unread };
  });
}

/** Blobs that no record and no step of history needs. O(records and history). */
export function unusedBlobs(library: Library): string[] {
  const { db } = library;
  const inHistory = new Set<string>();
  for (const text of db
    .prepare(`SELECT coalesce(before, '') || coalesce(after, '') FROM change_rows`)
    .pluck()
    .iterate() as Iterable<string>) {
    for (const [hash] of text.matchAll(/[0-9a-f]{64}/g)) inHistory.add(hash);
  }
  const unused = db
    .prepare(
      `SELECT sha256 FROM blobs b WHERE
        NOT EXISTS (SELECT 1 FROM scans WHERE original_sha256 = b.sha256) AND
        NOT EXISTS (SELECT 1 FROM parts WHERE original_sha256 = b.sha256 OR made_sha256 = b.sha256) AND
        NOT EXISTS (SELECT 1 FROM making_files WHERE sha256 = b.sha256) AND
        NOT EXISTS (SELECT 1 FROM form_revisions WHERE mesh_sha256 = b.sha256) AND
        NOT EXISTS (SELECT 1 FROM liners WHERE mesh_sha256 = b.sha256)`,
    )
    .pluck()
    .all() as string[];
  return unused.filter((sha256) => !inHistory.has(sha256));
}

/** Remove the unused blobs. Inside a transaction. */
function sweepBlobs(library: Library): number {
  const { db } = library;
  const gone = unusedBlobs(library);
  library.beforeWrite();
  const drop = db.prepare('DELETE FROM blobs WHERE sha256 = ?');
  for (const sha256 of gone) drop.run(sha256);
  return gone.length;
}

/** Rebuild the file without free pages and empty the log. */
function scour(library: Library): void {
  library.db.exec('VACUUM');
  const [state] = library.db.pragma('wal_checkpoint(TRUNCATE)') as { busy: number }[];
  // Another program is reading: the old pages would stay in the log.
  if (state?.busy !== 0) refuse('store.busy', { path: library.path, seconds: 5 });
}

/**
 * Remove a wearer with everything that hangs on them, and all history of changes. Not undoable. If another program
 * holds the library, the records are gone but their bytes may linger: the fault says busy, and `tidyLibrary` finishes.
 */
export function forgetWearer(library: Library, wearerId: string): Outcome<ForgetPlan> {
  const plan = planForget(library, wearerId);
  if (!plan.ok) return plan;
  return attempt(library.path, () => {
    const { db } = library;
    db.transaction(() => {
      library.beforeWrite();
      db.prepare('DELETE FROM changes').run();
      db.pragma('defer_foreign_keys = ON');
      for (const [table, where] of OF_WEARER) {
        library.beforeWrite();
        db.prepare(`DELETE FROM ${table} WHERE ${where}`).run({ wearerId });
      }
      sweepBlobs(library);
    }).immediate();
    scour(library);
    return plan.value;
  });
}

export interface Tidied {
  readonly blobsRemoved: number;
  readonly bytesBefore: number;
  readonly bytesAfter: number;
}

const sizeOf = ({ db }: Library): number =>
  (db.pragma('page_count', { simple: true }) as number) * (db.pragma('page_size', { simple: true }) as number);

/**
 * Remove stored bytes that no record and no step of undo needs, and rebuild the file without free pages; also ends a
 * forgetting that another program held up. O(file).
 */
export function tidyLibrary(library: Library): Outcome<Tidied> {
  return attempt(library.path, () => {
    const bytesBefore = sizeOf(library);
    const blobsRemoved = library.db.transaction(() => sweepBlobs(library)).immediate();
    scour(library);
    return { blobsRemoved, bytesBefore, bytesAfter: sizeOf(library) };
  });
}

/** Write every personal field and blob anew under another key (or none). */
function rekey(library: Library, next: Buffer | undefined): void {
  const { db } = library;
  // History holds rows as they were sealed or plain before.
  db.prepare('DELETE FROM changes').run();
  rekeyBlobs(library, next);
  const other = { ...library, key: next };
  for (const name of Object.keys(TABLES) as TableName[]) {
    const columns = (TABLES[name].sealed as readonly string[]).map((field) =>
      field.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`),
    );
    if (columns.length === 0) continue;
    const put = db.prepare(`UPDATE ${name} SET ${columns.map((c) => `${c} = @${c}`).join(', ')} WHERE id = @id`);
    for (const row of db.prepare(`SELECT * FROM ${name}`).all() as Row[]) {
      const fresh = toRow(other, name, fromRow(library, name, row));
      library.beforeWrite();
      put.run(Object.fromEntries([...columns, 'id'].map((column) => [column, fresh[column] ?? null])));
    }
  }
}

/**
 * Set a passphrase: seals every blob and personal field, and cuts the history. Measured lengths, dates and the names of
 * readings stay readable in the file, without the person they belong to. Returns the safety copies from before, which
 * are still readable by anyone.
 */
export function setPassphrase(library: Library, passphrase: string, cost?: number): Outcome<readonly string[]> {
  return attempt(library.path, () => {
    if (library.key !== undefined) refuse('store.already-locked', {});
    if (passphrase.length < PASSPHRASE_LEAST) refuse('store.weak-passphrase', { least: PASSPHRASE_LEAST });
    const { row, key } = newLock(passphrase, cost);
    library.db
      .transaction(() => {
        rekey(library, key);
        library.beforeWrite();
        library.db
          .prepare(
            `INSERT INTO lock (only, salt, cost, block_size, parallel, wrapped_key)
             VALUES (1, @salt, @cost, @block_size, @parallel, @wrapped_key)`,
          )
          .run(row);
      })
      .immediate();
    library.key = key;
    library.lockChanged();
    scour(library);
    return listCopies(library.path).map((copy) => copy.path);
  });
}

/**
 * Change the passphrase: the same library key is wrapped anew, in one small transaction, so a crash leaves the old
 * passphrase or the new one, never neither. Copies of the file from before still open with the old one. Where the old
 * one has become known to others, take it off and set another instead: that makes a new key. Returns those copies.
 */
export function changePassphrase(
  library: Library,
  old: string,
  next: string,
  cost?: number,
): Outcome<readonly string[]> {
  return attempt(library.path, () => {
    const { db } = library;
    const row = db.prepare('SELECT * FROM lock').get() as LockRow | undefined;
    if (row === undefined) refuse('store.not-locked', { path: library.path });
    const key = openLock(old, row) ?? refuse('store.wrong-passphrase', { path: library.path });
    if (next.length < PASSPHRASE_LEAST) refuse('store.weak-passphrase', { least: PASSPHRASE_LEAST });
    const fresh = wrapKey(next, key, cost);
    db.transaction(() => {
      library.beforeWrite();
      db.prepare(
        `UPDATE lock SET salt = @salt, cost = @cost, block_size = @block_size, parallel = @parallel,
         wrapped_key = @wrapped_key WHERE only = 1`,
      ).run(fresh);
    }).immediate();
    library.lockChanged();
    // The old wrapping must not stay in the log. Somebody reading may put that off; closing does it then.
    db.pragma('wal_checkpoint(TRUNCATE)');
    return listCopies(library.path).map((copy) => copy.path);
  });
}

/** Take the passphrase off again; needs it once more. */
export function removePassphrase(library: Library, passphrase: string): Outcome<void> {
  return attempt(library.path, () => {
    const row = library.db.prepare('SELECT * FROM lock').get() as LockRow | undefined;
    if (row === undefined) return;
    if (openLock(passphrase, row) === undefined) refuse('store.wrong-passphrase', { path: library.path });
    library.db
      .transaction(() => {
        rekey(library, undefined);
        library.beforeWrite();
        library.db.prepare('DELETE FROM lock').run();
      })
      .immediate();
    library.key = undefined;
    library.lockChanged();
    scour(library);
  });
}
