import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Bridge } from '../../shared-types/bridge.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { MessageDown } from '../../shared-types/rpc.ts';
import type { Studio } from '../../electron/hosts/shell/channel.ts';
import * as fake from './electron-fake.ts';

vi.mock('electron', () => import('./electron-fake.ts'));
const { weigh } = await import('../../electron/hosts/shell/channel.ts');
const { guardPages } = await import('../../electron/hosts/shell/guards.ts');
const { declareScheme, isOurs } = await import('../../electron/hosts/shell/screens-protocol.ts');
const { Shell } = await import('../../electron/hosts/shell/shell.ts');
await import('../../electron/hosts/shell/preload.ts');
const bridge = fake.world['wearwright'] as Bridge;

/** A studio that keeps account of what reached it. */
class TrialStudio implements Studio {
  readonly libraryPath: string;
  readonly calls: { name: string; input: unknown }[] = [];
  readonly received: { name: string; bytes: number }[] = [];
  jobs: { state: string }[] = [];
  stopped = 0;
  closed = 0;
  listener: ((name: string, value: unknown) => void) | undefined;
  constructor(libraryPath: string) {
    this.libraryPath = libraryPath;
  }
  call: Studio['call'] = async (name, input, watch) => {
    this.calls.push({ name, input });
    if (name === 'echo') return done(input);
    if (name === 'job.list') return done({ jobs: this.jobs });
    if (name === 'uncopiable') return done({ run: () => 1 });
    if (name === 'wait') {
      watch.progress(0.25, 'waiting');
      await new Promise<void>((settle) => watch.signal.addEventListener('abort', () => settle()));
      this.stopped++;
      return failed(fault('job.cancelled', {}));
    }
    throw new Error('a mistake of ours');
  };
  receive: Studio['receive'] = async (name, body) => {
    let bytes = 0;
    for await (const chunk of body) bytes += chunk.length;
    this.received.push({ name, bytes });
    return done({ upload: `handle-${this.received.length}` });
  };
  subscribe: Studio['subscribe'] = (listener) => {
    this.listener = listener;
    return () => {
      if (this.listener === listener) this.listener = undefined;
    };
  };
  close = async (): Promise<void> => {
    this.closed++;
  };
}

let folder: string;
let studios: TrialStudio[];
let refuse: Outcome<Studio> | undefined;
let died: () => void;
let shell: InstanceType<typeof Shell>;
let heard: MessageDown[];
let deafen: () => void;
const accounts: string[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-shell-'));
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>desk</title>');
  fake.restart(folder);
  guardPages(fake.app as never);
  studios = [];
  refuse = undefined;
  heard = [];
  deafen = bridge.onMessage((message) => heard.push(message));
  shell = new Shell({
    screens: folder,
    preload: '/program/preload.cjs',
    usualLibrary: join(folder, 'library.wearwright'),
    startStudio: async (path, _log, whenDead) => {
      died = whenDead;
      if (refuse !== undefined) return refuse;
      studios.push(new TrialStudio(path));
      return done(studios.at(-1) as Studio);
    },
    log: (reference, account) => accounts.push(`${reference}: ${account}`),
  });
});

afterEach(() => {
  deafen();
  rmSync(folder, { recursive: true });
});

const studio = (): TrialStudio => studios.at(-1) as TrialStudio;
const window = (): fake.BrowserWindow => fake.BrowserWindow.all.at(-1) as fake.BrowserWindow;
const settle = async (): Promise<void> => {
  for (let i = 0; i < 20; i++) await turn();
};
async function ask(id: number, name: string, input: unknown = {}): Promise<MessageDown | undefined> {
  bridge.send({ kind: 'call', id, name, input });
  await settle();
  return heard.findLast((message) => 'id' in message && message.id === id);
}

