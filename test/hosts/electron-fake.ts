/**
 * Stands for the module 'electron' in tests: as much of it as the shell uses, with what matters kept: a message between
 * page and program passes through structuredClone both ways, and every setting and answer
 * can be looked at. Nothing is drawn. Use: vi.mock('electron', () => import('./electron-fake.ts')).
 */
import { EventEmitter } from 'node:events';
import { tmpdir } from 'node:os';

type Dict = Record<string, unknown>;
export type Prevented = { defaultPrevented: boolean; preventDefault(): void } & Dict;

export function event(more: Dict = {}): Prevented {
  const made: Prevented = {
    ...more,
    defaultPrevented: false,
    preventDefault: () => {
      made.defaultPrevented = true;
    },
  };
  return made;
}

class FakeApp extends EventEmitter {
  isPackaged = true;
  folder = tmpdir();
  quits = 0;
  locked = true;
  getPath = (name: string): string => (name === 'logs' ? `${this.folder}/logs` : this.folder);
  requestSingleInstanceLock = (): boolean => this.locked;
  whenReady = async (): Promise<void> => {};
  setName(): void {}
  setAppUserModelId(): void {}
  enableSandbox(): void {}
  exit(): void {}
  getAppPath = (): string => this.folder;
  /** As Electron does: asks by before-quit, then ends unless that was prevented. */
  quit(): void {
    const asked = event();
    this.emit('before-quit', asked);
    if (!asked.defaultPrevented) this.quits++;
  }
}

class FakeSession {
  permissionRequest: ((c: unknown, permission: string, decide: (ok: boolean) => void) => void) | undefined;
  permissionCheck: (() => boolean) | undefined;
  devicePermission: (() => boolean) | undefined;
  request: ((details: { url: string }, decide: (answer: { cancel?: boolean }) => void) => void) | undefined;
  readonly downloads = new EventEmitter();
  setPermissionRequestHandler = (handler: FakeSession['permissionRequest']): void => {
    this.permissionRequest = handler;
  };
  setPermissionCheckHandler = (handler: () => boolean): void => {
    this.permissionCheck = handler;
  };
  setDevicePermissionHandler = (handler: () => boolean): void => {
    this.devicePermission = handler;
  };
  webRequest = {
    onBeforeRequest: (handler: FakeSession['request']): void => {
      this.request = handler;
    },
  };
  protocol = {
    handlers: new Map<string, (request: Request) => Promise<Response>>(),
    handle(scheme: string, handler: (request: Request) => Promise<Response>): void {
      this.handlers.set(scheme, handler);
    },
  };
  on = (name: string, listener: (...words: unknown[]) => void): void => {
    this.downloads.on(name, listener);
  };
}

export interface Frame {
  readonly url: string;
  readonly processId: number;
  readonly frameToken: string;
}

export class FakeContents extends EventEmitter {
  mainFrame: Frame = { url: 'wearwright://app/', processId: 7, frameToken: 'main' };
  openHandler: (() => { action: string }) | undefined;
  reloads = 0;
  destroyed = false;
  isDestroyed = (): boolean => this.destroyed;
  setWindowOpenHandler = (handler: () => { action: string }): void => {
    this.openHandler = handler;
  };
  /** Down to the page: copied as Electron copies it, and refused as it refuses. */
  send(channel: string, message: unknown): void {
    const copy: unknown = structuredClone(message);
    setImmediate(() => ipcRenderer.emit(channel, {}, copy));
  }
  reload(): void {
    this.reloads++;
    this.emit('did-start-navigation', { isMainFrame: true, isSameDocument: false });
  }
}

export class BrowserWindow extends EventEmitter {
  static readonly all: BrowserWindow[] = [];
  readonly webContents = new FakeContents();
  readonly options: { webPreferences: Dict } & Dict;
  address = '';
  shown = false;
  focused = 0;
  minimized = false;
  closed = false;
  constructor(options: { webPreferences: Dict } & Dict) {
    super();
    this.options = options;
    BrowserWindow.all.push(this);
    app.emit('web-contents-created', {}, this.webContents);
  }
  async loadURL(address: string): Promise<void> {
    this.address = address;
  }
  show(): void {
    this.shown = true;
  }
  focus(): void {
    this.focused++;
  }
  isMinimized = (): boolean => this.minimized;
  restore(): void {
    this.minimized = false;
  }
  maximize(): void {}
  isMaximized = (): boolean => false;
  isDestroyed = (): boolean => this.closed;
  getNormalBounds = (): Dict => ({ x: 10, y: 20, width: 1200, height: 800 });
  close(): void {
    const asked = event();
    this.emit('close', asked);
    if (!asked.defaultPrevented) this.closed = true;
  }
}

export const app = new FakeApp();
export const session = { defaultSession: new FakeSession() };
export const ipcMain = new EventEmitter();
export const schemes: unknown[] = [];
export const protocol = { registerSchemesAsPrivileged: (list: unknown[]): void => void schemes.push(...list) };
export const nativeTheme = { shouldUseDarkColors: false };
export const screen = { getAllDisplays: () => [{ workArea: { x: 0, y: 0, width: 1920, height: 1080 } }] };

export const Menu = {
  current: undefined as Dict[] | undefined,
  buildFromTemplate: (template: Dict[]): Dict[] => template,
  setApplicationMenu(menu: Dict[]): void {
    Menu.current = menu;
  },
};

/** What the user answers, in order; what was asked is kept. */
export const dialog = {
  asked: [] as Dict[],
  answers: [] as { response?: number; filePaths?: string[] }[],
  async showMessageBox(...words: unknown[]): Promise<{ response: number }> {
    dialog.asked.push(words.at(-1) as Dict);
    return { response: dialog.answers.shift()?.response ?? 0 };
  },
  async showOpenDialog(...words: unknown[]): Promise<{ canceled: boolean; filePaths: string[] }> {
    dialog.asked.push(words.at(-1) as Dict);
    const filePaths = dialog.answers.shift()?.filePaths ?? [];
    return { canceled: filePaths.length === 0, filePaths };
  },
  showErrorBox(message: string, detail: string): void {
    dialog.asked.push({ message, detail });
  },
};

/** Up from the page of the newest window, as its own main frame unless a test says otherwise. */
export function sendUp(channel: string, message: unknown, from?: { sender?: unknown; senderFrame?: unknown }): void {
  const copy: unknown = structuredClone(message);
  const contents = BrowserWindow.all.at(-1)?.webContents;
  setImmediate(() => ipcMain.emit(channel, { sender: contents, senderFrame: contents?.mainFrame, ...from }, copy));
}

class Renderer extends EventEmitter {
  send(channel: string, message: unknown): void {
    sendUp(channel, message);
  }
}
export const ipcRenderer = new Renderer();

/** What the preload has handed to the page. */
export const world: Dict = {};
export const contextBridge = { exposeInMainWorld: (name: string, value: unknown) => void (world[name] = value) };

/** Paths of files the "user" has dropped. */
export const droppedPaths = new WeakMap<File, string>();
export const webUtils = { getPathForFile: (file: File): string => droppedPaths.get(file) ?? '' };

/** As at the start of a program: no windows, no listeners, no answers waiting. */
export function restart(folder: string): void {
  for (const emitter of [app, ipcMain]) emitter.removeAllListeners();
  BrowserWindow.all.length = 0;
  Object.assign(app, { folder, quits: 0, locked: true });
  session.defaultSession = new FakeSession();
  dialog.asked.length = 0;
  dialog.answers.length = 0;
}
