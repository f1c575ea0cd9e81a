import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { JobView } from '../../shared-types/contract.ts';
import { createStudio } from '../../electron/services/dispatch.ts';
import { openLibrary } from '../../electron/store/connection.ts';
import { beginJob } from '../../electron/store/jobs.ts';
import { removePassphrase, setPassphrase } from '../../electron/store/privacy.ts';
import { codeOf, freshFolder, good } from '../store/support.ts';

test('a job that a crash cut off stays on the board while other work is told of, until it is put away', async () => {
  const libraryPath = join(freshFolder(), 'shelf.wearwright');
  const before = good(openLibrary(libraryPath, { create: true }));
  const cut = good(beginJob(before, { verb: 'form', request: { name: 'Head' } }));
  // A process that is no more: job numbers of Linux end at 2^22.
  before.db.prepare('UPDATE jobs SET process_id = ? WHERE id = ?').run(2 ** 30, cut.id);
  before.close();
  const studio = good(createStudio({ libraryPath, threads: 1 }));
  const told: JobView[][] = [];
  studio.subscribe((name, value) => {
    if (name === 'jobs') told.push((value as { jobs: JobView[] }).jobs);
  });
  const { jobId } = good(await studio.call('demo.make', {})) as { jobId: string };
  good(await studio.call('job.stop', { id: jobId }));
  await expect.poll(() => told.at(-1)?.find(({ id }) => id === jobId)?.state).toBe('stopped');
  for (const jobs of told) expect(jobs.find(({ id }) => id === cut.id)?.state).toBe('interrupted');
  good(await studio.call('job.dismiss', { id: cut.id }));
  expect(told.at(-1)?.some(({ id }) => id === cut.id)).toBe(false);
  await studio.close();
});

test('a studio whose library another program locks asks for the passphrase, and writes nothing unsealed meanwhile', async () => {
  const libraryPath = join(freshFolder(), 'shelf.wearwright');
  const studio = good(createStudio({ libraryPath, threads: 1 }));
  good(await studio.call('wearer.add', { name: 'Somebody Invented' }));
  const other = good(openLibrary(libraryPath));
  good(setPassphrase(other, 'four invented words', 1024));
  expect(codeOf(await studio.call('shelf.show', {}))).toBe('store.lock-changed');
  expect(codeOf(await studio.call('wearer.add', { name: 'In plain words' }))).toBe('store.locked');
  expect(good(await studio.call('app.about', {}))).toMatchObject({ locked: true });
  good(await studio.call('library.unlock', { passphrase: 'four invented words' }));
  expect(good(await studio.call('shelf.show', {}))).toMatchObject({ wearers: [{ name: 'Somebody Invented' }] });
  // Taken off there, it is open here at once.
  good(removePassphrase(other, 'four invented words'));
  expect(codeOf(await studio.call('shelf.show', {}))).toBe('store.lock-changed');
  expect(good(await studio.call('app.about', {}))).toMatchObject({ locked: false });
  other.close();
  await studio.close();
});
