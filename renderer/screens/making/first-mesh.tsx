/** The first printable file of a making, to be looked at. */
import { useEffect, useState } from 'react';
import type { Made } from '../../../shared-types/calls/makings.ts';
import { FittingView } from '../../controls/fitting-view.tsx';
import { Empty } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import type { Viewport } from '../../viewport/viewport.ts';

export function FirstMesh({ made }: { readonly made: Made }) {
  const studio = useStudio();
  const [view, setView] = useState<Viewport>();
  const file = made.files.find(({ name }) => name.endsWith('.stl'));
  useEffect(() => {
    if (view === undefined || file === undefined) return;
    const stop = new AbortController();
    void studio.ask('making.mesh', { fileId: file.id }, { signal: stop.signal }).then((mesh) => {
      if (mesh !== undefined && !stop.signal.aborted) view.setMesh('made', mesh, { material: 'wall' });
    });
    return () => stop.abort();
  }, [studio, view, file]);
  return file === undefined ? (
    <Empty title="Nothing to look at">
      <p>Its files are listed beside.</p>
    </Empty>
  ) : (
    <FittingView label={file.name} onReady={setView} />
  );
}
