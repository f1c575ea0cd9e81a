/** A small picture of a form for the shelf, drawn without a screen: parallel, from front left, lit from above. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { boundsOf, vertexNormals } from '../../geometry/mesh/quantities.ts';
import { encodePng } from '../png.ts';

const AZIMUTH = (32 * Math.PI) / 180;
const ELEVATION = (12 * Math.PI) / 180;
/** Each pixel is the mean of so many by so many. */
const FINE = 2;
const FILL = 0.94;

/** PNG with alpha, `pixels` square; the body grey by its light, to be tinted by whoever shows it. O(faces + pixels). */
export function smallPicture(mesh: Mesh, pixels: number): Uint8Array<ArrayBuffer> {
  const size = pixels * FINE;
  const [ca, sa, ce, se] = [Math.cos(AZIMUTH), Math.sin(AZIMUTH), Math.cos(ELEVATION), Math.sin(ELEVATION)];
  const eye = [ca * ce, sa * ce, se];
  const side = [-sa, ca, 0];
  const up = [-ca * se, -sa * se, ce];
  const light = [0, 1, 2].map((k) => 0.55 * eye[k] + 0.65 * up[k] - 0.5 * side[k]);
  const { positions: p, triangles: t } = mesh;
  const normals = vertexNormals(mesh);
  const screen = new Float64Array(p.length);
  const tone = new Float64Array(p.length / 3);
  for (let i = 0; i < p.length; i += 3) {
    for (let k = 0; k < 3; k++) {
      const axis = k === 0 ? side : k === 1 ? up : eye;
      screen[i + k] = p[i] * axis[0] + p[i + 1] * axis[1] + p[i + 2] * axis[2];
    }
    const lit = normals[i] * light[0] + normals[i + 1] * light[1] + normals[i + 2] * light[2];
    tone[i / 3] = 0.34 + 0.66 * Math.max(0, lit);
  }
  const { min, max } = boundsOf(screen);
  const scale = (size * FILL) / Math.max(max[0] - min[0], max[1] - min[1]);
  for (let i = 0; i < screen.length; i += 3) {
    screen[i] = size / 2 + (screen[i] - (min[0] + max[0]) / 2) * scale;
    screen[i + 1] = size - (screen[i + 1] - min[1]) * scale - (size * (1 - FILL)) / 2;
  }
  const depth = new Float64Array(size * size).fill(-Infinity);
  const grey = new Float32Array(size * size);
  for (let f = 0; f < t.length; f += 3) drawFace(t[f], t[f + 1], t[f + 2], screen, tone, size, depth, grey);
  const greyAlpha = new Uint8Array(pixels * pixels * 2);
  for (let y = 0; y < pixels; y++) {
    for (let x = 0; x < pixels; x++) {
      let covered = 0,
        sum = 0;
      for (let k = 0; k < FINE * FINE; k++) {
        const at = (y * FINE + Math.floor(k / FINE)) * size + x * FINE + (k % FINE);
        if (depth[at] === -Infinity) continue;
        covered++;
        sum += grey[at];
      }
      const at = (y * pixels + x) * 2;
      greyAlpha[at] = covered === 0 ? 0 : Math.min(255, (255 * sum) / covered);
      greyAlpha[at + 1] = (255 * covered) / (FINE * FINE);
    }
  }
  return encodePng(greyAlpha, pixels, pixels, 2);
}

function drawFace(
  a: number,
  b: number,
  c: number,
  screen: Float64Array,
  tone: Float64Array,
  size: number,
  depth: Float64Array,
  grey: Float32Array,
): void {
  const [ax, ay, bx, by] = [screen[a * 3], screen[a * 3 + 1], screen[b * 3], screen[b * 3 + 1]];
  const [cx, cy] = [screen[c * 3], screen[c * 3 + 1]];
  const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
  if (area === 0) return;
  const [x0, x1] = [Math.max(0, Math.ceil(Math.min(ax, bx, cx))), Math.min(size - 1, Math.floor(Math.max(ax, bx, cx)))];
  const [y0, y1] = [Math.max(0, Math.ceil(Math.min(ay, by, cy))), Math.min(size - 1, Math.floor(Math.max(ay, by, cy)))];
  for (let y = y0; y <= y1; y++) {
    for (let x = x0; x <= x1; x++) {
      const u = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area;
      const v = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area;
      if (u < 0 || v < 0 || u + v > 1) continue;
      const w = 1 - u - v;
      const z = w * screen[a * 3 + 2] + u * screen[b * 3 + 2] + v * screen[c * 3 + 2];
      const at = y * size + x;
      if (z <= depth[at]) continue;
      depth[at] = z;
      grey[at] = w * tone[a] + u * tone[b] + v * tone[c];
    }
  }
}
