/**
 * Trim planes over the picture: each as a sheet with its outline; the active one can be shifted along its normal by the
 * round handle and tilted by the two square ones. Handles are buttons: arrow keys move by 1 mm or 1°, with shift by 10.
 */
import { Box3, Matrix3, Quaternion, Vector3 } from 'three';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { svgElement } from './overlay.ts';
import { sheetOf } from './section-outline.ts';
import type { Stage } from './stage.ts';
import type { TrimPlane } from './view-types.ts';

type HandleKind = 'shift' | 'tilt-right' | 'tilt-up';

const SPOKEN: Readonly<Record<HandleKind, string>> = {
  shift: 'Shift the trim plane along its normal; arrow keys by 1 mm',
  'tilt-right': 'Tilt the trim plane sideways; arrow keys by 1 degree',
  'tilt-up': 'Tilt the trim plane up or down; arrow keys by 1 degree',
};

export class PlaneHandles {
  readonly layer = document.createElement('div');
  readonly drawing = svgElement('g', {});
  #planes: readonly TrimPlane[] = [];
  readonly #onPlane: (id: string, point: Vec3, normal: Vec3) => void;
  readonly #handles = new Map<HandleKind, HTMLButtonElement>();
  readonly #stage: Stage;
  /** Of what is drawn, or was last: while a body is being replaced the handles stay, and the focus on them. */
  readonly #bounds = new Box3();

