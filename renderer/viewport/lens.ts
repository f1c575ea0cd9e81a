/**
 * The magnifier beside the pointer: the surroundings of the point under it, five times as large. It draws only the faces
 * near that point, into a small picture of its own, so that it costs the same on a scan of a million faces.
 */
import { WebGLRenderTarget, type Object3D } from 'three';
import type { Body } from './body.ts';
import type { Palette } from './palette.ts';
import { facesAround } from './pick.ts';
import { readPicture } from './picture.ts';
import type { Stage } from './stage.ts';
import type { Hit } from './view-types.ts';

const SIZE = 150;
const TIMES = 5;

export class Lens {
  readonly canvas = document.createElement('canvas');
  #target: WebGLRenderTarget | undefined;

  constructor() {
    this.canvas.className = 'ww-lens';
    this.canvas.hidden = true;
    this.canvas.setAttribute('aria-hidden', 'true');
  }

  hide(): void {
    this.canvas.hidden = true;
  }

  /** `others` are not drawn in it. */
  show(stage: Stage, x: number, y: number, hit: Hit, body: Body, others: readonly Object3D[], palette: Palette): void {
    const { renderer } = stage;
    if (renderer === undefined) return;
    const pixel = renderer.getPixelRatio();
    const size = Math.round(SIZE * pixel);
    if (this.#target === undefined || this.#target.width !== size) {
      this.#target?.dispose();
      this.#target = new WebGLRenderTarget(size, size, { samples: 4 });
      this.canvas.width = size;
      this.canvas.height = size;
      this.canvas.style.width = `${SIZE}px`;
      this.canvas.style.height = `${SIZE}px`;
    }
    const at = stage.place(hit.point);
    const reach = (SIZE / TIMES) * 0.75 * stage.mmPerPixel * 1.3 + 1;
    const near = facesAround(body, hit.point, reach);
    const faces = new Uint32Array(near.length * 3);
    near.forEach((face, k) => faces.set(body.mesh.triangles.subarray(face * 3, face * 3 + 3), k * 3));
    const giveBack = body.lend(faces);
    // the wipe belongs to the large picture
    const { wipeSide } = body;
    body.wipeSide = 0;
    const seen = others.map((other) => other.visible);
    for (const other of others) other.visible = false;
    const camera = stage.camera();
    const wide = SIZE / TIMES;
    camera.setViewOffset(stage.width, stage.height, at.x - wide / 2, at.y - wide / 2, wide, wide);
    camera.updateProjectionMatrix();
    renderer.setRenderTarget(this.#target);
    renderer.clear();
    stage.drawWith(camera);
    const picture = readPicture(renderer, this.#target, palette.ground);
    renderer.setRenderTarget(null);
    camera.clearViewOffset();
    camera.updateProjectionMatrix();
    others.forEach((other, k) => (other.visible = seen[k]));
    giveBack();
    body.wipeSide = wipeSide;
    this.#paint(picture, size, pixel, palette.ink, hit.snapped);
    const left = x + 24 + SIZE > stage.width ? x - 24 - SIZE : x + 24;
    const top = y - 24 - SIZE < 0 ? y + 24 : y - 24 - SIZE;
    this.canvas.style.transform = `translate(${left}px, ${top}px)`;
    this.canvas.hidden = false;
  }

  #paint(picture: ImageData, size: number, pixel: number, ink: string, isSnapped: boolean): void {
    const brush = this.canvas.getContext('2d');
    if (brush === null) return;
    brush.putImageData(picture, 0, 0);
    const middle = size / 2;
    brush.strokeStyle = ink;
    brush.lineWidth = 1.2 * pixel;
    brush.beginPath();
    for (const [dx, dy] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ]) {
      brush.moveTo(middle + dx * 5 * pixel, middle + dy * 5 * pixel);
      brush.lineTo(middle + dx * 18 * pixel, middle + dy * 18 * pixel);
    }
    brush.stroke();
    if (isSnapped) {
      brush.beginPath();
      brush.arc(middle, middle, 9 * pixel, 0, 2 * Math.PI);
      brush.stroke();
    }
  }

  release(): void {
    this.#target?.dispose();
    this.#target = undefined;
  }

  dispose(): void {
    this.release();
    this.canvas.remove();
  }
}
