/** A brush on the form: pressed and drawn over the picture it touches places; the view holds still meanwhile. */
import { useEffect, useRef } from 'react';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Viewport } from '../viewport/viewport.ts';

/** Pixels between two touches of one stroke. */
const STEP_PIXELS = 4;

/**
 * While `onTouch` is given, the main button paints inside `host`, where the view's picture lies; the other buttons, the
 * wheel and the keys go on moving the view, and Enter touches in the middle of the picture. `onEnd`: after each stroke.
 */
export function useBrush(
  host: HTMLElement | null,
  view: Viewport | undefined,
  slot: string,
  onTouch: ((at: Vec3) => void) | undefined,
  onEnd?: () => void,
): void {
  const touch = useRef(onTouch);
  touch.current = onTouch;
  const end = useRef(onEnd);
  end.current = onEnd;
  const isOn = onTouch !== undefined;
  useEffect(() => {
    if (host === null || view === undefined || !isOn) return;
    const off = new AbortController();
    const options = { signal: off.signal, capture: true };
    let last: { x: number; y: number } | undefined;
    const at = (x: number, y: number): void => {
      const hit = view.pickAt(x, y);
      if (hit?.slot === slot) touch.current?.(hit.pointInMesh);
    };
    const placed = (event: PointerEvent): { x: number; y: number } | undefined => {
      if (!(event.target instanceof HTMLCanvasElement)) return undefined;
      const box = event.target.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    host.addEventListener(
      'pointerdown',
      (event) => {
        const place = event.button === 0 && !event.shiftKey ? placed(event) : undefined;
        if (place === undefined) return;
        event.stopPropagation();
        (event.target as HTMLCanvasElement).setPointerCapture(event.pointerId);
        last = place;
        at(place.x, place.y);
      },
      options,
    );
    host.addEventListener(
      'pointermove',
      (event) => {
        const place = last === undefined ? undefined : placed(event);
        if (place === undefined || last === undefined) return;
        event.stopPropagation();
        if (Math.hypot(place.x - last.x, place.y - last.y) < STEP_PIXELS) return;
        last = place;
        at(place.x, place.y);
      },
      options,
    );
    for (const name of ['pointerup', 'pointercancel'] as const) {
      host.addEventListener(
        name,
        (event) => {
          if (last === undefined) return;
          last = undefined;
          event.stopPropagation();
          end.current?.();
        },
        options,
      );
    }
    host.addEventListener(
      'keydown',
      (event) => {
        const picture = host.querySelector('canvas');
        if (event.key !== 'Enter' || picture === null || !(event.target instanceof HTMLDivElement)) return;
        event.preventDefault();
        event.stopPropagation();
        at(picture.clientWidth / 2, picture.clientHeight / 2);
        end.current?.();
      },
      options,
    );
    return () => off.abort();
  }, [host, view, slot, isOn]);
}
