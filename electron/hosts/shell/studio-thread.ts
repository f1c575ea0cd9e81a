/**
 * The studio in a thread of its own. Electron's main thread also carries the window's input, so a library that is
 * being read or written there would make the window stutter.
 */
import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { parentPort, workerData } from 'node:worker_threads';
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { Conversation, lastNet } from '../../services/conversation.ts';
import { createStudio, type Studio } from '../../services/dispatch.ts';
import type { FromStudio, ThreadData, ToStudio } from './thread-messages.ts';

const port = parentPort;
if (port === null) throw new Error('studio-thread runs only as a worker thread');
const send = (message: FromStudio): void => port.postMessage(message);

/** A file on its way in: asks for a piece when the one before has been taken. */
class Incoming {
  readonly #id: number;
  #settle: ((piece: Uint8Array | undefined) => void) | undefined;
  #refuse: ((error: Error) => void) | undefined;

  constructor(id: number) {
    this.#id = id;
  }

  async *pieces(): AsyncGenerator<Uint8Array> {
    for (;;) {
      const next = new Promise<Uint8Array | undefined>((settle, refuse) => {
        this.#settle = settle;
        this.#refuse = refuse;
      });
      send({ kind: 'more', id: this.#id });
      const piece = await next;
      if (piece === undefined) return;
      yield piece;
    }
  }

  take(piece: Uint8Array | undefined): void {
    this.#settle?.(piece);
  }

  breakOff(code: string): void {
    this.#refuse?.(Object.assign(new Error(code), { code }));
  }
}

function open({ libraryPath }: ThreadData): Outcome<Studio> {
  try {
    mkdirSync(dirname(libraryPath), { recursive: true });
  } catch (error) {
    const reason = (error as NodeJS.ErrnoException).code ?? String(error);
    return failed(fault('file.unwritable', { path: dirname(libraryPath), reason }));
  }
  return createStudio({ libraryPath, log: (reference, account) => send({ kind: 'log', reference, account }) });
}

function serve(studio: Studio): void {
  const talk = new Conversation(studio.call, (message) => {
    try {
      send(message);
    } catch {
      // What cannot be copied is our own mistake; the page must still hear that its call is over.
      if (message.kind === 'done') send({ kind: 'fault', id: message.id, fault: lastNet('thread') });
    }
  });
  const incoming = new Map<number, Incoming>();
  studio.subscribe((name, value) => send({ kind: 'event', name, value }));
  const receive = async (id: number, name: string): Promise<void> => {
    const file = new Incoming(id);
    incoming.set(id, file);
    const outcome = await studio.receive(name, file.pieces()).catch(() => failed(lastNet('receive')));
    incoming.delete(id);
    send({ kind: 'received', id, outcome });
  };
  const close = async (): Promise<void> => {
    talk.end();
    await studio.close();
    send({ kind: 'closed' });
    port?.close();
  };
  port?.on('message', (message: ToStudio) => {
    if (message.kind === 'file') void receive(message.id, message.name);
    else if (message.kind === 'piece') incoming.get(message.id)?.take(message.bytes);
    else if (message.kind === 'broken') incoming.get(message.id)?.breakOff(message.code);
    else if (message.kind === 'close') void close();
    else talk.take(message);
  });
}

const opened = open(workerData as ThreadData);
if (opened.ok) serve(opened.value);
send({ kind: 'opened', outcome: opened.ok ? done(null, opened.warnings) : opened });
