/** Choosing a file with a mesh, for those who do not drop it. */
import { useRef, type ReactNode } from 'react';
import { useStudio } from '../state/studio.ts';

const ENDINGS = '.obj,.stl,.ply,.glb,.gltf,.3mf,.zip';

/** A field to be put anywhere on the screen, heard but not seen, and what opens it. */
export function useMeshChooser(
  what: 'scan' | 'part',
  label: string,
  onChosen: (file: File) => void,
): [ReactNode, () => void] {
  const input = useRef<HTMLInputElement>(null);
  const element = (
    <input
      ref={input}
      type="file"
      accept={ENDINGS}
      className="only-heard"
      tabIndex={-1}
      aria-label={label}
      data-purpose={what}
      onChange={(event) => {
        const [file] = event.target.files ?? [];
        if (file !== undefined) onChosen(file);
        // The same file may be chosen again.
        event.target.value = '';
      }}
    />
  );
  return [element, () => input.current?.click()];
}

export function useScanChooser(wearerId?: string): [ReactNode, () => void] {
  const { incoming } = useStudio();
  return useMeshChooser('scan', 'Scan file', (file) => incoming.set({ file, wearerId }));
}
