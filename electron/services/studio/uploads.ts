/** Files on their way from a screen into the library: in a folder of this start only, gone with it. */
import { randomBytes } from 'node:crypto';
import { createWriteStream, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { readBytes } from '../../jobs/read-input.ts';

export class Uploads {
  #folder: string | undefined;
  readonly #paths = new Map<string, string>();

  /** Take a file's bytes as they come; gives the handle by which `read` finds them. */
  async receive(fileName: string, body: AsyncIterable<Uint8Array>): Promise<Outcome<{ upload: string }>> {
    this.#folder ??= mkdtempSync(join(tmpdir(), 'wearwright-in-'));
    const upload = randomBytes(18).toString('base64url');
    const path = join(this.#folder, upload);
    try {
      await pipeline(Readable.from(body), createWriteStream(path, { mode: 0o600 }));
    } catch (error) {
      rmSync(path, { force: true });
      const { code, message } = error as NodeJS.ErrnoException;
      if (code === 'ENOSPC') return failed(fault('store.full', { path: this.#folder }));
      return failed(fault('file.unreadable', { path: fileName, reason: message }));
    }
    this.#paths.set(upload, path);
    return done({ upload });
  }

  /** The bytes; the file stays until it is put away, so that what went wrong can be tried again. */
  read(upload: string): Outcome<Uint8Array> {
    const path = this.#paths.get(upload);
    if (path === undefined) return failed(fault('store.no-record', { kind: 'received file', id: upload }));
    return readBytes(path);
  }

  putAway(upload: string): void {
    const path = this.#paths.get(upload);
    this.#paths.delete(upload);
    if (path !== undefined) rmSync(path, { force: true });
  }

  close(): void {
    if (this.#folder !== undefined) rmSync(this.#folder, { recursive: true, force: true });
    this.#folder = undefined;
    this.#paths.clear();
  }
}
