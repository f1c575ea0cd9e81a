/** A large library: 2,000 wearers with 10,000 forms; and keeping one scan. Sizes are wearers, or faces. */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeMesh } from '../../electron/formats/index.ts';
import { packBlob } from '../../electron/store/blobs.ts';
import { openLibrary, type Library } from '../../electron/store/connection.ts';
import { encodeMesh } from '../../electron/store/meshes.ts';
import * as records from '../../electron/store/records.ts';
import { shelfOf } from '../../electron/services/library.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { benchTask, type BenchTask } from './harness.ts';
import { headOf } from './heads.ts';

const FORMS_EACH = 5;

function good<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome.value;
}

function fresh(): Library {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-bench-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  return good(openLibrary(join(folder, 'shelf.wearwright'), { create: true }));
}

/** A library of `wearers`, five forms each, all of one mesh of 2,000 faces moved a little so that none is shared. */
function shelf(wearers: number): string {
  const library = fresh();
  library.db.pragma('synchronous = OFF');
  const { positions, triangles } = headOf(2000);
  for (let index = 0; index < wearers; index++) {
    const { id } = good(records.addWearer(library, { name: `Invented wearer ${index}` }));
    const scan = good(records.addScan(library, { wearerId: id, fileName: 's', bytes: Buffer.from(`scan ${index}`) }));
    for (let form = 0; form < FORMS_EACH; form++) {
      const moved = positions.map((x) => Math.fround(x + index * FORMS_EACH + form));
      const made = { wearerId: id, name: `form ${form}`, scanId: scan.id, recipe: {}, steps: [], programVersion: '0' };
      good(records.addFormRevision(library, { ...made, mesh: { positions: moved, triangles } }));
    }
  }
  library.close();
  return library.path;
}

export const tasks: readonly BenchTask[] = [
  benchTask({
    name: 'library-open',
    sizes: [200, 2000],
    prepare: (wearers) => ({ wearers, path: shelf(wearers) }),
    run: ({ wearers, path }) => {
      good(openLibrary(path)).close();
      // Raw: 12 bytes a face and 12 a vertex, a closed surface having half as many vertices as faces.
      const raw = 2000 * (12 + 6) * FORMS_EACH * wearers;
      return { fileMb: statSync(path).size / 1e6, shareOfRaw: statSync(path).size / raw };
    },
  }),
  benchTask({
    name: 'library-list-and-find',
    sizes: [200, 2000],
    prepare: (wearers) => good(openLibrary(shelf(wearers))),
    run: (library) => {
      const all = shelfOf(library).wearers.length;
      good(records.findOne(library, 'wearers', `wearer ${all - 1}`));
      return { wearers: all };
    },
  }),
  benchTask({
    name: 'library-keep-scan',
    sizes: [53_000, 1_000_000],
    prepare: (faces) => {
      const mesh = headOf(faces);
      const library = fresh();
      const { id } = good(records.addWearer(library, { name: 'Invented wearer' }));
      return { library, id, bytes: good(writeMesh(mesh, 's.obj')).bytes };
    },
    run: ({ library, id, bytes }) => {
      const scan = good(records.addScan(library, { wearerId: id, fileName: 's.obj', bytes }));
      const packed = packBlob(bytes).chunks.reduce((sum, chunk) => sum + chunk.length, 0);
      good(records.undo(library));
      library.db.prepare('DELETE FROM changes').run();
      library.db.prepare('DELETE FROM blobs WHERE sha256 = ?').run(scan.originalSha256);
      return { rawMb: bytes.length / 1e6, storedMb: packed / 1e6, share: packed / bytes.length };
    },
  }),
  benchTask({
    name: 'library-encode-mesh',
    sizes: [53_000, 1_000_000],
    prepare: headOf,
    run: (mesh) => {
      const bytes = encodeMesh(mesh);
      const packed = packBlob(bytes).chunks.reduce((sum, chunk) => sum + chunk.length, 0);
      return { rawMb: (mesh.positions.length * 4 + mesh.triangles.length * 4) / 1e6, storedMb: packed / 1e6 };
    },
  }),
];
