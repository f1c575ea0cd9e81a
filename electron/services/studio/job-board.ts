/**
 * Long work of the studio. It belongs to the program, not to a page: it goes on when the page is closed or reloaded,
 * and what came of it is told to whoever looks. Ended jobs stay on the board until they are put away.
 */
import { randomUUID } from 'node:crypto';
import type { JobView } from '../../../shared-types/contract.ts';
import { fault, faultSentence } from '../../../shared-types/faults/index.ts';
import { failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { Watch } from '../../jobs/pool.ts';

/** What a job can be about and lead to. */
type Links = Partial<
  Pick<JobView, 'ticketId' | 'wearerId' | 'revisionId' | 'linerId' | 'partId' | 'fittingId' | 'makingId'>
>;

export interface JobOrder extends Links {
  readonly kind: JobView['kind'];
  readonly title: string;
  readonly work: (watch: Watch) => Promise<Outcome<Links>>;
}

interface Entry {
  view: JobView;
  readonly controller: AbortController;
  readonly order: JobOrder;
  readonly ended: Promise<void>;
}

/** Time between two tellings of progress. */
const TELL_MS = 100;
/** Ended jobs kept on the board. */
const KEPT = 30;

export class JobBoard {
  readonly #entries = new Map<string, Entry>();
  readonly #tell: () => void;
  readonly #internal: (error: unknown) => Outcome<never>;
  #timer: NodeJS.Timeout | undefined;

  /** `tell` hears that something on the board changed; `internal` turns a mistake of ours into its fault. */
  constructor(tell: () => void, internal: (error: unknown) => Outcome<never>) {
    this.#tell = tell;
    this.#internal = internal;
  }

  list(): JobView[] {
    return [...this.#entries.values()].map(({ view }) => view);
  }

  start(order: JobOrder): string {
    const id = randomUUID();
    const controller = new AbortController();
    const { work, ...about } = order;
    const view: JobView = {
      ...about,
      id,
      state: 'running',
      fraction: 0,
      phase: '',
      startedAt: new Date().toISOString(),
    };
    const ended = Promise.resolve()
      .then(() =>
        work({
          signal: controller.signal,
          progress: (fraction, phase) => this.#change(id, { fraction, phase }, false),
        }),
      )
      .catch(this.#internal)
      .then((outcome) => this.#end(id, outcome));
    this.#entries.set(id, { view, controller, order, ended });
    this.#forgetOld();
    this.#tellNow();
    return id;
  }

  #end(id: string, outcome: Outcome<Links>): void {
    if (!outcome.ok) {
      const state = outcome.fault.code === 'job.cancelled' ? 'stopped' : 'failed';
      return this.#change(id, { state, sentence: faultSentence(outcome.fault) }, true);
    }
    const [first] = outcome.warnings;
    const told = first === undefined ? {} : { sentence: outcome.warnings.map(({ sentence }) => sentence).join(' ') };
    this.#change(id, { ...outcome.value, ...told, state: 'done', fraction: 1 }, true);
  }

  stop(id: string): void {
    this.#entries.get(id)?.controller.abort();
  }

  /** Put an ended job away. */
  dismiss(id: string): void {
    const entry = this.#entries.get(id);
    if (entry === undefined || entry.view.state === 'running') return;
    this.#entries.delete(id);
    this.#tellNow();
  }

  /** Start an ended job of this start once more; undefined when there is none. */
  again(id: string): string | undefined {
    const entry = this.#entries.get(id);
    if (entry === undefined || entry.view.state === 'running') return undefined;
    this.#entries.delete(id);
    return this.start(entry.order);
  }

  /** Resolves when the job has ended, whichever way. */
  async ended(id: string): Promise<void> {
    await this.#entries.get(id)?.ended;
  }

  /** Stop everything and wait for it. */
  async close(): Promise<void> {
    for (const { controller } of this.#entries.values()) controller.abort();
    await Promise.all([...this.#entries.values()].map(({ ended }) => ended));
    clearTimeout(this.#timer);
  }

  #change(id: string, change: Partial<JobView>, now: boolean): void {
    const entry = this.#entries.get(id);
    if (entry === undefined) return;
    entry.view = { ...entry.view, ...change };
    if (now) return this.#tellNow();
    this.#timer ??= setTimeout(() => this.#tellNow(), TELL_MS).unref();
  }

  #tellNow(): void {
    clearTimeout(this.#timer);
    this.#timer = undefined;
    this.#tell();
  }

  #forgetOld(): void {
    const old = [...this.#entries.values()].filter(({ view }) => view.state !== 'running');
    for (const { view } of old.slice(0, Math.max(0, old.length - KEPT))) this.#entries.delete(view.id);
  }
}

export const noSuchJob = (id: string): Outcome<never> => failed(fault('store.no-record', { kind: 'job', id }));
