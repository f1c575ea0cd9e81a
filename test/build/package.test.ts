import { extractAll, listPackage } from '@electron/asar';
import { FuseV1Options, getCurrentFuseWire } from '@electron/fuses';
import { spawnSync } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { rolldown } from 'rolldown';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bundleDesktop, threadModules } from '../../build/bundle.ts';
import { desktopHindrance, electronBinary, obtainElectron, runWindow } from '../../build/desktop.ts';
import { packageConfig } from '../../build/electron-builder.config.ts';
import { notices } from '../../build/notices.ts';
import { packProgram } from '../../build/package.ts';
import { box } from '../support/solids.ts';
import { writeMesh } from '../../electron/formats/index.ts';

const root = join(import.meta.dirname, '../..');
let folder: string;
let resources: string;

/**
 * A folder that passes for Electron's files: a binary that holds the marker of its switches (its text and layout are
 * @electron/fuses' own documented sentinel) with all nine set to the maker's defaults.
 */
function makeStub(at: string): string {
  mkdirSync(join(at, 'resources'), { recursive: true });
  mkdirSync(join(at, 'locales'));
  const wire = Buffer.from([1, 9, ...Buffer.from('100010011')]);
  const sentinel = Buffer.from('dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX');
  writeFileSync(join(at, 'electron'), Buffer.concat([Buffer.from('\x7fELF '), sentinel, wire]), { mode: 0o755 });
  for (const name of ['locales/en-US.pak', 'locales/de.pak', 'version', 'LICENSE', 'LICENSES.chromium.html'])
    writeFileSync(join(at, name), name);
  return at;
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'wearwright-package-'));
  const screens = join(folder, 'screens');
  mkdirSync(screens);
  writeFileSync(join(screens, 'index.html'), '<!doctype html>');
  const desktop = join(folder, 'desktop');
  await bundleDesktop(desktop);
  const electronDist = makeStub(join(folder, 'stub'));
  await packProgram(
    { platform: 'linux', arch: 'x64', electronDist, desktop, screens, output: join(folder, 'out') },
    true,
  );
  resources = join(folder, 'out/linux-unpacked/resources');
}, 120_000);

afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('the packed program', () => {
  it('holds our bundle, the database for its own system, and nothing else', () => {
    const list = listPackage(join(resources, 'app.asar'), { isPack: false }).map((name) => name.replaceAll('\\', '/'));
    for (const name of ['/main.js', '/preload.cjs', '/package.json', '/icon.png', '/jobs/worker-entry.js'])
      expect(list).toContain(name);
    expect(list.filter((name) => name.includes('node_modules') || name.endsWith('.node'))).toEqual([]);
    const unpacked = readdirSync(join(resources, 'app.asar.unpacked'), { recursive: true, encoding: 'utf8' });
    const native = unpacked.filter((name) => name.endsWith('.node')).map((name) => basename(name));
    expect(new Set(native)).toEqual(new Set(['linux-x64.node', 'linuxmusl-x64.node']));
    expect(readdirSync(join(resources, 'app.asar.unpacked/node_modules'))).toEqual([
      'better-sqlite3',
      'dejavu-fonts-ttf',
    ]);
    expect(list.filter((name) => /\.(ts|tsx|map|c|cpp)$/.test(name))).toEqual([]);
    expect(existsSync(join(resources, 'screens/index.html'))).toBe(true);
    expect(readFileSync(join(resources, 'LICENSE.txt'), 'utf8')).toContain('MIT');
    expect(readdirSync(join(resources, '../locales'))).toEqual(['en-US.pak']);
  });

  it('has the switches of its binary set: it runs its own archive and nothing else', async () => {
    const wire = await getCurrentFuseWire(join(resources, '../wearwright'));
    const on = (fuse: FuseV1Options): boolean => String.fromCharCode(wire[fuse] as number) === '1';
    expect(on(FuseV1Options.RunAsNode)).toBe(false);
    expect(on(FuseV1Options.EnableNodeOptionsEnvironmentVariable)).toBe(false);
    expect(on(FuseV1Options.EnableNodeCliInspectArguments)).toBe(false);
    expect(on(FuseV1Options.GrantFileProtocolExtraPrivileges)).toBe(false);
    expect(on(FuseV1Options.EnableCookieEncryption)).toBe(true);
    expect(on(FuseV1Options.EnableEmbeddedAsarIntegrityValidation)).toBe(true);
    expect(on(FuseV1Options.OnlyLoadAppFromAsar)).toBe(true);
  });

  it('reads and mends a scan and invents wearers in its own threads', async () => {
    // Laid out as the archive is seen from inside: app.asar as a folder, the unpacked files beside it.
    const place = join(folder, 'laid-out');
    extractAll(join(resources, 'app.asar'), join(place, 'app.asar'));
    cpSync(join(resources, 'app.asar.unpacked'), join(place, 'app.asar.unpacked'), { recursive: true });
    const electron = join(place, 'app.asar/node_modules/electron');
    const stand = await rolldown({ input: join(root, 'test/hosts/electron-fake.ts'), platform: 'node' });
    await stand.write({ file: join(electron, 'index.js'), format: 'es' });
    await stand.close();
    writeFileSync(join(electron, 'package.json'), '{"name":"electron","type":"module","main":"index.js"}');
    cpSync(join(import.meta.dirname, 'support/packed-driver.mjs'), join(place, 'app.asar/driver.mjs'));
    // Threads must come from the unpacked folder: what lies in the archive is taken away.
    for (const name of ['hosts', 'jobs', 'operations', 'services'])
      rmSync(join(place, 'app.asar', name), { recursive: true });
    const scan = writeMesh(box(100, 80, 60), 'block.stl');
    if (!scan.ok) throw new Error('the block could not be written');
    writeFileSync(join(folder, 'block.stl'), scan.value.bytes);
    const ran = spawnSync(process.execPath, [join(place, 'app.asar/driver.mjs'), join(folder, 'block.stl')], {
      encoding: 'utf8',
      timeout: 60_000,
      env: { PATH: process.env['PATH'], HOME: folder, XDG_DATA_HOME: join(folder, 'data'), TMPDIR: folder },
    });
    expect(ran.stderr).toBe('');
    const { about, prepared, figures, invented, opened, paper } = JSON.parse(ran.stdout) as Record<
      string,
      Record<string, unknown>
    >;
    const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string };
    expect(about).toMatchObject({
      version,
      empty: true,
      libraryPath: join(folder, 'data/wearwright/library.wearwright'),
    });
    // Binary STL: 84 bytes and 50 for each of the twelve faces.
    expect(opened).toEqual({ fileName: 'block.stl', byteCount: 684 });
    expect(paper).toBe('%PDF-');
    expect(prepared).toMatchObject({ state: 'done' });
    expect(figures).toMatchObject({ facesBefore: 12, sound: true });
    expect(invented?.['state']).toBe('running');
    expect(ran.status).toBe(0);
  }, 90_000);
});

/** Licences that ask for a notice and no more (SPDX). */
const FREE = ['MIT', 'ISC', 'BSD-2-Clause', 'BSD-3-Clause', 'Apache-2.0', 'Unlicense', '0BSD', 'Bitstream-Vera'];

