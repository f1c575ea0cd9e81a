/** What a file is, told from its first bytes. */
import { closeSync, openSync, readSync } from 'node:fs';

/** "WRWT" in the file's header (SQLite file format, offset 68). */
export const APPLICATION_ID = 0x57525754;
const HEADER_BYTES = 100;

/** What a file is, from its first bytes, without letting SQLite near it. */
export function recogniseFile(path: string): 'library' | { readonly looksLike: string } {
  const head = Buffer.alloc(HEADER_BYTES);
  const handle = openSync(path, 'r');
  let count: number;
  try {
    count = readSync(handle, head, 0, HEADER_BYTES, 0);
  } finally {
    closeSync(handle);
  }
  if (count === 0) return { looksLike: 'an empty file' };
  if (head.toString('latin1', 0, 16) !== 'SQLite format 3\0') {
    if (head.toString('latin1', 0, 2) === 'PK') return { looksLike: 'a zip' };
    return { looksLike: 'a file of another kind, or one damaged at its very start' };
  }
  if (count < HEADER_BYTES) return { looksLike: 'a database cut short' };
  return head.readUInt32BE(68) === APPLICATION_ID ? 'library' : { looksLike: 'a database of another program' };
}
