import { readFileSync, statSync } from 'node:fs';
import { basename } from 'node:path';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { createRun, type RunHooks } from '../../shared-types/progress.ts';
import { readMesh } from '../formats/index.ts';
import { READ_PHASES } from '../formats/read-mesh.ts';
import type { InputMesh } from '../operations/operation.ts';

/** The largest buffer a file is read into at once; no phone scan comes near it. */
export const LARGEST_FILE_BYTES = 2 ** 31;

/** A file's bytes, or the fault of not having them. */
export function readBytes(path: string): Outcome<Uint8Array> {
  try {
    const size = statSync(path).size;
    if (size > LARGEST_FILE_BYTES) {
      return failed(fault('file.too-large', { path, gib: Math.round((size / 2 ** 30) * 10) / 10 }));
    }
    return done(readFileSync(path));
  } catch (error) {
    const { code = 'unknown reason' } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'ENOTDIR') return failed(fault('file.missing', { path }));
    const reason = READING_TROUBLES[code] ?? code;
    return failed(fault('file.unreadable', { path, reason }));
  }
}

const READING_TROUBLES: Readonly<Record<string, string>> = {
  EISDIR: 'it is a folder',
  EACCES: 'no permission',
  EPERM: 'no permission',
  EBUSY: 'it is in use',
  EMFILE: 'too many files are open',
};

/** Read a mesh file for an operation; faults name the file. */
export function readInputFile(path: string, hooks: RunHooks): Outcome<InputMesh> {
  const bytes = readBytes(path);
  return bytes.ok ? readInputBytes(bytes.value, basename(path), path, hooks) : bytes;
}

/** Read the bytes of a mesh file; faults say they are at `path`. */
export function readInputBytes(bytes: Uint8Array, name: string, path: string, hooks: RunHooks): Outcome<InputMesh> {
  const outcome = readMesh(bytes, name, createRun(READ_PHASES, hooks));
  if (!outcome.ok) {
    const inner = outcome.fault.where?.file;
    const file = inner === undefined ? path : `${path}, in it ${inner}`;
    return failed({ ...outcome.fault, where: { ...outcome.fault.where, file } });
  }
  const { mesh, unit, fromFile } = outcome.value;
  return done({ mesh, name, fromFile, ...(unit === undefined ? {} : { unit }) }, outcome.warnings);
}
