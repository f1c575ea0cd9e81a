/**
 * What can go wrong with a file on a disk, made to go wrong on a library as the demo makes it: two wearers with scans,
 * readings, landmarks, forms, liners, a visor and its trials.
 */
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { beforeAll, expect, test } from 'vitest';
import { JobPool } from '../../electron/jobs/pool.ts';
import { fillSmallLibrary } from '../../electron/services/demo-library.ts';
import { checkLibrary } from '../../electron/store/check.ts';
import { openLibrary, type Library } from '../../electron/store/connection.ts';
import * as records from '../../electron/store/records.ts';
import { forgetWearer, setPassphrase } from '../../electron/store/privacy.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { seeded } from '../support/random.ts';
import { codeOf, dump, freshFolder, freshLibrary, good, TETRAHEDRON } from './support.ts';

const WRITER = join(import.meta.dirname, 'writer-process.ts');
const hashOf = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');

let demo: { path: string; captain: string; scan: string } | undefined;
beforeAll(async () => {
  const library = freshLibrary();
  const pool = new JobPool();
  const filled = good(await fillSmallLibrary({ library, pool }, 3000));
  await pool.close();
  const { path } = library;
  demo = { path, captain: filled.wearers[0].id, scan: filled.forms[0].scan.id };
  library.close();
}, 240_000);

/** A copy of the demo's library, to be broken. */
function demoCopy(): { library: Library; captain: string; scan: string } {
  if (demo === undefined) throw new Error('the demo was not made');
  const path = join(freshFolder(), 'shelf.wearwright');
  copyFileSync(demo.path, path);
  return { ...demo, library: good(openLibrary(path)) };
}

/** The demo's two wearers are there with all that hangs on them, every byte of it. */
function expectDemoWhole(library: Library): void {
  const count = (table: string): unknown => library.db.prepare(`SELECT count(*) FROM ${table}`).pluck().get();
  expect([count('forms'), count('liners'), count('trials'), count('parts'), count('landmarks')]).toEqual([
    2, 2, 2, 1, 6,
  ]);
  const report = good(checkLibrary(library));
  expect(report).toMatchObject({ sound: true, damagedBlobs: [] });
  // Two scans, two forms, two liners and the visor.
  expect(report.blobs).toBeGreaterThanOrEqual(7);
}

/** Everything a confirmed wearer came with is there and reads back. */
function expectWhole(library: Library, ids: readonly string[]): void {
  for (const id of ids) {
    const [scan] = records.allOf(library, 'scans', 'WHERE wearer_id = ?', id);
    if (scan === undefined) throw new Error(`the confirmed scan of ${id} is lost`);
    expect(good(records.readOriginal(library, scan))).toHaveLength(20_000);
    expect(records.sheetOf(library, id)).toHaveLength(1);
  }
}

test('kill -9 at random moments under load: nothing confirmed is lost and the library stays whole', async () => {
  const { library } = demoCopy();
  library.close();
  const seed = 20261125;
  console.log(`seed ${seed}`);
  const random = seeded(seed);
  const confirmed: string[] = [];
  for (let round = 0; round < 8; round++) {
    const child = spawn(process.execPath, [WRITER, library.path, `round ${round}`, '100000']);
    let heard = '';
    await new Promise<void>((settle) => {
      let timer: NodeJS.Timeout | undefined;
      child.stdout.on('data', (chunk: Buffer) => {
        heard += chunk.toString();
        timer ??= setTimeout(() => child.kill('SIGKILL'), random() * 150);
      });
      child.on('close', () => settle());
    });
    expect(child.signalCode).toBe('SIGKILL');
    confirmed.push(...heard.split('\n').slice(0, -1));
    const again = good(openLibrary(library.path));
    expectDemoWhole(again);
    again.close();
  }
  const again = good(openLibrary(library.path));
  expect(confirmed.length).toBeGreaterThan(8);
  expectWhole(again, confirmed);
  again.close();
});

