/** Drawn lines in a view: their places as marks, the lines as tapes, and the press on the body that draws on. */
import { useEffect } from 'react';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Tape, Viewport } from '../viewport/viewport.ts';
import { straight, type DrawnLine, type Drawing } from './drawing.ts';

/** Fewer places are no line. */
const LEAST = 2;

/** `fair`: what a line becomes on the body, in place of the straight way between its places, by the line's id. */
export function useDrawing(
  view: Viewport | undefined,
  lines: readonly DrawnLine[],
  drawing: Drawing | undefined,
  fair?: ReadonlyMap<string, ArrayLike<number>>,
): void {
  const inHand = lines.find(({ id }) => id === drawing?.lineId);
  const places = inHand?.places;
  const place = drawing?.place;
  useEffect(() => {
    view?.setMarks(
      (places ?? []).map((point: Vec3, number) => ({
        id: `place ${number + 1}`,
        kind: 'landmark' as const,
        label: `${number + 1}`,
        point,
        selected: number === place,
      })),
    );
    return () => view?.setMarks([]);
  }, [view, places, place]);
  useEffect(() => {
    view?.setTapes(
      lines.flatMap((line): Tape[] => {
        const points = fair?.get(line.id);
        if (points === undefined && line.places.length < LEAST) return [];
        const along = points === undefined ? straight(line.places) : Float64Array.from(points);
        return [{ id: `line ${line.id}`, label: line.name, points: along, closed: line.isClosed }];
      }),
    );
    return () => view?.setTapes([]);
  }, [view, lines, fair]);
  const isOn = inHand !== undefined;
  useEffect(() => {
    if (!isOn) return;
    view?.setPickMode('surface');
    return () => view?.setPickMode('none');
  }, [view, isOn]);
}

/** The place whose mark was pressed; undefined for anything else. */
export function placeOfMark(id: string): number | undefined {
  const number = Number(/^place (\d+)$/.exec(id)?.[1]);
  return Number.isInteger(number) ? number - 1 : undefined;
}
