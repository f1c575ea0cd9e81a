import { createHash } from 'node:crypto';
import { expect, test } from 'vitest';
import { openLibrary } from '../../electron/store/connection.ts';
import { beginJob, endJob } from '../../electron/store/jobs.ts';
import { decodeMesh, encodeMesh } from '../../electron/store/meshes.ts';
import * as records from '../../electron/store/records.ts';
import { checkLibrary } from '../../electron/store/check.ts';
import { seeded } from '../support/random.ts';
import { codeOf, dump, freshLibrary, good, TETRAHEDRON } from './support.ts';

test('a scan comes back byte for byte, is kept once, and its address is the SHA-256 of FIPS 180-4', () => {
  const library = freshLibrary();
  const ann = good(records.addWearer(library, { name: 'Invented Ann' }));
  const random = seeded(11);
  // More than two chunks, half of it incompressible.
  const bytes = Uint8Array.from({ length: 9_000_000 }, (_, at) => (at % 2 === 0 ? 65 : Math.floor(random() * 256)));
  const scan = good(records.addScan(library, { wearerId: ann.id, fileName: 'head.obj', bytes }));
  expect(scan.originalSha256).toBe(createHash('sha256').update(bytes).digest('hex'));
  expect(Buffer.compare(good(records.readOriginal(library, scan)), bytes)).toBe(0);
  expect(good(records.addScan(library, { wearerId: ann.id, fileName: 'again.obj', bytes })).id).toBe(scan.id);
  const ben = good(records.addWearer(library, { name: 'Invented Ben' }));
  const other = good(records.addScan(library, { wearerId: ben.id, fileName: 'b.obj', bytes }));
  expect(other.id).not.toBe(scan.id);
  expect(library.db.prepare('SELECT count(*) FROM blobs').pluck().get()).toBe(1);
  // FIPS 180-4 example: SHA-256("abc").
  const abc = good(records.addScan(library, { wearerId: ben.id, fileName: 'abc', bytes: Buffer.from('abc') }));
  expect(abc.originalSha256).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  library.close();
});

test('meshes come back exactly, in single and double precision, with colours; other bytes are refused', () => {
  const random = seeded(5);
  for (const single of [true, false]) {
    const positions = Float64Array.from({ length: 300 }, () => {
      const value = (random() - 0.5) * 400;
      return single ? Math.fround(value) : value;
    });
    const triangles = Uint32Array.from({ length: 600 }, () => Math.floor(random() * 100));
    const colours = Uint8Array.from({ length: 300 }, () => Math.floor(random() * 256));
    for (const mesh of [
      { positions, triangles },
      { positions, triangles, colours },
    ]) {
      const bytes = encodeMesh(mesh);
      expect(decodeMesh(bytes)).toEqual(mesh);
      expect(encodeMesh(mesh)).toEqual(bytes);
      for (let cut = 0; cut < bytes.length; cut += 97) expect(decodeMesh(bytes.subarray(0, cut))).toBeUndefined();
    }
  }
  const odd = { positions: Float64Array.of(-0, 1e-310, 2 ** 60), triangles: Uint32Array.of(0, 0, 0) };
  expect(Object.is((decodeMesh(encodeMesh(odd))?.positions ?? [])[0], -0)).toBe(true);
  expect(decodeMesh(encodeMesh(odd))).toEqual(odd);
});

test('a sheet keeps every state: correcting and withdrawing add rows, nothing is overwritten', () => {
  const library = freshLibrary();
  const ann = good(records.addWearer(library, { name: 'Invented Ann' }));
  const [girth] = good(
    records.addReadings(library, ann.id, [
      { kind: 'girth', name: 'head circumference', valueMm: 574, uncertaintyMm: 2 },
      { kind: 'span', name: 'bitragion breadth', valueMm: 142.5, uncertaintyMm: 0.5 },
    ]),
  );
  if (girth === undefined) throw new Error('no reading');
  good(
    records.addReadings(library, ann.id, [{ kind: 'girth', name: girth.name, valueMm: 571.3, replacesId: girth.id }]),
  );
  const span = records.sheetOf(library, ann.id).find((reading) => reading.kind === 'span');
  good(records.withdrawReading(library, ann.id, span?.id ?? ''));
  expect(records.sheetOf(library, ann.id).map((reading) => reading.valueMm)).toEqual([571.3]);
  expect(records.sheetOf(library, ann.id, 3).map((reading) => reading.valueMm)).toEqual([142.5, 571.3]);
  expect(records.sheetOf(library, ann.id, 2).map((reading) => reading.valueMm)).toEqual([574, 142.5]);
  expect(codeOf(records.withdrawReading(library, ann.id, girth.id))).toBe('store.in-use');
  const wrong = records.addReadings(library, ann.id, [{ kind: 'span', name: 'x', valueMm: -3 }]);
  expect(codeOf(wrong)).toBe('store.bad-record');
  library.close();
});

