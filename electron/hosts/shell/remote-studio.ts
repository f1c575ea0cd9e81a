/** The shell's side of the studio's thread: the same calls as if it were here. Every promise settles. */
import { Worker } from 'node:worker_threads';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import { lastNet, type Call, type Receive, type Subscribe } from '../../services/conversation.ts';
import type { Studio } from './channel.ts';
import type { Log } from './log-file.ts';
import type { FromStudio, ThreadData, ToStudio } from './thread-messages.ts';

const extension = import.meta.url.endsWith('.ts') ? '.ts' : '.js';
const THREAD = new URL(`./studio-thread${extension}`, import.meta.url);

interface Waiting {
  readonly settle: (outcome: Outcome<never>) => void;
  readonly progress?: (fraction: number, phase: string) => void;
}

export interface RemoteOptions {
  readonly libraryPath: string;
  readonly log: Log;
  /** The thread has ended by itself; what was asked of it has been answered with a fault. */
  readonly died?: () => void;
  /** The module that runs in the thread, unless a test gives another. */
  readonly thread?: URL;
}

/** Starts the thread and opens the library in it. The fault is the library's own. */
export async function startRemoteStudio(options: RemoteOptions): Promise<Outcome<Studio>> {
  const worker = new Worker(options.thread ?? THREAD, {
    workerData: { libraryPath: options.libraryPath } satisfies ThreadData,
  });
  const studio = new RemoteStudio(worker, options);
  const outcome = await studio.opened;
  if (outcome.ok) return done(studio, outcome.warnings);
  await worker.terminate();
  return outcome;
}

class RemoteStudio implements Studio {
  readonly opened: Promise<Outcome<null>>;
  readonly #worker: Worker;
  readonly #calls = new Map<number, Waiting>();
  readonly #files = new Map<number, { readonly settle: Waiting['settle']; more: () => void }>();
  readonly #listeners = new Set<(name: string, value: unknown) => void>();
  #ended = false;
  #closed: (() => void) | undefined;
  #count = 0;

  constructor(worker: Worker, { log, died }: RemoteOptions) {
    this.#worker = worker;
    let openNow: (outcome: Outcome<null>) => void = () => {};
    this.opened = new Promise((settle) => (openNow = settle));
    const lost = (account: string): void => {
      if (this.#ended) return;
      this.#ended = true;
      openNow(failed(lastNet('studio')));
      for (const { settle } of [...this.#calls.values(), ...this.#files.values()]) settle(failed(lastNet('studio')));
      for (const { more } of this.#files.values()) more();
      this.#calls.clear();
      if (this.#closed !== undefined) return this.#closed();
      log('studio', account);
      died?.();
    };
    worker.on('error', (error) => lost(error.stack ?? error.message));
    worker.on('exit', (code) => lost(`the studio's thread ended with code ${code}`));
    worker.on('message', (message: FromStudio) => {
      if (message.kind === 'opened') openNow(message.outcome);
      else if (message.kind === 'log') log(message.reference, message.account);
      else if (message.kind === 'closed') lost('closed');
      else this.#hear(message);
    });
  }

  #hear(message: Exclude<FromStudio, { kind: 'opened' | 'log' | 'closed' }>): void {
    if (message.kind === 'event') {
      for (const listener of this.#listeners) listener(message.name, message.value);
    } else if (message.kind === 'progress') {
      this.#calls.get(message.id)?.progress?.(message.fraction, message.phase);
    } else if (message.kind === 'more') {
      this.#files.get(message.id)?.more();
    } else if (message.kind === 'received') {
      this.#files.get(message.id)?.settle(message.outcome as Outcome<never>);
    } else {
      const waiting = this.#calls.get(message.id);
      this.#calls.delete(message.id);
      if (message.kind === 'fault') waiting?.settle(failed(message.fault));
      else waiting?.settle(done(message.value as never, message.warnings));
    }
  }

  #send(message: ToStudio): void {
    if (!this.#ended) this.#worker.postMessage(message);
  }

  readonly call: Call = (name, input, watch) => {
    if (this.#ended) return Promise.resolve(failed(lastNet('studio')));
    const id = ++this.#count;
    return new Promise((settle) => {
      this.#calls.set(id, { settle, progress: watch.progress });
      watch.signal.addEventListener('abort', () => this.#send({ kind: 'stop', id }), { once: true });
      this.#send({ kind: 'call', id, name, input });
    });
  };

  readonly receive: Receive = async (name, body) => {
    if (this.#ended) return failed(lastNet('studio'));
    const id = ++this.#count;
    let wanted = 0;
    let wake: (() => void) | undefined;
    const outcome = new Promise<Outcome<{ readonly upload: string }>>((settle) => {
      const more = (): void => {
        wanted++;
        wake?.();
      };
      this.#files.set(id, { settle, more });
    });
    const mayGoOn = async (): Promise<boolean> => {
      if (wanted === 0) await new Promise<void>((settle) => (wake = settle));
      wanted--;
      return !this.#ended;
    };
    this.#send({ kind: 'file', id, name });
    void outcome.then(() => wake?.());
    try {
      let settled = false;
      void outcome.then(() => (settled = true));
      for await (const bytes of body) {
        if (!(await mayGoOn()) || settled) break;
        this.#send({ kind: 'piece', id, bytes });
      }
      if (!settled && (await mayGoOn())) this.#send({ kind: 'piece', id, bytes: undefined });
    } catch (error) {
      const code = (error as NodeJS.ErrnoException).code ?? 'it could not be read to its end';
      // The thread hears of it where it waits for the next piece.
      if (await mayGoOn()) this.#send({ kind: 'broken', id, code });
    }
    const answer = await outcome;
    this.#files.delete(id);
    return answer;
  };

  readonly subscribe: Subscribe = (listener) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  /** Stops its jobs, closes the library and ends the thread. */
  async close(): Promise<void> {
    if (this.#ended) return;
    const closed = new Promise<void>((settle) => (this.#closed = settle));
    this.#send({ kind: 'close' });
    await closed;
    await this.#worker.terminate();
  }
}
