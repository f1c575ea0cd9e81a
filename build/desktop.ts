/** Starts the desktop window from the sources, where Electron's binary is installed. */
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { bundleDesktop, DESKTOP_FOLDER } from './bundle.ts';
import { SCREENS_FOLDER } from './screens.ts';

const root = join(import.meta.dirname, '..');
const PACKAGE = join(root, 'node_modules', 'electron');

/**
 * Path of Electron's binary, or undefined when it is not installed. Only looks: importing the package would fetch it.
 * ELECTRON_OVERRIDE_DIST_PATH, which Electron's own package reads, names a folder that holds it elsewhere.
 */
export function electronBinary(folder: string = PACKAGE): string | undefined {
  const elsewhere = process.env['ELECTRON_OVERRIDE_DIST_PATH'];
  try {
    const name = elsewhere === undefined ? readFileSync(join(folder, 'path.txt'), 'utf8').trim() : usualName();
    const path = join(elsewhere ?? join(folder, 'dist'), name);
    return name !== '' && existsSync(path) ? path : undefined;
  } catch {
    return undefined;
  }
}

function usualName(): string {
  if (process.platform === 'darwin') return 'Electron.app/Contents/MacOS/Electron';
  return process.platform === 'win32' ? 'electron.exe' : 'electron';
}

/** Bundles the program and opens its window on the built screens; resolves with the exit code when it is closed. */
export async function startDesktop(words: readonly string[]): Promise<number> {
  const binary = electronBinary();
  if (binary === undefined) throw new Error('startDesktop needs the binary; ask electronBinary first');
  await bundleDesktop();
  const { ELECTRON_RUN_AS_NODE: _plain, ...environment } = process.env;
  const child = spawn(binary, [DESKTOP_FOLDER, ...words], {
    stdio: 'inherit',
    env: { ...environment, WEARWRIGHT_SCREENS: SCREENS_FOLDER },
  });
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => child.kill(signal));
  return new Promise((settle) => {
    child.on('error', () => settle(1));
    child.on('exit', (code) => settle(code ?? 1));
  });
}
