/**
 * The talk with one open page, whatever carries it: calls go to the dispatcher, progress and answers come back, a stop
 * reaches the call it names, and when the page goes everything it asked for is stopped (jobs are not: they are the
 * program's own). Both hosts use it; they differ only in who may speak and how a message is carried.
 */
import { fault, type Fault } from '../../shared-types/faults/index.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { isMessageUp, type MessageDown } from '../../shared-types/rpc.ts';

/** One call from a screen: its name and input, how to report progress, and the signal that stops it. */
export type Call = (
  name: string,
  input: unknown,
  watch: { readonly progress: (fraction: number, phase: string) => void; readonly signal: AbortSignal },
) => Promise<Outcome<unknown>>;

/** Takes a scan as a stream; answers with a handle that a call can name once. */
export type Receive = (name: string, body: AsyncIterable<Uint8Array>) => Promise<Outcome<{ readonly upload: string }>>;

/** Adds a listener for events that go to every open page; returns how to remove it. */
export type Subscribe = (listener: (name: string, value: unknown) => void) => () => void;

/** More calls than this at once are no page of ours. */
export const CALLS_AT_ONCE = 256;

export class Conversation {
  readonly #running = new Map<number, AbortController>();
  readonly #call: Call;
  readonly #send: (message: MessageDown) => void;
  #ended = false;

  /** `send` must not throw; what it is given after `end` goes nowhere. */
  constructor(call: Call, send: (message: MessageDown) => void) {
    this.#call = call;
    this.#send = (message) => {
      if (!this.#ended) send(message);
    };
  }

  /** One message from the page. What is not a message of ours is dropped, as is a number already in use. */
  take(message: unknown): void {
    if (this.#ended || !isMessageUp(message)) return;
    const { id } = message;
    if (message.kind === 'stop') {
      this.#running.get(id)?.abort();
      return;
    }
    if (this.#running.has(id)) return;
    if (this.#running.size >= CALLS_AT_ONCE) {
      const reason = `More than ${CALLS_AT_ONCE} things were asked at once; wait until some are answered.`;
      this.#send({ kind: 'fault', id, fault: fault('job.usage', { reason }) });
      return;
    }
    const controller = new AbortController();
    this.#running.set(id, controller);
    const progress = (fraction: number, phase: string): void => this.#send({ kind: 'progress', id, fraction, phase });
    void this.#answer(id, message.name, message.input, { progress, signal: controller.signal });
  }

  async #answer(id: number, name: string, input: unknown, watch: Parameters<Call>[2]): Promise<void> {
    let outcome: Outcome<unknown>;
    try {
      outcome = await this.#call(name, input, watch);
    } catch {
      // The dispatcher turns its own bugs into faults; this is the last net.
      outcome = { ok: false, fault: lastNet('call') };
    }
    this.#running.delete(id);
    if (outcome.ok) this.#send({ kind: 'done', id, value: outcome.value, warnings: outcome.warnings });
    else this.#send({ kind: 'fault', id, fault: outcome.fault });
  }

  /** The page is gone: stop what it asked for. */
  end(): void {
    this.#ended = true;
    for (const controller of this.#running.values()) controller.abort();
    this.#running.clear();
  }
}

export function lastNet(reference: string): Fault {
  return fault('job.internal', { reference });
}
