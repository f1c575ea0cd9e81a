/**
 * Everything the screens share: the client, where one is, the jobs, what can be undone, notes and settings. Made once
 * at the start; screens reach it by `useStudio`.
 */
import { createContext, useContext } from 'react';
import type { CallInput, CallName, CallResult, JobView } from '../../shared-types/contract.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import type { Client, CallWatch } from '../client/client.ts';
import { createIncoming, type Incoming } from './incoming.ts';
import { createNotes, type Notes } from './notes.ts';
import { notesOfJobs } from './job-news.ts';
import { createPlaceStore, type Place } from './routes.ts';
import { createSettingsStore, type Settings } from './settings.ts';
import { createStore, type Store } from './store.ts';

export interface History {
  readonly undo?: string | undefined;
  readonly redo?: string | undefined;
}

export interface Studio {
  readonly client: Client;
  readonly place: Store<Place>;
  readonly jobs: Store<readonly JobView[]>;
  readonly history: Store<History>;
  readonly notes: Notes;
  readonly settings: Store<Settings>;
  /** Grows with every change of records, for those who show them. */
  readonly changes: Store<number>;
  /** Name of the place for the strip, which the open screen sets. */
  readonly title: Store<string>;
  /** A scan file somebody brought, not yet kept; with the wearer it was brought for, if that is plain. */
  readonly incoming: Store<Incoming | undefined>;
  /** Each keeps what a screen still has in hand; undo and redo wait for them. */
  readonly inHand: Set<() => Promise<void>>;
  /** A call whose trouble is told in a note; undefined then. For buttons. */
  ask<N extends CallName>(name: N, input: CallInput<N>, watch?: CallWatch): Promise<CallResult<N> | undefined>;
  /** Ask for everything anew: after a lost connection, or once a locked library is open. */
  readonly refresh: () => void;
  undo(): Promise<void>;
  redo(): Promise<void>;
}

export function createStudio(client: Client, page: Window): Studio {
  const jobs = createStore<readonly JobView[]>([]);
  const history = createStore<History>({});
  const changes = createStore(0);
  const notes = createNotes();
  const place = createPlaceStore(page);
  const inHand: Studio['inHand'] = new Set();

  const refreshHistory = async (): Promise<void> => {
    const shown = await client.call('history.show', {});
    if (shown.ok) history.set(shown.value);
  };
  const refreshJobs = async (): Promise<void> => {
    const listed = await client.call('job.list', {});
    if (listed.ok) jobs.set(listed.value.jobs);
  };
  const ask: Studio['ask'] = async (name, input, watch) => {
    const outcome = await client.call(name, input, watch);
    if (outcome.ok) {
      for (const warning of outcome.warnings) notes.add({ tone: 'plain', text: warning.sentence });
      return outcome.value;
    }
    if (outcome.fault.code !== 'job.cancelled') notes.add({ tone: 'trouble', text: faultSentence(outcome.fault) });
    return undefined;
  };
  // One step after the other: a quick second press waits to see what the first has left to take back.
  let steps: Promise<void> = Promise.resolve();
  const step = (way: 'undo' | 'redo', word: string): Promise<void> => {
    const one = async (): Promise<void> => {
      if (inHand.size > 0) {
        await Promise.all(Array.from(inHand, (keep) => keep()));
        await refreshHistory();
      }
      if (history.get()[way] === undefined) return;
      const stepped = await ask(`history.${way}`, {});
      // The event of the change may be lost with the connection; ask all the same.
      await refreshHistory();
      if (stepped !== undefined) notes.add({ tone: 'plain', text: `${word}: ${stepped.label}` });
    };
    steps = steps.then(one, one);
    return steps;
  };

  client.on('jobs', (value) => {
    for (const note of notesOfJobs(jobs.get(), value.jobs, place.get())) notes.add(note);
    jobs.set(value.jobs);
  });
  client.on('changed', () => {
    changes.set(changes.get() + 1);
    void refreshHistory();
  });
  const refresh = (): void => {
    changes.set(changes.get() + 1);
    void refreshHistory();
    void refreshJobs();
  };
  client.connection.subscribe(() => {
    if (client.connection.get() === 'open') refresh();
  });
  if (client.connection.get() === 'open') refresh();

  return {
    client,
    place,
    jobs,
    history,
    notes,
    settings: createSettingsStore(page),
    changes,
    title: createStore(''),
    incoming: createIncoming(client),
    inHand,
    ask,
    refresh,
    undo: () => step('undo', 'Taken back'),
    redo: () => step('redo', 'Done again'),
  };
}

export const StudioContext = createContext<Studio | undefined>(undefined);

export function useStudio(): Studio {
  const studio = useContext(StudioContext);
  if (studio === undefined) throw new Error('useStudio outside the studio');
  return studio;
}