describe('the window', () => {
  it('shows our page in a sandbox of its own, without Node, with our preload', async () => {
    await shell.start([]);
    expect(window().address).toBe('wearwright://app/');
    expect(window().options.webPreferences).toMatchObject({
      preload: '/program/preload.cjs',
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      webSecurity: true,
      webviewTag: false,
      devTools: false,
    });
    expect(window().shown).toBe(false);
    window().emit('ready-to-show');
    expect(window().shown).toBe(true);
  });

  it('lets no page leave, open windows, embed others or be redirected', async () => {
    await shell.start([]);
    const { webContents } = window();
    expect(webContents.openHandler?.()).toEqual({ action: 'deny' });
    const prevented = (name: string, more: Record<string, unknown>): boolean => {
      const asked = fake.event(more);
      webContents.emit(name, asked);
      return asked.defaultPrevented;
    };
    expect(prevented('will-navigate', { url: 'https://elsewhere.example/' })).toBe(true);
    expect(prevented('will-navigate', { url: 'file:///etc/passwd' })).toBe(true);
    expect(prevented('will-navigate', { url: 'wearwright://app/#/wearer/1' })).toBe(false);
    expect(prevented('will-frame-navigate', { url: 'wearwright://app/', isMainFrame: false })).toBe(true);
    expect(prevented('will-redirect', { url: 'wearwright://app/' })).toBe(true);
    expect(prevented('will-attach-webview', {})).toBe(true);
  });

  it('has no permission for anything and no way to the network', async () => {
    await shell.start([]);
    const { defaultSession } = fake.session;
    for (const permission of ['media', 'geolocation', 'notifications', 'midi', 'openExternal', 'clipboard-read']) {
      let answer: boolean | undefined;
      defaultSession.permissionRequest?.({}, permission, (ok) => (answer = ok));
      expect(answer).toBe(false);
    }
    expect(defaultSession.permissionCheck?.()).toBe(false);
    expect(defaultSession.devicePermission?.()).toBe(false);
    const cancelled = (url: string): boolean | undefined => {
      let answer: boolean | undefined;
      defaultSession.request?.({ url }, ({ cancel }) => (answer = cancel));
      return answer;
    };
    for (const url of [
      'https://elsewhere.example/x.js',
      'http://127.0.0.1:1/',
      'file:///etc/passwd',
      'wearwright://b/',
    ])
      expect(cancelled(url), url).toBe(true);
    for (const url of ['wearwright://app/index.html', 'blob:wearwright://app/1', 'data:image/png;base64,'])
      expect(cancelled(url), url).toBe(false);
    const foreign = fake.event();
    defaultSession.downloads.emit('will-download', foreign, { getURL: () => 'https://elsewhere.example/a.stl' });
    expect(foreign.defaultPrevented).toBe(true);
    const form = fake.event();
    defaultSession.downloads.emit('will-download', form, { getURL: () => 'blob:wearwright://app/7' });
    expect(form.defaultPrevented).toBe(false);
  });

  it('serves the screens at an address of its own with a strict policy', async () => {
    declareScheme();
    expect(fake.schemes).toContainEqual(expect.objectContaining({ scheme: 'wearwright' }));
    await shell.start([]);
    const serve = fake.session.defaultSession.protocol.handlers.get('wearwright') as (r: Request) => Promise<Response>;
    const page = await serve(new Request('wearwright://app/'));
    expect(page.status).toBe(200);
    expect(await page.text()).toContain('<title>desk');
    expect(page.headers.get('content-security-policy')).toContain("default-src 'none'");
    expect(page.headers.get('content-type')).toBe('text/html; charset=utf-8');
    writeFileSync(join(folder, 'key.pem'), 'secret');
    for (const address of [
      'wearwright://app/missing.js',
      'wearwright://app/key.pem',
      'wearwright://app/%00',
      'wearwright://app/..%2f..%2fx.html',
      'wearwright://other/index.html',
    ])
      expect((await serve(new Request(address))).status, address).toBe(404);
    expect((await serve(new Request('wearwright://app/', { method: 'POST', body: 'x' }))).status).toBe(405);
  });

  it('knows its own address from those that resemble it', () => {
    for (const address of ['wearwright://app/', 'wearwright://app/index.html#/a', 'wearwright://app'])
      expect(isOurs(address)).toBe(true);
    for (const address of ['wearwright://app.example/', 'wearwright://apps/', 'https://app/', 'about:blank', undefined])
      expect(isOurs(address)).toBe(false);
  });

  it('has a menu of standard roles and one entry of its own', async () => {
    await shell.start([]);
    const entries = (fake.Menu.current ?? []).flatMap(
      (menu) => (menu['submenu'] ?? [menu]) as Record<string, unknown>[],
    );
    const own = entries.filter((entry) => entry['role'] === undefined && entry['type'] !== 'separator');
    expect(own.map((entry) => entry['label'])).toEqual(['Open scan or library…']);
  });
});

