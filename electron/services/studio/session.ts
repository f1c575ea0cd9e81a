/** What every call of the studio works with. */
import { fault } from '../../../shared-types/faults/index.ts';
import { done, failed, type Outcome } from '../../../shared-types/outcome.ts';
import type { CallGiven, CallName, CallResult, EventName, EventValue } from '../../../shared-types/contract.ts';
import type { JobPool, Watch } from '../../jobs/pool.ts';
import type { Library } from '../../store/connection.ts';
import type { Bench } from './bench.ts';
import type { JobBoard } from './job-board.ts';
import type { Uploads } from './uploads.ts';

export interface Session {
  readonly libraryPath: string;
  /** Undefined while it is locked. */
  library: Library | undefined;
  readonly pool: JobPool;
  readonly bench: Bench;
  readonly jobs: JobBoard;
  readonly uploads: Uploads;
  tell<N extends EventName>(name: N, value: EventValue<N>): void;
}

/** A session whose library is open. */
export type OpenSession = Session & { library: Library };

export type Handler<N extends CallName> = (
  given: CallGiven<N>,
  session: OpenSession,
  watch: Watch,
) => Outcome<CallResult<N>> | Promise<Outcome<CallResult<N>>>;

/** Handlers of some of the calls. */
export type Handlers<N extends CallName> = { readonly [K in N]: Handler<K> };

export const open = (session: Session): Outcome<OpenSession> =>
  session.library === undefined
    ? failed(fault('store.locked', { path: session.libraryPath }))
    : done(session as OpenSession);

/** Tell the pages that records changed, once the change has succeeded. */
export function changed<T>(session: Session, outcome: Outcome<T>, what: 'library' | 'ticket' = 'library', id?: string) {
  if (outcome.ok) session.tell('changed', id === undefined ? { what } : { what, id });
  return outcome;
}
