/** The form in the view, plain or with a map of how far it lies from the scan. */
import { useEffect, useMemo, useState } from 'react';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import type { FormRevision } from '../../../shared-types/records/form.ts';
import { Button } from '../../controls/button.tsx';
import { FittingView, LegendCard } from '../../controls/fitting-view.tsx';
import { placeOfMark } from '../../controls/use-drawing.ts';
import { lengthText } from '../../controls/parse-length.ts';
import { Remark } from '../../controls/paper.tsx';
import { SectionSheet } from '../../controls/section-sheet.tsx';
import { FaultCard, Loading } from '../../controls/states.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Legend, Viewport } from '../../viewport/viewport.ts';
import { drawnSpansOf } from '../../../electron/geometry/measure/drawn-spans.ts';
import type { LinerPlan } from './liner-plan.ts';
import { useFillView } from './use-fill-view.ts';
import type { Filling } from './use-filling.ts';
import { FAR_OPENING, useLinerView, type PlannedLiner } from './use-liner-view.ts';

/** Ends of the map: what lies beyond is in the end's colour. */
const LEAST_END_MM = 0.25;
const SHARE_SHOWN = 0.995;

export interface FormViewProps {
  readonly revision: FormRevision;
  readonly label: string;
  /** A liner that is thought over. */
  readonly planned: PlannedLiner | undefined;
  readonly onPlan: (change: (plan: LinerPlan) => LinerPlan) => void;
  /** A fill that is thought over, unless a liner is. */
  readonly filling: Filling | undefined;
  /** A place of the line in hand was pressed. */
  readonly onPlace: (place: number | undefined) => void;
}

export function FormView({ revision, label, planned, filling, onPlan, onPlace }: FormViewProps) {
  const revisionId = revision.id;
  const { unit } = useStore(useStudio().settings);
  const [view, setView] = useState<Viewport>();
  const [isMapped, setMapped] = useState(false);
  const [hasEdges, setEdges] = useState(false);
  const [hasSpans, setSpans] = useState(false);
  const [isCut, setCut] = useState(false);
  const [legend, setLegend] = useState<Legend>();
  const mesh = useAsked('form.mesh', { revisionId }, { still: true });
  const deviation = useAsked('form.deviation', isMapped ? { revisionId } : undefined, { still: true });
  const shown = mesh.state === 'value' ? mesh.value : undefined;
  const map = isMapped && deviation.state === 'value' ? deviation.value : undefined;

  const isFilledShown = filling?.preview !== undefined;
  useEffect(() => {
    if (shown === undefined) return;
    view?.setMesh('form', shown, { material: 'clay', edges: hasEdges, visible: !isFilledShown });
  }, [view, shown, hasEdges, isFilledShown]);
  useEffect(() => {
    if (view === undefined || shown === undefined) return;
    if (map === undefined) {
      setLegend(undefined);
      return;
    }
    const end = endOf(map.perVertexMm);
    view.setScalars('form', map.perVertexMm, { minMm: -end, maxMm: end, kind: 'deviation', contourMm: end / 2 });
    setLegend(view.getLegend('form'));
    return () => view.setScalars('form', undefined);
  }, [view, shown, map]);

  const [host, setHost] = useState<HTMLDivElement | null>(null);
  const bare = map === undefined ? shown?.positions : undefined;
  const drawn = useLinerView(view, host, planned, bare, onPlan);
  const movedLegend = useFillView(view, host, filling, bare);

  const spans = useMemo(() => drawnSpansOf(revision), [revision]);
  useEffect(() => {
    const marks = spans.map(({ name, from, to, onFormMm, agrees }) => ({
      id: name,
      label: `${name} ${lengthText(onFormMm, unit)}`,
      from,
      to,
      bad: !agrees,
    }));
    view?.setSpans(hasSpans ? marks : []);
  }, [view, spans, hasSpans, unit]);

  return (
    <div className="form-view" ref={setHost}>
      <FittingView
        label={label}
        onReady={setView}
        onPlane={(id, point, normal) =>
          onPlan((plan) => ({ ...plan, [id === FAR_OPENING ? 'farOpening' : 'opening']: { point, normal } }))
        }
        onMark={(id) => onPlace(placeOfMark(id))}
        onPick={(hit) => {
          if (hit.slot === 'form') drawn.pick(hit.pointInMesh, hit.normal);
        }}
        tools={
          <>
            <Button tone="quiet" aria-pressed={hasEdges} onClick={() => setEdges(!hasEdges)}>
              Edges
            </Button>
            {spans.length === 0 ? null : (
              <Button tone="quiet" aria-pressed={hasSpans} onClick={() => setSpans(!hasSpans)}>
                Callipers
              </Button>
            )}
            <Button tone="quiet" aria-pressed={isCut} onClick={() => setCut(!isCut)}>
              Section
            </Button>
            {revision.steps.some(({ verb }) => verb === 'block') ? null : (
              <Button tone="quiet" aria-pressed={isMapped} onClick={() => setMapped(!isMapped)}>
                Distance from the scan
              </Button>
            )}
          </>
        }
      >
        {isCut && shown !== undefined ? (
          <SectionSheet
            view={view}
            positions={shown.positions}
            shown={drawn.shown}
            region={revision.recipe['region']}
          />
        ) : null}
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
        {drawn.legend === undefined ? null : <LegendCard {...drawn.legend} />}
        {movedLegend === undefined ? null : (
          <LegendCard
            legend={movedLegend}
            title="What was filled, against what it replaces"
            low="inside"
            high="outside"
          />
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
