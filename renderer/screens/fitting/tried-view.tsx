/** Form and part in the view: the part as glass or coloured by the gap, and cut open. */
import { useEffect, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import type { FittingDraft, Tried } from '../../../shared-types/calls/fittings.ts';
import type { Fitting } from '../../../shared-types/records/making.ts';
import { IDENTITY } from '../../../electron/geometry/mesh/transform.ts';
import { Button } from '../../controls/button.tsx';
import { FittingView, LegendCard } from '../../controls/fitting-view.tsx';
import { Remark } from '../../controls/paper.tsx';
import { SectionSheet } from '../../controls/section-sheet.tsx';
import { Loading } from '../../controls/states.tsx';
import { useAsked } from '../../state/use-asked.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { usePatch, type Painting } from './patch-part.tsx';
import { useHold } from './use-hold.ts';
import type { Legend, Mark, Viewport } from '../../viewport/viewport.ts';
import { boxMesh } from '../form/desk-meshes.ts';

/** Ends of the ease map, mm: pressed in, and roomy. */
const TIGHT_MM = -4;
const ROOMY_MM = 24;

export function TriedView(props: {
  readonly fitting: Fitting;
  readonly draft: FittingDraft;
  readonly revisionId: string;
  readonly tried: Tried | undefined;
  /** The brush on the part, and what it has painted. */
  readonly painting: Painting;
  readonly brushMm: number;
  readonly onPatch: (points: readonly Vec3[]) => void;
  /** The part was moved by hand. */
  readonly onPlace: (placement: readonly number[]) => void;
}) {
  const { fitting, draft, revisionId, tried } = props;
  const partId = fitting.partId ?? '';
  const [view, setView] = useState<Viewport>();
  const [isMapped, setMapped] = useState(true);
  const [isCut, setCut] = useState(false);
  const [legend, setLegend] = useState<Legend>();
  const form = useAsked('form.mesh', { revisionId }, { still: true });
  const part = useAsked('part.mesh', { id: partId, which: 'ready' }, { still: true });
  const [host, setHost] = useState<HTMLDivElement | null>(null);
  const [isHeld, setHeld] = useState(false);
  const [moving, setMoving] = useState<readonly number[]>();
  const decided = draft.placement ?? tried?.placement ?? IDENTITY;
  const placement = moving ?? decided;
  const settled = decided.join(' ');
  // What was decided has come back: from here on it counts.
  useEffect(() => setMoving(undefined), [settled]);
  useHold({
    view,
    host,
    isOn: isHeld && props.painting === undefined,
    placement,
    onMove: setMoving,
    onDone: props.onPlace,
  });
  const hasPlace = draft.placement !== undefined || tried !== undefined;
  const ease = useAsked('fitting.ease', isMapped && hasPlace ? { id: fitting.id } : undefined);
  const body = form.state === 'value' ? form.value : undefined;
  const worn = part.state === 'value' ? part.value : undefined;
  const patch = usePatch({
    view,
    host,
    patch: draft.patch,
    painting: props.painting,
    brushMm: props.brushMm,
    positions: worn?.positions,
    onPatch: props.onPatch,
  });
  // What was measured counts for the place it came for: moved elsewhere, the part is glass until it is measured there.
  const [measured, setMeasured] = useState<{ readonly gap: CallResult<'fitting.ease'>; readonly at: string }>();
  const latest = ease.state === 'value' && !ease.stale ? ease.value : undefined;
  useEffect(() => {
    if (latest !== undefined) setMeasured({ gap: latest, at: settled });
  }, [latest]);
  const isShown = isMapped && hasPlace && patch === undefined && moving === undefined;
  const gap = isShown && measured?.at === settled ? measured.gap : undefined;
  const isMeasuring = isShown && gap === undefined && ease.state !== 'fault';
  const key = placement.join(' ');
  useEffect(() => {
    if (body !== undefined) view?.setMesh('form', body, { material: 'clay' });
  }, [view, body]);
  useEffect(() => {
    if (view === undefined || worn === undefined) return;
    const matrix = key.split(' ').map(Number);
    view.setMesh('part', worn, { material: gap === undefined && patch === undefined ? 'glass' : 'wall', matrix });
  }, [view, worn, key, gap, patch]);
  useEffect(() => {
    if (view === undefined || patch === undefined) return;
    view.setScalars('part', patch, { minMm: -1, maxMm: 1, kind: 'deviation' });
    return () => view.setScalars('part', undefined);
  }, [view, patch]);
  useEffect(() => {
    if (view === undefined || worn === undefined || gap === undefined) {
      setLegend(undefined);
      return;
    }
    // What was measured may belong to another mesh for a moment, while the new one is on its way.
    if (gap.partMm.length !== worn.positions.length / 3) return;
    const maxMm = Math.max(ROOMY_MM, roomyEnd(gap.partMm));
    view.setScalars('part', gap.partMm, { minMm: TIGHT_MM, maxMm, kind: 'ease', contourMm: 4 });
    setLegend(view.getLegend('part'));
    return () => view.setScalars('part', undefined);
  }, [view, worn, gap]);
  useEffect(() => {
    if (view === undefined || tried === undefined || draft.placement === undefined || tried.outdated) return;
    const marks: Mark[] = [];
    if (tried.fit !== undefined) {
      marks.push({ id: 'least', kind: 'landmark', label: 'least room', point: tried.fit.at });
    }
    const { room, roomFor } = tried.sight ?? {};
    if (room !== undefined && room !== null && roomFor !== undefined && roomFor !== null) {
      const halves = roomFor.sizeMm.map((mm) => mm / 2);
      view.setMesh('thing', boxMesh(room.centre, halves, room.axes), { material: 'plain', pickable: false });
      const label = `${roomFor.sizeMm.join(' × ')} mm`;
      marks.push({ id: 'thing', kind: 'landmark', label, point: room.centre as unknown as Vec3 });
    }
    view.setMarks(marks);
    return () => {
      view.setMarks([]);
      view.setMesh('thing', undefined);
    };
  }, [view, tried, draft.placement]);
  return (
    <div className="tried-view" ref={setHost} data-held={isHeld}>
      <FittingView
        label={`${fitting.name}: the part in place`}
        onReady={setView}
        tools={
          <>
            <Button tone="quiet" aria-pressed={isHeld} onClick={() => setHeld(!isHeld)}>
              Take hold of the part
            </Button>
            <Button tone="quiet" aria-pressed={isCut} onClick={() => setCut(!isCut)}>
              Section
            </Button>
            <Button tone="quiet" aria-pressed={isMapped} onClick={() => setMapped(!isMapped)}>
              Room, in colours
            </Button>
          </>
        }
      >
        {isCut && body !== undefined ? (
          <SectionSheet view={view} positions={body.positions} shown={worn === undefined ? 0 : 1} />
        ) : null}
        {part.state === 'fault' ? (
          <div className="legend">
            <Remark tone="doubt">The part has no true size yet; give it one on its own sheet.</Remark>
          </div>
        ) : form.state === 'loading' || part.state === 'loading' ? (
          <div className="picture-wait">
            <Loading what="Laying out form and part" />
          </div>
        ) : isMeasuring ? (
          <div className="legend">
            <Loading what="Measuring the room under the part" />
          </div>
        ) : null}
        {legend === undefined || gap === undefined ? null : (
          <LegendCard
            legend={legend}
            title={`Room under the part: ${gap.leastEaseMm.toFixed(1)} mm at least`}
            low="inside the body"
            high="roomy"
          />
        )}
      </FittingView>
    </div>
  );
}

/** A round length that nine points in ten do not reach. */
function roomyEnd(gaps: Float32Array): number {
  const sorted = gaps.filter((gap) => Number.isFinite(gap)).sort();
  return 4 * Math.ceil((sorted[Math.floor(0.9 * sorted.length)] ?? 0) / 4);
}
