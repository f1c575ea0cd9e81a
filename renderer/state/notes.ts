/** Short messages that lie at the edge of the desk until they are put away; good news goes by itself. */
import { createStore, type Store } from './store.ts';

export interface Note {
  readonly id: number;
  readonly tone: 'good' | 'plain' | 'trouble';
  readonly text: string;
  /** Something to do about it. */
  readonly action?: { readonly label: string; readonly run: () => void };
}

export interface Notes extends Store<readonly Note[]> {
  add(note: Omit<Note, 'id'>): number;
  drop(id: number): void;
}

const GOOD_NEWS_MS = 7000;
const MOST = 5;

export function createNotes(): Notes {
  const store = createStore<readonly Note[]>([]);
  let nextId = 1;
  const drop = (id: number): void => store.set(store.get().filter((note) => note.id !== id));
  return {
    ...store,
    add(note) {
      const same = store.get().find((one) => one.text === note.text && one.tone === note.tone);
      if (same !== undefined) return same.id;
      const id = nextId++;
      store.set([...store.get(), { ...note, id }].slice(-MOST));
      if (note.tone !== 'trouble') setTimeout(() => drop(id), GOOD_NEWS_MS);
      return id;
    },
    drop,
  };
}
