/**
 * The desktop program: one library, one window, one studio. Starts them in order, gives the studio the files that come
 * from outside, and asks before work under way is broken off. Nothing else is unsaved: what is decided on screen is in
 * the library at once.
 */
import { app, dialog, ipcMain, session, type BrowserWindow } from 'electron';
import { basename, join } from 'node:path';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import type { Outcome } from '../../../shared-types/outcome.ts';
import { serveChannel, type Channel, type Studio } from './channel.ts';
import { guardSession } from './guards.ts';
import type { Log } from './log-file.ts';
import { setMenu } from './menu.ts';
import { isLibrary, LIBRARY_ENDING, receivePath, SCAN_ENDINGS } from './opened-files.ts';
import { serveScreens } from './screens-protocol.ts';
import { openWindow } from './window.ts';

export interface ShellOptions {
  /** Folder of the built screens. */
  readonly screens: string;
  readonly preload: string;
  readonly icon?: string;
  /** The library to open when none is named. */
  readonly usualLibrary: string;
  /** Opens a library; `died` is called if the studio over it ends by itself. */
  readonly startStudio: (libraryPath: string, log: Log, died: () => void) => Promise<Outcome<Studio>>;
  readonly log: Log;
}

/** What breaks again within this time is not simply started anew. */
const CRASH_PAUSE_MS = 30_000;

export class Shell {
  readonly #options: ShellOptions;
  #studio: Studio | undefined;
  #window: BrowserWindow | undefined;
  #channel: Channel | undefined;
  #libraryPath = '';
  /** Files that came before there was a studio. */
  #early: string[] = [];
  #earlyLibrary: string | undefined;
  #leaving = false;
  #asking = false;
  #lastCrash = -Infinity;

  constructor(options: ShellOptions) {
    this.#options = options;
  }