test('the n-th write fails, for every n: the library is as before, or as after', () => {
  const acts: ((library: Library, ids: { wearer: string; scan: string }) => string)[] = [
    (library) => codeOf(records.addWearer(library, { name: 'Invented Cy' })),
    (library, ids) =>
      codeOf(records.addScan(library, { wearerId: ids.wearer, fileName: 'b', bytes: Buffer.alloc(9_000_000, 'xyz') })),
    (library, ids) =>
      codeOf(
        records.addFormRevision(library, {
          wearerId: ids.wearer,
          name: 'head',
          scanId: ids.scan,
          recipe: {},
          steps: [],
          programVersion: '0',
          mesh: TETRAHEDRON,
        }),
      ),
    (library, ids) => codeOf(records.setLandmarks(library, ids.scan, { a: [1, 2, 3], b: [4, 5, 6] }, 'hand')),
    (library) => codeOf(records.undo(library)),
    (library, ids) => codeOf(forgetWearer(library, ids.wearer)),
    (library) => codeOf(setPassphrase(library, 'a long enough one', 1024)),
  ];
  for (const [index, act] of acts.entries()) {
    const { library, captain: wearer, scan } = demoCopy();
    const before = dump(library);
    let failures = 0;
    for (let nth = 1; ; nth++) {
      let count = 0;
      library.beforeWrite = () => {
        if (++count === nth) throw new Database.SqliteError('made to fail', 'SQLITE_IOERR_WRITE');
      };
      const code = act(library, { wearer, scan });
      if (code === 'ok') break;
      expect(code).toBe('store.write-failed');
      expect(dump(library)).toBe(before);
      failures++;
    }
    // Every act writes at least a row and its journal (or its mark).
    expect(failures, `act ${index}`).toBeGreaterThanOrEqual(index === 4 ? 2 : 3);
    library.beforeWrite = () => {};
    expect(dump(library)).not.toBe(before);
    expect(good(checkLibrary(library)).sound).toBe(true);
    library.close();
  }
});

test('the system refuses to let the file grow, at many sizes: one sentence, nothing confirmed lost', () => {
  for (const kib of [60, 200, 333, 700, 1500]) {
    const { library } = demoCopy();
    library.close();
    const base = Math.ceil(statSync(library.path).size / 1024);
    const shell = `trap '' XFSZ; ulimit -f ${base + kib}; exec "$@"`;
    const done = spawnSync('bash', ['-c', shell, 'bash', process.execPath, WRITER, library.path, 'w', '100000'], {
      encoding: 'utf8',
    });
    expect(done.status, done.stderr).toBe(1);
    expect(done.stderr).toMatch(/^(Writing to .* failed|The disk that holds .* is full).*\n$/);
    const confirmed = done.stdout.split('\n').slice(0, -1);
    const again = good(openLibrary(library.path));
    expectDemoWhole(again);
    expectWhole(again, confirmed);
    again.close();
  }
});

test('disk full: the change is not kept, the sentence says so, and work goes on once there is room', () => {
  const { library, captain } = demoCopy();
  const pages = library.db.pragma('page_count', { simple: true }) as number;
  library.db.pragma(`max_page_count = ${pages + 4}`);
  const before = dump(library);
  const random = seeded(3);
  const bytes = Uint8Array.from({ length: 100_000 }, () => Math.floor(random() * 256));
  expect(codeOf(records.addScan(library, { wearerId: captain, fileName: 'a', bytes }))).toBe('store.full');
  expect(dump(library)).toBe(before);
  library.db.pragma('max_page_count = 1000000');
  good(records.addScan(library, { wearerId: captain, fileName: 'a', bytes }));
  expectDemoWhole(library);
  library.close();
});

