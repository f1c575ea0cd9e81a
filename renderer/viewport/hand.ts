/**
 * Pointer, wheel and keys. Our own choice of them:
 * - drag: turn about the point under the pointer; right or middle button, or shift and drag: shift; wheel: nearer or
 *   farther about the point under the pointer; two fingers: shift, spread and pinch;
 * - arrow keys: turn; with shift: shift; + and -: nearer and farther; Home: show everything;
 *   f b l r a u q: front, back, the wearer's left and right, above, under, three-quarter; p: with or without perspective;
 *   while picking, Enter picks in the middle of the picture, where the magnifier then stands.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';
import { approach, shift, turn, type Pose } from './orbit.ts';
import type { Stage } from './stage.ts';
import { STANDARD_VIEWS } from './views.ts';
import type { ViewName } from './view-types.ts';

const RADIANS_PER_PIXEL = 0.0075;
const KEY_TURN = (7.5 * Math.PI) / 180;
const KEY_SHIFT_PIXELS = 32;
/** A press that moves less than this many pixels is a click. */
const CLICK_PIXELS = 4;

export interface HandClient {
  /** What lies under a point of the picture, to turn and zoom about. */
  under(x: number, y: number): Vec3 | undefined;
  click(x: number, y: number, isSnapping: boolean): void;
  hover(x: number, y: number, isSnapping: boolean): void;
  leave(): void;
  move(pose: Pose): void;
  view(name: ViewName): void;
  frame(): void;
  toggleProjection(): void;
}

interface Touch {
  x: number;
  y: number;
}

export class Hand {
  readonly #stage: Stage;
  readonly #client: HandClient;
  readonly #touches = new Map<number, Touch>();
  readonly #off = new AbortController();
  #mode: 'none' | 'turn' | 'shift' = 'none';
  #pivot: Vec3 = [0, 0, 0];
  #from: Touch = { x: 0, y: 0 };
  #travelled = 0;
  #wheel: { pivot: Vec3; until: number; x: number; y: number } | undefined;

