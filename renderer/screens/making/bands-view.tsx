/** All printable files of a making, gauge bands each at its height over the others. */
import { useEffect, useState } from 'react';
import { translation } from '../../../electron/geometry/mesh/transform.ts';
import type { Made } from '../../../shared-types/calls/makings.ts';
import { FittingView } from '../../controls/fitting-view.tsx';
import { some } from '../../controls/figure.tsx';
import { Empty } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import type { GaugeFigures } from './making-words.ts';

export function BandsView({ made, gauge }: { readonly made: Made; readonly gauge: GaugeFigures | undefined }) {
  const studio = useStudio();
  const [view, setView] = useState<Viewport>();
  const files = made.files.filter(({ name }) => name.endsWith('.stl'));
  useEffect(() => {
    if (view === undefined) return;
    const stop = new AbortController();
    const fetchAll = async (): Promise<void> => {
      for (const { id, name } of made.files.filter((file) => file.name.endsWith('.stl'))) {
        const mesh = await studio.ask('making.mesh', { fileId: id }, { signal: stop.signal });
        if (mesh === undefined || stop.signal.aborted) return;
        // Each lies on the bed in its own file.
        const levelMm = gauge?.bands.find(({ file }) => file === name)?.levelMm ?? 0;
        view.setMesh(name, mesh, { material: 'wall', matrix: translation([0, 0, levelMm]) });
      }
      view.frame();
    };
    void fetchAll();
    return () => stop.abort();
  }, [studio, view, made, gauge]);
  return files.length === 0 ? (
    <Empty title="Nothing to look at">
      <p>Its files are listed beside.</p>
    </Empty>
  ) : (
    <FittingView label={`${some(files.length, 'band')}, each at its height`} onReady={setView} />
  );
}