  /** Once the app is ready, with the files named at the start and the library if one was. */
  async start(files: readonly string[], named?: string): Promise<void> {
    guardSession(session.defaultSession);
    serveScreens(session.defaultSession.protocol, this.#options.screens);
    setMenu({ open: () => void this.chooseFile() }, !app.isPackaged);
    app.on('before-quit', (event) => {
      if (this.#leaving) return;
      event.preventDefault();
      void this.leave();
    });
    const given = [...files, ...this.#early];
    const library = named ?? this.#earlyLibrary ?? given.findLast(isLibrary) ?? this.#options.usualLibrary;
    const studio = await this.#openLibrary(library);
    if (studio === undefined) return;
    this.#studio = studio;
    this.#showWindow(studio);
    this.#early = [];
    await this.openFiles(given.filter((path) => !isLibrary(path)));
  }

  /** Files given while the program runs (or before it was ready): scans are received, a library takes the desk. */
  async openFiles(paths: readonly string[], named?: string): Promise<void> {
    if (this.#studio === undefined) {
      this.#early.push(...paths);
      this.#earlyLibrary = named ?? this.#earlyLibrary;
      return;
    }
    this.raise();
    const library = named ?? paths.findLast(isLibrary);
    if (library !== undefined && library !== this.#libraryPath) await this.#changeLibrary(library);
    for (const path of paths) {
      if (isLibrary(path)) continue;
      const outcome = await receivePath(this.#studio.receive, path);
      if (outcome.ok) this.#channel?.tell('opened', { ...outcome.value, fileName: basename(path) });
      else await this.#say('This scan could not be taken.', faultSentence(outcome.fault));
    }
  }

  async chooseFile(): Promise<void> {
    const chosen = await dialog.showOpenDialog({
      properties: ['openFile', 'multiSelections'],
      filters: [
        { name: 'Scans and libraries', extensions: [...SCAN_ENDINGS, LIBRARY_ENDING] },
        { name: 'Scans', extensions: SCAN_ENDINGS },
        { name: 'Wearwright libraries', extensions: [LIBRARY_ENDING] },
      ],
    });
    if (!chosen.canceled) await this.openFiles(chosen.filePaths);
  }

  /** Bring the window to the front. */
  raise(): void {
    if (this.#window === undefined || this.#window.isDestroyed()) return;
    if (this.#window.isMinimized()) this.#window.restore();
    this.#window.focus();
  }

  /** Ends the program, asking first if work is going on. */
  async leave(): Promise<void> {
    if (this.#leaving || this.#asking || !(await this.#mayBreakOff('Stop and close'))) return;
    this.#leaving = true;
    this.#channel?.close();
    // What fails now is for the log; the library is consistent at any moment, and the user wants out.
    await this.#studio?.close().catch((error: unknown) => this.#options.log('closing', String(error)));
    app.quit();
  }

  #showWindow(studio: Studio): void {
    const window = openWindow({
      preload: this.#options.preload,
      placeFile: join(app.getPath('userData'), 'window.json'),
      devTools: !app.isPackaged,
      ...(this.#options.icon === undefined ? {} : { icon: this.#options.icon }),
    });
    this.#window = window;
    this.#channel = serveChannel(ipcMain, window.webContents, studio);
    window.on('close', (event) => {
      if (this.#leaving) return;
      event.preventDefault();
      void this.leave();
    });
    window.webContents.on('render-process-gone', (_event, details) => {
      if (details.reason !== 'clean-exit') void this.#afterCrash(window, details.reason);
    });
    window.on('unresponsive', () => this.#options.log('window', 'unresponsive'));
  }

  /** The page is only a view: loading it again loses nothing. */
  async #afterCrash(window: BrowserWindow, reason: string): Promise<void> {
    this.#options.log('window', `page gone: ${reason}`);
    if (!(await this.#mayStartAgain('The window has stopped working twice.', `The reason given is "${reason}".`)))
      return;
    if (!window.isDestroyed()) window.webContents.reload();
  }

  /** A studio that ends by itself leaves a sound library behind: it is opened again. */
  async #afterDeath(): Promise<void> {
    this.#studio = undefined;
    const told = 'The part of the program that works on the library has stopped twice.';
    if (this.#leaving || !(await this.#mayStartAgain(told, ''))) return;
    const studio = await this.#openLibrary(this.#libraryPath);
    if (studio === undefined) return;
    this.#studio = studio;
    this.#channel?.turnTo(studio);
    this.#window?.webContents.reload();
  }

  /** Once is passed over; twice in a short time is asked about, not repeated for ever. */
  async #mayStartAgain(message: string, reason: string): Promise<boolean> {
    const now = performance.now();
    const again = now - this.#lastCrash < CRASH_PAUSE_MS;
    this.#lastCrash = now;
    if (!again) return true;
    const { response } = await dialog.showMessageBox({
      type: 'error',
      message,
      detail: `${reason} All that was made is in the library. Lighter meshes or fewer open programs may help.`.trim(),
      buttons: ['Start it again', 'Close Wearwright'],
      defaultId: 0,
      cancelId: 1,
    });
    if (response === 1) await this.leave();
    return response === 0;
  }

  async #startStudio(path: string): Promise<Outcome<Studio>> {
    let mine: Studio | undefined;
    const outcome = await this.#options.startStudio(path, this.#options.log, () => {
      if (mine !== undefined && this.#studio === mine) void this.#afterDeath();
    });
    if (outcome.ok) mine = outcome.value;
    return outcome;
  }

  /** The studio over a library; when it cannot be opened the user may choose another or give up. */
  async #openLibrary(path: string): Promise<Studio | undefined> {
    let wanted = path;
    for (;;) {
      const outcome = await this.#startStudio(wanted);
      if (outcome.ok) {
        this.#libraryPath = wanted;
        return outcome.value;
      }
      const { response } = await dialog.showMessageBox({
        type: 'error',
        message: `The library ${basename(wanted)} could not be opened.`,
        detail: faultSentence(outcome.fault),
        buttons: ['Choose another library', 'Close Wearwright'],
        defaultId: 0,
        cancelId: 1,
      });
      const chosen =
        response === 0
          ? await dialog.showOpenDialog({
              properties: ['openFile'],
              filters: [{ name: 'Wearwright libraries', extensions: [LIBRARY_ENDING] }],
            })
          : undefined;
      const next = chosen?.filePaths[0];
      if (next === undefined) {
        this.#leaving = true;
        app.quit();
        return undefined;
      }
      wanted = next;
    }
  }

  /** The new library is opened before the old one is let go, so that a bad file changes nothing. */
  async #changeLibrary(path: string): Promise<void> {
    if (!(await this.#mayBreakOff('Stop and open'))) return;
    const outcome = await this.#startStudio(path);
    if (!outcome.ok)
      return this.#say(`The library ${basename(path)} could not be opened.`, faultSentence(outcome.fault));
    const before = this.#studio;
    this.#studio = outcome.value;
    this.#libraryPath = path;
    this.#channel?.turnTo(outcome.value);
    this.#window?.webContents.reload();
    await before?.close();
  }

  /** True when no job is under way, or the user lets it be broken off. */
  async #mayBreakOff(word: string): Promise<boolean> {
    const going = this.#studio === undefined ? 0 : await jobsUnderWay(this.#studio);
    if (going === 0) return true;
    this.#asking = true;
    try {
      const options = {
        type: 'question' as const,
        message: going === 1 ? 'A piece of work is still going on.' : `${going} pieces of work are still going on.`,
        detail: 'If it is broken off now, what it has made so far is dropped; it can be started again later.',
        buttons: ['Keep working', word],
        defaultId: 0,
        cancelId: 0,
      };
      const parent = this.#window;
      const { response } =
        parent === undefined || parent.isDestroyed()
          ? await dialog.showMessageBox(options)
          : await dialog.showMessageBox(parent, options);
      return response === 1;
    } finally {
      this.#asking = false;
    }
  }

  async #say(message: string, detail: string): Promise<void> {
    const options = { type: 'warning' as const, message, detail, buttons: ['Close'] };
    if (this.#window === undefined || this.#window.isDestroyed()) await dialog.showMessageBox(options);
    else await dialog.showMessageBox(this.#window, options);
  }
}

/** Jobs waiting or running; none if the library is locked or cannot say. */
async function jobsUnderWay(studio: Studio): Promise<number> {
  const watch = { signal: new AbortController().signal, progress: () => {} };
  const outcome = await studio.call('job.list', {}, watch).catch(() => undefined);
  if (outcome?.ok !== true) return 0;
  const { jobs } = outcome.value as { jobs: readonly { state: string }[] };
  return jobs.filter((job) => job.state === 'waiting' || job.state === 'running').length;
}
