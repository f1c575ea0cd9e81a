/**
 * The only code that stands between page and program: it gives the screens three functions and nothing of Electron's.
 * Bundled into one CommonJS file, because a sandboxed preload can load nothing else.
 */
import { contextBridge, ipcRenderer, webUtils } from 'electron';
import { CHANNEL_DOWN, CHANNEL_UP, type Bridge, type UploadDown, type UploadUp } from '../../../shared-types/bridge.ts';
import type { MessageDown } from '../../../shared-types/rpc.ts';

const listeners = new Set<(message: MessageDown) => void>();
const uploads = new Map<number, (outcome: UploadDown['outcome']) => void>();
let uploadCount = 0;

ipcRenderer.on(CHANNEL_DOWN, (_event, message: MessageDown | UploadDown) => {
  if (message.kind === 'uploaded') {
    uploads.get(message.id)?.(message.outcome);
    uploads.delete(message.id);
    return;
  }
  for (const listener of listeners) listener(message);
});

const bridge: Bridge = {
  send: (message) => ipcRenderer.send(CHANNEL_UP, message),
  onMessage: (listener) => {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
  upload: async (file) => {
    // Empty for a file the page made itself; only one that the user dropped or chose has a path.
    const path = webUtils.getPathForFile(file);
    const given = path === '' ? { bytes: new Uint8Array(await file.arrayBuffer()) } : { path };
    const id = ++uploadCount;
    return new Promise((settle) => {
      uploads.set(id, settle);
      ipcRenderer.send(CHANNEL_UP, { kind: 'upload', id, name: file.name, ...given } satisfies UploadUp);
    });
  },
};

contextBridge.exposeInMainWorld('wearwright', bridge);
