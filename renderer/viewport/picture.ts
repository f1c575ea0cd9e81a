/** A picture read back from a render target, the right way up and laid over the ground. */
import { Color, SRGBColorSpace, type WebGLRenderTarget, type WebGLRenderer } from 'three';

export function readPicture(renderer: WebGLRenderer, target: WebGLRenderTarget, ground: string): ImageData {
  const { width, height } = target;
  const pixels = new Uint8Array(width * height * 4);
  renderer.readRenderTargetPixels(target, 0, 0, width, height, pixels);
  const under = new Color(ground).getRGB({ r: 0, g: 0, b: 0 }, SRGBColorSpace);
  const ground255 = [under.r * 255, under.g * 255, under.b * 255];
  const upright = new Uint8ClampedArray(pixels.length);
  for (let row = 0; row < height; row++) {
    let to = (height - 1 - row) * width * 4;
    for (let from = row * width * 4, end = from + width * 4; from < end; from += 4, to += 4) {
      // what was blended over nothing is multiplied by its share already
      const rest = 1 - pixels[from + 3] / 255;
      for (let k = 0; k < 3; k++) upright[to + k] = pixels[from + k] + rest * ground255[k];
      upright[to + 3] = 255;
    }
  }
  return new ImageData(upright, width, height);
}
