/** Where notes lie; read aloud as they come. How high they lie is told to the page, which ends above them. */
import { useEffect, useRef } from 'react';
import type { Notes } from '../state/notes.ts';
import { useStore } from '../state/store.ts';
import { Button } from './button.tsx';
import './note-region.css';

export function NoteRegion({ notes }: { readonly notes: Notes }) {
  const shown = useStore(notes);
  const region = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const { current } = region;
    if (current === null) return undefined;
    const watch = new ResizeObserver(() => {
      document.documentElement.style.setProperty('--notes-height', `${current.offsetHeight}px`);
    });
    watch.observe(current);
    return () => watch.disconnect();
  }, []);
  return (
    <div ref={region} className="notes" role="region" aria-label="Notes">
      <ol aria-live="polite" className="notes-list">
        {shown.map((note) => (
          <li key={note.id} className={`note note-${note.tone}`} role={note.tone === 'trouble' ? 'alert' : undefined}>
            <span className="note-text">{note.text}</span>
            {note.action === undefined ? null : (
              <Button
                tone="quiet"
                onClick={() => {
                  note.action?.run();
                  notes.drop(note.id);
                }}
              >
                {note.action.label}
              </Button>
            )}
            <Button tone="quiet" onClick={() => notes.drop(note.id)} aria-label={`Put away: ${note.text}`}>
              ✕
            </Button>
          </li>
        ))}
      </ol>
    </div>
  );
}
