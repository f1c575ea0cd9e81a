/** The whole check of a library: structure, references, and every blob against its checksum. */
import type { Outcome } from '../../shared-types/outcome.ts';
import { readBlob } from './blobs.ts';
import type { Library } from './connection.ts';
import { unusedBlobs } from './privacy.ts';
import { attempt, StoreTrouble } from './trouble.ts';

export interface CheckReport {
  readonly structure: readonly string[];
  readonly brokenReferences: number;
  readonly blobs: number;
  /** Addresses of blobs that no longer read back. */
  readonly damagedBlobs: readonly string[];
  /** Blobs that nothing needs any more, and bytes of the file in free pages: tidying removes both. */
  readonly unusedBlobs: number;
  readonly freeBytes: number;
  readonly sound: boolean;
}

/** Reads everything: O(bytes of the library). `step` is called after each blob. */
export function checkLibrary(
  library: Library,
  step: (done: number, total: number) => void = () => {},
): Outcome<CheckReport> {
  return attempt(library.path, () => {
    const rows = library.db.pragma('integrity_check(20)') as { integrity_check: string }[];
    const structure = rows.map((row) => row.integrity_check).filter((text) => text !== 'ok');
    const brokenReferences = (library.db.pragma('foreign_key_check') as unknown[]).length;
    const addresses = library.db.prepare('SELECT sha256 FROM blobs ORDER BY sha256').pluck().all() as string[];
    const damagedBlobs: string[] = [];
    for (const [index, sha256] of addresses.entries()) {
      try {
        readBlob(library, sha256);
      } catch (error) {
        if (!(error instanceof StoreTrouble)) throw error;
        damagedBlobs.push(sha256);
      }
      step(index + 1, addresses.length);
    }
    const sound = structure.length === 0 && brokenReferences === 0 && damagedBlobs.length === 0;
    const number = (name: string): number => library.db.pragma(name, { simple: true }) as number;
    const freeBytes = number('freelist_count') * number('page_size');
    const unused = unusedBlobs(library).length;
    return {
      structure,
      brokenReferences,
      blobs: addresses.length,
      damagedBlobs,
      unusedBlobs: unused,
      freeBytes,
      sound,
    };
  });
}
