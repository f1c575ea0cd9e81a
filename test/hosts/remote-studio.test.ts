import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { startRemoteStudio } from '../../electron/hosts/shell/remote-studio.ts';
import { done } from '../../shared-types/outcome.ts';
import { good } from '../store/support.ts';

const folder = mkdtempSync(join(tmpdir(), 'wearwright-remote-'));
afterAll(() => rmSync(folder, { recursive: true }));

const watch = (signal = new AbortController().signal) => ({ signal, progress: () => {} });
const DYING = new URL('./support/dying-thread.ts', import.meta.url);

describe('the studio in its own thread', () => {
  it('gives the library’s own fault when it cannot be opened', async () => {
    writeFileSync(join(folder, 'text.wearwright'), 'not a library '.repeat(100));
    const log = (): void => {};
    const outcome = await startRemoteStudio({ libraryPath: join(folder, 'text.wearwright'), log });
    expect(outcome).toMatchObject({ ok: false, fault: { code: 'store.foreign' } });
    const below = await startRemoteStudio({ libraryPath: join(folder, 'text.wearwright/inside/x.wearwright'), log });
    expect(below).toMatchObject({ ok: false, fault: { code: 'file.unwritable' } });
  });

  it('takes files piece by piece, hears of one that breaks off, and closes with everything settled', async () => {
    const told: string[] = [];
    const libraryPath = join(folder, 'new/library.wearwright');
    const studio = good(await startRemoteStudio({ libraryPath, log: (_reference, account) => told.push(account) }));
    async function* pieces(): AsyncGenerator<Uint8Array> {
      for (let i = 0; i < 40; i++) yield new TextEncoder().encode(`v ${i} 0 0\n`);
    }
    async function* broken(): AsyncGenerator<Uint8Array> {
      yield new Uint8Array(10);
      throw Object.assign(new Error('gone'), { code: 'EIO' });
    }
    const [one, two, three] = await Promise.all([
      studio.receive('a.obj', pieces()),
      studio.receive('b.obj', broken()),
      studio.receive('c.obj', (async function* () {})()),
    ]);
    expect([one.ok, two.ok, three.ok]).toEqual([true, false, true]);
    if (!two.ok) expect(two.fault).toMatchObject({ code: 'file.unreadable', facts: { path: 'b.obj' } });
    const { upload } = good(one);
    // Forty points and no face: it has come whole, and is read in the thread.
    expect(await studio.call('scan.keep', { upload, fileName: 'a.obj' }, watch())).toMatchObject({ ok: false });
    expect(existsSync(libraryPath)).toBe(true);
    await studio.close();
    expect(existsSync(`${libraryPath}-wal`)).toBe(false);
    expect(await studio.call('app.about', {}, watch())).toMatchObject({ ok: false });
    expect(await studio.receive('d.obj', pieces())).toMatchObject({ ok: false });
    await studio.close();
    expect(told).toEqual([]);
  });

  it('settles everything and says so when the thread dies', async () => {
    const told: string[] = [];
    let deaths = 0;
    const studio = good(
      await startRemoteStudio({
        libraryPath: 'x',
        log: (_reference, account) => told.push(account),
        died: () => deaths++,
        thread: DYING,
      }),
    );
    expect(await studio.call('echo', { a: new Float32Array(3) }, watch())).toEqual(done({ a: new Float32Array(3) }));
    async function* endless(): AsyncGenerator<Uint8Array> {
      for (;;) yield new Uint8Array(10);
    }
    const answers = await Promise.all([
      studio.call('silence', {}, watch()),
      studio.receive('a.obj', endless()),
      studio.call('die', {}, watch()),
    ]);
    for (const answer of answers) expect(answer).toMatchObject({ ok: false, fault: { code: 'job.internal' } });
    expect(deaths).toBe(1);
    expect(told.join()).toContain('code 7');
    await studio.close();
  });
});
