/**
 * `npm start`: build the screens if something changed, then open the studio: in the desktop window where its binary
 * can be had, else (or with --browser) in the browser, by the loopback host.
 */
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { readyScreens, SCREENS_FOLDER } from './screens.ts';
import { electronBinary, startDesktop } from './desktop.ts';

const root = join(import.meta.dirname, '..');
const words = process.argv.slice(2);

if (!words.includes('--help')) await readyScreens();
const wantsBrowser = words.includes('--browser') || words.includes('--help');
if (!wantsBrowser && electronBinary() !== undefined) {
  process.exitCode = await startDesktop(words);
} else {
  if (!wantsBrowser) {
    console.log('The desktop window is not installed on this machine, so the studio opens in the browser.');
  }
  const host = join(root, 'electron/hosts/loopback/main.ts');
  const child = spawn(process.execPath, [host, '--screens', SCREENS_FOLDER, ...words], { stdio: 'inherit' });
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => child.kill(signal));
  process.exitCode = await new Promise<number>((settle) => child.on('exit', (code) => settle(code ?? 1)));
}
