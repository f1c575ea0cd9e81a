import { execFileSync, spawnSync } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { unzipSync, zipSync } from 'fflate';
import { expect, test } from 'vitest';
import { readMesh } from '../../electron/formats/index.ts';
import { exportBundle, importBundle } from '../../electron/services/bundle.ts';
import { exportReadings, importReadings } from '../../electron/services/library.ts';
import { readingsFromCsv, readingsToCsv } from '../../electron/services/readings-csv.ts';
import { checkLibrary } from '../../electron/store/check.ts';
import type { Library } from '../../electron/store/connection.ts';
import * as making from '../../electron/store/making-records.ts';
import * as records from '../../electron/store/records.ts';
import { codeOf, dump, freshFolder, freshLibrary, good, TETRAHEDRON } from '../store/support.ts';

const CSV = join(import.meta.dirname, '../fixtures/store/readings.csv');

function filled(): { library: Library; wearerId: string; projectId: string } {
  const library = freshLibrary();
  const { id } = good(records.addWearer(library, { name: 'Invented Ann', consentDate: '2026-11-01' }));
  const scan = good(records.addScan(library, { wearerId: id, fileName: '../a b.obj', bytes: Buffer.from('v 0 0 0') }));
  good(records.setLandmarks(library, scan.id, { vertex: [1, 2, 1 / 3] }, 'hand'));
  good(records.addReadings(library, id, [{ kind: 'span', name: 'bitragion breadth', valueMm: 142.5 }]));
  // The scan's faces in single precision, and a liner's in double.
  const mesh = { ...TETRAHEDRON, positions: TETRAHEDRON.positions.map(Math.fround) };
  const made = { wearerId: id, name: 'head', scanId: scan.id, recipe: { faces: 9500 }, steps: [], programVersion: '0' };
  const { form, revision } = good(records.addFormRevision(library, { ...made, mesh }));
  const liner = {
    formRevisionId: revision.id,
    parameters: {},
    figures: { maxMm: 8.1 },
    foamMm: 8,
    programVersion: '0',
  };
  const project = good(records.addProject(library, { name: 'Act one' }));
  good(records.addLiner(library, { ...liner, projectId: project.id, mesh: TETRAHEDRON }));
  const part = good(records.addPart(library, { name: 'visor', fileName: 'v.stl', bytes: Buffer.from('solid v') }));
  good(making.finishPart(library, part.id, { recipe: { spans: [] }, figures: { factor: 1 }, mesh: TETRAHEDRON }));
  const fitting = {
    projectId: project.id,
    formId: form.id,
    partId: part.id,
    name: 'visor on Ann',
    draft: { foamMm: 6 },
  };
  const { id: fittingId } = good(making.addFitting(library, fitting));
  const files = [{ name: 'pads.svg', bytes: Buffer.from('<svg/>') }];
  const pads = {
    kind: 'pads',
    name: 'pads',
    fittingId,
    parameters: {},
    figures: {},
    programVersion: '0',
    files,
  } as const;
  good(making.addMaking(library, pads));
  for (const subject of [{ formId: form.id }, { fittingId }]) {
    good(making.keepPlan(library, { kind: 'gauge', subject, draft: { levels: '40' } }, 'plan a band'));
  }
  good(records.useForm(library, project.id, form.id));
  return { library, wearerId: id, projectId: project.id };
}

const recordsIn = (library: Library, but = /^(change|blob_chunks)/): string =>
  JSON.stringify((JSON.parse(dump(library)) as [string, unknown][]).filter(([name]) => !but.test(name)));

test('a bundle carries a wearer whole into another library, twice without duplicates, and undo takes it out', () => {
  const { library, wearerId, projectId } = filled();
  for (const what of [{ wearerId }, { projectId }]) {
    const bytes = good(exportBundle(library, what));
    const other = freshLibrary();
    const empty = recordsIn(other, /^(change|blob)/);
    const first = good(importBundle(other, 'b.zip', bytes));
    expect(first).toMatchObject({ alreadyHere: 0, conflicts: [], sameNames: [] });
    expect(recordsIn(other)).toBe(recordsIn(library));
    const again = good(importBundle(other, 'b.zip', bytes));
    expect(again.added).toEqual({});
    expect(again.alreadyHere).toBe(Object.values(first.added).reduce((sum, count) => sum + count, 0));
    expect(good(checkLibrary(other)).sound).toBe(true);
    good(records.undo(other));
    expect(recordsIn(other, /^(change|blob)/)).toBe(empty);
    other.close();
  }
  library.close();
});

test('a bundle is readable without us: an ordinary unzip lists it, its meshes and table are of open formats', (context) => {
  const { library, wearerId } = filled();
  const path = join(freshFolder(), 'b.zip');
  writeFileSync(path, good(exportBundle(library, { wearerId })));
  // Python's zipfile and json are a second implementation of both.
  const script = `
import json, sys, zipfile
z = zipfile.ZipFile(sys.argv[1]); assert z.testzip() is None
print(json.dumps([sorted(z.namelist()), json.loads(z.read('bundle.json'))['records']['readings'][0]['valueMm']]))`;
  if (spawnSync('python3', ['--version']).error !== undefined) context.skip('there is no python3 here to read it with');
  const [names, value] = JSON.parse(execFileSync('python3', ['-c', script, path], { encoding: 'utf8' })) as [
    string[],
    number,
  ];
  expect(value).toBe(142.5);
  expect(names.every((name) => /^(bundle\.json|(scans|forms|liners|parts|made|readings)\/[\w.-]+)$/.test(name))).toBe(
    true,
  );
  const files = unzipSync(readFileSync(path));
  for (const [name, contents] of Object.entries(files)) {
    if (!/\.(ply|3mf)$/.test(name)) continue;
    expect(good(readMesh(contents, name)).mesh.triangles).toHaveLength(12);
  }
  expect(names.filter((name) => name.endsWith('.3mf'))).toHaveLength(2);
  library.close();
});