describe('the channel', () => {
  it('answers with typed arrays in and out, copied', async () => {
    await shell.start([]);
    const sent = { positions: new Float32Array([1, 2, 3.5]), note: 'ä' };
    const answer = await ask(1, 'echo', sent);
    expect(answer).toEqual({ kind: 'done', id: 1, value: sent, warnings: [] });
    expect((answer as { value: typeof sent }).value.positions).not.toBe(sent.positions);
  });

  it('reports progress, and a stop reaches the call', async () => {
    await shell.start([]);
    await ask(2, 'wait');
    expect(heard).toContainEqual({ kind: 'progress', id: 2, fraction: 0.25, phase: 'waiting' });
    bridge.send({ kind: 'stop', id: 2 });
    await settle();
    expect(heard.at(-1)).toMatchObject({ kind: 'fault', id: 2, fault: { code: 'job.cancelled' } });
  });

  it('turns mistakes and answers that cannot be copied into faults that show nothing of the inside', async () => {
    await shell.start([]);
    for (const [id, name] of [
      [3, 'broken'],
      [4, 'uncopiable'],
    ] as const) {
      expect(await ask(id, name)).toMatchObject({ kind: 'fault', fault: { code: 'job.internal' } });
    }
    expect(JSON.stringify(heard)).not.toContain('mistake');
  });

  it('hears only the main frame of our own window showing our own page', async () => {
    await shell.start([]);
    const message = { kind: 'call', id: 5, name: 'echo', input: {} };
    const { webContents } = window();
    const { mainFrame } = webContents;
    for (const from of [
      { sender: new fake.FakeContents() },
      { senderFrame: { ...mainFrame, frameToken: 'inner' } },
      { senderFrame: { ...mainFrame, processId: 8 } },
      { senderFrame: null },
    ]) {
      fake.sendUp('wearwright:up', message, from);
    }
    await settle();
    webContents.mainFrame = { ...mainFrame, url: 'https://elsewhere.example/' };
    fake.sendUp('wearwright:up', message);
    await settle();
    expect(studio().calls).toEqual([]);
    webContents.mainFrame = { ...mainFrame, url: 'wearwright://app/#/wearer/1' };
    fake.sendUp('wearwright:up', message);
    await settle();
    expect(studio().calls).toHaveLength(1);
  });

  it.each([
    null,
    7,
    'text',
    [],
    {},
    { kind: 'call' },
    { kind: 'call', id: 0.5, name: 'echo' },
    { kind: 'call', id: 1, name: 7 },
    { kind: 'upload', id: 1, name: 'a.obj' },
    { kind: 'upload', id: 1, name: '', path: '/a' },
    { kind: 'upload', id: 1, name: 'a', path: '' },
    { kind: 'upload', id: 1, name: 'a', path: '/a', bytes: new Uint8Array(1) },
  ])('drops %j, which is no message of ours', async (message) => {
    await shell.start([]);
    fake.sendUp('wearwright:up', message);
    await settle();
    expect(studio().calls).toEqual([]);
    expect(studio().received).toEqual([]);
    expect(heard).toEqual([]);
  });

  it('refuses a question that is too large or too deep, with a sentence', async () => {
    await shell.start([]);
    let deep: unknown = 1;
    for (let i = 0; i < 100; i++) deep = [deep];
    for (const [id, input] of [
      [6, { text: 'x'.repeat(9 << 20) }],
      [7, { deep }],
      [8, { when: new Date(0) }],
    ] as const) {
      expect(await ask(id, 'echo', input)).toMatchObject({ kind: 'fault', fault: { code: 'job.usage' } });
    }
    expect(studio().calls).toEqual([]);
    // A scan's own bytes may be larger.
    await ask(9, 'scan.receive', { fileName: 'a.obj', bytes: new Uint8Array(17 << 20) });
    expect(studio().calls.map((call) => call.name)).toEqual(['scan.receive']);
  });

  it('weighs what a message holds', () => {
    expect(weigh({ a: new Float64Array(1000) }, 1e6)).toBeGreaterThanOrEqual(8000);
    expect(weigh({ a: 'x'.repeat(1000) }, 1e6)).toBeGreaterThanOrEqual(2000);
    expect(
      weigh(
        Array.from({ length: 1000 }, () => 'x'.repeat(1000)),
        5000,
      ),
    ).toBeLessThan(20_000);
    expect(weigh(new Map(), 1e6)).toBe(Infinity);
  });

  it('stops what a page asked for when it is loaded anew, and begins afresh with the next', async () => {
    await shell.start([]);
    await ask(1, 'wait');
    window().webContents.emit('did-start-navigation', { isMainFrame: true, isSameDocument: true });
    expect(studio().stopped).toBe(0);
    window().webContents.reload();
    await settle();
    expect(studio().stopped).toBe(1);
    heard.length = 0;
    expect(await ask(1, 'echo', { a: 1 })).toMatchObject({ kind: 'done', id: 1 });
    expect(heard).toHaveLength(1);
  });

  it('tells the page what happens, once it is there', async () => {
    await shell.start([]);
    studio().listener?.('jobs', { jobs: [] });
    await settle();
    expect(heard).toEqual([]);
    await ask(1, 'echo');
    studio().listener?.('jobs', { jobs: [] });
    await settle();
    expect(heard.at(-1)).toEqual({ kind: 'event', name: 'jobs', value: { jobs: [] } });
  });
});

