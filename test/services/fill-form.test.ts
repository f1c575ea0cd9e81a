/** Filled forms in a library: beside the true form, with what they were made from, and the guess in words. */
import { writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterAll, expect, test, vi } from 'vitest';
import { runOnLibrary } from '../../electron/hosts/cli/on-library.ts';
import { JobPool } from '../../electron/jobs/pool.ts';
import { makeBlockedForm } from '../../electron/services/block-form.ts';
import { makeFilledForm } from '../../electron/services/fill-form.ts';
import { replayForm } from '../../electron/services/making.ts';
import { runAgain } from '../../electron/services/run-again.ts';
import { checkLibrary } from '../../electron/store/check.ts';
import * as records from '../../electron/store/records.ts';
import { checksOf, evidenceOf, filledOf } from '../../shared-types/step-evidence.ts';
import { codeOf, freshLibrary, good } from '../store/support.ts';

const pool = new JobPool();
afterAll(() => pool.close());

const PATCH = { zones: [{ region: 'crown' as const }] };

/** A library with one form; what it was made from does not matter here. */
async function withForm() {
  const library = freshLibrary();
  const { id: wearerId } = good(records.addWearer(library, { name: 'Invented Long-Hair' }));
  const readings = [
    { kind: 'span' as const, name: 'head length', valueMm: 196, uncertaintyMm: 1 },
    { kind: 'span' as const, name: 'tragion to top of head', valueMm: 131, uncertaintyMm: 1.5 },
  ];
  good(records.addReadings(library, wearerId, readings));
  const wanted = { wearerId, name: 'head', faces: 3000 };
  return { library, wearerId, source: good(await makeBlockedForm({ library, pool }, wanted)) };
}

test('a filled form is one of its own, says what is guessed, and is made again the same; the true one stays', async () => {
  const { library, wearerId, source } = await withForm();
  const making = { library, pool };
  const wanted = { revisionId: source.revision.id, name: 'head, filled', patch: PATCH };
  const one = good(await makeFilledForm(making, wanted));
  expect(one.form.id).not.toBe(source.form.id);
  expect(records.revisionsOf(library, source.form.id)).toHaveLength(1);
  const { steps, recipe } = one.revision;
  expect(steps.map(({ verb }) => verb)).toEqual(['block', 'fill']);
  expect(recipe['fill']).toMatchObject({ patch: PATCH, of: { name: 'head', making: 1 } });

  const told = evidenceOf(steps[1]);
  expect(told.doubts[0]).toMatch(/^Guessed, not scanned: crown\..*95 of 100/);
  expect(told.sentences.join(' ')).toMatch(/Made from head, making 1, which stays.*points outside it moved by nothing/);
  expect(filledOf(steps)).toMatchObject({ patch: ['crown'] });
  const top = checksOf(steps).find(({ name }) => name === 'tragion to top of head');
  expect(top).toMatchObject({ role: 'met by the fill', measuredMm: 131, agrees: true });

  const stop = new AbortController();
  const watch = { signal: stop.signal, progress: () => stop.abort() };
  expect(codeOf(await makeFilledForm({ ...making, watch }, wanted))).toBe('job.cancelled');
  // A guess is never laid over the true form.
  expect(codeOf(await makeFilledForm(making, { ...wanted, name: 'head' }))).toBe('job.usage');
  const cut = records.allOf(library, 'jobs').find(({ state }) => state === 'cancelled');
  good(await runAgain(making, cut?.id ?? ''));
  const makings = records.revisionsOf(library, one.form.id);
  expect(makings.map(({ revision }) => revision)).toEqual([1, 2]);
  expect(makings[1].meshSha256).toBe(one.revision.meshSha256);

  const forms = records.allOf(library, 'forms', 'WHERE wearer_id = ?', wearerId).map(({ name }) => name);
  expect(forms.sort()).toEqual(['head', 'head, filled']);
  const replayed = await replayForm(making, { formId: one.form.id, fileName: 'x.stl', bytes: new Uint8Array(0) });
  expect(codeOf(replayed)).toMatch(/no-replay$/);
  expect(good(checkLibrary(library))).toBeTruthy();
}, 120_000);

test('the command line fills a form of the library with the readings on its wearer’s sheet', async () => {
  const { library } = await withForm();
  const { path } = library;
  library.close();
  const patch = join(dirname(path), 'patch.json');
  writeFileSync(patch, JSON.stringify(PATCH));
  let told = '';
  const log = vi.spyOn(console, 'log').mockImplementation((text: string) => void (told = text));
  const error = vi.spyOn(console, 'error').mockImplementation(() => undefined);
  try {
    expect(await runOnLibrary(['form:head', '--library', path, '--json'], 'fill')).toBe(2);
    expect(await runOnLibrary(['form:head', '--patch', patch, '--library', path, '--json'], 'fill')).toBe(0);
  } finally {
    log.mockRestore();
    error.mockRestore();
  }
  const figures = JSON.parse(told) as { name: string; measures: { name: string; role: string; measuredMm: number }[] };
  expect(figures).toMatchObject({ name: 'head, filled', kept: { movedMaxMm: 0 } });
  const top = figures.measures.find(({ name }) => name === 'tragion to top of head');
  expect(top).toMatchObject({ role: 'given', measuredMm: 131 });
}, 120_000);