describe('the build', () => {
  it('brings the licence of everything that is packed with it, none of which binds more than a notice', () => {
    const all = notices();
    const names = all.map(({ name }) => name);
    for (const name of [
      'better-sqlite3',
      'zod',
      'ws',
      'fflate',
      'earcut',
      'react',
      'react-dom',
      'scheduler',
      'three',
      'pdfkit',
      'fontkit',
    ])
      expect(names).toContain(name);
    for (const { name, licence, text } of all) {
      expect(FREE, name).toContain(licence);
      expect(text.length, name).toBeGreaterThan(200);
    }
    expect(readFileSync(join(resources, 'third-party-licences.txt'), 'utf8')).toContain('\nzod 4.');
  });

  it('knows every module that is started by its address', () => {
    const names = threadModules().map((path) => path.slice(root.length + 1));
    expect(names).toEqual(expect.arrayContaining(['electron/jobs/worker-entry.ts', 'electron/operations/index.ts']));
    for (const path of threadModules()) expect(existsSync(path), path).toBe(true);
  });

  it('leaves no address of a module in the bundle that is not there', () => {
    const desktop = join(folder, 'desktop');
    const files = readdirSync(desktop, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.js'));
    const named = files.flatMap((name) =>
      [...readFileSync(join(desktop, name), 'utf8').matchAll(/new URL\("([^"]+)", import\.meta\.url\)/g)].map((match) =>
        join(desktop, name, '..', match[1] as string),
      ),
    );
    expect(named.length).toBeGreaterThanOrEqual(threadModules().length);
    for (const path of named) expect(existsSync(path), path).toBe(true);
  });

  it('has a configuration the packager accepts for each system', async () => {
    // An inner path of the packager, fixed by its pinned version: it refuses unknown keys and switches.
    const { validateConfiguration } = (await import('app-builder-lib/out/util/config/config.js')) as unknown as {
      validateConfiguration: (config: unknown, log: unknown) => Promise<void>;
    };
    const { DebugLogger } = await import('builder-util');
    for (const platform of ['linux', 'win32', 'darwin'] as const)
      await validateConfiguration(packageConfig({ platform }), new DebugLogger(false));
    const wrong = { ...packageConfig(), electronFuses: { runAsNod: false } };
    await expect(validateConfiguration(wrong, new DebugLogger(false))).rejects.toThrow('configuration.electronFuses');
  });

  it('sees whether the binary of the window is installed without fetching it', () => {
    const at = join(folder, 'electron-package');
    expect(electronBinary(at)).toBeUndefined();
    mkdirSync(join(at, 'dist'), { recursive: true });
    writeFileSync(join(at, 'path.txt'), 'electron');
    expect(electronBinary(at)).toBeUndefined();
    writeFileSync(join(at, 'dist/electron'), '');
    expect(electronBinary(at)).toBe(join(at, 'dist/electron'));
  });

  it('fetches the binary once when it is wanted, and a failed fetch is not repeated for a day', async () => {
    const at = join(folder, 'electron-to-fetch');
    const failedNote = join(folder, 'notes/failed');
    const said: string[] = [];
    const obtain = (): Promise<string | undefined> =>
      obtainElectron({ folder: at, failedNote, say: (line) => said.push(line) });
    mkdirSync(at);
    writeFileSync(join(at, 'install.js'), 'process.exit(1)');
    expect(await obtain()).toBeUndefined();
    expect(existsSync(failedNote)).toBe(true);
    expect(await obtain()).toBeUndefined();
    expect(said).toHaveLength(1);
    const yesterday = Date.now() / 1000 - 25 * 3600;
    utimesSync(failedNote, yesterday, yesterday);
    const script = `const fs = require('fs'), at = __dirname; fs.mkdirSync(at + '/dist');
      fs.writeFileSync(at + '/dist/electron', ''); fs.writeFileSync(at + '/path.txt', 'electron');`;
    writeFileSync(join(at, 'install.js'), script);
    expect(await obtain()).toBe(join(at, 'dist/electron'));
    expect(existsSync(failedNote)).toBe(false);
    expect(said).toHaveLength(2);
  });

  it('says why no window can open, and tells a window that never opened from one that was closed', async () => {
    expect(desktopHindrance('linux', {}, 1000)).toContain('no screen');
    expect(desktopHindrance('linux', { DISPLAY: ':0' }, 0)).toContain('root');
    expect(desktopHindrance('linux', { WAYLAND_DISPLAY: 'wayland-0' }, 1000)).toBeUndefined();
    expect(desktopHindrance('darwin', {}, 501)).toBeUndefined();
    expect(await runWindow(process.execPath, ['-e', ''])).toBe(0);
    expect(await runWindow(process.execPath, ['-e', 'process.exit(3)'])).toBeUndefined();
    expect(await runWindow(join(folder, 'no-such-binary'), [])).toBeUndefined();
  });
});
