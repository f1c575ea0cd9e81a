/**
 * Opening a library: one SQLite file. Order matters: a file that is not ours is recognised from its first bytes and
 * never handed to SQLite, one from a newer program is never migrated, and an older one is copied, the copy verified,
 * before it is. Nothing here deletes or replaces a file.
 */
import { existsSync, rmSync } from 'node:fs';
import Database from 'better-sqlite3';
import type { Outcome } from '../../shared-types/outcome.ts';
import { LATEST_VERSION, MIGRATIONS } from './migrations/index.ts';
import { APPLICATION_ID, recogniseFile } from './recognise.ts';
import { writeCopy } from './safety-copies.ts';
import { openLock, type LockRow } from './sealing.ts';
import { attempt, BUSY_WAIT_MS, refuse } from './trouble.ts';

export interface Library {
  readonly path: string;
  readonly db: Database.Database;
  /** The library's key while a passphrase is set. */
  key: Buffer | undefined;
  /** Refuses where another program has set, changed or taken off the passphrase since: this key is not the file's. */
  checkLock: () => void;
  /** The passphrase was set, changed or taken off here. */
  lockChanged: () => void;
  readonly now: () => string;
  /** Tests make the n-th write fail here. */
  beforeWrite: () => void;
  close(): void;
}

export interface OpenOptions {
  /** Make the file when it is not there. */
  readonly create?: boolean;
  readonly passphrase?: string;
  /** Stop migrating here: only to make older files for tests. */
  readonly version?: number;
  readonly now?: () => string;
  readonly readonly?: boolean;
}

function migrate(db: Database.Database, path: string, target: number): void {
  const version = db.pragma('user_version', { simple: true }) as number;
  if (version >= target) return;
  if (version > 0) writeCopy(db, path, `before-version-${LATEST_VERSION}`);
  db.transaction(() => {
    // Two programs may start at once: the second finds the work done.
    const current = db.pragma('user_version', { simple: true }) as number;
    for (const migration of MIGRATIONS.slice(current, target)) {
      db.exec(migration.sql);
      db.pragma(`user_version = ${migration.number}`);
    }
    if ((db.pragma('foreign_key_check') as unknown[]).length > 0) throw new Error('migration broke references');
  }).immediate();
}

/** Complaints of SQLite's own check; empty when the file is whole. O(file). */
export function quickCheck(db: Database.Database): string[] {
  const rows = db.pragma('quick_check(3)') as { quick_check: string }[];
  return rows.map((row) => row.quick_check).filter((text) => text !== 'ok');
}

function processLives(id: number): boolean {
  try {
    process.kill(id, 0);
    return true;
  } catch (error) {
    return (error as { code?: string }).code === 'EPERM';
  }
}

/** Jobs whose process is gone were cut off by a crash. */
function markInterrupted(db: Database.Database, now: string): void {
  const running = db.prepare("SELECT id, process_id AS owner FROM jobs WHERE state = 'running'").all() as {
    id: string;
    owner: number;
  }[];
  const mark = db.prepare("UPDATE jobs SET state = 'interrupted', ended_at = ?, sentence = ? WHERE id = ?");
  for (const job of running) {
    if (!processLives(job.owner)) {
      mark.run(now, 'The program ended while this ran; nothing of it was kept. Run it again.', job.id);
    }
  }
}

function create(path: string): Database.Database {
  const db = new Database(path);
  // The id goes into the file before WAL mode, so that the header alone always tells whose file it is.
  db.pragma(`application_id = ${APPLICATION_ID}`);
  return db;
}

/**
 * Open (or make) a library. Faults: store.missing, foreign, newer, damaged, read-only, full, busy, locked,
 * wrong-passphrase. Checks the whole structure: O(file size).
 */
export function openLibrary(path: string, options: OpenOptions = {}): Outcome<Library> {
  let db: Database.Database | undefined;
  let made = false;
  const outcome = attempt(path, (): Library => {
    const target = options.version ?? LATEST_VERSION;
    if (!existsSync(path)) {
      if (options.create !== true) refuse('store.missing', { path });
      made = true;
      db = create(path);
    } else {
      const kind = recogniseFile(path);
      if (kind !== 'library') refuse('store.foreign', { path, looksLike: kind.looksLike });
      db = new Database(path, { readonly: options.readonly === true, timeout: BUSY_WAIT_MS });
    }
    db.pragma(`busy_timeout = ${BUSY_WAIT_MS}`);
    const version = db.pragma('user_version', { simple: true }) as number;
    if (version > LATEST_VERSION) refuse('store.newer', { path, version, ours: LATEST_VERSION });
    const complaints = quickCheck(db);
    if (complaints.length > 0) refuse('store.damaged', { path, reason: complaints[0] as string });
    db.pragma('foreign_keys = ON');
    // Zeroes what is deleted: a forgotten body does not stay behind in free pages.
    db.pragma('secure_delete = ON');
    const now = options.now ?? (() => new Date().toISOString());
    if (options.readonly !== true) {
      db.pragma('journal_mode = WAL');
      db.pragma('synchronous = FULL');
      migrate(db, path, target);
      if (target >= 3) markInterrupted(db, now());
    }
    const key = target >= 4 && version !== 0 ? unlock(db, path, options.passphrase) : undefined;
    const opened = db;
    return { path, db, key, ...watchLock(db, path), now, beforeWrite: () => {}, close: () => void opened.close() };
  });
  if (!outcome.ok) {
    db?.close();
    // Only what this very call made and could not finish.
    if (made) for (const tail of ['', '-wal', '-shm', '-journal']) rmSync(path + tail, { force: true });
  }
  return outcome;
}

function lockRow(db: Database.Database): LockRow | undefined {
  if ((db.pragma('user_version', { simple: true }) as number) < 4) return undefined;
  return db.prepare('SELECT * FROM lock').get() as LockRow | undefined;
}

/** SQLite counts what other connections have written; only then the lock is read again. */
function watchLock(db: Database.Database, path: string): Pick<Library, 'checkLock' | 'lockChanged'> {
  const lockNow = (): string => Buffer.from(lockRow(db)?.wrapped_key ?? []).toString('hex');
  const writtenNow = (): unknown => db.pragma('data_version', { simple: true });
  let [lock, written] = [lockNow(), writtenNow()];
  return {
    checkLock: () => {
      const now = writtenNow();
      if (now === written) return;
      if (lockNow() !== lock) refuse('store.lock-changed', { path });
      written = now;
    },
    lockChanged: () => void (lock = lockNow()),
  };
}

function unlock(db: Database.Database, path: string, passphrase: string | undefined): Buffer | undefined {
  const row = lockRow(db);
  if (row === undefined) return undefined;
  if (passphrase === undefined) refuse('store.locked', { path });
  return openLock(passphrase, row) ?? refuse('store.wrong-passphrase', { path });
}