describe('scans and libraries from outside', () => {
  it('takes a dropped scan from the disk, and one without a place there from its bytes', async () => {
    await shell.start([]);
    const path = join(folder, 'head.obj');
    writeFileSync(path, 'v 0 0 0\n');
    const dropped = new File([], 'head.obj');
    fake.droppedPaths.set(dropped, path);
    expect(await bridge.upload(dropped)).toMatchObject({ ok: true, value: { upload: 'handle-1' } });
    expect(await bridge.upload(new File(['solid'], 'made.stl'))).toEqual(done({ upload: 'handle-2' }));
    expect(studio().received).toEqual([
      { name: 'head.obj', bytes: 8 },
      { name: 'made.stl', bytes: 5 },
    ]);
  });

  it('says what is wrong with a dropped file that is gone or is a folder', async () => {
    await shell.start([]);
    const upload = async (path: string): Promise<unknown> => {
      const file = new File([], 'head.obj');
      fake.droppedPaths.set(file, path);
      return bridge.upload(file);
    };
    expect(await upload(join(folder, 'gone.obj'))).toMatchObject({ fault: { code: 'file.missing' } });
    expect(await upload(folder)).toMatchObject({ fault: { code: 'file.unreadable' } });
  });

  it('receives scans named at the start and tells the page when it is there', async () => {
    const path = join(folder, 'head.obj');
    writeFileSync(path, 'v 0 0 0\n');
    await shell.start([path]);
    expect(heard).toEqual([]);
    await ask(1, 'echo');
    expect(heard).toContainEqual({
      kind: 'event',
      name: 'opened',
      value: { upload: 'handle-1', fileName: 'head.obj', byteCount: 8 },
    });
  });

  it('keeps what is opened before it is ready, brings the window forward for what comes later', async () => {
    const path = join(folder, 'head.obj');
    writeFileSync(path, 'v 0 0 0\n');
    await shell.openFiles([path]);
    await shell.start([]);
    expect(studio().received).toHaveLength(1);
    window().minimized = true;
    await shell.openFiles([path]);
    expect(studio().received).toHaveLength(2);
    expect(window().minimized).toBe(false);
    await shell.openFiles([join(folder, 'gone.obj')]);
    expect(fake.dialog.asked.at(-1)?.['detail']).toContain('There is no file');
  });

  it('keeps its own library unless one is opened', async () => {
    await shell.start([]);
    expect(studio().libraryPath).toBe(join(folder, 'library.wearwright'));
    await shell.openFiles([join(folder, 'other.wearwright')]);
    expect(studios.map((one) => one.libraryPath.slice(folder.length + 1))).toEqual([
      'library.wearwright',
      'other.wearwright',
    ]);
    expect(studios[0]?.closed).toBe(1);
    expect(studios[0]?.listener).toBeUndefined();
    expect(window().webContents.reloads).toBe(1);
    await ask(1, 'echo');
    expect(studios.map((one) => one.calls.filter((call) => call.name === 'echo').length)).toEqual([0, 1]);
  });

  it('holds on to the library it has when another cannot be opened', async () => {
    await shell.start([]);
    refuse = failed(fault('file.missing', { path: 'other.wearwright' }));
    await shell.openFiles([join(folder, 'other.wearwright')]);
    expect(fake.dialog.asked.at(-1)?.['detail']).toContain('There is no file');
    expect(await ask(1, 'echo')).toMatchObject({ kind: 'done' });
    expect(studio().closed).toBe(0);
  });

  it('offers another library when the first cannot be opened, and ends when none is chosen', async () => {
    refuse = failed(fault('file.missing', { path: 'x' }));
    fake.dialog.answers.push({ response: 1 });
    await shell.start([]);
    expect(fake.app.quits).toBe(1);
    expect(fake.BrowserWindow.all).toEqual([]);
  });
});

