/**
 * Threads that run registered operations. Every promise settles: with the outcome, with `job.cancelled`, or with
 * `job.internal` and a reference when the mistake is ours. A stop settles at once; the thread is free again when it has
 * heard of it, and if it stays deaf for DEAF_MS (inside a library call) it is ended and a new one takes its place.
 */
import { randomBytes } from 'node:crypto';
import { Worker } from 'node:worker_threads';
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import type { FromThread, JobOrder, JobResult, ToThread } from './protocol.ts';

export const DEAF_MS = 2000;
/** A stopped job settles after this even if its thread is still on its way to the next look at the flag. */
export const SETTLE_MS = 40;

export interface PoolOptions {
  /** Most threads at once; they start when first needed. */
  readonly threads?: number;
  /** Module that exports OPERATIONS; the program's own registry unless a test gives another. */
  readonly registry?: URL;
  /** Receives the whole account of a mistake of ours. */
  readonly log?: (reference: string, account: string) => void;
}

export interface Watch {
  readonly signal?: AbortSignal;
  /** 0..1, never falling, and the phase under way. */
  readonly progress?: (fraction: number, phase: string) => void;
}

interface Job {
  readonly order: JobOrder;
  readonly watch: Watch;
  readonly flag: Int32Array<SharedArrayBuffer>;
  settle(outcome: Outcome<JobResult>): void;
}

interface Thread {
  readonly worker: Worker;
  job: Job | undefined;
  deadline?: NodeJS.Timeout;
}

const extension = import.meta.url.endsWith('.ts') ? '.ts' : '.js';
const ENTRY = new URL(`./worker-entry${extension}`, import.meta.url);
const REGISTRY = new URL(`../operations/index${extension}`, import.meta.url);
/** The verbs and the studio's own operations, which the company's table needs too. */
export const DESK_REGISTRY = new URL(`../operations/desk/index${extension}`, import.meta.url);

export class JobPool {
  readonly #threads = new Set<Thread>();
  readonly #waiting: Job[] = [];
  readonly #most: number;
  readonly #registry: URL;
  readonly #log: (reference: string, account: string) => void;
  #closed = false;

  constructor(options: PoolOptions = {}) {
    this.#most = Math.max(1, options.threads ?? 1);
    this.#registry = options.registry ?? REGISTRY;
    this.#log = options.log ?? ((reference, account) => console.error(`[${reference}] ${account}`));
  }

  /** Jobs that can run at once. */
  get threads(): number {
    return this.#most;
  }

  /** Start a thread ahead of the first job, so that it loads while the caller still prepares. */
  warm(): void {
    if (this.#threads.size === 0 && !this.#closed) this.#startThread();
  }

  /** Run one operation in a thread. Never rejects. */
  run(order: JobOrder, watch: Watch = {}): Promise<Outcome<JobResult>> {
    return new Promise((resolve) => {
      if (this.#closed || watch.signal?.aborted === true) return resolve(failed(fault('job.cancelled', {})));
      let settled = false;
      const stop = (): void => this.#stop(job);
      const job: Job = {
        order,
        watch,
        flag: new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT)),
        settle: (outcome) => {
          if (settled) return;
          settled = true;
          watch.signal?.removeEventListener('abort', stop);
          resolve(outcome);
        },
      };
      watch.signal?.addEventListener('abort', stop);
      this.#waiting.push(job);
      this.#dispatch();
    });
  }

  /** Stop everything; jobs under way settle as cancelled. */
  async close(): Promise<void> {
    this.#closed = true;
    for (const job of this.#waiting.splice(0)) job.settle(failed(fault('job.cancelled', {})));
    const ends = [...this.#threads].map((thread) => {
      thread.job?.settle(failed(fault('job.cancelled', {})));
      return this.#end(thread);
    });
    await Promise.all(ends);
  }

  #dispatch(): void {
    while (this.#waiting.length > 0) {
      const idle = [...this.#threads].find((thread) => thread.job === undefined);
      if (idle === undefined && this.#threads.size >= this.#most) return;
      const thread = idle ?? this.#startThread();
      const job = this.#waiting.shift() as Job;
      thread.job = job;
      thread.worker.ref();
      try {
        thread.worker.postMessage({ order: job.order, flag: job.flag } satisfies ToThread);
      } catch (error) {
        // Something in the order cannot be copied: a mistake of the caller's, that is, of ours.
        this.#free(thread, failed(this.#mistake(String(error))));
      }
    }
  }

  #startThread(): Thread {
    const worker = new Worker(ENTRY, { workerData: { registry: this.#registry.href } });
    const thread: Thread = { worker, job: undefined };
    this.#threads.add(thread);
    worker.unref();
    worker.on('message', (message: FromThread) => this.#hear(thread, message));
    worker.on('error', (error: NodeJS.ErrnoException) => this.#lose(thread, error));
    worker.on('exit', (code) => this.#lose(thread, new Error(`a thread ended by itself with code ${code}`)));
    return thread;
  }

  #hear(thread: Thread, message: FromThread): void {
    const { job } = thread;
    if (job === undefined) return;
    switch (message.kind) {
      case 'progress':
        // A listener's own mistake must not take the pool down with it.
        try {
          job.watch.progress?.(message.fraction, message.phase);
        } catch (error) {
          this.#mistake(String(error));
        }
        return;
      case 'done':
        // A stop that came too late for the thread to see is a stop all the same.
        return this.#free(
          thread,
          Atomics.load(job.flag, 0) === 0 ? done(message.value, message.warnings) : failed(fault('job.cancelled', {})),
        );
      case 'fault':
        return this.#free(thread, failed(message.fault));
      case 'threw':
        return this.#free(thread, failed(this.#mistake(message.account)));
    }
  }

  #free(thread: Thread, outcome: Outcome<JobResult>): void {
    const { job } = thread;
    clearTimeout(thread.deadline);
    thread.job = undefined;
    thread.worker.unref();
    job?.settle(outcome);
    this.#dispatch();
  }

  #stop(job: Job): void {
    const cancelled = failed(fault('job.cancelled', {}));
    const place = this.#waiting.indexOf(job);
    if (place >= 0) {
      this.#waiting.splice(place, 1);
      job.settle(cancelled);
      return;
    }
    Atomics.store(job.flag, 0, 1);
    const thread = [...this.#threads].find((one) => one.job === job);
    if (thread === undefined) return;
    setTimeout(() => job.settle(cancelled), SETTLE_MS);
    thread.deadline = setTimeout(() => {
      void this.#end(thread);
      this.#dispatch();
    }, DEAF_MS);
  }

  #lose(thread: Thread, error: NodeJS.ErrnoException): void {
    if (!this.#threads.delete(thread)) return;
    clearTimeout(thread.deadline);
    const { job } = thread;
    if (job !== undefined) {
      const full = error.code === 'ERR_WORKER_OUT_OF_MEMORY';
      job.settle(failed(full ? fault('job.out-of-memory', {}) : this.#mistake(error.stack ?? error.message)));
    }
    if (!this.#closed) this.#dispatch();
  }

  async #end(thread: Thread): Promise<void> {
    this.#threads.delete(thread);
    clearTimeout(thread.deadline);
    await thread.worker.terminate();
  }

  #mistake(account: string): Fault {
    const reference = randomBytes(4).toString('hex');
    this.#log(reference, account);
    return fault('job.internal', { reference });
  }
}
