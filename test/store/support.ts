/** A library in a fresh temporary folder, and unwrapping of outcomes. */
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { openLibrary, type Library, type OpenOptions } from '../../electron/store/connection.ts';

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});

export function freshFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-store-'));
  folders.push(folder);
  return folder;
}

export function good<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return outcome.value;
}

/** The code of a fault, or 'ok'. */
export function codeOf(outcome: Outcome<unknown>): string {
  return outcome.ok ? 'ok' : outcome.fault.code;
}

export function freshLibrary(options: OpenOptions = {}): Library {
  return good(openLibrary(join(freshFolder(), 'shelf.wearwright'), { create: true, ...options }));
}

/** A tetrahedron: the store does not care about shape. */
export const TETRAHEDRON: Mesh = {
  positions: Float64Array.of(0, 0, 0, 100, 0, 0, 0, 100.5, 0, 0, 0, 99.1),
  triangles: Uint32Array.of(0, 2, 1, 0, 1, 3, 1, 2, 3, 0, 3, 2),
};

/** Every row of every table, to compare states. */
export function dump(library: Library): string {
  const tables = library.db
    .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name")
    .pluck()
    .all() as string[];
  const plain = (row: Record<string, unknown>): unknown[] =>
    Object.values(row).map((value) =>
      value instanceof Buffer ? createHash('sha256').update(value).digest('hex') : value,
    );
  return JSON.stringify(
    tables.map((table) => [
      table,
      (library.db.prepare(`SELECT * FROM ${table} ORDER BY 1, 2`).all() as Record<string, unknown>[]).map(plain),
    ]),
  );
}
