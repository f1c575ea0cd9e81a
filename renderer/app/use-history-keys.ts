/** Ctrl or Cmd with Z takes back, with Shift (or with Y) does again; in a field of text the keys are the field's, in a dialog that keeps nothing yet they do nothing. */
import { useEffect } from 'react';
import type { Studio } from '../state/studio.ts';

export function useHistoryKeys(studio: Studio): void {
  useEffect(() => {
    const press = (event: KeyboardEvent): void => {
      if (
        !(event.ctrlKey || event.metaKey) ||
        event.altKey ||
        document.querySelector('dialog[open]:not([data-undoable])') !== null
      )
        return;
      const target = event.target;
      if (target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return;
      if (target instanceof HTMLInputElement && !['radio', 'checkbox', 'range'].includes(target.type)) return;
      const key = event.key.toLowerCase();
      const isRedo = key === 'y' || (key === 'z' && event.shiftKey);
      if (!isRedo && key !== 'z') return;
      event.preventDefault();
      void (isRedo ? studio.redo() : studio.undo());
    };
    window.addEventListener('keydown', press);
    return () => window.removeEventListener('keydown', press);
  }, [studio]);
}
