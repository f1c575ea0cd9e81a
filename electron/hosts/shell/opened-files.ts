/** Files given to the program from outside its window: on the command line, by a double click, dropped on its icon. */
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename, extname, resolve } from 'node:path';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { Receive } from '../../services/conversation.ts';

export const LIBRARY_ENDING = 'wearwright';
export const SCAN_ENDINGS = ['obj', 'stl', 'ply', 'glb', 'gltf', '3mf', 'zip'];
export const LARGEST_SCAN_BYTES = 2 ** 31;

export function isLibrary(path: string): boolean {
  return extname(path).toLowerCase() === `.${LIBRARY_ENDING}`;
}

/**
 * The libraries and scans named among a command line's words, as absolute paths. Switches, the program itself and
 * words of other kinds are passed over, since the system and the browser engine put words of their own there.
 */
export function filesIn(words: readonly string[], folder: string): string[] {
  return words
    .slice(1)
    .filter((word) => !word.startsWith('-') && !word.includes('\0'))
    .filter((word) => isLibrary(word) || SCAN_ENDINGS.includes(extname(word).slice(1).toLowerCase()))
    .map((word) => resolve(folder, word));
}

/** The library named by `--library FILE` or `--library=FILE`, whatever its ending. */
export function libraryIn(words: readonly string[], folder: string): string | undefined {
  const at = words.findIndex((word) => word === '--library' || word.startsWith('--library='));
  const word = words[at];
  const named = word === '--library' ? words[at + 1] : word?.slice('--library='.length);
  return named === undefined || named === '' ? undefined : resolve(folder, named);
}

/** Streams a scan on disk to the program. Only a plain file of bearable size; what goes wrong is a fault. */
export async function receivePath(
  receive: Receive,
  path: string,
  name: string = basename(path),
): Promise<Outcome<{ readonly upload: string; readonly byteCount: number }>> {
  const found = await stat(path).catch((error: NodeJS.ErrnoException) => error);
  if (found instanceof Error) {
    if (found.code === 'ENOENT') return failed(fault('file.missing', { path }));
    return failed(fault('file.unreadable', { path, reason: found.code ?? found.message }));
  }
  if (!found.isFile()) return failed(fault('file.unreadable', { path, reason: 'it is not a file' }));
  if (found.size >= LARGEST_SCAN_BYTES) {
    return failed(fault('file.too-large', { path, gib: Number((found.size / 2 ** 30).toFixed(1)) }));
  }
  try {
    const received = await receive(name, createReadStream(path));
    return received.ok ? done({ ...received.value, byteCount: found.size }, received.warnings) : received;
  } catch (error) {
    const reason = (error as NodeJS.ErrnoException).code ?? 'it could not be read to its end';
    return failed(fault('file.unreadable', { path, reason }));
  }
}
