/**
 * The colours of a map of signed lengths: a diverging scale, even in lightness steps and safe for the common
 * kinds of colour blindness (blue to orange through paper white; no red against green). Built by interpolating
 * in Oklab (B. Ottosson 2020), so that equal lengths look equally different.
 */
export type Rgb = readonly [number, number, number];

function toLinear(c: number): number {
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
}

function toSrgb(c: number): number {
  const clamped = Math.max(0, Math.min(1, c));
  return clamped <= 0.0031308 ? 12.92 * clamped : 1.055 * clamped ** (1 / 2.4) - 0.055;
}

export function oklabOf(rgb: Rgb): Rgb {
  const [r, g, b] = rgb.map(toLinear);
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return [
    0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  ];
}

export function rgbOf(lab: Rgb): Rgb {
  const l = (lab[0] + 0.3963377774 * lab[1] + 0.2158037573 * lab[2]) ** 3;
  const m = (lab[0] - 0.1055613458 * lab[1] - 0.0638541728 * lab[2]) ** 3;
  const s = (lab[0] - 0.0894841775 * lab[1] - 1.291485548 * lab[2]) ** 3;
  return [
    toSrgb(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
    toSrgb(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
    toSrgb(-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s),
  ];
}

/** Inside (too near, negative), zero, outside (roomy, positive). */
const STOPS: readonly Rgb[] = [
  [0.6, 0.27, 0.05],
  [0.9, 0.62, 0.3],
  [0.95, 0.94, 0.91],
  [0.42, 0.66, 0.82],
  [0.08, 0.31, 0.52],
];

/** Colour at t in 0..1 (0.5 is zero length). */
export function divergingColour(t: number): Rgb {
  const at = Math.max(0, Math.min(1, t)) * (STOPS.length - 1);
  const i = Math.min(STOPS.length - 2, Math.floor(at));
  const a = oklabOf(STOPS[i]);
  const b = oklabOf(STOPS[i + 1]);
  return rgbOf([0, 1, 2].map((k) => a[k] + (b[k] - a[k]) * (at - i)) as unknown as Rgb);
}

/** 256 RGBA texels of the scale, for the shader and the legend. */
export function scaleTexels(): Uint8Array<ArrayBuffer> {
  const texels = new Uint8Array(256 * 4);
  for (let i = 0; i < 256; i++) {
    divergingColour(i / 255).forEach((c, k) => (texels[i * 4 + k] = Math.round(c * 255)));
    texels[i * 4 + 3] = 255;
  }
  return texels;
}
