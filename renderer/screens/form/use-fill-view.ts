/** A fill being thought over, in the view of its form: the patch while it is chosen, then the filled form and what moved. */
import { useEffect, useMemo, useState } from 'react';
import type { Legend, Viewport } from '../../viewport/viewport.ts';
import { useBrush } from '../../controls/use-brush.ts';
import { patchMap, touched } from './fill-plan.ts';
import type { Filling } from './use-filling.ts';

/** Ends of the map of what moved, at least, mm. */
const LEAST_END_MM = 1;

/** `filling` undefined: nothing of it is shown. `positions`: of the form while no other map lies on it. */
export function useFillView(
  view: Viewport | undefined,
  host: HTMLElement | null,
  filling: Filling | undefined,
  positions: Float32Array | undefined,
): Legend | undefined {
  const { plan, preview, change, tool } = filling ?? {};
  const [legend, setLegend] = useState<Legend>();
  const patch = useMemo(
    () =>
      plan === undefined || positions === undefined || preview !== undefined ? undefined : patchMap(plan, positions),
    [plan, positions, preview],
  );
  useEffect(() => {
    if (view === undefined || patch === undefined) return;
    view.setScalars('form', patch, { minMm: -1, maxMm: 1, kind: 'deviation' });
    return () => view.setScalars('form', undefined);
  }, [view, patch]);
  useEffect(() => {
    if (view === undefined || preview === undefined) return;
    const { positions: filled, triangles, movedMm } = preview;
    view.setMesh('filled', { positions: filled, triangles }, { material: 'clay' });
    const most = movedMm.reduce((so, mm) => (Math.abs(mm) > so ? Math.abs(mm) : so), LEAST_END_MM);
    view.setScalars('filled', movedMm, { minMm: -most, maxMm: most, kind: 'deviation' });
    setLegend(view.getLegend('filled'));
    return () => {
      view.setMesh('filled', undefined);
      setLegend(undefined);
    };
  }, [view, preview]);
  useBrush(
    host,
    view,
    'form',
    tool === undefined || change === undefined ? undefined : (at) => change((before) => touched(before, at, tool)),
  );
  return legend;
}
