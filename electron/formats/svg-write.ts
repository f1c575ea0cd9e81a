/**
 * A drawing as SVG 1.1 (W3C): width and height in mm and a viewBox of the same numbers, so that one user unit is 1 mm.
 * One group for each layer, named by it; y is turned, since SVG's runs down.
 */
import type { Drawing, DrawingLayer, DrawingShape } from '../../shared-types/drawing.ts';

const PENS: Readonly<Record<DrawingLayer, string>> = {
  cut: 'stroke="#000" stroke-width="0.3"',
  seam: 'stroke="#000" stroke-width="0.2" stroke-dasharray="3 2"',
  notch: 'stroke="#000" stroke-width="0.3"',
  grain: 'stroke="#444" stroke-width="0.25"',
  text: 'stroke="none"',
  sheet: 'stroke="#999" stroke-width="0.2"',
};

export function writeSvg(drawing: Drawing): Uint8Array<ArrayBuffer> {
  const { widthMm, heightMm } = drawing;
  const size = `width="${short(widthMm)}mm" height="${short(heightMm)}mm" viewBox="0 0 ${short(widthMm)} ${short(heightMm)}"`;
  const rows = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<svg xmlns="http://www.w3.org/2000/svg" version="1.1" ${size}>`,
    `<title>${escaped(drawing.title)}</title>`,
  ];
  for (const layer of Object.keys(PENS) as DrawingLayer[]) {
    const shapes = drawing.shapes.filter((shape) => shape.layer === layer);
    if (shapes.length === 0) continue;
    rows.push(`<g id="${layer}" fill="none" ${PENS[layer]}>`);
    for (const shape of shapes) rows.push(shapeRow(shape, heightMm));
    rows.push('</g>');
  }
  rows.push('</svg>', '');
  return new TextEncoder().encode(rows.join('\n'));
}

function shapeRow(shape: DrawingShape, heightMm: number): string {
  if (shape.kind === 'text') {
    const [x, y] = shape.at;
    const place = `x="${short(x)}" y="${short(heightMm - y)}" font-size="${short(shape.sizeMm)}"`;
    return `<text ${place} font-family="sans-serif" text-anchor="middle" fill="#000" stroke="none">${escaped(shape.text)}</text>`;
  }
  const steps: string[] = [];
  for (let i = 0; i < shape.points.length; i += 2) {
    steps.push(`${i === 0 ? 'M' : 'L'}${short(shape.points[i])} ${short(heightMm - shape.points[i + 1])}`);
  }
  return `<path d="${steps.join('')}${shape.closed ? 'Z' : ''}"/>`;
}

/** To a thousandth of a millimetre. */
const short = (value: number): string => String(Math.round(value * 1000) / 1000);

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };

/** Without what XML 1.0 (section 2.2) forbids: control characters but tab and line ends, and two others. */
function escaped(text: string): string {
  return Array.from(text)
    .filter((letter) => {
      const code = letter.codePointAt(0) as number;
      return (code >= 32 || code === 9 || code === 10 || code === 13) && code !== 0xfffe && code !== 0xffff;
    })
    .map((letter) => ENTITIES[letter] ?? letter)
    .join('');
}
