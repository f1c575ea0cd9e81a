/**
 * The colours of a map of signed lengths: a diverging scale, even in lightness steps and safe for the common
 * kinds of colour blindness (blue to orange through paper white; no red against green). Built by interpolating
 * in Oklab (B. Ottosson 2020), so that equal lengths look equally different.
 */
import type { Legend, LegendStop, Scale } from './view-types.ts';

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

/** Tight to roomy: lightness rises evenly all the way, so that it reads without any sight of colour. */
const EASE_STOPS: readonly Rgb[] = [
  [0.2, 0.09, 0.27],
  [0.52, 0.15, 0.29],
  [0.79, 0.36, 0.2],
  [0.91, 0.65, 0.34],
  [0.97, 0.93, 0.78],
];

export function easeColour(t: number): Rgb {
  const lightAt = (index: number): number => oklabOf(EASE_STOPS[index])[0];
  const last = EASE_STOPS.length - 1;
  const lightness = lightAt(0) + Math.max(0, Math.min(1, t)) * (lightAt(last) - lightAt(0));
  let index = 0;
  while (index < last - 1 && lightAt(index + 1) < lightness) index++;
  const a = oklabOf(EASE_STOPS[index]);
  const b = oklabOf(EASE_STOPS[index + 1]);
  const along = (lightness - a[0]) / (b[0] - a[0]);
  return rgbOf([0, 1, 2].map((k) => a[k] + (b[k] - a[k]) * along) as unknown as Rgb);
}

/** Where a length lies on its scale, 0 to 1, and its colour. */
function colourAt(valueMm: number, scale: Scale): Rgb {
  if (scale.kind === 'ease') return easeColour((valueMm - scale.minMm) / (scale.maxMm - scale.minMm));
  // one colour step is as many mm on either side of zero
  const half = Math.max(Math.abs(scale.minMm), Math.abs(scale.maxMm));
  return divergingColour(0.5 + valueMm / (2 * half));
}

/** 256 RGBA texels from minMm to maxMm. */
export function texelsOf(scale: Scale): Uint8Array<ArrayBuffer> {
  const texels = new Uint8Array(256 * 4);
  for (let i = 0; i < 256; i++) {
    const valueMm = scale.minMm + (i / 255) * (scale.maxMm - scale.minMm);
    colourAt(valueMm, scale).forEach((c, k) => (texels[i * 4 + k] = Math.round(c * 255)));
    texels[i * 4 + 3] = 255;
  }
  return texels;
}

/** The largest of 1, 2, 5 times a power of ten that gives no fewer than `least` steps over the range. */
export function roundStep(rangeMm: number, least = 6): number {
  const rough = rangeMm / least;
  const power = 10 ** Math.floor(Math.log10(rough));
  const digit = rough / power;
  return (digit >= 5 ? 5 : digit >= 2 ? 2 : 1) * power;
}

/** The least step of 1, 2 or 5 that needs no more than `most` steps over the range, as text would be written. */
function tickStep(contourMm: number, rangeMm: number, most: number): number {
  let step = contourMm;
  for (const by of [2, 5, 10, 20, 50, 100, 1000]) {
    if (rangeMm / step <= most) break;
    step = contourMm * by;
  }
  return step;
}

export function legendOf(slot: string, valuesMm: Float32Array, scale: Scale): Legend {
  const { kind, minMm, maxMm } = scale;
  const range = maxMm - minMm;
  const contourMm = scale.contourMm ?? roundStep(range);
  let below = 0;
  let above = 0;
  let missing = 0;
  for (const value of valuesMm) {
    if (!Number.isFinite(value)) missing++;
    else if (value < minMm) below++;
    else if (value > maxMm) above++;
  }
  const stop = (valueMm: number): LegendStop => ({
    valueMm,
    at: (valueMm - minMm) / range,
    css: `rgb(${colourAt(valueMm, scale)
      .map((c) => Math.round(c * 255))
      .join(' ')})`,
  });
  const step = tickStep(contourMm > 0 ? contourMm : roundStep(range), range, 8);
  const ticks: LegendStop[] = [];
  for (let k = Math.ceil(minMm / step - 1e-9); k * step <= maxMm + step * 1e-9; k++) {
    ticks.push(stop(Number((k * step).toPrecision(12))));
  }
  const known = Math.max(1, valuesMm.length - missing);
  return {
    slot,
    kind,
    minMm,
    maxMm,
    contourMm,
    stops: Array.from({ length: 17 }, (_, i) => stop(minMm + (i / 16) * range)),
    ticks,
    below: below / known,
    above: above / known,
    missing,
  };
}
