/** Writing results: whole or not at all, and never over what was read. */
import { closeSync, fsyncSync, mkdirSync, openSync, renameSync, rmSync, statSync, writeSync } from 'node:fs';
import { basename, dirname, extname, join } from 'node:path';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { MESH_EXTENSIONS } from '../../formats/index.ts';

const TROUBLES: Readonly<Record<string, string>> = {
  ENOENT: 'the folder does not exist',
  ENOTDIR: 'part of its path is not a folder',
  EACCES: 'no permission',
  EPERM: 'no permission',
  EROFS: 'the disk is read-only',
  ENOSPC: 'the disk is full',
  EDQUOT: 'the quota is used up',
  EISDIR: 'there is a folder of that name',
  EEXIST: 'there is a file of that name',
};

function unwritable(path: string, error: unknown): Outcome<never> {
  const { code = 'unknown reason' } = error as NodeJS.ErrnoException;
  return failed(fault('file.unwritable', { path, reason: TROUBLES[code] ?? code }));
}

/** Before any work: is the target a kind we write, in a folder that exists, and none of the files being read? */
export function checkTarget(out: string, sources: readonly string[]): Outcome<void> {
  const extension = extname(out).slice(1).toLowerCase();
  if (MESH_EXTENSIONS[extension] === undefined || extension === 'gltf') {
    return failed(fault('file.unknown-target', { name: out }));
  }
  try {
    if (!statSync(dirname(out)).isDirectory()) return unwritable(out, { code: 'ENOTDIR' });
  } catch (error) {
    return unwritable(out, error);
  }
  const there = statSync(out, { throwIfNoEntry: false, bigint: true });
  if (there === undefined) return done(undefined);
  if (there.isDirectory()) return unwritable(out, { code: 'EISDIR' });
  // By what the disk says, not by spelling: links and letter case must not fool it.
  for (const source of sources) {
    const one = statSync(source, { throwIfNoEntry: false, bigint: true });
    if (one !== undefined && one.ino === there.ino && one.dev === there.dev) {
      return failed(fault('file.own-input', { path: out }));
    }
  }
  return done(undefined);
}

/** Before any work: can the folder be there? */
export function checkFolder(out: string): Outcome<void> {
  const there = statSync(out, { throwIfNoEntry: false });
  if (there !== undefined) return there.isDirectory() ? done(undefined) : unwritable(out, { code: 'EEXIST' });
  const parent = statSync(dirname(out), { throwIfNoEntry: false });
  return parent?.isDirectory() === true ? done(undefined) : unwritable(out, { code: 'ENOENT' });
}

/** Each file whole, into a folder that is made if it is not there. All bytes are at hand before the first is written. */
export function writeFolder(
  out: string,
  files: readonly { readonly name: string; readonly bytes: Uint8Array }[],
): Outcome<void> {
  try {
    mkdirSync(out, { recursive: true });
  } catch (error) {
    return unwritable(out, error);
  }
  for (const { name, bytes } of files) {
    if (basename(name) !== name) throw new Error(`"${name}" is no plain file name`);
    const written = writeWhole(join(out, name), bytes);
    if (!written.ok) return written;
  }
  return done(undefined);
}

/** Write beside the target, flush, then take its name: a reader sees the old file or the whole new one. */
export function writeWhole(out: string, bytes: Uint8Array): Outcome<void> {
  const part = join(dirname(out), `.${basename(out)}.${process.pid}.part`);
  try {
    const file = openSync(part, 'w');
    try {
      for (let at = 0; at < bytes.length; ) at += writeSync(file, bytes, at, bytes.length - at);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    renameSync(part, out);
    return done(undefined);
  } catch (error) {
    rmSync(part, { force: true });
    return unwritable(out, error);
  }
}
