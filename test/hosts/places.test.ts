import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { logTo } from '../../electron/hosts/shell/log-file.ts';
import { filesIn, libraryIn } from '../../electron/hosts/shell/opened-files.ts';
import { DEFAULT_PLACE, readPlace } from '../../electron/hosts/shell/window-place.ts';
import { usualLibrary } from '../../electron/services/usual-library.ts';

it('the usual library lies where each system keeps such things', () => {
  const end = join('wearwright', 'library.wearwright');
  // XDG Base Directory Specification 0.8: $XDG_DATA_HOME, else $HOME/.local/share; a relative value is ignored.
  expect(usualLibrary('linux', {}, '/home/w')).toBe(join('/home/w/.local/share', end));
  expect(usualLibrary('linux', { XDG_DATA_HOME: '/data' }, '/home/w')).toBe(join('/data', end));
  expect(usualLibrary('linux', { XDG_DATA_HOME: 'data' }, '/home/w')).toBe(join('/home/w/.local/share', end));
  expect(usualLibrary('linux', { XDG_DATA_HOME: '' }, '/home/w')).toBe(join('/home/w/.local/share', end));
  // Common practice on the other two, no source.
  expect(usualLibrary('darwin', {}, '/Users/w')).toBe(join('/Users/w/Library/Application Support', end));
  expect(usualLibrary('win32', { APPDATA: '/r' }, '/w')).toBe(join('/r', end));
  expect(usualLibrary('win32', {}, '/w')).toBe(join('/w/AppData/Roaming', end));
});

it('the log of our mistakes keeps its newest part and never grows without end', () => {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-log-'));
  const file = join(folder, 'logs/wearwright.log');
  const log = logTo(file);
  log('1a2b', 'first\nsecond line');
  expect(readFileSync(file, 'utf8')).toMatch(/^\d{4}-\d\d-\d\dT[\d:.]+Z \[1a2b\] first\nsecond line\n$/);
  writeFileSync(file, 'x'.repeat((1 << 20) + 1));
  log('3c4d', 'after');
  expect(readFileSync(file, 'utf8')).toContain('[3c4d] after');
  expect(statSync(file).size).toBeLessThan(200);
  expect(readdirSync(join(folder, 'logs'))).toEqual(['wearwright.log', 'wearwright.log.old']);
  rmSync(folder, { recursive: true });
});

it('the window stands where it stood, if that is on a screen, and survives a broken note of it', () => {
  const folder = mkdtempSync(join(tmpdir(), 'wearwright-place-'));
  const file = join(folder, 'window.json');
  const screens = [{ x: 0, y: 0, width: 1920, height: 1080 }];
  expect(readPlace(file, screens)).toEqual(DEFAULT_PLACE);
  writeFileSync(file, JSON.stringify({ x: 30, y: 40, width: 1000, height: 700, maximized: true }));
  expect(readPlace(file, screens)).toEqual({ x: 30, y: 40, width: 1000, height: 700, maximized: true });
  expect(readPlace(file, [{ x: 0, y: 0, width: 100, height: 100 }])).toEqual({
    width: 1000,
    height: 700,
    maximized: true,
  });
  for (const text of ['', 'null', '{"width":"a"}', '{"width":-5,"height":1e9}', '[]']) {
    writeFileSync(file, text);
    expect(readPlace(file, screens)).toEqual(DEFAULT_PLACE);
  }
  rmSync(folder, { recursive: true });
});

it('finds scans and libraries among the words of a command line', () => {
  const words = ['/opt/wearwright', '--type=x', 'head.obj', '/a/b.WEARWRIGHT', 'notes.txt', '-psn_0', 'c.3mf\0'];
  expect(filesIn(words, '/home/w')).toEqual(['/home/w/head.obj', '/a/b.WEARWRIGHT']);
  expect(libraryIn(['x', '--library', 'a.db'], '/home/w')).toBe('/home/w/a.db');
  expect(libraryIn(['x', '--library=/b'], '/home/w')).toBe('/b');
  expect(libraryIn(['x', '--library'], '/home/w')).toBeUndefined();
  expect(libraryIn(['x', 'a.db'], '/home/w')).toBeUndefined();
});
