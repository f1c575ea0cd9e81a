/** The body things are made of, what would be made of it, and the lines drawn on it. */
import { useEffect, useMemo, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { IDENTITY } from '../../../electron/geometry/mesh/transform.ts';
import type { DrawnLine, Drawing, Surface } from '../../controls/drawing.ts';
import { FittingView, LegendCard } from '../../controls/fitting-view.tsx';
import { Loading } from '../../controls/states.tsx';
import { placeOfMark, useDrawing } from '../../controls/use-drawing.ts';
import type { Legend, Mark, Viewport } from '../../viewport/viewport.ts';
import type { OwnCut } from './make-plan.ts';
import { apart, homeOf, middleOf } from './pull-apart.ts';

export type Shown = CallResult<'making.preview'>;

/** Ends of the map of room under the part, mm; under none and over a finger's breadth there is no pad to be put. */
const TIGHT_MM = 0;
const ROOMY_MM = 30;
/** Pieces are shown this share of their distance from the middle apart. */
const APART = 0.12;

export interface MakeViewProps {
  readonly label: string;
  readonly body: Surface | undefined;
  readonly shown: Shown | undefined;
  readonly lines: readonly DrawnLine[];
  readonly drawing: Drawing | undefined;
  readonly onDrawing: (drawing: Drawing) => void;
  readonly onPress: (at: Vec3) => void;
  /** What drawn lines become on the body, by their id. */
  readonly fair: ReadonlyMap<string, ArrayLike<number>>;
  /** End of the map of what the sheet must give: what it may give, percent. */
  readonly allowedPercent: number | undefined;
  readonly cuts: readonly OwnCut[];
  readonly heldCut: string | undefined;
  readonly onCut: (id: string, point: Vec3, normal: Vec3) => void;
}

export function MakeView(props: MakeViewProps) {
  const { body, shown, lines, drawing, fair, allowedPercent, cuts, heldCut } = props;
  const [view, setView] = useState<Viewport>();
  const [legend, setLegend] = useState<Legend>();
  const pieces = shown?.pieces;
  const hasPieces = pieces !== undefined;
  // What is drawn on stands whole.
  const sides = drawing === undefined ? shown?.shell : undefined;
  const isHidden = hasPieces || sides !== undefined;
  useEffect(() => {
    view?.setMesh('body', body, { material: 'clay', visible: !isHidden });
  }, [view, body, isHidden]);

  useEffect(() => {
    if (body !== undefined) view?.frame();
  }, [view, body]);

  const values = shown?.pads?.roomMm ?? shown?.pattern?.givePercent;
  const isGive = shown?.pattern !== undefined;
  useEffect(() => {
    if (view === undefined || shown === undefined || values === undefined) return;
    view.setMesh('made', shown, { material: 'wall', pickable: false });
    const end = 2 * (allowedPercent ?? 5);
    const scale = isGive
      ? ({ minMm: -end, maxMm: end, kind: 'deviation' } as const)
      : ({ minMm: TIGHT_MM, maxMm: ROOMY_MM, kind: 'ease', contourMm: 5 } as const);
    view.setScalars('made', values, scale);
    setLegend(view.getLegend('made'));
    return () => {
      setLegend(undefined);
      view.setMesh('made', undefined);
    };
  }, [view, shown, values, isGive, allowedPercent]);

  useEffect(() => {
    if (view === undefined || shown?.pieces === undefined) return;
    const all = shown.pieces.pieces.map(({ faceFrom, faceCount }, index) =>
      homeOf(index + 1, stretch(shown, faceFrom, faceCount), IDENTITY),
    );
    const middle = middleOf(all);
    for (const [index, piece] of all.entries()) {
      const { fits } = shown.pieces.pieces[index];
      view.setMesh(`piece ${piece.number}`, piece.mesh, {
        material: fits ? (index % 2 === 0 ? 'wall' : 'clay') : 'plain',
        matrix: apart(piece, middle, APART),
      });
    }
    view.setMarks(
      all.map((piece, index): Mark => {
        const { fits, sizeMm } = shown.pieces?.pieces[index] ?? { fits: true, sizeMm: [] };
        const at = piece.middle.map((c, k) => c + APART * (c - middle[k])) as unknown as Vec3;
        const room = sizeMm.map((mm) => mm.toFixed(0)).join(' × ');
        return {
          id: `piece ${piece.number}`,
          kind: 'landmark',
          label: `${piece.number}: ${fits ? 'fits' : `too large, ${room} mm`}`,
          point: outerOf(piece.mesh.positions, at),
          uncertain: !fits,
        };
      }),
    );
    return () => {
      view.setMarks([]);
      for (const { number } of all) view.setMesh(`piece ${number}`, undefined);
    };
  }, [view, shown]);
  useEffect(() => {
    if (view === undefined || shown === undefined || sides === undefined) return;
    const { outside, inside } = sides;
    view.setMesh('outside', stretch(shown, outside.faceFrom, outside.faceCount), { material: 'glass' });
    view.setMesh('inside', stretch(shown, inside.faceFrom, inside.faceCount), { material: 'wall' });
    return () => {
      for (const slot of ['outside', 'inside']) view.setMesh(slot, undefined);
    };
  }, [view, shown, sides]);
  useEffect(() => {
    const planes = cuts.map(({ id, point, normal }) => ({ id, point, normal, active: id === heldCut }));
    // Hatched on nothing: a cut takes nothing away. Anew with body and pieces, which would be hatched when they come.
    view?.setPlanes(planes, []);
  }, [view, cuts, heldCut, body, shown]);
  const none = useMemo((): readonly DrawnLine[] => [], []);
  useDrawing(hasPieces ? undefined : view, hasPieces ? none : lines, drawing, fair);

  return (
    <FittingView
      label={props.label}
      onReady={setView}
      onPlane={props.onCut}
      onMark={(id) => {
        const place = placeOfMark(id);
        if (drawing !== undefined && place !== undefined) props.onDrawing({ ...drawing, place });
      }}
      onPick={(hit) => {
        if (hit.slot === 'body') props.onPress(hit.pointInMesh);
      }}
    >
      {body === undefined ? (
        <div className="picture-wait">
          <Loading what="Laying it out" />
        </div>
      ) : null}
      {legend === undefined ? null : isGive ? (
        <LegendCard
          legend={upperHalf(legend)}
          unit="%"
          title="What the sheet must give along itself"
          low="nothing"
          high="twice what it may"
        />
      ) : (
        <LegendCard legend={legend} title="Room under the part, to be filled" low="none" high="roomy" />
      )}
    </FittingView>
  );
}

/** A map of what is never below 0 uses one half of the scale: that half, as a legend. */
function upperHalf(legend: Legend): Legend {
  const half = <T extends { readonly at: number }>(stops: readonly T[]): T[] =>
    stops.filter(({ at }) => at >= 0.5).map((stop) => ({ ...stop, at: 2 * stop.at - 1 }));
  return { ...legend, stops: half(legend.stops), ticks: half(legend.ticks) };
}

/** Faces of a mesh as one of their own, over the same points. */
function stretch({ positions, triangles }: Shown, faceFrom: number, faceCount: number): Surface {
  const own = triangles.slice(3 * faceFrom, 3 * (faceFrom + faceCount));
  const first = own.reduce((least, v) => Math.min(least, v), Infinity);
  const last = own.reduce((most, v) => Math.max(most, v), 0);
  return { positions: positions.slice(3 * first, 3 * (last + 1)), triangles: own.map((v) => v - first) };
}

/** The point of a piece that a label points at: the one nearest to where its middle is shown. O(points). */
function outerOf(positions: Float32Array, [x, y, z]: Vec3): Vec3 {
  let [best, at] = [Infinity, 0];
  for (let v = 0; v < positions.length; v += 3) {
    const far = Math.hypot(positions[v] - x, positions[v + 1] - y, positions[v + 2] - z);
    if (far < best) [best, at] = [far, v];
  }
  return [positions[at], positions[at + 1], positions[at + 2]];
}
