/** Whole accounts of our own mistakes, in a file of bounded size beside the program's other notes. */
import { appendFileSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { dirname } from 'node:path';

const MOST_BYTES = 1 << 20;

export type Log = (reference: string, account: string) => void;

/** Appends; at a megabyte the older half is put aside under `.old`, replacing the one before. */
export function logTo(file: string): Log {
  return (reference, account) => {
    try {
      mkdirSync(dirname(file), { recursive: true });
      if ((statSync(file, { throwIfNoEntry: false })?.size ?? 0) > MOST_BYTES) renameSync(file, `${file}.old`);
      appendFileSync(file, `${new Date().toISOString()} [${reference}] ${account}\n`);
    } catch {
      console.error(`[${reference}] ${account}`);
    }
  };
}
