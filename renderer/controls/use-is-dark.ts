import { useSyncExternalStore } from 'react';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';

const asked = (): MediaQueryList => window.matchMedia('(prefers-color-scheme: dark)');

function subscribe(listener: () => void): () => void {
  const query = asked();
  query.addEventListener('change', listener);
  return () => query.removeEventListener('change', listener);
}

/** Is the screen dark now, by choice or because the computer is? */
export function useIsDark(): boolean {
  const { theme } = useStore(useStudio().settings);
  const isSystemDark = useSyncExternalStore(subscribe, () => asked().matches);
  return theme === 'dark' || (theme === 'system' && isSystemDark);
}
