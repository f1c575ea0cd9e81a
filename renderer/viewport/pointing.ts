/** The pointer on the picture: what lies under it, the lens that follows it, and the click that picks. */
import type { Object3D, Vector4 } from 'three';
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { Body } from './body.ts';
import { Lens } from './lens.ts';
import type { Pose } from './orbit.ts';
import type { Palette } from './palette.ts';
import { hitOf, isDrawnAt, snapped } from './pick.ts';
import type { Stage } from './stage.ts';
import type { Hit, PickMode } from './view-types.ts';

/** A mark this far inside the surface counts as lying on it, mm. */
const BEHIND_MM = 3;

export interface PointingClient {
  readonly stage: Stage;
  readonly bodies: ReadonlyMap<string, Body>;
  /** What the lens does not show. */
  readonly furniture: readonly Object3D[];
  palette(): Palette;
  /** Where the wipe stands, CSS pixels. */
  wipeAt(): number | undefined;
  section(): Vector4 | undefined;
  /** Makes ready for a picture of everything. */
  prepare(): void;
  picked(hit: Hit): void;
}

export class Pointing {
  readonly lens = new Lens();
  readonly #client: PointingClient;
  #mode: PickMode = 'none';
  #hover = 0;
  #early: { x: number; y: number; isSnapping: boolean; pose: Pose } | undefined;

  constructor(client: PointingClient) {
    this.#client = client;
  }

  set mode(mode: PickMode) {
    this.#mode = mode;
    if (mode !== 'none') return;
    this.#early = undefined;
    this.leave();
  }

  hitAt(x: number, y: number, snap = false): Hit | undefined {
    const { from, along } = this.#client.stage.ray(x, y);
    const hit = this.#hit(from, along, x, false);
    const body = hit === undefined ? undefined : this.#client.bodies.get(hit.slot);
    return hit !== undefined && body !== undefined && snap ? snapped(body, hit) : hit;
  }

  /** Whether a point is hidden by something that cannot be seen through. */
  isBehind(point: Vec3): boolean {
    const { stage } = this.#client;
    const at = stage.place(point);
    const { from, along } = stage.ray(at.x, at.y);
    const hit = this.#hit(from, along, at.x, true);
    if (hit === undefined) return false;
    const far = (p: Vec3): number => p.reduce((sum, c, k) => sum + (c - from[k]) * along[k], 0);
    return far(hit.point) < far(point) - BEHIND_MM;
  }

  #hit(from: Vec3, along: Vec3, x: number, isSolidOnly: boolean): Hit | undefined {
    const { bodies } = this.#client;
    const wipeAt = this.#client.wipeAt();
    const plane = this.#client.section();
    return hitOf(from, along, {
      bodies: Array.from(bodies.values()).filter(
        (body) => isDrawnAt(body, wipeAt, x) && body.look.pickable !== false && !(isSolidOnly && body.isGlass),
      ),
      isHidden: (at) => plane !== undefined && at.x * plane.x + at.y * plane.y + at.z * plane.z + plane.w < 0,
    });
  }

  click(x: number, y: number, isSnapping: boolean): void {
    if (this.#mode === 'none') return;
    const { bodies, stage } = this.#client;
    const isReady = Array.from(bodies.values()).every(
      (body) => !body.isShown || body.look.pickable === false || body.groundwork !== undefined,
    );
    // a click on a scan whose search tree is still being made counts when it is there, if nothing moved meanwhile
    this.#early = isReady ? undefined : { x, y, isSnapping, pose: stage.pose };
    if (!isReady) return;
    const hit = this.hitAt(x, y, isSnapping);
    if (hit !== undefined) this.#client.picked(hit);
  }

  becameReady(): void {
    const early = this.#early;
    if (early !== undefined && early.pose === this.#client.stage.pose) this.click(early.x, early.y, early.isSnapping);
  }

  hovered(x: number, y: number, isSnapping: boolean): void {
    if (this.#mode === 'none') return;
    cancelAnimationFrame(this.#hover);
    this.#hover = requestAnimationFrame(() => {
      const { bodies, stage, furniture } = this.#client;
      const hit = this.hitAt(x, y, isSnapping);
      const body = hit === undefined ? undefined : bodies.get(hit.slot);
      if (hit === undefined || body === undefined) {
        this.lens.hide();
        return;
      }
      const others = Array.from(bodies.values(), (other) => other.group).filter((group) => group !== body.group);
      this.#client.prepare();
      this.lens.show(stage, x, y, hit, body, [...others, ...furniture], this.#client.palette());
    });
  }

  leave(): void {
    cancelAnimationFrame(this.#hover);
    this.lens.hide();
  }

  dispose(): void {
    cancelAnimationFrame(this.#hover);
    this.lens.dispose();
  }
}
