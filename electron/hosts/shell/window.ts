/** The one window. */
import { BrowserWindow, nativeTheme, screen } from 'electron';
import { PAGE_ADDRESS } from './screens-protocol.ts';
import { keepPlace, readPlace } from './window-place.ts';

export interface WindowOptions {
  readonly preload: string;
  readonly placeFile: string;
  readonly icon?: string;
  readonly devTools: boolean;
}

/** Ground colours of the two themes, so that nothing flashes before the page is there. */
const GROUND = { light: '#f4f0e6', dark: '#20262a' };

export function openWindow(options: WindowOptions): BrowserWindow {
  const place = readPlace(
    options.placeFile,
    screen.getAllDisplays().map((display) => display.workArea),
  );
  const { maximized, ...bounds } = place;
  const window = new BrowserWindow({
    ...bounds,
    minWidth: 960,
    minHeight: 640,
    show: false,
    title: 'Wearwright',
    backgroundColor: nativeTheme.shouldUseDarkColors ? GROUND.dark : GROUND.light,
    autoHideMenuBar: true,
    ...(options.icon === undefined ? {} : { icon: options.icon }),
    webPreferences: {
      preload: options.preload,
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      webSecurity: true,
      allowRunningInsecureContent: false,
      webviewTag: false,
      navigateOnDragDrop: false,
      spellcheck: false,
      devTools: options.devTools,
    },
  });
  window.once('ready-to-show', () => {
    if (maximized) window.maximize();
    window.show();
  });
  window.on('close', () =>
    keepPlace(options.placeFile, { ...window.getNormalBounds(), maximized: window.isMaximized() }),
  );
  void window.loadURL(PAGE_ADDRESS);
  return window;
}
