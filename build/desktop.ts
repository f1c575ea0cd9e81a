/**
 * The desktop window from the sources. Electron's package brings no binary with it (nothing is run when packages are
 * installed), so the first start that wants a window fetches it with the package's own installer, which checks it
 * against the sums in the package. Where that cannot be, or there is nothing to show a window on, the caller falls back
 * to the browser; a failed fetch is not tried again for a day.
 */
import { spawn } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { bundleDesktop, DESKTOP_FOLDER } from './bundle.ts';
import { SCREENS_FOLDER } from './screens.ts';

const root = join(import.meta.dirname, '..');
const PACKAGE = join(root, 'node_modules', 'electron');
const FAILED_NOTE = join(root, 'node_modules', '.cache', 'electron-not-fetched');
const FETCH_AGAIN_MS = 24 * 3600 * 1000;
const FETCH_MS = 10 * 60 * 1000;
/** A window that ends in trouble before this has not opened at all. */
const OPENED_MS = 5000;

export interface DesktopPlaces {
  /** Folder of Electron's package. */
  readonly folder?: string;
  /** Note of a failed fetch. */
  readonly failedNote?: string;
  readonly say?: (line: string) => void;
}

/** Why no window can open here whatever is installed, as the end of a sentence; undefined if it can. */
export function desktopHindrance(
  platform: NodeJS.Platform = process.platform,
  environment: Readonly<Record<string, string | undefined>> = process.env,
  user: number | undefined = process.getuid?.(),
): string | undefined {
  if (platform !== 'linux') return undefined;
  const { DISPLAY: x11, WAYLAND_DISPLAY: wayland } = environment;
  if ((x11 ?? '') === '' && (wayland ?? '') === '') return 'there is no screen here to open a window on';
  if (user === 0) return 'a sandboxed window does not run as root';
  return undefined;
}

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

/** The binary, fetched if it is not there and was not found unobtainable within the last day. */
export async function obtainElectron(places: DesktopPlaces = {}): Promise<string | undefined> {
  const { folder = PACKAGE, failedNote = FAILED_NOTE, say = console.error } = places;
  const there = electronBinary(folder);
  if (there !== undefined) return there;
  const installer = join(folder, 'install.js');
  const failedAt = statSync(failedNote, { throwIfNoEntry: false })?.mtimeMs ?? -Infinity;
  if (!existsSync(installer) || Date.now() - failedAt < FETCH_AGAIN_MS) return undefined;
  say('Fetching the desktop window, once (about 120 MB) ...');
  const child = spawn(process.execPath, [installer], { stdio: ['ignore', 'ignore', 'ignore'], timeout: FETCH_MS });
  const code = await new Promise<number | null>((settle) => {
    child.on('error', () => settle(1));
    child.on('exit', settle);
  });
  const fetched = code === 0 ? electronBinary(folder) : undefined;
  if (fetched === undefined) {
    mkdirSync(dirname(failedNote), { recursive: true });
    writeFileSync(failedNote, `install.js ended with ${code}; delete this file to try again at once\n`);
  } else rmSync(failedNote, { force: true });
  return fetched;
}

/** Runs the window's program; resolves with its exit code, or undefined if it ended in trouble at once. */
export async function runWindow(binary: string, words: readonly string[]): Promise<number | undefined> {
  const { ELECTRON_RUN_AS_NODE: _plain, ...environment } = process.env;
  const begun = performance.now();
  const child = spawn(binary, words, {
    stdio: 'inherit',
    env: { ...environment, WEARWRIGHT_SCREENS: SCREENS_FOLDER },
  });
  let asked = false;
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
    process.on(signal, () => {
      asked = true;
      child.kill(signal);
    });
  }
  const code = await new Promise<number>((settle) => {
    child.on('error', () => settle(1));
    child.on('exit', (ended) => settle(ended ?? 1));
  });
  return code !== 0 && !asked && performance.now() - begun < OPENED_MS ? undefined : code;
}

/**
 * Opens the studio in its window and resolves with the exit code when it is closed; or, where no window could be
 * opened, with the reason as the end of a sentence.
 */
export async function openDesktop(words: readonly string[]): Promise<number | string> {
  const hindrance = desktopHindrance();
  if (hindrance !== undefined) return hindrance;
  const binary = await obtainElectron();
  if (binary === undefined) return 'its binary is not installed and could not be fetched';
  await bundleDesktop();
  return (await runWindow(binary, [DESKTOP_FOLDER, ...words])) ?? 'it ended in trouble as soon as it was started';
}
