import { expect, test } from 'vitest';
import { companyCsv, companyOf, runCompany } from '../../electron/services/company.ts';
import { writeMesh } from '../../electron/formats/index.ts';
import { IDENTITY, transformMesh, scaling } from '../../electron/geometry/mesh/transform.ts';
import { DESK_REGISTRY, JobPool } from '../../electron/jobs/pool.ts';
import { partState } from '../../electron/services/part-ready.ts';
import { addFitting, editFitting } from '../../electron/store/making-records.ts';
import { finishPart } from '../../electron/store/making-records.ts';
import * as records from '../../electron/store/records.ts';
import type { Library } from '../../electron/store/connection.ts';
import { fault, faultSentence } from '../../shared-types/faults/index.ts';
import { failed } from '../../shared-types/outcome.ts';
import { freshLibrary, good } from '../store/support.ts';
import { inward, sphere } from '../support/solids.ts';

function withBalls(
  radii: readonly number[],
  partRadius: number,
  levels = 4,
): { library: Library; formIds: string[]; partId: string } {
  const library = freshLibrary();
  const formIds = radii.map((radius) => {
    const { id: wearerId } = good(records.addWearer(library, { name: `Invented ball of ${radius}` }));
    const scan = good(records.addScan(library, { wearerId, fileName: 'a.obj', bytes: Buffer.from(`v ${radius} 0 0`) }));
    const made = { wearerId, name: 'head', scanId: scan.id, recipe: {}, steps: [], programVersion: '0' };
    return good(records.addFormRevision(library, { ...made, mesh: sphere(radius, levels) })).form.id;
  });
  // A ball turned inside out, as the inner side of a part.
  const file = good(writeMesh(inward(sphere(partRadius, levels)), 'bowl.stl'));
  const part = good(records.addPart(library, { name: 'Bowl', fileName: 'bowl.stl', bytes: file.bytes }));
  good(finishPart(library, part.id, { recipe: { unit: 'mm' }, figures: {}, mesh: inward(sphere(partRadius, levels)) }));
  return { library, formIds, partId: part.id };
}

test('balls in a hollow ball: ease and scale of closed form, only what changed is tried again, and the table as CSV', async () => {
  const [small, large, hole] = [80, 90, 95];
  const { library, formIds } = withBalls([small, large], hole);
  const pool = new JobPool({
    threads: 2,
    registry: DESK_REGISTRY,
    log: (_reference, account) => console.error(account),
  });
  const making = { library, pool };
  const roomMm = 10;
  expect(companyOf(library, undefined, roomMm).cells.map(({ trialId }) => trialId)).toEqual([undefined, undefined]);
  expect(good(await runCompany(making, undefined, roomMm)).tried).toBe(2);
  const [first, second] = companyOf(library, undefined, roomMm).cells;
  // Concentric, the gap is the difference of the radii; facets of the balls take 0.2 mm at most.
  expect(Math.abs((first?.leastEaseMm ?? 0) - (hole - small))).toBeLessThan(0.3);
  expect(first).toMatchObject({ goesOn: true, scale: 1 });
  expect(second?.goesOn).toBe(false);
  expect(Math.abs((second?.leastEaseMm ?? 0) - (hole - large))).toBeLessThan(0.3);
  expect(Math.abs((second?.scale ?? 0) - (large + roomMm) / hole)).toBeLessThan(0.004);
  // Nothing to do the second time; another making of one form makes one pair unknown.
  expect(good(await runCompany(making, undefined, roomMm)).tried).toBe(0);
  const [form] = records.allOf(library, 'forms', 'WHERE id = ?', formIds[0]);
  const [scan] = records.allOf(library, 'scans', 'WHERE wearer_id = ?', form?.wearerId ?? '');
  const again = { wearerId: form?.wearerId ?? '', formId: formIds[0] ?? '', name: 'head', scanId: scan?.id ?? '' };
  const mesh = transformMesh(scaling(1.05), sphere(small, 4));
  good(records.addFormRevision(library, { ...again, recipe: {}, steps: [], programVersion: '0', mesh }));
  expect(companyOf(library, undefined, roomMm).cells.map(({ trialId }) => trialId === undefined)).toEqual([
    true,
    false,
  ]);
  expect(good(await runCompany(making, undefined, roomMm)).tried).toBe(1);
  const table = companyOf(library, undefined, roomMm);
  expect(Math.abs((table.cells[0]?.leastEaseMm ?? 0) - (hole - 1.05 * small))).toBeLessThan(0.3);
  const lines = companyCsv(table).trimEnd().split('\r\n');
  expect(lines).toHaveLength(3);
  expect(lines[1]).toMatch(/^Bowl,Invented ball of 80,head,yes,1[01]\.\d,/);
  await pool.close();
  library.close();
});

test('a part nobody can read keeps no other from being tried', async () => {
  const { library, partId } = withBalls([80], 95, 2);
  const broken = good(
    records.addPart(library, { name: 'Aa broken', fileName: 'a.stl', bytes: Buffer.from('no mesh at all') }),
  );
  const pool = new JobPool({
    threads: 2,
    registry: DESK_REGISTRY,
    log: (_reference, account) => console.error(account),
  });
  const run = (): ReturnType<typeof runCompany> => runCompany({ library, pool }, undefined, 10);
  expect(good(await run()).tried).toBe(2);
  const cellOf = (id: string) => companyOf(library, undefined, 10).cells.find((cell) => cell.partId === id);
  expect(cellOf(broken.id)?.sentence).toMatch(/\.$/);
  expect(cellOf(partId)?.goesOn).toBe(true);
  expect(good(await run()).tried).toBe(0);
  await pool.close();
  library.close();
});

