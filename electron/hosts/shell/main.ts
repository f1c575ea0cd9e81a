/**
 * The desktop program's beginning: what must be set before Electron is ready, and the shell once it is. Bundled to
 * main.js, beside preload.cjs; the screens lie in resources when packaged, else where `npm start` has built them.
 */
import { app, dialog } from 'electron';
import { randomBytes } from 'node:crypto';
import { join } from 'node:path';
import { usualLibrary } from '../../services/usual-library.ts';
import { guardPages } from './guards.ts';
import { logTo } from './log-file.ts';
import { filesIn, libraryIn } from './opened-files.ts';
import { startRemoteStudio } from './remote-studio.ts';
import { declareScheme } from './screens-protocol.ts';
import { Shell } from './shell.ts';

app.setName('Wearwright');
app.setAppUserModelId('wearwright');
app.enableSandbox();
declareScheme();
guardPages(app);

const log = logTo(join(app.getPath('logs'), 'wearwright.log'));
process.on('uncaughtException', (error) => {
  const reference = randomBytes(4).toString('hex');
  log(reference, error.stack ?? error.message);
  dialog.showErrorBox(
    'Something went wrong inside the program.',
    `Wearwright has to close (reference ${reference}). All that was made is in the library. Please report the reference.`,
  );
  app.exit(1);
});
process.on('unhandledRejection', (reason) =>
  log('promise', reason instanceof Error ? (reason.stack ?? reason.message) : String(reason)),
);

const here = import.meta.dirname;
const screens = process.env['WEARWRIGHT_SCREENS'];
const shell = new Shell({
  screens: app.isPackaged || screens === undefined ? join(process.resourcesPath ?? here, 'screens') : screens,
  preload: join(here, 'preload.cjs'),
  ...(process.platform === 'linux' ? { icon: join(here, 'icon.png') } : {}),
  usualLibrary: usualLibrary(),
  startStudio: (libraryPath, tell, died) => startRemoteStudio({ libraryPath, log: tell, died }),
  log,
});

// One program, one window: a second start hands over its files and ends.
if (app.requestSingleInstanceLock()) {
  app.on('second-instance', (_event, words, folder) => {
    shell.raise();
    void shell.openFiles(filesIn(words, folder), libraryIn(words, folder));
  });
  app.on('open-file', (event, path) => {
    event.preventDefault();
    void shell.openFiles([path]);
  });
  app.on('window-all-closed', () => app.quit());
  void app
    .whenReady()
    .then(() => shell.start(filesIn(process.argv, process.cwd()), libraryIn(process.argv, process.cwd())));
} else {
  app.quit();
}
