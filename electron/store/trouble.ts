/** Expected trouble inside the store travels as one exception and becomes a Fault at the store's public edge. */
import Database from 'better-sqlite3';
import { fault, type Fault, type FaultCode, type FaultFacts } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';

export const BUSY_WAIT_MS = 5000;

export class StoreTrouble extends Error {
  readonly fault: Fault;
  constructor(trouble: Fault) {
    super(trouble.code);
    this.fault = trouble;
  }
}

export function refuse<C extends FaultCode>(code: C, facts: FaultFacts<C>): never {
  throw new StoreTrouble(fault(code, facts));
}

/** What the database or the file system complained of, as a fault; undefined when it is a bug of ours. */
export function faultOf(error: unknown, path: string): Fault | undefined {
  if (error instanceof StoreTrouble) return error.fault;
  if (!(error instanceof Error)) return undefined;
  const code = (error as { code?: unknown }).code;
  if (typeof code !== 'string') return undefined;
  if (error instanceof Database.SqliteError) {
    if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) {
      return fault('store.busy', { path, seconds: BUSY_WAIT_MS / 1000 });
    }
    if (code === 'SQLITE_FULL') return fault('store.full', { path });
    if (code.startsWith('SQLITE_READONLY') || code.startsWith('SQLITE_CANTOPEN') || code === 'SQLITE_PERM') {
      return fault('store.read-only', { path });
    }
    if (code.startsWith('SQLITE_CORRUPT') || code === 'SQLITE_NOTADB' || code === 'SQLITE_IOERR_SHORT_READ') {
      return fault('store.damaged', { path, reason: error.message });
    }
    if (code.startsWith('SQLITE_IOERR')) return fault('store.write-failed', { path, reason: error.message });
    return undefined;
  }
  if (code === 'ENOSPC') return fault('store.full', { path });
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') return fault('store.read-only', { path });
  if (code === 'ENOENT') return fault('store.missing', { path });
  if (/^E[A-Z]+$/.test(code)) return fault('store.write-failed', { path, reason: code });
  return undefined;
}

/** Whether the database refused a row because of others: one it names is not there, or one like it is. */
export const isContradiction = (error: unknown): boolean =>
  error instanceof Database.SqliteError && error.code.startsWith('SQLITE_CONSTRAINT');

/** Run store code; expected trouble becomes a value, a bug stays an exception. */
export function attempt<T>(path: string, work: () => T): Outcome<T> {
  try {
    return done(work());
  } catch (error) {
    const trouble = faultOf(error, path);
    if (trouble === undefined) throw error;
    return failed(trouble);
  }
}
