/** The open screen's name, for the strip and the window. */
import { useEffect } from 'react';
import { useStudio } from './studio.ts';

export function useTitle(title: string): void {
  const store = useStudio().title;
  useEffect(() => {
    store.set(title);
    document.title = title === '' ? 'Wearwright' : `${title} · Wearwright`;
  }, [store, title]);
}
