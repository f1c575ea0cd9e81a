/** The form in the view, plain or with a map of how far it lies from the scan. */
import { useEffect, useState } from 'react';
import { Button } from '../../controls/button.tsx';
import { FittingView, LegendCard } from '../../controls/fitting-view.tsx';
import { Remark } from '../../controls/paper.tsx';
import { FaultCard, Loading } from '../../controls/states.tsx';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Legend, Viewport } from '../../viewport/viewport.ts';

/** Ends of the map: what lies beyond is in the end's colour. */
const LEAST_END_MM = 0.25;
const SHARE_SHOWN = 0.995;

export function FormView({ revisionId, label }: { readonly revisionId: string; readonly label: string }) {
  const [view, setView] = useState<Viewport>();
  const [isMapped, setMapped] = useState(false);
  const [hasEdges, setEdges] = useState(false);
  const [legend, setLegend] = useState<Legend>();
  const mesh = useAsked('form.mesh', { revisionId }, { still: true });
  const deviation = useAsked('form.deviation', isMapped ? { revisionId } : undefined, { still: true });
  const shown = mesh.state === 'value' ? mesh.value : undefined;
  const map = isMapped && deviation.state === 'value' ? deviation.value : undefined;

  useEffect(() => {
    if (shown === undefined) return;
    view?.setMesh('form', shown, { material: 'clay', edges: hasEdges });
  }, [view, shown, hasEdges]);
  useEffect(() => {
    if (view === undefined || shown === undefined) return;
    if (map === undefined) {
      view.setScalars('form', undefined);
      setLegend(undefined);
      return;
    }
    const end = endOf(map.perVertexMm);
    view.setScalars('form', map.perVertexMm, { minMm: -end, maxMm: end, kind: 'deviation', contourMm: end / 2 });
    setLegend(view.getLegend('form'));
  }, [view, shown, map]);

  return (
    <div className="form-view">
      <FittingView
        label={label}
        onReady={setView}
        tools={
          <>
            <Button tone="quiet" aria-pressed={hasEdges} onClick={() => setEdges(!hasEdges)}>
              Edges
            </Button>
            <Button tone="quiet" aria-pressed={isMapped} onClick={() => setMapped(!isMapped)}>
              Distance from the scan
            </Button>
          </>
        }
      >
        {mesh.state === 'loading' ? (
          <div className="picture-wait">
            <Loading what="Fetching the form" />
          </div>
        ) : mesh.state === 'fault' ? (
          <FaultCard fault={mesh.fault} onAgain={mesh.again} />
        ) : null}
        {!isMapped || map !== undefined ? null : (
          <div className="legend" role="status">
            {deviation.state === 'fault' ? (
              <Remark tone="trouble">{faultSentence(deviation.fault)}</Remark>
            ) : (
              <p>Reading the scan once more and measuring the form against it…</p>
            )}
          </div>
        )}
        {legend === undefined || map === undefined ? null : (
          <LegendCard
            legend={legend}
            title={`Scan from form: ${map.meanMm.toFixed(2)} mm on average, ${map.maxMm.toFixed(2)} mm at most`}
            low="scan inside the form"
            high="scan outside"
          />
        )}
      </FittingView>
    </div>
  );
}

/** A round length that holds nearly all of them. */
function endOf(perVertexMm: Float32Array): number {
  const sizes = Float32Array.from(perVertexMm, Math.abs)
    .filter((value) => Number.isFinite(value))
    .sort();
  const held = sizes[Math.floor(SHARE_SHOWN * (sizes.length - 1))] ?? 0;
  const wanted = Math.max(LEAST_END_MM, held);
  const ten = 10 ** Math.floor(Math.log10(wanted));
  return [1, 2, 2.5, 5, 10].map((step) => step * ten).find((end) => end >= wanted) ?? wanted;
}