  constructor(root: HTMLElement, stage: Stage, client: HandClient) {
    this.#stage = stage;
    this.#client = client;
    const { signal } = this.#off;
    const { canvas } = stage;
    canvas.addEventListener('pointerdown', (event) => this.#down(event, root), { signal });
    canvas.addEventListener('pointermove', (event) => this.#moved(event), { signal });
    canvas.addEventListener('pointerup', (event) => this.#up(event, true), { signal });
    canvas.addEventListener('pointercancel', (event) => this.#up(event, false), { signal });
    canvas.addEventListener('pointerleave', () => client.leave(), { signal });
    canvas.addEventListener('contextmenu', (event) => event.preventDefault(), { signal });
    canvas.addEventListener('wheel', (event) => this.#wheeled(event), { signal, passive: false });
    root.addEventListener('keydown', (event) => this.#key(event, root), { signal });
  }

  dispose(): void {
    this.#off.abort();
  }

  #at(event: MouseEvent): Touch {
    const box = this.#stage.canvas.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }

  #down(event: PointerEvent, root: HTMLElement): void {
    const at = this.#at(event);
    root.focus({ preventScroll: true });
    this.#stage.canvas.setPointerCapture(event.pointerId);
    this.#touches.set(event.pointerId, at);
    this.#stage.isHeld = true;
    if (this.#touches.size > 1) {
      this.#mode = 'none';
      this.#travelled = CLICK_PIXELS + 1;
      return;
    }
    this.#from = at;
    this.#travelled = 0;
    this.#mode = event.button === 0 && !event.shiftKey ? 'turn' : 'shift';
    this.#pivot = this.#client.under(at.x, at.y) ?? this.#stage.pose.target;
  }

  #moved(event: PointerEvent): void {
    const at = this.#at(event);
    const touch = this.#touches.get(event.pointerId);
    if (touch === undefined) {
      this.#client.hover(at.x, at.y, event.altKey);
      return;
    }
    const dx = at.x - touch.x;
    const dy = at.y - touch.y;
    if (this.#touches.size === 2) {
      this.#pinch(event.pointerId, at);
      return;
    }
    this.#touches.set(event.pointerId, at);
    this.#travelled = Math.max(this.#travelled, Math.hypot(at.x - this.#from.x, at.y - this.#from.y));
    if (this.#travelled <= CLICK_PIXELS) {
      // held back so that a click does not shake the view
      this.#touches.set(event.pointerId, touch);
      return;
    }
    this.#client.leave();
    if (this.#mode === 'turn') {
      this.#client.move(turn(this.#stage.pose, -dx * RADIANS_PER_PIXEL, dy * RADIANS_PER_PIXEL, this.#pivot));
    } else {
      this.#shiftBy(dx, dy);
    }
  }

  #shiftBy(dx: number, dy: number): void {
    const mm = this.#stage.mmPerPixel;
    this.#client.move(shift(this.#stage.pose, dx * mm, -dy * mm));
  }

  #pinch(id: number, at: Touch): void {
    const other = Array.from(this.#touches).find(([key]) => key !== id)?.[1] ?? at;
    const before = this.#touches.get(id) as Touch;
    this.#touches.set(id, at);
    const middle = { x: (at.x + other.x) / 2, y: (at.y + other.y) / 2 };
    this.#shiftBy((at.x - before.x) / 2, (at.y - before.y) / 2);
    const gap = Math.hypot(at.x - other.x, at.y - other.y);
    const gapBefore = Math.hypot(before.x - other.x, before.y - other.y);
    if (gap > 1 && gapBefore > 1) {
      const pivot = this.#stage.onTargetPlane(middle.x, middle.y);
      this.#client.move(approach(this.#stage.pose, gapBefore / gap, pivot));
    }
  }

  #up(event: PointerEvent, isDone: boolean): void {
    if (!this.#touches.delete(event.pointerId)) return;
    const isClick = isDone && this.#travelled <= CLICK_PIXELS && event.button === 0;
    this.#mode = 'none';
    if (this.#touches.size > 0) return;
    this.#stage.isHeld = false;
    const at = this.#at(event);
    if (isClick) this.#client.click(at.x, at.y, event.altKey);
  }

  #wheeled(event: WheelEvent): void {
    event.preventDefault();
    const { x, y } = this.#at(event);
    const pixels = event.deltaY * (event.deltaMode === 1 ? 18 : event.deltaMode === 2 ? 300 : 1);
    const factor = Math.exp(Math.max(-240, Math.min(240, pixels)) * 0.0016);
    const known = this.#wheel;
    const now = event.timeStamp;
    // one turn of the wheel keeps its point: looking for it again each time would hop over edges
    const isSame = known !== undefined && now < known.until && Math.hypot(x - known.x, y - known.y) < 3;
    const pivot = isSame ? known.pivot : (this.#client.under(x, y) ?? this.#stage.onTargetPlane(x, y));
    this.#wheel = { pivot, until: now + 250, x, y };
    this.#client.move(approach(this.#stage.pose, factor, pivot));
  }

  #key(event: KeyboardEvent, root: HTMLElement): void {
    if (event.target !== root || event.ctrlKey || event.metaKey) return;
    const { pose, width, height } = this.#stage;
    if (event.key === 'Enter') {
      this.#client.click(width / 2, height / 2, event.altKey);
      return;
    }
    if (event.altKey) return;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    const view = STANDARD_VIEWS.find(({ key }) => key === event.key.toLowerCase());
    if (way !== undefined) {
      if (event.shiftKey) this.#shiftBy(way[0] * KEY_SHIFT_PIXELS, -way[1] * KEY_SHIFT_PIXELS);
      else this.#client.move(turn(pose, way[0] * KEY_TURN, way[1] * KEY_TURN, pose.target));
    } else if (event.key === '+' || event.key === '=') this.#client.move(approach(pose, 0.88, pose.target));
    else if (event.key === '-' || event.key === '_') this.#client.move(approach(pose, 1 / 0.88, pose.target));
    else if (event.key === 'Home' || event.key === '0') this.#client.frame();
    else if (event.key === 'p') this.#client.toggleProjection();
    else if (view !== undefined) this.#client.view(view.name);
    else return;
    event.preventDefault();
    this.#client.hover(width / 2, height / 2, false);
  }
}
