/** Puts on the view what the open step is about. */
import { useEffect, useMemo, useState } from 'react';
import { boundsMoved, type Bounds } from '../../../electron/geometry/mesh/quantities.ts';
import { transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import type { CallResult, ViewMesh } from '../../../shared-types/contract.ts';
import { landmarkKind } from '../../../shared-types/measures/index.ts';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import type { TicketDraft } from '../../../shared-types/records/ticket.ts';
import { lengthText, type LengthUnit } from '../../controls/parse-length.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import { mirrored, movePlane, type Frames } from './frames.ts';
import type { Proposal } from './stand-step.tsx';
import type { Sized, StepName } from './steps.ts';

export interface Scene {
  readonly view: Viewport | undefined;
  readonly step: StepName;
  readonly mended: ViewMesh | undefined;
  readonly asItCame: ViewMesh | undefined;
  readonly draft: TicketDraft | undefined;
  readonly frames: Frames;
  readonly sized: Sized | undefined;
  /** Places suggested for landmarks not placed yet, in the scene. */
  readonly offers: ReadonlyMap<string, Vec3>;
  readonly isPlain: boolean;
  readonly hasEdges: boolean;
  readonly activeCut: number;
  readonly picking: string | undefined;
  readonly selected: string | undefined;
  readonly isWiped: boolean;
  readonly unit: LengthUnit;
}

/** Bounds once standing. */
export function standingBounds(mesh: ViewMesh | undefined, stand: Matrix4): Bounds {
  return mesh === undefined ? { min: [0, 0, 0], max: [1, 1, 1] } : boundsMoved(mesh.positions, stand);
}

const tuple = (point: readonly number[]): Vec3 => [point[0], point[1], point[2]];

export function useScene(scene: Scene): void {
  const { view, step, mended, asItCame, draft, frames, sized, offers, activeCut, picking, selected, isWiped } = scene;
  const { unit, isPlain, hasEdges } = scene;
  const { stand, toScene } = frames;
  const isRaw = step === 'intake';

  useEffect(() => {
    view?.setMesh('mended', mended, {
      material: 'scan',
      colours: !isPlain,
      edges: hasEdges,
      matrix: stand,
      visible: !isRaw || asItCame === undefined,
    });
  }, [view, mended, stand, isRaw, asItCame, isPlain, hasEdges]);
  useEffect(() => {
    view?.setMesh('as it came', asItCame, {
      material: 'scan',
      colours: !isPlain,
      edges: hasEdges,
      matrix: stand,
      visible: isRaw || isWiped,
    });
  }, [view, asItCame, stand, isRaw, isWiped, isPlain, hasEdges]);
  useEffect(() => {
    view?.setWipe(isWiped && asItCame !== undefined ? 0.5 : undefined, 'as it came', 'mended');
  }, [view, isWiped, asItCame]);

  useEffect(() => {
    const planes = (draft?.trim ?? []).map((plane, index) => {
      const [px, py, pz, nx, ny, nz] = movePlane(toScene, plane);
      const point: Vec3 = [px, py, pz];
      const normal: Vec3 = [nx, ny, nz];
      return { id: String(index), point, normal, active: step === 'trim' && index === activeCut };
    });
    view?.setPlanes(step === 'intake' || step === 'mend' ? [] : planes);
  }, [view, draft, toScene, step, activeCut]);

  useEffect(() => {
    if (view === undefined) return;
    if (draft === undefined || (step !== 'stand' && step !== 'true')) return view.setMarks([]);
    // At the true-up desk the callipers show where things are; landmarks appear only for the measure looked at.
    const ends = draft.measures.find(({ name }) => name === selected)?.landmarks ?? [];
    const shown = Object.entries(draft.landmarks).filter(([name]) => step === 'stand' || ends.includes(name));
    const placed = shown.map(([name, { point, origin }]) => ({
      id: name,
      kind: 'landmark' as const,
      label: landmarkKind(name)?.title ?? name,
      point: tuple(transformPoint(toScene, tuple(point))),
      selected: picking === name,
      uncertain: origin === 'guess',
    }));
    const ghosts = step !== 'stand' ? [] : [...offers];
    const offered = ghosts.map(([name, point]) => ({
      id: name,
      kind: 'ghost' as const,
      label: landmarkKind(name)?.title ?? name,
      point,
    }));
    view.setMarks([...placed, ...offered]);
  }, [view, draft, toScene, step, picking, offers, selected]);

  useEffect(() => {
    if (view === undefined) return;
    const drawn = step === 'true' ? (sized?.drawn ?? []) : [];
    const label = (one: (typeof drawn)[number]): string =>
      one.scaledMm === undefined ? one.name : `${one.name} ${lengthText(one.scaledMm, unit, 1)}`;
    const bad = new Set(sized?.fit?.outliers ?? []);
    const stood = (points: Float32Array): Float64Array => {
      const out = new Float64Array(points.length);
      for (let i = 0; i < points.length; i += 3) {
        out.set(transformPoint(stand, [points[i], points[i + 1], points[i + 2]]), i);
      }
      return out;
    };
    const lines = drawn.map((one) => ({ ...one, at: stood(one.points) }));
    view.setSpans(
      lines
        .filter(({ kind }) => kind === 'span')
        .map((one) => ({
          id: one.name,
          label: label(one),
          from: tuple([...one.at.subarray(0, 3)]),
          to: tuple([...one.at.subarray(3, 6)]),
          selected: selected === one.name,
          bad: bad.has(one.name),
        })),
    );
    view.setTapes(
      lines
        .filter(({ kind }) => kind !== 'span')
        .map((one) => ({
          id: one.name,
          label: label(one),
          points: one.at,
          closed: one.kind === 'girth',
          selected: selected === one.name,
        })),
    );
  }, [view, sized, step, stand, selected, unit]);
}

/** Where landmarks not placed yet probably lie: found by the program, or opposite the one placed on the other side. */
export function offersOf(
  draft: TicketDraft | undefined,
  proposals: readonly Proposal[],
  toScene: Frames['toScene'],
): ReadonlyMap<string, Vec3> {
  const offers = new Map<string, Vec3>();
  if (draft === undefined) return offers;
  for (const { name, point } of proposals) offers.set(name, tuple(transformPoint(toScene, tuple(point))));
  for (const [name, { point }] of Object.entries(draft.landmarks)) {
    const other = landmarkKind(name)?.mirror;
    // What a hand has placed on one side says more about the other than a search does.
    if (other !== undefined) offers.set(other, mirrored(transformPoint(toScene, tuple(point))));
  }
  for (const name of Object.keys(draft.landmarks)) offers.delete(name);
  return offers;
}

/** A mesh fetched once for each key; undefined until it is there. */
export function useMesh(
  fetch: (signal: AbortSignal) => Promise<CallResult<'ticket.mesh'> | undefined>,
  key: string | undefined,
): ViewMesh | undefined {
  const [got, setGot] = useState<{ key: string; mesh: ViewMesh }>();
  // Asked anew only when the key says so: the function is another one at every drawing.
  const ask = useMemo(() => ({ fetch }), [key]);
  useEffect(() => {
    if (key === undefined) return;
    const stop = new AbortController();
    void ask.fetch(stop.signal).then((mesh) => {
      if (mesh !== undefined && !stop.signal.aborted) setGot({ key, mesh });
    });
    return () => stop.abort();
  }, [ask, key]);
  return got?.key === key ? got?.mesh : undefined;
}
