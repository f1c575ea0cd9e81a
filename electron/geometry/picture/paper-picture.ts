/** A mesh as it is drawn on paper: light shading, with a dark line round it and where one part hides another. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { along, shadeMesh, type View } from './shade-mesh.ts';

/** Each pixel is the mean of so many by so many. */
const FINE = 2;
/** Nearer than this, two surfaces seen side by side are one, mm. */
const STEP_MM = 9;
/** A fall less than so many times the next one belongs to the same surface. */
const EVEN = 4;
/** The paper's white is 1; shading stays light, so that lines drawn over it are seen. */
const DARKEST = 0.6;
const LINE_TONE = 0.12;
const ROWS_PER_TICK = 16;

export interface PaperPicture {
  /** A byte for each pixel, row by row from the upper left. */
  readonly grey: Uint8Array<ArrayBuffer>;
  readonly width: number;
  readonly height: number;
  /** What the picture spans on the body, mm. */
  readonly widthMm: number;
  readonly heightMm: number;
  /** Mesh coordinates to mm on the body from the picture's upper left corner. */
  readonly toPicture: (point: Vec3) => [number, number];
  /** How far a point lies behind what is seen in its place, mm; negative before it or beside the body. */
  readonly depthBehind: (point: Vec3) => number;
}

/** Grey pixels of a field of `widthMm` by `heightMm` round the mesh's middle. O(faces + pixels). */
export function paperPicture(
  mesh: Mesh,
  view: View,
  field: { readonly widthMm: number; readonly heightMm: number; readonly pixelsPerMm: number },
  tick: () => void = () => undefined,
): PaperPicture {
  const { widthMm, heightMm, pixelsPerMm } = field;
  const [width, height] = [Math.round(widthMm * pixelsPerMm), Math.round(heightMm * pixelsPerMm)];
  const mmPerPixel = 1 / (pixelsPerMm * FINE);
  const shaded = shadeMesh(mesh, view, { width: width * FINE, height: height * FINE, mmPerPixel }, tick);
  const tone = lineDrawing(shaded, tick);
  const grey = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    if (y % ROWS_PER_TICK === 0) tick();
    for (let x = 0; x < width; x++) {
      let sum = 0;
      for (let k = 0; k < FINE * FINE; k++) {
        sum += tone[(y * FINE + Math.floor(k / FINE)) * shaded.width + x * FINE + (k % FINE)];
      }
      grey[y * width + x] = Math.round((255 * sum) / (FINE * FINE));
    }
  }
  return {
    grey,
    width,
    height,
    widthMm,
    heightMm,
    toPicture: (point) => {
      const [x, y] = shaded.toPixel(point);
      return [x * mmPerPixel, y * mmPerPixel];
    },
    depthBehind: (point) => {
      const [x, y] = shaded.toPixel(point).map(Math.round);
      const isOff = x < 0 || y < 0 || x >= shaded.width || y >= shaded.height;
      return isOff ? -Infinity : shaded.depth[y * shaded.width + x] - along(point, 0, view.eye);
    },
  };
}

/** White paper, pale body, dark where the depth jumps to the right or below. */
function lineDrawing({ width, height, depth, light }: ReturnType<typeof shadeMesh>, tick: () => void): Float32Array {
  const tone = new Float32Array(width * height);
  for (let at = 0; at < tone.length; at++) {
    if (at % (ROWS_PER_TICK * width) === 0) tick();
    tone[at] = depth[at] === -Infinity ? 1 : DARKEST + (1 - DARKEST) * Math.min(1, light[at]);
  }
  // A surface seen at a flat angle also falls away fast, but evenly: that is no edge.
  const isEdge = (at: number, step: number): boolean => {
    const fall = depth[at + step] - depth[at];
    if (depth[at] === -Infinity || depth[at + step] === -Infinity) return depth[at] !== depth[at + step];
    const evenly = Math.max(Math.abs(depth[at] - depth[at - step]), Math.abs(depth[at + 2 * step] - depth[at + step]));
    return Math.abs(fall) > STEP_MM && !(Math.abs(fall) < EVEN * evenly);
  };
  for (let y = 1; y + 2 < height; y++) {
    if (y % ROWS_PER_TICK === 0) tick();
    for (let x = 1; x + 2 < width; x++) {
      const at = y * width + x;
      for (const step of [1, width]) {
        if (!isEdge(at, step)) continue;
        // Two fine pixels wide.
        tone[at] = LINE_TONE;
        tone[at + step] = LINE_TONE;
      }
    }
  }
  return tone;
}
