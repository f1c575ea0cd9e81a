/** The part taken hold of in the view, and moved in the plane of the picture until it is let go. */
import { useEffect, useRef } from 'react';
import { multiply, translation } from '../../../electron/geometry/mesh/transform.ts';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import { pixelsPerMm, wayInPicture, type PixelsPerMm } from './in-picture.ts';

export interface Hold {
  readonly view: Viewport | undefined;
  /** Element round the picture. */
  readonly host: HTMLElement | null;
  readonly isOn: boolean;
  readonly placement: readonly number[];
  /** While it moves, and when it is let go somewhere else. */
  readonly onMove: (placement: readonly number[]) => void;
  readonly onDone: (placement: readonly number[]) => void;
}

interface Held {
  readonly pointerId: number;
  readonly x: number;
  readonly y: number;
  readonly pixels: PixelsPerMm;
  readonly start: Matrix4;
  last: readonly number[] | undefined;
}

export function useHold(hold: Hold): void {
  const latest = useRef(hold);
  latest.current = hold;
  const { view, host, isOn } = hold;
  useEffect(() => {
    if (view === undefined || host === null || !isOn) return;
    let held: Held | undefined;
    const take = (event: PointerEvent): void => {
      const picture = host.querySelector('.fitting-host');
      if (event.button !== 0 || picture === null || !picture.contains(event.target as Node)) return;
      const box = picture.getBoundingClientRect();
      const hit = view.pickAt(event.clientX - box.left, event.clientY - box.top);
      if (hit?.slot !== 'part') return;
      // The view's own hand must not turn it at the same time.
      event.stopPropagation();
      event.preventDefault();
      host.setPointerCapture(event.pointerId);
      held = {
        pointerId: event.pointerId,
        x: event.clientX,
        y: event.clientY,
        pixels: pixelsPerMm((point) => view.placeOf(point), hit.point),
        start: latest.current.placement as unknown as Matrix4,
        last: undefined,
      };
    };
    const move = (event: PointerEvent): void => {
      if (held === undefined || event.pointerId !== held.pointerId) return;
      event.stopPropagation();
      const way = wayInPicture(held.pixels, event.clientX - held.x, event.clientY - held.y);
      held.last = [...multiply(translation(way), held.start)];
      latest.current.onMove(held.last);
    };
    const letGo = (event: PointerEvent): void => {
      if (held === undefined || event.pointerId !== held.pointerId) return;
      event.stopPropagation();
      const { last } = held;
      held = undefined;
      if (last !== undefined) latest.current.onDone(last);
    };
    host.addEventListener('pointerdown', take, true);
    host.addEventListener('pointermove', move, true);
    host.addEventListener('pointerup', letGo, true);
    host.addEventListener('pointercancel', letGo, true);
    return () => {
      host.removeEventListener('pointerdown', take, true);
      host.removeEventListener('pointermove', move, true);
      host.removeEventListener('pointerup', letGo, true);
      host.removeEventListener('pointercancel', letGo, true);
    };
  }, [view, host, isOn]);
}
