/** A scan file may be dropped anywhere. */
import { useEffect, useState } from 'react';
import { useStudio } from '../state/studio.ts';

export function ScanDrop() {
  const studio = useStudio();
  const [isOver, setOver] = useState(false);
  useEffect(() => {
    const hasFiles = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') === true;
    const over = (event: DragEvent): void => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      setOver(document.querySelector('dialog[open]') === null);
    };
    const leave = (event: DragEvent): void => {
      if (event.relatedTarget === null) setOver(false);
    };
    const drop = (event: DragEvent): void => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      setOver(false);
      if (document.querySelector('dialog[open]') !== null) return;
      const files = [...(event.dataTransfer?.files ?? [])];
      const [file] = files;
      if (file === undefined) return;
      if (files.length > 1) {
        studio.notes.add({
          tone: 'plain',
          text: `Several files were dropped; ${file.name} is taken. A scan of several files (mesh, colours, pictures) comes as one zip.`,
        });
      }
      const place = studio.place.get();
      studio.incoming.set({ file, wearerId: place.at === 'wearer' ? place.id : undefined });
    };
    window.addEventListener('dragover', over);
    window.addEventListener('dragleave', leave);
    window.addEventListener('drop', drop);
    return () => {
      window.removeEventListener('dragover', over);
      window.removeEventListener('dragleave', leave);
      window.removeEventListener('drop', drop);
    };
  }, [studio]);
  if (!isOver) return null;
  return (
    <div className="drop-veil">
      <div className="drop-paper">
        <h2>Let go to bring in the scan</h2>
        <p className="soft">OBJ, STL, PLY, GLB, glTF or 3MF, or a zip with one of them</p>
      </div>
    </div>
  );
}
