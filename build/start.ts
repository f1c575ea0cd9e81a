/**
 * `npm start`: build the screens if something changed, then open the studio: in the desktop window where its binary
 * can be had, else (or with --browser) in the browser, by the loopback host.
 */
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { openDesktop } from './desktop.ts';
import { readyScreens, SCREENS_FOLDER } from './screens.ts';

const root = join(import.meta.dirname, '..');
const words = process.argv.slice(2);
/** Words that mean nothing to a window. */
const FOR_BROWSER = ['--browser', '--help', '--port', '--no-open'];

if (!words.includes('--help')) await readyScreens();
const wantsBrowser = words.some((word) => FOR_BROWSER.includes(word.split('=')[0] as string));
const opened = wantsBrowser ? undefined : await openDesktop(words);
if (typeof opened === 'number') {
  process.exitCode = opened;
} else {
  if (opened !== undefined) {
    console.log(`The desktop window cannot be opened (${opened}), so the studio opens in the browser.`);
  }
  const host = join(root, 'electron/hosts/loopback/main.ts');
  const child = spawn(process.execPath, [host, '--screens', SCREENS_FOLDER, ...words], { stdio: 'inherit' });
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => child.kill(signal));
  process.exitCode = await new Promise<number>((settle) => child.on('exit', (code) => settle(code ?? 1)));
}