  constructor(stage: Stage, onPlane: (id: string, point: Vec3, normal: Vec3) => void) {
    this.#stage = stage;
    this.#onPlane = onPlane;
    for (const kind of ['shift', 'tilt-right', 'tilt-up'] as const) {
      const button = document.createElement('button');
      button.type = 'button';
      button.className = 'ww-handle';
      button.dataset['kind'] = kind === 'shift' ? 'shift' : 'tilt';
      button.setAttribute('aria-label', SPOKEN[kind]);
      button.hidden = true;
      button.addEventListener('pointerdown', (event) => this.#grab(event, kind, button));
      button.addEventListener('keydown', (event) => this.#key(event, kind));
      this.#handles.set(kind, button);
      this.layer.append(button);
    }
  }

  set(planes: readonly TrimPlane[]): void {
    this.#planes = planes;
  }

  get #active(): TrimPlane | undefined {
    return this.#planes.find((plane) => plane.active === true);
  }

  follow(bounds: Box3): void {
    const stage = this.#stage;
    this.drawing.replaceChildren();
    if (!bounds.isEmpty()) this.#bounds.copy(bounds);
    if (this.#bounds.isEmpty() || this.#active === undefined) this.#hide();
    if (this.#bounds.isEmpty()) return;
    for (const plane of this.#planes) {
      const { middle, right, up, half, normal } = frameOf(plane, this.#bounds);
      const corner = (x: number, y: number): Vec3 =>
        middle
          .clone()
          .addScaledVector(right, x * half)
          .addScaledVector(up, y * half)
          .toArray();
      const path = [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)].map((at) => stage.place(at));
      const isActive = plane.active === true;
      if (path.some((at) => !at.isInFront)) {
        if (isActive) this.#hide();
        continue;
      }
      this.drawing.append(
        svgElement('path', {
          class: 'ww-svg-plane',
          'data-active': isActive ? 'yes' : 'no',
          d: `M${path.map((at) => `${at.x.toFixed(1)} ${at.y.toFixed(1)}`).join('L')}Z`,
        }),
      );
      if (!isActive) continue;
      const from = stage.place(middle.toArray());
      const tip = stage.place(
        middle
          .clone()
          .addScaledVector(normal, half * 0.3)
          .toArray(),
      );
      const long = Math.hypot(tip.x - from.x, tip.y - from.y);
      if (long > 12) {
        const ax = (tip.x - from.x) / long,
          ay = (tip.y - from.y) / long;
        this.drawing.append(
          svgElement('path', {
            class: 'ww-svg-arrow',
            d:
              `M${from.x} ${from.y}L${tip.x} ${tip.y}L${tip.x - 9 * ax - 4 * ay} ${tip.y - 9 * ay + 4 * ax}` +
              `L${tip.x - 9 * ax + 4 * ay} ${tip.y - 9 * ay - 4 * ax}L${tip.x} ${tip.y}`,
          }),
        );
      }
      this.#put('shift', from);
      this.#put('tilt-right', stage.place(middle.clone().addScaledVector(right, half).toArray()));
      this.#put('tilt-up', stage.place(middle.clone().addScaledVector(up, half).toArray()));
    }
  }

  #hide(): void {
    for (const button of this.#handles.values()) button.hidden = true;
  }

  #put(kind: HandleKind, at: { x: number; y: number; isInFront: boolean }): void {
    const button = this.#handles.get(kind) as HTMLButtonElement;
    button.hidden = !at.isInFront;
    button.style.transform = `translate(${at.x.toFixed(1)}px, ${at.y.toFixed(1)}px)`;
  }

  #grab(event: PointerEvent, kind: HandleKind, button: HTMLButtonElement): void {
    const plane = this.#active;
    if (plane === undefined || event.button !== 0) return;
    event.preventDefault();
    event.stopPropagation();
    button.focus();
    button.setPointerCapture(event.pointerId);
    const stage = this.#stage;
    const frame = frameOf(plane, this.#bounds);
    const base =
      kind === 'shift'
        ? frame.middle
        : frame.middle.clone().addScaledVector(kind === 'tilt-right' ? frame.right : frame.up, frame.half);
    const box = stage.canvas.getBoundingClientRect();
    const along = (moved: PointerEvent): number =>
      alongAxis(stage, base, frame.normal, moved.clientX - box.left, moved.clientY - box.top);
    const start = along(event);
    const move = (moved: PointerEvent): void => {
      const by = along(moved) - start;
      if (!Number.isFinite(by)) return;
      if (kind === 'shift') this.#shift(plane, frame, by);
      else this.#tilt(plane, frame, kind, Math.atan2(by, frame.half));
    };
    const end = (): void => {
      button.removeEventListener('pointermove', move);
      button.removeEventListener('pointerup', end);
      button.removeEventListener('pointercancel', end);
    };
    button.addEventListener('pointermove', move);
    button.addEventListener('pointerup', end);
    button.addEventListener('pointercancel', end);
  }

  #key(event: KeyboardEvent, kind: HandleKind): void {
    const plane = this.#active;
    const way = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[event.key];
    if (plane === undefined || way === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    const by = way * (event.shiftKey ? 10 : 1);
    const frame = frameOf(plane, this.#bounds);
    if (kind === 'shift') this.#shift(plane, frame, by);
    else this.#tilt(plane, frame, kind, (by * Math.PI) / 180);
  }

  #shift(plane: TrimPlane, frame: PlaneFrame, byMm: number): void {
    const point = new Vector3(...plane.point).addScaledVector(frame.normal, byMm);
    this.#onPlane(plane.id, point.toArray(), plane.normal);
  }

  /** About the sheet's middle, so that the handle on the other side goes the other way. */
  #tilt(plane: TrimPlane, frame: PlaneFrame, kind: HandleKind, angle: number): void {
    const arm = kind === 'tilt-right' ? frame.right : frame.up;
    const axis = arm.clone().cross(frame.normal).normalize();
    const turned = frame.normal.clone().applyQuaternion(new Quaternion().setFromAxisAngle(axis, angle));
    this.#onPlane(plane.id, frame.middle.toArray(), turned.toArray());
  }
}

interface PlaneFrame {
  readonly middle: Vector3;
  readonly right: Vector3;
  readonly up: Vector3;
  readonly normal: Vector3;
  readonly half: number;
}

function frameOf(plane: TrimPlane, bounds: Box3): PlaneFrame {
  const normal = new Vector3(...plane.normal).normalize();
  const centre = bounds.getCenter(new Vector3());
  const size = bounds.getSize(new Vector3());
  const middle = centre.addScaledVector(normal, new Vector3(...plane.point).sub(centre).dot(normal));
  const sheet = sheetOf(plane.point, plane.normal);
  const right = new Vector3(...sheet.right);
  const up = new Vector3(...sheet.up);
  // as wide as what it may cut, in its own plane
  const spread = new Matrix3().set(
    ...(right.toArray().map(Math.abs) as [number, number, number]),
    ...(up.toArray().map(Math.abs) as [number, number, number]),
    0,
    0,
    0,
  );
  const wide = size.applyMatrix3(spread);
  return { middle, right, up, normal, half: 0.58 * Math.max(wide.x, wide.y, 10) };
}

/** How far along an axis (mm from its base) the pointer is nearest to it. */
function alongAxis(stage: Stage, base: Vector3, axis: Vector3, x: number, y: number): number {
  const ray = stage.ray(x, y);
  const from = new Vector3(...ray.from);
  const along = new Vector3(...ray.along);
  const gap = from.clone().sub(base);
  const b = axis.dot(along);
  const slant = 1 - b * b;
  // seen along the axis, the pointer says nothing about it
  if (slant < 0.004) return NaN;
  return (gap.dot(axis) - b * gap.dot(along)) / slant;
}