describe('leaving', () => {
  it('closes the library and ends when nothing is going on, keeping the place of the window', async () => {
    await shell.start([]);
    window().close();
    await settle();
    expect(fake.dialog.asked).toEqual([]);
    expect(studio().closed).toBe(1);
    expect(fake.app.quits).toBe(1);
    expect(JSON.parse(readFileSync(join(folder, 'window.json'), 'utf8'))).toMatchObject({ width: 1200, x: 10 });
  });

  it('asks before work is broken off, and stays if that is the answer', async () => {
    await shell.start([]);
    studio().jobs = [{ state: 'running' }, { state: 'done' }, { state: 'waiting' }];
    fake.dialog.answers.push({ response: 0 });
    fake.app.quit();
    await settle();
    expect(fake.dialog.asked[0]?.['message']).toBe('2 pieces of work are still going on.');
    expect([fake.app.quits, studio().closed]).toEqual([0, 0]);
    fake.dialog.answers.push({ response: 1 });
    fake.app.quit();
    await settle();
    expect([fake.app.quits, studio().closed]).toEqual([1, 1]);
  });

  it('opens the library again when the studio over it has died, and asks when it dies once more', async () => {
    await shell.start([]);
    await ask(1, 'echo');
    died();
    await settle();
    expect(studios.map((one) => one.libraryPath)).toEqual([studio().libraryPath, studio().libraryPath]);
    expect(window().webContents.reloads).toBe(1);
    expect(await ask(1, 'echo', { a: 1 })).toMatchObject({ kind: 'done' });
    expect(studio().calls).toHaveLength(1);
    fake.dialog.answers.push({ response: 1 });
    died();
    await settle();
    expect(fake.dialog.asked).toHaveLength(1);
    expect(fake.app.quits).toBe(1);
  });

  it('loads the page again after a crash, and asks when it crashes once more', async () => {
    await shell.start([]);
    const crash = async (): Promise<void> => {
      window().webContents.emit('render-process-gone', {}, { reason: 'crashed' });
      await settle();
    };
    await crash();
    expect(window().webContents.reloads).toBe(1);
    expect(fake.dialog.asked).toEqual([]);
    fake.dialog.answers.push({ response: 1 });
    await crash();
    expect(fake.dialog.asked).toHaveLength(1);
    expect(fake.app.quits).toBe(1);
    expect(accounts.filter((account) => account.includes('crashed'))).toHaveLength(2);
  });
});
