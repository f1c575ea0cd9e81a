/** A liner being thought over, in the view of its form: the coarse liner, zones, lines, way in and volumes left free. */
import { useEffect, useMemo, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { Legend, Viewport } from '../../viewport/viewport.ts';
import { arrowMesh, keepOutMesh } from './desk-meshes.ts';
import { placed } from '../../controls/drawing.ts';
import { fairLines, openingLines } from '../../controls/openings.ts';
import { useDrawing } from '../../controls/use-drawing.ts';
import { placedKeepOuts } from './keep-outs.ts';
import { painted, thicknessMap, WAYS_IN, type LinerPlan, type LinerTool } from './liner-plan.ts';
import { useBrush } from '../../controls/use-brush.ts';

export interface PlannedLiner {
  readonly plan: LinerPlan;
  readonly tool: LinerTool | undefined;
  readonly preview: CallResult<'liner.preview'> | undefined;
}

interface NamedLegend {
  readonly legend: Legend;
  readonly title: string;
  readonly low: string;
  readonly high: string;
}

/** Ends of the maps, at least. */
const LEAST_STEP_MM = 1;
/** Shallower is none, at the coarseness of what is shown, mm. */
const LEAST_DEPTH_MM = 0.5;
/** Room between the tip of the arrow and the body, mm. */
const BEFORE_MM = 20;

/** Name of the plane at the other end, in the view. */
export const FAR_OPENING = 'far opening';

/** `positions`: of the form while no other map lies on it. */
export function useLinerView(
  view: Viewport | undefined,
  host: HTMLElement | null,
  planned: PlannedLiner | undefined,
  positions: Float32Array | undefined,
  onPlan: (change: (plan: LinerPlan) => LinerPlan) => void,
): {
  /** A place of the form was picked. */
  readonly pick: (at: Vec3, normal: Vec3) => void;
  readonly legend: NamedLegend | undefined;
  /** Grows when what is shown has changed. */
  readonly shown: number;
} {
  const { plan, tool, preview } = planned ?? {};
  const [legend, setLegend] = useState<NamedLegend>();
  const [shown, setShown] = useState(0);
  const isBare = tool !== undefined;

  const { opening: near, farOpening: far } = plan ?? {};
  useEffect(() => {
    const cuts = [
      { id: 'opening', cut: near },
      { id: FAR_OPENING, cut: far },
    ];
    const planes = cuts.flatMap(({ id, cut }) =>
      cut === undefined ? [] : [{ id, ...cut, active: tool === undefined }],
    );
    view?.setPlanes(planes, ['form']);
  }, [view, near, far, tool]);

  // While the form is worked on, the liner over it steps aside.
  const body = useMemo(
    () => (preview === undefined ? undefined : { positions: preview.positions, triangles: preview.triangles }),
    [preview],
  );
  // What is left of undercuts that are taken out is the coarseness of what is shown.
  const depthMm = plan?.isCleared === true ? undefined : (preview?.depthMm ?? undefined);
  useEffect(() => {
    if (view === undefined) return;
    view.setMesh('liner', body, { material: depthMm === undefined ? 'glass' : 'wall', visible: !isBare });
    if (body !== undefined && depthMm !== undefined) {
      const most = Math.max(LEAST_STEP_MM, ...depthMm);
      const room = depthMm.map((depth) => (depth < LEAST_DEPTH_MM ? NaN : -depth));
      view.setScalars('liner', room, { minMm: -most, maxMm: 0, kind: 'ease' });
    }
    setShown((before) => before + 1);
  }, [view, body, depthMm, isBare]);

  const zones = plan?.zones;
  const foamMm = plan?.foamMm;
  const thickness = useMemo(
    () => (zones === undefined || positions === undefined ? undefined : thicknessMap({ zones, foamMm }, positions)),
    [zones, foamMm, positions],
  );
  useEffect(() => {
    if (view === undefined || thickness === undefined) return;
    const most = thickness.reduce((so, step) => (Math.abs(step) > so ? Math.abs(step) : so), LEAST_STEP_MM);
    view.setScalars('form', thickness, { minMm: -most, maxMm: most, kind: 'deviation' });
    return () => view.setScalars('form', undefined);
  }, [view, thickness]);

  useEffect(() => {
    const slot = depthMm !== undefined && !isBare ? 'liner' : thickness !== undefined ? 'form' : undefined;
    const found = slot === undefined ? undefined : view?.getLegend(slot);
    setLegend(
      found === undefined
        ? undefined
        : slot === 'liner'
          ? { legend: found, title: 'On the way in', low: 'the foam must give so much', high: 'passes' }
          : { legend: found, title: 'Foam against the rest, as worn', low: 'thinner', high: 'thicker' },
    );
  }, [view, depthMm, thickness, isBare, body]);

  const curves = plan?.curves;
  const lines = useMemo(() => openingLines(curves ?? []), [curves]);
  const fair = preview?.curves;
  const fairById = useMemo(() => fairLines(curves ?? [], fair ?? []), [fair, curves]);
  useDrawing(view, lines, tool?.kind === 'curve' ? tool.drawing : undefined, fairById);

  const keepOuts = plan?.keepOuts;
  useEffect(() => {
    if (view === undefined || keepOuts === undefined) return;
    for (const one of keepOuts) view.setMesh(`keep ${one.id}`, keepOutMesh(one), { material: 'plain' });
    return () => {
      for (const { id } of keepOuts) view.setMesh(`keep ${id}`, undefined);
    };
  }, [view, keepOuts]);

  const direction = plan === undefined ? undefined : WAYS_IN[plan.wayIn].direction;
  const spot = useMemo(() => outerPoint(positions, direction), [positions, direction]);
  useEffect(() => {
    if (view === undefined || direction === undefined || spot === undefined) return;
    const tip = spot.map((c, k) => c - BEFORE_MM * direction[k]) as unknown as Vec3;
    view.setMesh('way in', arrowMesh(tip, direction), { material: 'plain', isSign: true });
    return () => view.setMesh('way in', undefined);
  }, [view, direction, spot]);

  useEffect(() => {
    if (tool?.kind !== 'keep-out') return;
    view?.setPickMode('surface');
    return () => view?.setPickMode('none');
  }, [view, tool?.kind]);
  useBrush(
    host,
    view,
    'form',
    tool?.kind !== 'paint'
      ? undefined
      : (at) =>
          onPlan((before) => ({
            ...before,
            zones: before.zones.map((zone) =>
              zone.id === tool.zoneId ? painted(zone, at, tool.isErasing, tool.isMirrored) : zone,
            ),
          })),
  );

  return {
    pick: (at, normal) => {
      if (tool?.kind === 'curve') {
        const number = Number(tool.drawing.lineId);
        onPlan((before) => ({
          ...before,
          curves: before.curves.map((curve, one) => (one === number ? placed(curve, at, tool.drawing) : curve)),
        }));
      } else if (tool?.kind === 'keep-out') {
        onPlan((before) => {
          const { keepOuts } = before;
          return {
            ...before,
            keepOuts: [...keepOuts, ...placedKeepOuts(tool.shape, at, normal, positions, keepOuts.length)],
          };
        });
      }
    },
    legend,
    shown,
  };
}

/** Where a part that moves along `direction` first comes to a body. */
function outerPoint(positions: Float32Array | undefined, direction: Vec3 | undefined): Vec3 | undefined {
  if (positions === undefined || direction === undefined) return undefined;
  let [best, at] = [Infinity, 0];
  for (let v = 0; v < positions.length; v += 3) {
    const along = positions[v] * direction[0] + positions[v + 1] * direction[1] + positions[v + 2] * direction[2];
    if (along < best) [best, at] = [along, v];
  }
  return [positions[at], positions[at + 1], positions[at + 2]];
}