test('a form has revisions with recipe and evidence, and serves two projects without a copy', () => {
  const library = freshLibrary();
  const ann = good(records.addWearer(library, { name: 'Invented Ann' }));
  const scan = good(records.addScan(library, { wearerId: ann.id, fileName: 'a.stl', bytes: Buffer.from('scan one') }));
  const steps = [{ verb: 'true', parameters: { spans: [] }, figures: { factor: 1016.949 } }];
  const made = { wearerId: ann.id, name: 'head', scanId: scan.id, recipe: { faces: 9500 }, steps, programVersion: '0' };
  const first = good(records.addFormRevision(library, { ...made, mesh: TETRAHEDRON }));
  const second = good(records.addFormRevision(library, { ...made, formId: first.form.id, mesh: TETRAHEDRON }));
  expect(second.revision.revision).toBe(2);
  expect(records.revisionsOf(library, first.form.id)).toEqual([first.revision, second.revision]);
  expect(good(records.readMeshOf(library, first.revision))).toEqual(TETRAHEDRON);
  const projects = ['Act one', 'Act two'].map((name) => good(records.addProject(library, { name })));
  for (const project of projects) {
    good(records.useForm(library, project.id, first.form.id));
    good(records.useForm(library, project.id, first.form.id));
  }
  expect(records.allOf(library, 'project_forms')).toHaveLength(2);
  // Two revisions and two projects: still one mesh beside the one scan.
  expect(library.db.prepare('SELECT count(*) FROM blobs').pluck().get()).toBe(2);
  library.close();
});

test('finding: by id, by whole name before part of a name, and an unclear name says so', () => {
  const library = freshLibrary();
  const ids = ['Invented Ann', 'Invented Anna', 'Invented Ben'].map(
    (name) => good(records.addWearer(library, { name })).id,
  );
  expect(good(records.findOne(library, 'wearers', 'invented ann')).id).toBe(ids[0]);
  expect(good(records.findOne(library, 'wearers', 'ben')).id).toBe(ids[2]);
  expect(good(records.findOne(library, 'wearers', (ids[1] ?? '').slice(0, 8))).id).toBe(ids[1]);
  expect(codeOf(records.findOne(library, 'wearers', 'invented'))).toBe('store.not-one');
  expect(codeOf(records.findOne(library, 'wearers', 'nobody'))).toBe('store.no-record');
  library.close();
});

test('undo and redo walk every change both ways, across a restart, to the same rows exactly', () => {
  let library = freshLibrary();
  const { path } = library;
  const plain = (): string => {
    const tables = JSON.parse(dump(library)) as [string, unknown][];
    // Blobs outlive undo, as redo needs them; the journal's own marks differ.
    return JSON.stringify(tables.filter(([name]) => !/^(blob|change)/.test(name)));
  };
  const states = [plain()];
  const doing: (() => void)[] = [];
  const ann = { id: '' };
  const scan = { id: '' };
  doing.push(() => (ann.id = good(records.addWearer(library, { name: 'Invented Ann' })).id));
  doing.push(() => good(records.editWearer(library, ann.id, { note: 'wears spectacles' })));
  doing.push(() => {
    scan.id = good(records.addScan(library, { wearerId: ann.id, fileName: 'a', bytes: Buffer.from('abc') })).id;
  });
  doing.push(() => good(records.setLandmarks(library, scan.id, { vertex: [0.1, 0.2, 1 / 3] }, 'hand')));
  doing.push(() => good(records.setLandmarks(library, scan.id, { vertex: [1e-17, 5, Math.PI] }, 'carried')));
  doing.push(() => good(records.addReadings(library, ann.id, [{ kind: 'span', name: 'a', valueMm: 0.1 + 0.2 }])));
  for (const act of doing) {
    act();
    states.push(plain());
  }
  for (let at = doing.length - 1; at >= 0; at--) {
    if (at === 3) {
      library.close();
      library = good(openLibrary(path));
    }
    good(records.undo(library));
    expect(plain()).toBe(states[at]);
  }
  expect(codeOf(records.undo(library))).toBe('store.nothing-to-undo');
  for (let at = 1; at <= doing.length; at++) {
    good(records.redo(library));
    expect(plain()).toBe(states[at]);
  }
  expect(codeOf(records.redo(library))).toBe('store.nothing-to-redo');
  // A new change after an undo drops what had been undone.
  good(records.undo(library));
  good(records.addProject(library, { name: 'Act one' }));
  expect(codeOf(records.redo(library))).toBe('store.nothing-to-redo');
  expect(good(checkLibrary(library)).sound).toBe(true);
  // A row changed behind the journal's back is not trampled on.
  library.db.exec("UPDATE projects SET name = 'changed elsewhere'");
  const before = dump(library);
  expect(codeOf(records.undo(library))).toBe('store.undo-conflict');
  expect(dump(library)).toBe(before);
  library.close();
});

test('a job and what it made are kept together; one cut off by a crash is shown as interrupted', () => {
  const library = freshLibrary();
  const job = good(beginJob(library, { verb: 'form', request: { scan: 'x' } }));
  good(endJob(library, job.id, 'done', () => good(records.addWearer(library, { name: 'made by the job' }))));
  expect(records.allOf(library, 'jobs')[0]?.state).toBe('done');
  const failing = good(beginJob(library, { verb: 'form', request: {} }));
  expect(() =>
    endJob(library, failing.id, 'done', () => {
      good(records.addWearer(library, { name: 'half a job' }));
      throw new Error('a bug');
    }),
  ).toThrow('a bug');
  expect(records.allOf(library, 'wearers').map((wearer) => wearer.name)).toEqual(['made by the job']);
  // Linux process ids end at 2^22 (proc(5)), so this process never lived.
  library.db.prepare('UPDATE jobs SET process_id = ? WHERE id = ?').run(2 ** 22 + 5, failing.id);
  const mine = good(beginJob(library, { verb: 'line', request: {} }));
  library.close();
  const again = good(openLibrary(library.path));
  const states = new Map(records.allOf(again, 'jobs').map((row) => [row.id, row.state]));
  expect([states.get(job.id), states.get(failing.id), states.get(mine.id)]).toEqual(['done', 'interrupted', 'running']);
  again.close();
});
