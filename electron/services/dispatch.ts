/** The studio without a screen: opens the library, answers the contract's calls, tells events. Hosts carry messages. */
import { randomBytes } from 'node:crypto';
import { CONTRACT, type CallName, type EventName, type EventValue } from '../../shared-types/contract.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { complaintOf, placeOf } from '../../shared-types/operations/complaint.ts';
import { done, failed, type Outcome } from '../../shared-types/outcome.ts';
import { DESK_REGISTRY, JobPool, type Watch } from '../jobs/pool.ts';
import { openLibrary } from '../store/connection.ts';
import { StoreTrouble } from '../store/trouble.ts';
import { PROGRAM_VERSION } from './program-version.ts';
import { Bench } from './studio/bench.ts';
import { allowanceCalls } from './studio/allowance-calls.ts';
import { blockCalls } from './studio/block-calls.ts';
import { demoCalls } from './studio/demo-calls.ts';
import { fillCalls } from './studio/fill-calls.ts';
import { formCalls, jobsOf } from './studio/form-calls.ts';
import { JobBoard } from './studio/job-board.ts';
import { open, type Handlers, type OpenSession, type Session } from './studio/session.ts';
import { linerCalls } from './studio/liner-calls.ts';
import { fittingCalls } from './studio/fitting-calls.ts';
import { makingCalls } from './studio/making-calls.ts';
import { paperCalls } from './studio/paper-calls.ts';
import { usualCalls } from './studio/usual-calls.ts';
import { planCalls } from './studio/plan-calls.ts';
import { shelfCalls } from './studio/shelf-calls.ts';
import { ticketCalls } from './studio/ticket-calls.ts';
import { Uploads } from './studio/uploads.ts';

export interface StudioOptions {
  readonly libraryPath: string;
  readonly threads?: number;
  /** Receives the whole account of a mistake of ours; the screen gets the reference. */
  readonly log?: (reference: string, account: string) => void;
}

export type Listener = (name: string, value: unknown) => void;

export interface Studio {
  readonly call: (name: string, input: unknown, watch?: Watch) => Promise<Outcome<unknown>>;
  readonly receive: (fileName: string, body: AsyncIterable<Uint8Array>) => Promise<Outcome<{ upload: string }>>;
  readonly subscribe: (listener: Listener) => () => void;
  readonly close: () => Promise<void>;
}

/** Calls that need the open library. */
const CALLS: Handlers<Exclude<CallName, 'app.about' | 'library.unlock'>> = {
  ...shelfCalls,
  ...ticketCalls,
  ...formCalls,
  ...blockCalls,
  ...allowanceCalls,
  ...fillCalls,
  ...linerCalls,
  ...planCalls,
  ...fittingCalls,
  ...makingCalls,
  ...paperCalls,
  ...usualCalls,
  ...demoCalls,
};

/** Open (or make) the library and stand ready. A locked one opens with `library.unlock`. */
export function createStudio(options: StudioOptions): Outcome<Studio> {
  const { libraryPath } = options;
  const log = options.log ?? ((reference, account) => console.error(`[${reference}] ${account}`));
  const opened = openLibrary(libraryPath, { create: true });
  if (!opened.ok && opened.fault.code !== 'store.locked') return opened;
  const listeners = new Set<Listener>();
  const tell = <N extends EventName>(name: N, value: EventValue<N>): void => {
    for (const listener of listeners) listener(name, value);
  };
  const internal = (error: unknown): Outcome<never> => {
    if (error instanceof StoreTrouble) return failed(error.fault);
    const reference = randomBytes(4).toString('hex');
    log(reference, error instanceof Error ? (error.stack ?? error.message) : String(error));
    return failed(fault('job.internal', { reference }));
  };
  const pool = new JobPool({ threads: options.threads ?? 2, registry: DESK_REGISTRY, log });
  pool.warm();
  const session: Session = {
    libraryPath,
    library: opened.ok ? opened.value : undefined,
    pool,
    bench: new Bench(pool),
    jobs: new JobBoard(() => tell('jobs', { jobs: jobsOf(session) }), internal),
    uploads: new Uploads(),
    tell,
  };
  return done({
    call: async (name, input, watch = {}) => {
      const { library } = session;
      let outcome: Outcome<unknown>;
      try {
        outcome = await answer(session, name, input, watch);
      } catch (error) {
        outcome = internal(error);
      }
      if (!outcome.ok && outcome.fault.code === 'store.lock-changed' && session.library === library) {
        // Opened anew where no passphrase is needed, else asked for; what still runs on it as it was is refused as this was.
        const again = openLibrary(libraryPath);
        session.library = again.ok ? again.value : undefined;
        tell('changed', { what: 'library' });
      }
      return outcome;
    },
    receive: (fileName, body) => session.uploads.receive(fileName, body),
    subscribe: (listener) => {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
    close: async () => {
      await session.jobs.close();
      await pool.close();
      session.uploads.close();
      session.library?.close();
    },
  });
}

/** Check what is given, answer, check what goes back. */
async function answer(session: Session, name: string, input: unknown, watch: Watch): Promise<Outcome<unknown>> {
  if (!Object.hasOwn(CONTRACT, name)) {
    return failed(fault('job.usage', { reason: `There is no call "${name.slice(0, 60)}".` }));
  }
  const known = name as CallName;
  const parsed = CONTRACT[known].input.safeParse(input ?? {});
  if (!parsed.success) {
    const { path, sentence } = complaintOf(parsed.error);
    const place = path.length === 0 ? '' : ` ${placeOf(path)}:`;
    return failed(fault('job.usage', { reason: `${known}:${place} ${sentence}` }));
  }
  const outcome = await handle(session, known, parsed.data, watch);
  if (!outcome.ok) return outcome;
  const checked = CONTRACT[known].output.safeParse(outcome.value);
  if (!checked.success) throw new Error(`${known} answered wrongly: ${checked.error.message}`);
  return done(checked.data, outcome.warnings);
}

async function handle(session: Session, name: CallName, given: unknown, watch: Watch): Promise<Outcome<unknown>> {
  if (name === 'app.about') {
    const { libraryPath, library } = session;
    const count = library?.db.prepare('SELECT count(*) FROM wearers').pluck().get() as number | undefined;
    return done({ version: PROGRAM_VERSION, libraryPath, locked: library === undefined, empty: count === 0 });
  }
  if (name === 'library.unlock') {
    const { passphrase } = given as { passphrase: string };
    if (session.library !== undefined) return done({});
    const opened = openLibrary(session.libraryPath, { passphrase });
    if (!opened.ok) return opened;
    session.library = opened.value;
    session.tell('changed', { what: 'library' });
    return done({});
  }
  const ready = open(session);
  if (!ready.ok) return ready;
  const call = CALLS[name] as (
    given: unknown,
    session: OpenSession,
    watch: Watch,
  ) => Outcome<unknown> | Promise<Outcome<unknown>>;
  return call(given, ready.value, watch);
}
