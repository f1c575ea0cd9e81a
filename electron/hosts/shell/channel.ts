/**
 * The one channel up and the one channel down between the window's page and the program. Each message must come from
 * the main frame of our own window, showing our own page; it must be of a bearable size; and a page that goes takes its
 * questions with it.
 */
import type { IpcMain, IpcMainEvent, WebContents } from 'electron';
import { CHANNEL_DOWN, CHANNEL_UP, isUploadUp, type UploadDown, type UploadUp } from '../../../shared-types/bridge.ts';
import { fault } from '../../../shared-types/faults/index.ts';
import { failed, type Outcome } from '../../../shared-types/outcome.ts';
import { isMessageUp, type MessageDown } from '../../../shared-types/rpc.ts';
import { Conversation, lastNet, type Call, type Receive, type Subscribe } from '../../services/conversation.ts';
import { LARGEST_SCAN_BYTES, receivePath } from './opened-files.ts';
import { isOurs } from './screens-protocol.ts';

/** What the shell needs of the studio. */
export interface Studio {
  readonly call: Call;
  readonly receive: Receive;
  readonly subscribe: Subscribe;
  close(): Promise<void>;
}

/** A question larger than this is none of ours; a file's own bytes may be larger. */
const MESSAGE_BYTES = 16 << 20;
const MOST_DEPTH = 64;

/**
 * Roughly the bytes a message holds, stopping as soon as `limit` is passed: Infinity for what is deeper than any message
 * of ours or holds what is no plain data.
 */
export function weigh(value: unknown, limit: number, depth = 0): number {
  if (typeof value === 'string') return 2 * value.length;
  if (typeof value !== 'object' || value === null) return 8;
  if (ArrayBuffer.isView(value)) return value.byteLength;
  if (depth > MOST_DEPTH) return Infinity;
  const plain = Array.isArray(value) || [Object.prototype, null].includes(Object.getPrototypeOf(value) as null);
  if (!plain) return Infinity;
  let bytes = 16;
  for (const [key, inner] of Object.entries(value)) {
    bytes += 2 * key.length + weigh(inner, limit - bytes, depth + 1);
    if (bytes > limit) break;
  }
  return bytes;
}

export interface Channel {
  /** An event for the page; kept until the page has spoken if it is not there yet. */
  tell(name: string, value: unknown): void;
  /** Another studio answers from now on (another library was opened). */
  turnTo(studio: Studio): void;
  close(): void;
}

/** Serves one window's page. */
export function serveChannel(ipc: IpcMain, contents: WebContents, first: Studio): Channel {
  let studio = first;
  let spoken = false;
  let waiting: MessageDown[] = [];
  const carry = (message: MessageDown | UploadDown): boolean => {
    if (contents.isDestroyed()) return true;
    try {
      contents.send(CHANNEL_DOWN, message);
      return true;
    } catch {
      return false;
    }
  };
  const send = (message: MessageDown): void => {
    // What cannot be copied is our own mistake; the page must still hear that its call is over.
    if (!carry(message) && message.kind === 'done') {
      carry({ kind: 'fault', id: message.id, fault: lastNet('channel') });
    }
  };
  const tell = (name: string, value: unknown): void => {
    const message = { kind: 'event', name, value } as const;
    if (spoken) send(message);
    else waiting.push(message);
  };
  // Not kept for a page that is yet to come: it asks for how things stand when it starts.
  const pass = (name: string, value: unknown): void => {
    if (spoken) send({ kind: 'event', name, value });
  };
  let unsubscribe = studio.subscribe(pass);
  let talk = new Conversation(studio.call, send);

  const startAnew = (): void => {
    talk.end();
    talk = new Conversation(studio.call, send);
    spoken = false;
  };
  const hear = (event: IpcMainEvent, message: unknown): void => {
    if (!comesFromOurPage(event, contents)) return;
    const upload = isUploadUp(message);
    if (!upload && !isMessageUp(message)) return;
    if (!spoken) {
      spoken = true;
      for (const kept of waiting) send(kept);
      waiting = [];
    }
    if (upload) {
      const { id } = message;
      void takeUpload(studio.receive, message).then((outcome) => carry({ kind: 'uploaded', id, outcome }));
      return;
    }
    if (message.kind === 'call') {
      const limit = message.name === 'scan.receive' ? LARGEST_SCAN_BYTES : MESSAGE_BYTES;
      if (weigh(message.input, limit) > limit) {
        const reason = `What was sent with ${message.name.slice(0, 40)} is larger than ${limit >> 20} MiB or nested too deep; nothing was done.`;
        send({ kind: 'fault', id: message.id, fault: fault('job.usage', { reason }) });
        return;
      }
    }
    talk.take(message);
  };
  ipc.on(CHANNEL_UP, hear);
  contents.on('did-start-navigation', (details) => {
    if (details.isMainFrame && !details.isSameDocument) startAnew();
  });
  contents.on('render-process-gone', startAnew);
  return {
    tell,
    turnTo: (next) => {
      unsubscribe();
      studio = next;
      unsubscribe = studio.subscribe(pass);
      startAnew();
    },
    close: () => {
      ipc.off(CHANNEL_UP, hear);
      unsubscribe();
      talk.end();
    },
  };
}

function comesFromOurPage({ sender, senderFrame }: IpcMainEvent, contents: WebContents): boolean {
  if (sender !== contents || senderFrame === null) return false;
  const { processId, frameToken } = contents.mainFrame;
  return senderFrame.processId === processId && senderFrame.frameToken === frameToken && isOurs(senderFrame.url);
}

async function takeUpload(receive: Receive, given: UploadUp): Promise<Outcome<{ readonly upload: string }>> {
  if (given.path !== undefined) return receivePath(receive, given.path, given.name);
  const bytes = given.bytes ?? new Uint8Array();
  if (bytes.length >= LARGEST_SCAN_BYTES) {
    return failed(fault('file.too-large', { path: given.name, gib: Number((bytes.length / 2 ** 30).toFixed(1)) }));
  }
  try {
    return await receive(
      given.name,
      (async function* () {
        yield bytes;
      })(),
    );
  } catch {
    return failed(lastNet('upload'));
  }
}
