/**
 * The canvas, its cameras and the rhythm of drawing. A picture is drawn only when something has changed, and not before
 * the graphics have finished the last one, so that a slow machine follows the hand late but never ever later. While the
 * view moves and a whole picture takes too long, coarse stand-ins are drawn; a moment after the hand rests, the whole.
 */
import {
  Box3,
  Matrix4,
  OrthographicCamera,
  PerspectiveCamera,
  Scene,
  Sphere,
  Vector3,
  WebGLRenderer,
  type Camera,
} from 'three';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { basisOf, eyePoint, type Pose } from './orbit.ts';
import type { Projection } from './view-types.ts';

export const FIELD_OF_VIEW = 26;
/** Below some fifteen pictures a second a movement falls apart. */
const SLOW_MS = 60;
/** How long the hand must rest before the whole is drawn again, and at most while it still holds on. */
const REST_MS = 160;
const LONGEST_REST_MS = 1200;

export interface StageClient {
  /** Chooses what is drawn, answers with the faces. */
  prepare(isCoarse: boolean): number;
  /** After each picture: what lies over it follows. */
  follow(): void;
  trouble(sentence: string | undefined): void;
  /** The graphics are gone with all they held. */
  release(): void;
}

export class Stage {
  readonly canvas = document.createElement('canvas');
  readonly scene = new Scene();
  readonly perspective = new PerspectiveCamera(FIELD_OF_VIEW, 1, 1, 1e5);
  readonly parallel = new OrthographicCamera(-1, 1, 1, -1, -1e4, 1e4);
  readonly renderer: WebGLRenderer | undefined;
  readonly bounds = new Box3();
  pose: Pose = { target: [0, 0, 0], distance: 900, yaw: 0.6, pitch: 0.2 };
  projection: Projection = 'perspective';
  frameMs = 0;
  movingFrameMs = 0;
  drawnTriangles = 0;
  movingTriangles = 0;
  /** A whole picture slower than this is not drawn while moving. */
  slowMs = SLOW_MS;
  /** Counts pictures, so that a test can see that a still view draws none. */
  pictures = 0;
  readonly #client: StageClient;
  readonly #resize: ResizeObserver;
  readonly #host: HTMLElement;
  #scheduled = 0;
  #wanted = false;
  #busy = false;
  #isMoving = false;
  #isHeld = false;
  #aimed: { readonly pose: Pose; readonly camera: PerspectiveCamera | OrthographicCamera } | undefined;
  #rest = 0;
  #poll = 0;
  /** The first picture of new buffers uploads them, and says nothing about speed. */
  #isFresh = true;
  #isLost = false;
  #isDisposed = false;
  /** False while the owner is still being put together. */
  #isReady = false;
  width = 1;
  height = 1;