test('a part worn another way is tried again, and a stopped run keeps what it has', async () => {
  const { library, formIds, partId } = withBalls([70, 75, 80], 95, 2);
  const pool = new JobPool({
    threads: 2,
    registry: DESK_REGISTRY,
    log: (_reference, account) => console.error(account),
  });
  const stop = new AbortController();
  const watch = { signal: stop.signal, progress: () => stop.abort() };
  const stopped = await runCompany({ library, pool, watch }, undefined, 10);
  expect(stopped.ok ? '' : stopped.fault.code).toBe('job.cancelled');
  const triedOnes = (): number =>
    companyOf(library, undefined, 10).cells.filter(({ trialId }) => trialId !== undefined).length;
  const before = triedOnes();
  expect(before).toBeGreaterThan(0);
  expect(before).toBeLessThan(3);
  // What the library holds, counted apart from the run, is what the sentence says.
  const said = before === 1 ? '1 tried pair is kept' : `${before} tried pairs are kept`;
  expect(stopped.ok ? '' : faultSentence(stopped.fault)).toBe(`Stopped as you asked; ${said}.`);
  expect(good(await runCompany({ library, pool }, undefined, 10)).tried).toBe(3 - before);
  const fitting = good(addFitting(library, { name: 'bowl', formId: formIds[0] ?? '', partId, draft: {} }));
  const placedAt = (x: number): void => {
    const draft = { placement: [1, 0, 0, x, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1] };
    good(editFitting(library, fitting.id, { draft }, 'place the part'));
  };
  // A trial shifts it that far by itself; farther away it would have looked elsewhere.
  placedAt(3);
  expect(triedOnes()).toBe(3);
  placedAt(40);
  expect(triedOnes()).toBe(0);
  good(records.undo(library));
  expect(triedOnes()).toBe(3);
  // Trials of a part laid flat, or told by a stranger's bundle, and a draft that cannot be read break no table.
  const [revision] = records.revisionsOf(library, formIds[0] ?? '');
  const trial = { partId, formRevisionId: revision?.id ?? '', placement: [...IDENTITY] };
  const [{ figures }] = records.allOf(library, 'trials');
  const { method } = figures['company'] as { method: number };
  const known = { method, roomMm: 10, scale: null, sentence: null };
  for (const company of [
    { ...known, from: IDENTITY.map(() => 0) },
    { ...known, from: 'afar' },
    { method, roomMm: 'much' },
    7,
  ]) {
    good(records.addTrial(library, { ...trial, figures: { company, leastEaseMm: 'enough' } }));
  }
  good(editFitting(library, fitting.id, { draft: { placement: 'on the head' } }, 'place the part'));
  expect(triedOnes()).toBe(3);
  await pool.close();
  library.close();
});

test('a trial by an older method is outdated, and tried again', async () => {
  const { library, formIds, partId } = withBalls([80], 95, 3);
  const [part] = records.allOf(library, 'parts');
  const [revision] = records.revisionsOf(library, formIds[0]);
  // As it was kept before a method was told.
  const company = { roomMm: 10, scale: 1, sentence: null, from: [...IDENTITY] };
  const figures = { leastEaseMm: 12.75, meanEaseMm: 13, company, partState: partState(part) };
  good(records.addTrial(library, { partId, formRevisionId: revision.id, placement: [...IDENTITY], figures }));
  const pool = new JobPool({ threads: 1, registry: DESK_REGISTRY });
  expect(companyOf(library, undefined, 10).cells).toEqual([{ partId, formId: formIds[0], outdated: true }]);
  expect(companyCsv(companyOf(library, undefined, 10))).toContain('outdated');
  expect(good(await runCompany({ library, pool }, undefined, 10)).tried).toBe(1);
  // Concentric: the difference of the radii, less what the facets take.
  expect(Math.abs((companyOf(library, undefined, 10).cells[0].leastEaseMm ?? 0) - 15)).toBeLessThan(1);
  await pool.close();
  library.close();
});

test('a run that ends in trouble of the program says which pairs are kept, not that nothing was changed', async () => {
  const { library } = withBalls([70, 75, 80], 95, 2);
  const real = new JobPool({ registry: DESK_REGISTRY, log: (_reference, account) => console.error(account) });
  let left = 1;
  const pool = {
    threads: 2,
    run: (...order: Parameters<JobPool['run']>) =>
      left-- > 0 ? real.run(...order) : Promise.resolve(failed<never>(fault('job.internal', { reference: 'abc' }))),
  } as unknown as JobPool;
  const run = await runCompany({ library, pool }, undefined, 10);
  expect(run.ok ? '' : faultSentence(run.fault)).toContain('(reference abc); 1 tried pair is kept.');
  expect(companyOf(library, undefined, 10).cells.filter(({ trialId }) => trialId !== undefined)).toHaveLength(1);
  await real.close();
  library.close();
});

test('a part of unknown size is not tried by a guess, and says what to do', async () => {
  const { library } = withBalls([80], 95, 2);
  const inches = good(writeMesh(inward(sphere(95 / 25.4, 2)), 'inches.stl'));
  const { id } = good(records.addPart(library, { name: 'Inches', fileName: 'inches.stl', bytes: inches.bytes }));
  const pool = new JobPool({
    threads: 1,
    registry: DESK_REGISTRY,
    log: (_reference, account) => console.error(account),
  });
  good(await runCompany({ library, pool }, undefined, 10));
  const cell = companyOf(library, undefined, 10).cells.find(({ partId }) => partId === id);
  expect(cell?.leastEaseMm).toBeUndefined();
  expect(cell?.sentence).toMatch(/size is not known; open the part/);
  await pool.close();
  library.close();
});