test('files that are not ours, are damaged or are newer are named and stay untouched', () => {
  const folder = freshFolder();
  const cases: [string, Buffer, string][] = [
    ['empty', Buffer.alloc(0), 'store.foreign'],
    ['text', Buffer.from('hello, this is a letter'), 'store.foreign'],
    ['zip', Buffer.from('PK\u0003\u0004 and more'), 'store.foreign'],
    ['cut', Buffer.from('SQLite format 3\0 cut'), 'store.foreign'],
  ];
  for (const [name, bytes, code] of cases) {
    writeFileSync(join(folder, name), bytes);
    expect(codeOf(openLibrary(join(folder, name), { create: true }))).toBe(code);
    expect(readFileSync(join(folder, name))).toEqual(bytes);
  }
  const foreign = join(folder, 'foreign');
  const db = new Database(foreign);
  db.exec('CREATE TABLE wearers (id)');
  db.close();
  const hash = hashOf(foreign);
  expect(codeOf(openLibrary(foreign, { create: true }))).toBe('store.foreign');
  expect(hashOf(foreign)).toBe(hash);
  expect(readdirSync(folder).filter((name) => name.startsWith('foreign'))).toEqual(['foreign']);

  const library = freshLibrary();
  library.db.pragma('user_version = 99');
  library.close();
  const newer = hashOf(library.path);
  const outcome = openLibrary(library.path);
  expect(outcome.ok ? {} : outcome.fault.facts).toMatchObject({ version: 99 });
  expect(codeOf(outcome)).toBe('store.newer');
  expect(hashOf(library.path)).toBe(newer);
  expect(codeOf(openLibrary(join(folder, 'nothing-here')))).toBe('store.missing');
  expect(existsSync(join(folder, 'nothing-here'))).toBe(false);
});

test('one flipped byte anywhere is found by opening or by the check, never a crash, and the file is left alone', () => {
  const { library, captain } = demoCopy();
  const random = seeded(8);
  const bytes = Uint8Array.from({ length: 600_000 }, () => Math.floor(random() * 256));
  const scan = good(records.addScan(library, { wearerId: captain, fileName: 'a', bytes }));
  library.close();
  const original = readFileSync(library.path);
  const chunksOf = (path: string): Buffer => {
    const db = new Database(path, { readonly: true });
    try {
      return Buffer.concat(db.prepare('SELECT stored FROM blob_chunks ORDER BY sha256, seq').pluck().all() as Buffer[]);
    } finally {
      db.close();
    }
  };
  const chunks = chunksOf(library.path);
  let inBlobs = 0;
  const path = join(freshFolder(), 'flipped.wearwright');
  const stored = Buffer.from(bytes);
  let inScan = 0;
  let opening = 0;
  for (let round = 0; round < 60; round++) {
    const flipped = Buffer.from(original);
    const at = 100 + Math.floor(random() * (flipped.length - 100));
    flipped[at] = (flipped[at] as number) ^ (1 << Math.floor(random() * 8));
    writeFileSync(path, flipped);
    const outcome = openLibrary(path);
    if (!outcome.ok) {
      opening++;
      expect(outcome.fault.code).toBe('store.damaged');
      expect(hashOf(path)).toBe(createHash('sha256').update(flipped).digest('hex'));
      continue;
    }
    const report = checkLibrary(outcome.value);
    const damaged = report.ok && report.value.damagedBlobs.includes(scan.originalSha256);
    // Bytes on both sides of the flip are the scan's (it does not compress): that flip must not pass.
    if (stored.includes(original.subarray(at - 8, at + 8))) {
      inScan++;
      expect(damaged).toBe(true);
    }
    // Any change that reaches a stored scan, form, liner or part is found.
    if (report.ok && report.value.structure.length === 0 && !chunksOf(path).equals(chunks)) {
      inBlobs++;
      expect(report.value.damagedBlobs.length).toBeGreaterThan(0);
    }
    if (damaged) expect(codeOf(records.readOriginal(outcome.value, scan))).toBe('store.damaged-blob');
    outcome.value.close();
  }
  expect(inScan).toBeGreaterThan(15);
  expect(inBlobs).toBeGreaterThan(30);
  console.log(`60 flips: ${inBlobs} in blobs, ${inScan} of them in the scan's bytes, ${opening} refused at opening`);
});

