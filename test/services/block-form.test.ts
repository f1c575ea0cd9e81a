/** Forms from readings alone in a library: where they come from is kept, and nothing is invented about it. */
import { afterAll, expect, test, vi } from 'vitest';
import { runOnLibrary } from '../../electron/hosts/cli/on-library.ts';
import { JobPool } from '../../electron/jobs/pool.ts';
import { makeBlockedForm } from '../../electron/services/block-form.ts';
import { replayForm } from '../../electron/services/making.ts';
import { findMesh } from '../../electron/services/library-inputs.ts';
import { readingsFromCsv } from '../../electron/services/readings-csv.ts';
import { runAgain } from '../../electron/services/run-again.ts';
import { checkLibrary } from '../../electron/store/check.ts';
import * as records from '../../electron/store/records.ts';
import { codeOf, freshLibrary, good } from '../store/support.ts';

const pool = new JobPool();
afterAll(() => pool.close());

const FACES = 2000;

test('the sheet is kept as the source, the same sheet gives the same form, and a cut-off job runs again', async () => {
  const library = freshLibrary();
  const making = { library, pool };
  const { id: wearerId } = good(records.addWearer(library, { name: 'Invented Far-Away' }));
  const wanted = { wearerId, name: 'head by measures', survey: 'women' as const, faces: FACES };

  // Nothing was read: nothing is made, and no empty sheet is kept.
  expect(codeOf(await makeBlockedForm(making, wanted))).toBe('block.no-readings');
  expect(records.allOf(library, 'scans')).toHaveLength(0);

  good(
    records.addReadings(library, wearerId, [
      { kind: 'span', name: 'head length', valueMm: 191.5, uncertaintyMm: 1 },
      { kind: 'girth', name: 'head circumference', valueMm: 563 },
      { kind: 'girth', name: 'chest circumference', valueMm: 940 },
    ]),
  );
  const one = good(await makeBlockedForm(making, wanted));
  expect(one.source).toMatchObject({ kind: 'sheet', fileName: 'measurements.csv', wearerId });
  const kept = good(records.readOriginal(library, one.source));
  expect(good(readingsFromCsv(new TextDecoder().decode(kept))).map(({ name, valueMm }) => [name, valueMm])).toEqual([
    ['head length', 191.5],
    ['head circumference', 563],
    ['chest circumference', 940],
  ]);
  expect(one.revision.scanId).toBe(one.source.id);
  expect(one.revision.steps.map(({ verb }) => verb)).toEqual(['block']);
  expect(one.figures).toMatchObject({ survey: 'women', notUsed: ['chest circumference'] });

  const two = good(await makeBlockedForm(making, { ...wanted, formId: one.form.id }));
  expect(two.revision.meshSha256).toBe(one.revision.meshSha256);
  expect(two.source.id).toBe(one.source.id);

  const stop = new AbortController();
  const watch = { signal: stop.signal, progress: () => stop.abort() };
  expect(codeOf(await makeBlockedForm({ ...making, watch }, { ...wanted, formId: one.form.id }))).toBe('job.cancelled');
  const cut = records.allOf(library, 'jobs').find(({ state }) => state === 'cancelled');
  good(await runAgain(making, cut?.id ?? ''));
  expect(records.allOf(library, 'form_revisions').at(-1)?.meshSha256).toBe(one.revision.meshSha256);

  // The sheet is no scan, and the form has no points to carry to one.
  expect(codeOf(findMesh(library, 'scan:Invented Far-Away'))).toBe('store.no-record');
  const replayed = await replayForm(making, { formId: one.form.id, fileName: 'x.stl', bytes: new Uint8Array(0) });
  expect(codeOf(replayed)).toBe('block.no-replay');
  // It is a form like any other where a form is wanted.
  const { sheet, ...known } = good(findMesh(library, 'form:head by measures')).known;
  expect(known).toEqual({});
  expect(sheet).toMatchObject({ readings: [{ name: 'head length', measured: 191.5 }, {}, {}] });
  expect(good(checkLibrary(library))).toBeTruthy();
}, 120_000);

test('the command line: --wearer takes their readings and keeps the form; without, it says what to give', async () => {
  const library = freshLibrary();
  const { id: wearerId } = good(records.addWearer(library, { name: 'Invented Far-Away' }));
  good(
    records.addReadings(library, wearerId, [{ kind: 'span', name: 'head breadth', valueMm: 152, uncertaintyMm: 1 }]),
  );
  const { path } = library;
  library.close();
  let told = '';
  const log = vi.spyOn(console, 'log').mockImplementation((text: string) => void (told = text));
  const error = vi.spyOn(console, 'error').mockImplementation(() => undefined);
  const words = ['--library', path, '--faces', String(FACES), '--json'];
  try {
    expect(await runOnLibrary(words, 'block')).toBe(2);
    expect(await runOnLibrary(['--wearer', 'Nobody', ...words], 'block')).toBe(1);
    expect(await runOnLibrary(['--wearer', 'Invented Far-Away', ...words], 'block')).toBe(0);
  } finally {
    log.mockRestore();
    error.mockRestore();
  }
  const figures = JSON.parse(told) as { name: string; revision: number; measures: { name: string; formMm: number }[] };
  expect(figures).toMatchObject({ name: 'Invented Far-Away, head by measures', revision: 1 });
  const breadth = figures.measures.find(({ name }) => name === 'head breadth');
  expect(Math.abs((breadth?.formMm ?? 0) - 152)).toBeLessThanOrEqual(1);
}, 120_000);
