/** A small picture of a form for the shelf, drawn without a screen: parallel, from front left, lit from above. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { shadeMesh, viewFrom } from '../../geometry/picture/shade-mesh.ts';
import { encodePng } from '../png.ts';

const VIEW = viewFrom(32, 12);
/** Each pixel is the mean of so many by so many. */
const FINE = 2;
const FILL = 0.94;

/** PNG with alpha, `pixels` square; the body grey by its light, to be tinted by whoever shows it. O(faces + pixels). */
export function smallPicture(mesh: Mesh, pixels: number): Uint8Array<ArrayBuffer> {
  const size = pixels * FINE;
  const { depth, light } = shadeMesh(mesh, VIEW, { width: size, height: size, fill: FILL, standing: true });
  const greyAlpha = new Uint8Array(pixels * pixels * 2);
  for (let y = 0; y < pixels; y++) {
    for (let x = 0; x < pixels; x++) {
      let covered = 0,
        sum = 0;
      for (let k = 0; k < FINE * FINE; k++) {
        const at = (y * FINE + Math.floor(k / FINE)) * size + x * FINE + (k % FINE);
        if (depth[at] === -Infinity) continue;
        covered++;
        sum += light[at];
      }
      const at = (y * pixels + x) * 2;
      greyAlpha[at] = covered === 0 ? 0 : Math.min(255, (255 * sum) / covered);
      greyAlpha[at + 1] = (255 * covered) / (FINE * FINE);
    }
  }
  return encodePng(greyAlpha, pixels, pixels, 2);
}