test('a folder that may not be written gives one sentence and no new file', (context) => {
  const folder = freshFolder();
  const place = join(folder, 'read-only');
  const { library } = demoCopy();
  library.close();
  mkdirSync(place);
  copyFileSync(library.path, join(place, 'shelf.wearwright'));
  // Root passes every permission check (capabilities(7)), so a child drops to the user "nobody".
  const script = `
    const { openLibrary } = await import(${JSON.stringify(join(import.meta.dirname, '../../electron/store/connection.ts'))});
    if (process.getuid() === 0) { process.setgid(65534); process.setuid(65534); }
    const code = (o) => o.ok ? 'ok' : o.fault.code;
    console.log(code(openLibrary(process.argv[1] + '/shelf.wearwright')), code(openLibrary(process.argv[1] + '/new', { create: true })));`;
  spawnSync('chmod', ['755', folder]);
  spawnSync('chmod', ['555', place]);
  const done = spawnSync(process.execPath, ['--input-type=module', '-e', script, place], { encoding: 'utf8' });
  if (/EPERM|setgid/.test(done.stderr)) context.skip('this system does not let a process give up its rights');
  expect(done.stderr).toBe('');
  expect(done.stdout.trim()).toBe('store.read-only store.read-only');
  expect(readdirSync(place)).toEqual(['shelf.wearwright']);
});

test('two programs write to one library at once: both keep everything they confirmed', async () => {
  const { library } = demoCopy();
  const heard = await Promise.all(
    ['left', 'right'].map(
      (name) =>
        new Promise<string[]>((settle) => {
          const child = spawn(process.execPath, [WRITER, library.path, name, '60']);
          let text = '';
          child.stdout.on('data', (chunk: Buffer) => (text += chunk.toString()));
          child.on('close', () => settle(text.split('\n').slice(0, -1)));
        }),
    ),
  );
  expect(heard.map((ids) => ids.length)).toEqual([60, 60]);
  expectWhole(library, heard.flat());
  expectDemoWhole(library);
  library.close();
});

test('a library that another program holds for longer than a moment is named, nothing is changed, and later it goes on', () => {
  const { library } = demoCopy();
  const other = new Database(library.path);
  other.exec('BEGIN IMMEDIATE');
  library.db.pragma('busy_timeout = 50');
  const before = dump(library);
  const outcome = records.addWearer(library, { name: 'Invented Cy' });
  expect(outcome.ok ? '' : faultSentence(outcome.fault)).toBe(
    `Another program has held ${library.path} for 5 seconds; nothing was changed. Close it there or try again.`,
  );
  expect(dump(library)).toBe(before);
  other.exec('ROLLBACK');
  other.close();
  good(records.addWearer(library, { name: 'Invented Cy' }));
  expectDemoWhole(library);
  library.close();
});

test('power lost at any point of the log: what was confirmed by then is there, as a whole prefix of the work', () => {
  const { library } = demoCopy();
  library.db.pragma('wal_autocheckpoint = 0');
  const folder = freshFolder();
  const sizes: number[] = [];
  for (let index = 0; index < 12; index++) {
    good(records.addWearer(library, { name: `wearer ${index}` }));
    sizes.push(statSync(`${library.path}-wal`).size);
  }
  const random = seeded(41);
  const total = sizes.at(-1) as number;
  for (let round = 0; round < 60; round++) {
    const path = join(folder, `cut-${round}.wearwright`);
    copyFileSync(library.path, path);
    copyFileSync(`${library.path}-wal`, `${path}-wal`);
    const at = Math.floor(random() * (total + 1));
    if (round % 2 === 0) truncateSync(`${path}-wal`, at);
    else {
      // A torn tail: sectors after the last sync hold anything.
      const log = readFileSync(`${path}-wal`);
      for (let byte = at; byte < log.length; byte++) log[byte] = Math.floor(random() * 256);
      writeFileSync(`${path}-wal`, log);
    }
    const again = good(openLibrary(path));
    const names = records.allOf(again, 'wearers').flatMap((one) => (one.name.startsWith('wearer') ? [one.name] : []));
    const confirmed = sizes.filter((size) => size <= at).length;
    expect(names).toEqual(Array.from({ length: confirmed }, (_, index) => `wearer ${index}`));
    expectDemoWhole(again);
    again.close();
  }
  library.close();
});
