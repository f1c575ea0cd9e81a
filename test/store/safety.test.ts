import { copyFileSync, existsSync, mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { scryptSync } from 'node:crypto';
import { expect, test } from 'vitest';
import { checkLibrary } from '../../electron/store/check.ts';
import { openLibrary, type Library } from '../../electron/store/connection.ts';
import { beginJob } from '../../electron/store/jobs.ts';
import { LATEST_VERSION, MIGRATIONS } from '../../electron/store/migrations/index.ts';
import {
  changePassphrase,
  forgetWearer,
  planForget,
  removePassphrase,
  setPassphrase,
  tidyLibrary,
} from '../../electron/store/privacy.ts';
import * as records from '../../electron/store/records.ts';
import {
  deleteCopies,
  listCopies,
  makeCopyIfDue,
  makeSafetyCopy,
  restoreCopy,
  ROLLING_COPIES,
} from '../../electron/store/safety-copies.ts';
import { seal, unseal } from '../../electron/store/sealing.ts';
import { seeded } from '../support/random.ts';
import { codeOf, dump, freshFolder, freshLibrary, good, TETRAHEDRON } from './support.ts';

const FIXTURES = join(import.meta.dirname, '../fixtures/store');
const SECRET = 'UNMISTAKABLE-BODY-DATA';

/** One wearer with something in every table that can hold data about them; returns their id. */
function fill(library: Library, name: string): string {
  const { id } = good(records.addWearer(library, { name, note: `${SECRET} note`, consentNote: `${SECRET} agreed` }));
  const bytes = Buffer.from(`${SECRET} scan of ${name} `.repeat(3));
  const scan = good(records.addScan(library, { wearerId: id, fileName: `${SECRET}.obj`, bytes }));
  good(records.setLandmarks(library, scan.id, { vertex: [1, 2, 3] }, 'hand'));
  good(records.addReadings(library, id, [{ kind: 'span', name: 'breadth', valueMm: 142.5, takenBy: SECRET }]));
  const { form, revision } = good(
    records.addFormRevision(library, {
      wearerId: id,
      name: `${SECRET} head`,
      scanId: scan.id,
      recipe: { note: SECRET },
      steps: [{ verb: 'true', parameters: { note: SECRET }, figures: {} }],
      programVersion: '0',
      mesh: TETRAHEDRON,
    }),
  );
  const project = good(records.addProject(library, { name: `Play for ${name}` }));
  good(records.useForm(library, project.id, form.id));
  const part = good(records.addPart(library, { name: 'visor', fileName: 'v.stl', bytes: Buffer.from('part') }));
  const placement = Array.from({ length: 16 }, (_, at) => (at % 5 === 0 ? 1 : 0));
  good(records.addTrial(library, { partId: part.id, formRevisionId: revision.id, placement, figures: {} }));
  const liner = { formRevisionId: revision.id, parameters: {}, figures: {}, foamMm: 8, programVersion: '0' };
  good(records.addLiner(library, { ...liner, mesh: TETRAHEDRON }));
  return id;
}

/** Whether the text stands anywhere in the library's files. */
function inFiles(path: string, text: string): boolean {
  return ['', '-wal'].some((tail) => existsSync(path + tail) && readFileSync(path + tail).includes(text));
}

test('forgetting leaves nothing of the wearer in the file or its log, and names the copies that still hold them', () => {
  const library = freshLibrary();
  const ann = fill(library, 'Invented Ann');
  const ben = fill(library, 'Invented Ben');
  const copy = good(makeSafetyCopy(library));
  const plan = good(planForget(library, ann));
  expect(plan.rows).toMatchObject({
    wearers: 1,
    scans: 1,
    landmarks: 1,
    readings: 1,
    form_revisions: 1,
    liners: 1,
    trials: 1,
  });
  expect(plan.copiesHolding).toEqual([copy]);
  expect(inFiles(library.path, 'Invented Ann')).toBe(true);
  expect(inFiles(library.path, ann)).toBe(true);
  good(forgetWearer(library, ann));
  // Seen from outside while the library is still open. The project that only names Ann is the user's own text.
  expect(inFiles(library.path, ann)).toBe(false);
  expect(inFiles(library.path, 'scan of Invented Ann')).toBe(false);
  expect(inFiles(library.path, 'scan of Invented Ben')).toBe(true);
  expect(records.allOf(library, 'wearers').map((wearer) => wearer.id)).toEqual([ben]);
  expect(good(checkLibrary(library)).sound).toBe(true);
  expect(codeOf(records.undo(library))).toBe('store.nothing-to-undo');
  expect(codeOf(planForget(library, ann))).toBe('store.no-record');
  library.close();
});

test('a passphrase seals names, notes, recipes and blobs; wrong, missing and right ones do what they should', () => {
  const library = freshLibrary();
  const { path } = library;
  fill(library, 'Invented Ann');
  const copy = good(makeSafetyCopy(library));
  const plain = dump({ ...library, db: library.db });
  const wearers = records.allOf(library, 'wearers');
  expect(codeOf(setPassphrase(library, 'short'))).toBe('store.weak-passphrase');
  expect(good(setPassphrase(library, 'four invented words here'))).toEqual([copy]);
  expect(inFiles(path, SECRET)).toBe(false);
  expect(inFiles(path, 'Invented Ann')).toBe(false);
  expect(records.allOf(library, 'wearers')).toEqual(wearers);
  library.close();
  expect(codeOf(openLibrary(path))).toBe('store.locked');
  expect(codeOf(openLibrary(path, { passphrase: 'four invented words hers' }))).toBe('store.wrong-passphrase');
  const open = good(openLibrary(path, { passphrase: 'four invented words here' }));
  expect(records.allOf(open, 'wearers')).toEqual(wearers);
  const [scan] = records.allOf(open, 'scans');
  if (scan === undefined) throw new Error('no scan');
  expect(Buffer.from(good(records.readOriginal(open, scan))).toString()).toContain(SECRET);
  // New records, their journal and undo are sealed too.
  fill(open, 'Invented Ben');
  good(records.editWearer(open, wearers[0]?.id ?? '', { note: `${SECRET} changed` }));
  good(records.undo(open));
  expect(inFiles(path, SECRET)).toBe(false);
  expect(good(checkLibrary(open)).sound).toBe(true);
  // Values cannot be exchanged for one another.
  const [a, b] = records.allOf(open, 'wearers').map((wearer) => wearer.id);
  open.db.prepare('UPDATE wearers SET name = (SELECT name FROM wearers WHERE id = ?) WHERE id = ?').run(a, b);
  expect(codeOf(records.findOne(open, 'wearers', 'Invented Ann'))).toBe('store.damaged');
  open.close();
  expect(plain).toContain(SECRET);
});

test('taking the passphrase off brings every record back as it was', () => {
  const library = freshLibrary();
  fill(library, 'Invented Ann');
  const state = (): unknown =>
    ['wearers', 'scans', 'form_revisions', 'readings', 'liners'].map((t) => records.allOf(library, t as 'wearers'));
  const before = state();
  good(setPassphrase(library, 'four invented words', 1024));
  expect(codeOf(removePassphrase(library, 'another passphrase'))).toBe('store.wrong-passphrase');
  good(removePassphrase(library, 'four invented words'));
  expect(state()).toEqual(before);
  library.close();
  good(openLibrary(library.path)).close();
});

test('a program that has the library open writes and reads nothing once another has changed its lock', () => {
  const library = freshLibrary();
  const wearerId = fill(library, 'Invented Ann');
  const [phrase, next] = ['four invented words', 'another four words'];
  const other = (passphrase?: string): Library =>
    good(openLibrary(library.path, passphrase === undefined ? {} : { passphrase }));
  const stale = other();
  good(setPassphrase(library, phrase, 1024));
  const sealed = dump(library);
  expect(codeOf(records.editWearer(stale, wearerId, { note: 'in plain words' }))).toBe('store.lock-changed');
  expect(() => records.allOf(stale, 'wearers')).toThrow('store.lock-changed');
  expect(codeOf(beginJob(stale, { verb: 'form', request: { of: 'Ann' } }))).toBe('store.lock-changed');
  expect(dump(library)).toBe(sealed);
  // What wrote the lock itself, and what opened after it, goes on.
  const known = other(phrase);
  good(records.editWearer(known, wearerId, { note: 'sealed' }));
  expect(good(records.findOne(library, 'wearers', 'Ann')).note).toBe('sealed');
  good(changePassphrase(library, phrase, next, 1024));
  good(records.editWearer(library, wearerId, { note: 'sealed again' }));
  expect(codeOf(records.editWearer(known, wearerId, { note: 'lost' }))).toBe('store.lock-changed');
  const last = other(next);
  good(removePassphrase(library, next));
  expect(codeOf(records.editWearer(last, wearerId, { note: 'sealed in a plain file' }))).toBe('store.lock-changed');
  good(records.editWearer(library, wearerId, { note: 'plain' }));
  for (const one of [library, stale, known, last]) one.close();
});

test('the passphrase is changed in one step: before it the old one opens, after it the new one, and no third state', () => {
  const library = freshLibrary();
  const { path } = library;
  fill(library, 'Invented Ann');
  const wearers = records.allOf(library, 'wearers');
  const [old, next] = ['four invented words', 'four other invented words'];
  expect(codeOf(changePassphrase(library, old, next, 1024))).toBe('store.not-locked');
  good(setPassphrase(library, old, 1024));
  const copy = good(makeSafetyCopy(library));
  const before = dump(library);
  expect(codeOf(changePassphrase(library, 'not the old one', next, 1024))).toBe('store.wrong-passphrase');
  expect(codeOf(changePassphrase(library, old, 'short', 1024))).toBe('store.weak-passphrase');
  library.beforeWrite = () => {
    throw Object.assign(new Error('made to fail'), { code: 'ENOSPC' });
  };
  expect(codeOf(changePassphrase(library, old, next, 1024))).toBe('store.full');
  expect(dump(library)).toBe(before);
  good(openLibrary(path, { passphrase: old })).close();
  library.beforeWrite = () => {};
  const wrapped = library.db.prepare('SELECT wrapped_key FROM lock').pluck().get() as Buffer;
  expect(good(changePassphrase(library, old, next, 1024))).toEqual([copy]);
  // The same library goes on working, and the key under the old passphrase is nowhere in its files.
  expect(records.allOf(library, 'wearers')).toEqual(wearers);
  for (const tail of ['', '-wal']) {
    if (existsSync(path + tail)) expect(readFileSync(path + tail).includes(wrapped)).toBe(false);
  }
  library.close();
  expect(codeOf(openLibrary(path, { passphrase: old }))).toBe('store.wrong-passphrase');
  const again = good(openLibrary(path, { passphrase: next }));
  expect(records.allOf(again, 'wearers')).toEqual(wearers);
  expect(good(checkLibrary(again)).sound).toBe(true);
  again.close();
  good(openLibrary(copy, { passphrase: old })).close();
});

test('tidying removes what neither a record nor a step of undo needs, and the room it took', () => {
  const library = freshLibrary();
  const { id } = good(records.addWearer(library, { name: 'Invented Ann' }));
  const random = seeded(17);
  const bytes = Uint8Array.from({ length: 300_000 }, () => Math.floor(random() * 256));
  const scan = good(records.addScan(library, { wearerId: id, fileName: 'a', bytes }));
  good(records.dropScan(library, scan.id));
  // Undo could still bring it back, so it stays.
  expect(good(tidyLibrary(library)).blobsRemoved).toBe(0);
  good(records.undo(library));
  expect(Buffer.from(good(records.readOriginal(library, scan)))).toEqual(Buffer.from(bytes));
  good(records.redo(library));
  library.db.prepare('DELETE FROM changes').run();
  expect(good(checkLibrary(library))).toMatchObject({ sound: true, unusedBlobs: 1 });
  const tidied = good(tidyLibrary(library));
  expect(tidied.blobsRemoved).toBe(1);
  expect(statSync(library.path).size).toBe(tidied.bytesAfter);
  expect(tidied.bytesBefore - tidied.bytesAfter).toBeGreaterThan(250_000);
  expect(good(checkLibrary(library))).toMatchObject({ sound: true, unusedBlobs: 0, freeBytes: 0, blobs: 0 });
  library.close();
});

test('a copy is made of itself once a day, not oftener, and copies a person gives up are deleted, others never', () => {
  let now = '2026-11-25T08:00:00.000Z';
  const library = freshLibrary({ now: () => now });
  // Nothing to lose yet.
  expect(good(makeCopyIfDue(library))).toBeUndefined();
  const ann = fill(library, 'Invented Ann');
  const first = good(makeCopyIfDue(library));
  expect(listCopies(library.path).map((copy) => copy.path)).toEqual([first]);
  expect(good(makeCopyIfDue(library))).toBeUndefined();
  now = '2099-01-01T08:00:00.000Z';
  expect(good(makeCopyIfDue(library))).toBeDefined();
  good(forgetWearer(library, ann));
  const clean = good(makeSafetyCopy(library));
  const holding = listCopies(library.path).flatMap((copy) => (copy.path === clean ? [] : [copy.path]));
  const other = join(freshFolder(), 'not-a-copy');
  writeFileSync(other, 'keep');
  good(deleteCopies(library.path, [...holding, other]));
  expect(listCopies(library.path).map((copy) => copy.path)).toEqual([clean]);
  expect(readFileSync(other, 'utf8')).toBe('keep');
  library.close();
});

test('scrypt is the one of RFC 7914 section 12, and a sealed value refuses another key, place or byte', () => {
  // RFC 7914 section 12, second vector: P = "password", S = "NaCl", N = 1024, r = 8, p = 16, first 16 of 64 bytes.
  const derived = scryptSync('password', 'NaCl', 64, { N: 1024, r: 8, p: 16, maxmem: 2 ** 26 });
  expect(derived.subarray(0, 16).toString('hex')).toBe('fdbabe1c9d3472007856e7190d01e9fe');
  const key = Buffer.alloc(32, 7);
  const sealed = seal(key, Buffer.from('plain'), 'place');
  expect(unseal(key, sealed, 'place')?.toString()).toBe('plain');
  expect(unseal(Buffer.alloc(32, 8), sealed, 'place')).toBeUndefined();
  expect(unseal(key, sealed, 'elsewhere')).toBeUndefined();
  for (let at = 0; at < sealed.length; at++) {
    const bad = Buffer.from(sealed);
    bad[at] = (bad[at] as number) ^ 1;
    expect(unseal(key, bad, 'place')).toBeUndefined();
  }
});

test('safety copies are whole libraries, roll over, and restoring sets the old file aside', () => {
  const library = freshLibrary();
  const { path } = library;
  fill(library, 'Invented Ann');
  const copies = Array.from({ length: ROLLING_COPIES + 2 }, () => good(makeSafetyCopy(library)));
  expect(listCopies(path).map((copy) => copy.path)).toEqual(copies.slice(2).reverse());
  const newest = copies.at(-1) as string;
  good(records.addWearer(library, { name: 'Invented Ben' }));
  // While a program holds the library nothing is moved.
  expect(codeOf(restoreCopy(path, newest))).toBe('store.busy');
  expect(records.allOf(library, 'wearers')).toHaveLength(2);
  library.close();
  const { setAside } = good(restoreCopy(path, newest));
  const restored = good(openLibrary(path));
  expect(records.allOf(restored, 'wearers').map((wearer) => wearer.name)).toEqual(['Invented Ann']);
  expect(good(checkLibrary(restored)).sound).toBe(true);
  restored.close();
  const aside = good(openLibrary(setAside ?? ''));
  expect(records.allOf(aside, 'wearers')).toHaveLength(2);
  aside.close();
  // A damaged copy is refused and the library is not touched.
  const bad = Buffer.from(readFileSync(newest));
  bad.fill(0x55, 4096, 12_288);
  writeFileSync(newest, bad);
  const before = statSync(path).mtimeMs;
  expect(codeOf(restoreCopy(path, newest))).toBe('store.copy-bad');
  expect(codeOf(restoreCopy(path, `${path}.nowhere`))).toBe('store.missing');
  expect(statSync(path).mtimeMs).toBe(before);
  // A library damaged beyond opening can be restored over, and is set aside all the same.
  writeFileSync(path, 'no database at all');
  const second = good(restoreCopy(path, copies.at(-2) as string));
  expect(readFileSync(second.setAside ?? '', 'utf8')).toBe('no database at all');
  good(openLibrary(path)).close();
});

test('migrations have no gaps, and each kept older file comes up to date with its data and a verified copy before', () => {
  expect(MIGRATIONS.map((migration) => migration.number)).toEqual(MIGRATIONS.map((_, index) => index + 1));
  const kept = readdirSync(FIXTURES)
    .filter((name) => name.endsWith('.wearwright'))
    .sort();
  // One file of each version before the latest: a new migration needs a new one here.
  expect(kept).toEqual(MIGRATIONS.slice(0, -1).map(({ number }) => `version-${number}.wearwright`));
  for (const name of kept) {
    const version = Number(/\d+/.exec(name)?.[0]);
    const folder = freshFolder();
    mkdirSync(join(folder, 'deep'));
    const path = join(folder, 'deep', name);
    copyFileSync(join(FIXTURES, name), path);
    const library = good(openLibrary(path));
    expect(library.db.pragma('user_version', { simple: true })).toBe(LATEST_VERSION);
    expect(records.allOf(library, 'wearers').map((wearer) => wearer.name)).toEqual(['Invented Ann']);
    const [scan] = records.allOf(library, 'scans');
    if (scan === undefined) throw new Error('the scan is lost');
    expect(Buffer.from(good(records.readOriginal(library, scan))).toString()).toBe('an invented scan');
    expect(records.sheetOf(library, scan.wearerId).map((reading) => reading.valueMm)).toEqual([142.5]);
    expect(records.allOf(library, 'forms')).toHaveLength(version >= 2 ? 1 : 0);
    expect(records.allOf(library, 'fittings')).toHaveLength(version >= 6 ? 1 : 0);
    expect(records.allOf(library, 'makings').map(({ name }) => name)).toEqual(version >= 6 ? ['Invented pads'] : []);
    expect(records.allOf(library, 'making_files')).toHaveLength(version >= 6 ? 1 : 0);
    expect(records.allOf(library, 'plans')).toHaveLength(version >= 9 ? 1 : 0);
    expect(good(checkLibrary(library)).sound).toBe(true);
    fill(library, 'Invented Ben');
    // Same schema as a library made today.
    const fresh = freshLibrary();
    const shape = (one: Library): unknown[] =>
      one.db.prepare('SELECT name, sql FROM sqlite_master ORDER BY name').all();
    expect(shape(library)).toEqual(shape(fresh));
    fresh.close();
    library.close();
    const copies = listCopies(path);
    expect(copies).toHaveLength(1);
    const old = good(openLibrary(copies[0]?.path ?? '', { version }));
    expect(old.db.pragma('user_version', { simple: true })).toBe(version);
    expect(old.db.prepare('SELECT name FROM wearers').pluck().all()).toEqual(['Invented Ann']);
    old.close();
  }
});