test('import names what differs and keeps ours; a damaged or foreign bundle changes nothing', () => {
  const { library, wearerId } = filled();
  const bytes = good(exportBundle(library, { wearerId }));
  good(records.editWearer(library, wearerId, { note: 'changed since' }));
  const before = dump(library);
  const merged = good(importBundle(library, 'b.zip', bytes));
  expect(merged.conflicts).toEqual([{ kind: 'wearer', id: wearerId, fields: ['note'] }]);
  expect(dump(library)).toBe(before);
  const files = unzipSync(bytes);
  const broken = (change: (files: Record<string, Uint8Array>) => void): string => {
    const copy = { ...files };
    change(copy);
    return codeOf(importBundle(library, 'b.zip', zipSync(copy)));
  };
  const scan = Object.keys(files).find((name) => name.startsWith('scans/')) ?? '';
  expect(broken((copy) => (copy[scan] = Buffer.from('v 1 0 0')))).toBe('bundle.damaged');
  expect(broken((copy) => delete copy[scan])).toBe('bundle.damaged');
  expect(broken((copy) => delete copy['bundle.json'])).toBe('bundle.not-one');
  expect(broken((copy) => (copy['bundle.json'] = Buffer.from('{')))).toBe('bundle.not-one');
  const told = (edit: (manifest: { version: number; records: Record<string, Record<string, unknown>[]> }) => void) =>
    broken((copy) => {
      const manifest = JSON.parse(Buffer.from(copy['bundle.json'] ?? []).toString()) as Parameters<typeof edit>[0];
      edit(manifest);
      copy['bundle.json'] = Buffer.from(JSON.stringify(manifest));
    });
  // Records that name nobody, or more than they may: under ids that are not here, so that each would come in.
  const anew = ([one]: Record<string, unknown>[] = []) => ({ ...one, id: randomUUID() });
  expect(told(({ records }) => (records['scans'] = [{ ...anew(records['scans']), wearerId: randomUUID() }]))).toBe(
    'bundle.not-one',
  );
  expect(
    told(({ records }) => (records['plans'] = [{ ...anew(records['plans']), kind: 'pieces', linerId: randomUUID() }])),
  ).toBe('bundle.not-one');
  expect(told((manifest) => manifest.version++)).toBe('bundle.newer');
  expect(codeOf(importBundle(library, 'b.zip', Buffer.from('PK, not really')))).toBe('bundle.not-one');
  for (const cut of [40, 400, bytes.length - 100]) {
    const outcome = importBundle(library, 'b.zip', bytes.subarray(0, bytes.length - cut));
    expect(outcome.ok ? 'ok' : outcome.fault.code).toMatch(/^(file|bundle)\./);
    expect(outcome.ok ? '' : (outcome.fault.where?.file ?? outcome.fault.facts['path'])).toBe('b.zip');
  }
  expect(dump(library)).toBe(before);
  library.close();
});

test('readings as a table: quotes, commas and line ends survive (RFC 4180), a bad line is named, twice adds nothing', () => {
  const { library, wearerId } = filled();
  const table = readFileSync(CSV);
  expect(good(importReadings(library, wearerId, table))).toEqual({ added: 3, alreadyHere: 1 });
  expect(good(importReadings(library, wearerId, table))).toEqual({ added: 0, alreadyHere: 4 });
  const sheet = records.sheetOf(library, wearerId);
  expect(sheet.map((reading) => reading.name)).toContain('head circumference, "taut"\nover the brow');
  const given = sheet.map(({ kind, name, valueMm, uncertaintyMm }) => ({ kind, name, valueMm, uncertaintyMm }));
  expect(good(readingsFromCsv(exportReadings(library, wearerId)))).toMatchObject(
    given.map((one) => JSON.parse(JSON.stringify(one)) as object),
  );
  const bad = readingsFromCsv('kind,name,value_mm\nspan,a,1\n\nspan,b,wide\n');
  expect(bad.ok ? 0 : bad.fault.facts['line']).toBe(4);
  expect(codeOf(readingsFromCsv('kind,name\nspan,a'))).toBe('csv.bad-row');
  expect(codeOf(readingsFromCsv(''))).toBe('csv.bad-row');
  // What a spreadsheet would run as a formula is written as text, and comes back as it was.
  const [first] = sheet;
  if (first === undefined) throw new Error('no reading');
  const odd = readingsToCsv([{ ...first, name: '=1+1' }]);
  expect(odd).toContain("'=1+1");
  expect(good(readingsFromCsv(odd))[0]?.name).toBe('=1+1');
  library.close();
});
