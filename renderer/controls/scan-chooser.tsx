/** Choosing a scan file, for those who do not drop it. */
import { useRef, type ReactNode } from 'react';
import { useStudio } from '../state/studio.ts';

const ENDINGS = '.obj,.stl,.ply,.glb,.gltf,.3mf,.zip';

export function useScanChooser(wearerId?: string): [ReactNode, () => void] {
  const { incoming } = useStudio();
  const input = useRef<HTMLInputElement>(null);
  const element = (
    <input
      ref={input}
      type="file"
      accept={ENDINGS}
      className="only-heard"
      tabIndex={-1}
      aria-label="Scan file"
      data-purpose="scan"
      onChange={(event) => {
        const [file] = event.target.files ?? [];
        if (file !== undefined) incoming.set({ file, wearerId });
        // The same file may be chosen again.
        event.target.value = '';
      }}
    />
  );
  return [element, () => input.current?.click()];
}
