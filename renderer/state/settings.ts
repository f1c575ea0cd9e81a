/** What a person prefers about the screens; remembered by this browser where it lets us, and not in the library. */
import { PAPER_SIZES_MM, type PaperSize } from '../../shared-types/paper.ts';
import { createStore, type Store } from './store.ts';

export interface Settings {
  readonly theme: 'system' | 'light' | 'dark';
  /** Unit a length is shown in; millimetres are what is kept. */
  readonly unit: 'mm' | 'in';
  /** The paper in the printer. */
  readonly paper: PaperSize;
  /** Who takes readings here, to spare typing it each time. */
  readonly takenBy: string;
}

const KEY = 'wearwright-settings';
const FIRST: Settings = { theme: 'system', unit: 'mm', paper: 'a4', takenBy: '' };

/** Settings from their kept text; whatever is not understood is as at first. */
export function settingsFrom(text: string | null): Settings {
  let kept: unknown;
  try {
    kept = JSON.parse(text ?? 'null');
  } catch {
    return FIRST;
  }
  if (typeof kept !== 'object' || kept === null) return FIRST;
  const { theme, unit, paper, takenBy } = kept as Record<string, unknown>;
  return {
    theme: theme === 'light' || theme === 'dark' ? theme : 'system',
    unit: unit === 'in' ? 'in' : 'mm',
    paper: typeof paper === 'string' && Object.hasOwn(PAPER_SIZES_MM, paper) ? (paper as PaperSize) : FIRST.paper,
    takenBy: typeof takenBy === 'string' ? takenBy.slice(0, 200) : '',
  };
}

/** As much of a browser's window as this needs. */
export interface RememberingPage {
  readonly localStorage: { getItem(key: string): string | null; setItem(key: string, value: string): void };
  readonly document: { readonly documentElement: { readonly dataset: Record<string, string | undefined> } };
}

export function createSettingsStore(page: RememberingPage): Store<Settings> {
  // Storage may be forbidden (a private window, a policy); then settings last as long as the page.
  let storage: RememberingPage['localStorage'] | undefined;
  try {
    storage = page.localStorage;
  } catch {
    storage = undefined;
  }
  const read = (): string | null => {
    try {
      return storage?.getItem(KEY) ?? null;
    } catch {
      return null;
    }
  };
  const store = createStore(settingsFrom(read()));
  const apply = (): void => {
    const { theme } = store.get();
    if (theme === 'system') delete page.document.documentElement.dataset['theme'];
    else page.document.documentElement.dataset['theme'] = theme;
  };
  apply();
  store.subscribe(() => {
    apply();
    try {
      storage?.setItem(KEY, JSON.stringify(store.get()));
    } catch {
      // Full or forbidden; the setting still holds on this page.
    }
  });
  return store;
}
