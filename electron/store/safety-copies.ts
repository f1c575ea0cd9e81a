/**
 * Safety copies: whole libraries beside the library, each verified before it counts. Made with VACUUM INTO, which
 * copies one consistent moment while others go on working and, unlike a copy of pages, carries no free pages along,
 * so nothing that was forgotten travels with it.
 */
import {
  closeSync,
  copyFileSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import Database from 'better-sqlite3';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import { recogniseFile } from './recognise.ts';
import { LATEST_VERSION } from './migrations/index.ts';
import { attempt, faultOf, refuse } from './trouble.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';

/** Rolling copies kept; copies made before a migration or a restore are never removed by the program. */
export const ROLLING_COPIES = 7;

export interface SafetyCopy {
  readonly path: string;
  readonly reason: string;
  readonly byteCount: number;
}

export function copiesFolder(libraryPath: string): string {
  return `${libraryPath}.copies`;
}

function syncFile(path: string): void {
  const handle = openSync(path, 'r+');
  fsyncSync(handle);
  closeSync(handle);
}

/** A copied or renamed file is only there for good once its folder is. Not every system can sync a folder. */
function syncFolder(path: string): void {
  if (process.platform === 'win32') return;
  const handle = openSync(path, 'r');
  fsyncSync(handle);
  closeSync(handle);
}

/** Why a copy cannot be trusted, or undefined. Full integrity and reference check: O(file). */
export function complaintAbout(path: string): string | undefined {
  let db: Database.Database | undefined;
  try {
    const kind = recogniseFile(path);
    if (kind !== 'library') return `it looks like ${kind.looksLike}`;
    db = new Database(path, { readonly: true });
    const version = db.pragma('user_version', { simple: true }) as number;
    if (version > LATEST_VERSION) return `it is from a newer version, ${version}`;
    const rows = db.pragma('integrity_check(3)') as { integrity_check: string }[];
    const bad = rows.find((row) => row.integrity_check !== 'ok');
    if (bad !== undefined) return bad.integrity_check;
    return (db.pragma('foreign_key_check') as unknown[]).length > 0 ? 'references lead nowhere' : undefined;
  } catch (error) {
    const trouble = faultOf(error, path);
    if (trouble === undefined) throw error;
    return faultSentence(trouble);
  } finally {
    db?.close();
  }
}

function freeName(folder: string, stem: string): string {
  for (let count = 0; ; count++) {
    const path = join(folder, `${stem}${count === 0 ? '' : `-${count}`}.wearwright`);
    if (!existsSync(path)) return path;
  }
}

/** Write and verify a copy; throws StoreTrouble. */
export function writeCopy(db: Database.Database, libraryPath: string, reason: string): string {
  const folder = copiesFolder(libraryPath);
  mkdirSync(folder, { recursive: true });
  const stamp = new Date().toISOString().replace(/[:.]/g, '-');
  const target = freeName(folder, `${stamp}_${reason}`);
  const partial = `${target}.partial`;
  try {
    db.prepare('VACUUM INTO ?').run(partial);
    const complaint = complaintAbout(partial);
    if (complaint !== undefined) refuse('store.copy-bad', { path: target, reason: complaint });
    syncFile(partial);
    renameSync(partial, target);
    syncFolder(folder);
  } finally {
    rmSync(partial, { force: true });
  }
  return target;
}

/** The copies of a library, newest first. */
export function listCopies(libraryPath: string): SafetyCopy[] {
  const folder = copiesFolder(libraryPath);
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .filter((name) => name.endsWith('.wearwright'))
    .sort()
    .reverse()
    .map((name) => ({
      path: join(folder, name),
      reason: name
        .slice(name.indexOf('_') + 1)
        .replace(/\.wearwright$/, '')
        .replace(/-\d+$/, ''),
      byteCount: statSync(join(folder, name)).size,
    }));
}

/** Make a rolling copy, verify it, then let the oldest rolling ones go. */
export function makeSafetyCopy(library: { path: string; db: Database.Database }): Outcome<string> {
  return attempt(library.path, () => {
    const path = writeCopy(library.db, library.path, 'rolling');
    const rolling = listCopies(library.path).filter((copy) => copy.reason === 'rolling');
    for (const old of rolling.slice(ROLLING_COPIES)) rmSync(old.path);
    return path;
  });
}

/** A day's work is the most that a lost file should cost. */
export const COPY_EVERY_HOURS = 24;

/**
 * Make a rolling copy when the library has records and its newest copy is older than a day; to be called after work
 * worth keeping. The path, or undefined when none was due.
 */
export function makeCopyIfDue(library: {
  path: string;
  db: Database.Database;
  now: () => string;
}): Outcome<string | undefined> {
  const newest = listCopies(library.path)[0];
  const made = newest === undefined ? 0 : momentOf(basename(newest.path));
  if (Date.parse(library.now()) - made < COPY_EVERY_HOURS * 3_600_000) return done(undefined);
  const anyone = library.db.prepare('SELECT 1 FROM wearers LIMIT 1').get();
  return anyone === undefined ? done(undefined) : makeSafetyCopy(library);
}

/** A copy's name begins with the moment it was made, with dashes where a file name may not have colons. */
function momentOf(name: string): number {
  const [, day, hours, minutes, seconds] = /^(\d{4}-\d\d-\d\d)T(\d\d)-(\d\d)-(\d\d)/.exec(name) ?? [];
  return day === undefined ? 0 : Date.parse(`${day}T${hours}:${minutes}:${seconds}Z`);
}

/** Delete safety copies, as a person has asked for; those that are gone already count as deleted. */
export function deleteCopies(libraryPath: string, paths: readonly string[]): Outcome<void> {
  return attempt(libraryPath, () => {
    const own = new Set(listCopies(libraryPath).map((copy) => copy.path));
    for (const path of paths) if (own.has(path)) rmSync(path, { force: true });
    syncFolder(copiesFolder(libraryPath));
  });
}

/**
 * Put a verified copy in the library's place. What was there is moved aside under a new name, never deleted.
 * No program may have the library open. Returns where the old file went, if there was one.
 */
export function restoreCopy(libraryPath: string, copyPath: string): Outcome<{ readonly setAside?: string }> {
  return attempt(libraryPath, () => {
    if (!existsSync(copyPath)) refuse('store.missing', { path: copyPath });
    const complaint = complaintAbout(copyPath);
    if (complaint !== undefined) refuse('store.copy-bad', { path: copyPath, reason: complaint });
    const fresh = `${libraryPath}.restoring`;
    rmSync(fresh, { force: true });
    copyFileSync(copyPath, fresh);
    syncFile(fresh);
    let setAside: string | undefined;
    if (existsSync(libraryPath)) {
      refuseIfHeld(libraryPath);
      const stamp = new Date().toISOString().replace(/[:.]/g, '-');
      setAside = freeName(dirname(libraryPath), `${basename(libraryPath)}.set-aside-${stamp}`);
      // The log first: without its library it is harmless, but an old log beside a new library would not be.
      for (const tail of ['-wal', '-shm', '']) {
        if (existsSync(libraryPath + tail)) renameSync(libraryPath + tail, setAside + tail);
      }
    }
    renameSync(fresh, libraryPath);
    syncFolder(dirname(libraryPath));
    return setAside === undefined ? {} : { setAside };
  });
}

/** In WAL mode nobody else may hold the file if it can be put into exclusive mode. A damaged file cannot tell. */
function refuseIfHeld(path: string): void {
  if (recogniseFile(path) !== 'library') return;
  let db: Database.Database | undefined;
  try {
    db = new Database(path, { timeout: 200 });
    db.pragma('locking_mode = EXCLUSIVE');
    db.exec('BEGIN EXCLUSIVE; COMMIT');
  } catch (error) {
    const trouble = faultOf(error, path);
    if (trouble?.code === 'store.busy') refuse('store.busy', { path, seconds: 0.2 });
  } finally {
    db?.close();
  }
}