  constructor(host: HTMLElement, client: StageClient) {
    this.#host = host;
    this.#client = client;
    this.renderer = this.#open();
    this.canvas.addEventListener('webglcontextlost', (event) => {
      event.preventDefault();
      if (this.#isDisposed) return;
      this.#isLost = true;
      this.#busy = false;
      // what was made for the old graphics must not be deleted in the new
      client.release();
      client.trouble(
        'The graphics of this computer stopped and are being started again. Nothing is lost: your work is not kept in the picture.',
      );
    });
    this.canvas.addEventListener('webglcontextrestored', () => {
      this.#isLost = false;
      this.#isFresh = true;
      client.trouble(undefined);
      this.request();
    });
    this.#resize = new ResizeObserver(() => this.#measure());
    this.#resize.observe(host);
    this.#measure();
    this.#isReady = true;
  }

  #open(): WebGLRenderer | undefined {
    try {
      const renderer = new WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true });
      renderer.setClearColor(0x000000, 0);
      renderer.info.autoReset = true;
      return renderer;
    } catch {
      return undefined;
    }
  }

  #measure(): void {
    const { clientWidth, clientHeight } = this.#host;
    if (clientWidth === 0 || clientHeight === 0) return;
    this.width = clientWidth;
    this.height = clientHeight;
    this.#aimed = undefined;
    this.#fit();
    if (!this.#isReady) return;
    // resizing clears the canvas: waiting a frame would flash
    if (!this.#busy) this.#draw();
    else this.request();
  }

  #fit(): void {
    this.renderer?.setPixelRatio(pixelRatio());
    this.renderer?.setSize(this.width, this.height, false);
  }

  /** Ask for a picture. `moving`: one of a movement, of which more are expected. */
  request(moving = false): void {
    if (this.#isDisposed) return;
    if (moving) {
      this.#isMoving = true;
      window.clearTimeout(this.#rest);
      // whoever still holds the view will move it again: the slower the whole picture, the longer it waits
      const rest = this.#isHeld ? Math.min(LONGEST_REST_MS, Math.max(REST_MS, this.frameMs)) : REST_MS;
      this.#rest = window.setTimeout(() => this.#comeToRest(), rest);
    }
    this.#wanted = true;
    this.#aimed = undefined;
    this.#schedule();
  }

  /** The hand took hold of the view or let it go. */
  set isHeld(yes: boolean) {
    this.#isHeld = yes;
    if (yes || !this.#isMoving) return;
    window.clearTimeout(this.#rest);
    this.#rest = window.setTimeout(() => this.#comeToRest(), REST_MS / 2);
  }

  buffersChanged(): void {
    this.#isFresh = true;
    this.request();
  }

  #comeToRest(): void {
    this.#isMoving = false;
    this.request();
  }

  #schedule(): void {
    if (this.#scheduled !== 0 || this.#busy) return;
    this.#scheduled = requestAnimationFrame(() => {
      this.#scheduled = 0;
      if (this.#wanted) this.#draw();
    });
  }

  camera(): PerspectiveCamera | OrthographicCamera {
    // asked for by every label of a picture
    if (this.#aimed === undefined || this.#aimed.pose !== this.pose) {
      this.#aimed = { pose: this.pose, camera: this.#aim(this.projection, this.width, this.height) };
    }
    return this.#aimed.camera;
  }

  #aim(projection: Projection, width: number, height: number): PerspectiveCamera | OrthographicCamera {
    const { pose } = this;
    const camera = projection === 'perspective' ? this.perspective : this.parallel;
    const basis = basisOf(pose);
    const sphere = this.bounds.isEmpty() ? new Sphere(new Vector3(), 150) : this.bounds.getBoundingSphere(new Sphere());
    const eye = new Vector3(...eyePoint(pose));
    // past the bounds by a margin: floor ring, tapes and handles stand outside
    const radius = sphere.radius * 2 + 60;
    const depth = new Vector3(...basis.eye).dot(eye.sub(sphere.center));
    if (camera instanceof PerspectiveCamera) {
      camera.aspect = width / height;
      camera.near = Math.max(depth - radius, pose.distance / 100, 0.5);
      camera.far = Math.max(depth + radius, camera.near * 2);
    } else {
      const half = pose.distance * Math.tan((FIELD_OF_VIEW * Math.PI) / 360);
      camera.left = (-half * width) / height;
      camera.right = (half * width) / height;
      camera.top = half;
      camera.bottom = -half;
      camera.near = depth - radius;
      camera.far = depth + radius;
    }
    camera.up.set(...basis.up);
    camera.position.set(...eyePoint(pose));
    // lookAt would lose the upright straight above; the basis is known anyway
    camera.quaternion.setFromRotationMatrix(
      new Matrix4().makeBasis(new Vector3(...basis.right), new Vector3(...basis.up), new Vector3(...basis.eye)),
    );
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld(true);
    return camera;
  }

  /** Length of one CSS pixel at the target's depth, mm. */
  get mmPerPixel(): number {
    return (2 * this.pose.distance * Math.tan((FIELD_OF_VIEW * Math.PI) / 360)) / this.height;
  }

  /** CSS pixels of a point, and its distance in front of the viewer's plane. */
  place(point: Vec3): { x: number; y: number; isInFront: boolean } {
    const at = new Vector3(...point).project(this.camera());
    return { x: ((at.x + 1) / 2) * this.width, y: ((1 - at.y) / 2) * this.height, isInFront: at.z < 1 };
  }

  ray(x: number, y: number): { from: Vec3; along: Vec3 } {
    const camera = this.camera();
    const at = [(x / this.width) * 2 - 1, 1 - (y / this.height) * 2] as const;
    const near = new Vector3(at[0], at[1], -1).unproject(camera);
    const far = new Vector3(at[0], at[1], 1).unproject(camera);
    const along = far.sub(near).normalize();
    return { from: [near.x, near.y, near.z], along: [along.x, along.y, along.z] };
  }

  /** The point under the cursor in the plane through the target that faces the viewer. */
  onTargetPlane(x: number, y: number): Vec3 {
    const { from, along } = this.ray(x, y);
    const { eye } = basisOf(this.pose);
    const { target } = this.pose;
    const toPlane = eye.reduce((sum, e, k) => sum + e * (target[k] - from[k]), 0);
    const t = toPlane / eye.reduce((sum, e, k) => sum + e * along[k], 0);
    return [from[0] + t * along[0], from[1] + t * along[1], from[2] + t * along[2]];
  }

  #draw(): void {
    this.#wanted = false;
    const { renderer } = this;
    if (renderer === undefined || this.#isLost || this.#isDisposed) {
      this.#client.follow();
      return;
    }
    // a window moved to another screen
    if (renderer.getPixelRatio() !== pixelRatio()) this.#fit();
    const isCoarse = this.#isMoving && this.frameMs > this.slowMs;
    const started = performance.now();
    this.drawnTriangles = this.#client.prepare(isCoarse);
    if (this.#isMoving) this.movingTriangles = this.drawnTriangles;
    this.pictures++;
    renderer.render(this.scene, this.camera());
    this.#client.follow();
    const wasFresh = this.#isFresh;
    this.#isFresh = false;
    this.#busy = true;
    this.#whenFinished(renderer, () => {
      const took = performance.now() - started;
      if (!isCoarse && !wasFresh) this.frameMs = took;
      if (isCoarse) this.movingFrameMs = took;
      else if (this.#isMoving) this.movingFrameMs = took;
      this.#busy = false;
      if (this.#wanted) this.#schedule();
    });
  }

  #whenFinished(renderer: WebGLRenderer, done: () => void): void {
    const gl = renderer.getContext() as WebGL2RenderingContext;
    const fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    if (fence === null) {
      done();
      return;
    }
    gl.flush();
    const began = performance.now();
    const look = (): void => {
      const state = gl.isContextLost() ? gl.ALREADY_SIGNALED : gl.clientWaitSync(fence, 0, 0);
      if (state === gl.TIMEOUT_EXPIRED && performance.now() - began < 5000) {
        this.#poll = window.setTimeout(look, 4);
        return;
      }
      gl.deleteSync(fence);
      done();
    };
    this.#poll = window.setTimeout(look, 0);
  }

  /** Draws now with a camera of the given size, into wherever the renderer is pointed. */
  drawWith(camera: Camera): void {
    this.renderer?.render(this.scene, camera);
  }

  /** The camera as it would be for a picture of another size. */
  cameraFor(width: number, height: number): PerspectiveCamera | OrthographicCamera {
    this.#aimed = undefined;
    return this.#aim(this.projection, width, height).clone();
  }

  dispose(): void {
    this.#isDisposed = true;
    cancelAnimationFrame(this.#scheduled);
    window.clearTimeout(this.#rest);
    window.clearTimeout(this.#poll);
    this.#resize.disconnect();
    this.renderer?.dispose();
    this.renderer?.forceContextLoss();
    this.canvas.remove();
  }
}

function pixelRatio(): number {
  return Math.min(2, window.devicePixelRatio);
}
