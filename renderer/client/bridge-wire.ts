/** Over the desktop shell's bridge: messages are plain data and typed arrays, cloned between the processes. */
import { failed, type Outcome } from '../../shared-types/outcome.ts';
import type { MessageDown, MessageUp } from '../../shared-types/rpc.ts';
import { isMessageDown, listeners, type UploadWatch, type Wire } from './wire.ts';

/** What the preload script puts on the window. */
export interface Bridge {
  send(message: MessageUp): void;
  onMessage(listener: (message: unknown) => void): void;
  /** Where the shell can take a file by its place on the disk, which spares copying it. */
  upload?(file: File): Promise<Outcome<{ upload: string }>>;
}

export function bridgeOf(page: object): Bridge | undefined {
  const bridge = (page as { wearwright?: Partial<Bridge> }).wearwright;
  return typeof bridge?.send === 'function' && typeof bridge.onMessage === 'function' ? (bridge as Bridge) : undefined;
}

/** Ids of the bridge's own calls: far above those of the client, which counts from 1. */
const FIRST_OWN_ID = 2 ** 40;

export function bridgeWire(bridge: Bridge): Wire {
  const messages = listeners<MessageDown>();
  const own = new Map<number, (outcome: Outcome<{ upload: string }>) => void>();
  let nextId = FIRST_OWN_ID;
  bridge.onMessage((message) => {
    if (!isMessageDown(message)) return;
    const settle = 'id' in message ? own.get(message.id) : undefined;
    if (settle === undefined || !('id' in message)) return messages.tell(message);
    if (message.kind === 'progress') return;
    own.delete(message.id);
    if (message.kind === 'fault') settle(failed(message.fault));
    else settle({ ok: true, value: message.value as { upload: string }, warnings: message.warnings });
  });
  return {
    send(message) {
      bridge.send(message);
      return true;
    },
    onMessage: messages.add,
    state: () => 'open',
    onState: () => () => {},
    async upload(file: File, watch: UploadWatch) {
      if (bridge.upload !== undefined) return bridge.upload(file);
      const bytes = new Uint8Array(await file.arrayBuffer());
      watch.onProgress?.(1 / 2);
      const id = nextId++;
      return new Promise((settle) => {
        own.set(id, settle);
        watch.signal?.addEventListener('abort', () => bridge.send({ kind: 'stop', id }));
        bridge.send({ kind: 'call', id, name: 'scan.receive', input: { fileName: file.name, bytes } });
      });
    },
  };
}
