/**
 * A drawing as DXF, the ASCII form of release 12 (AC1009), the oldest that everything reads: POLYLINE and TEXT on named
 * layers, units told as millimetres ($INSUNITS 4, $MEASUREMENT 1; reference-values.md section 8).
 */
import type { Drawing, DrawingLayer } from '../../shared-types/drawing.ts';

/** Name and colour number of each layer. */
const LAYERS: Readonly<Record<DrawingLayer, readonly [string, number]>> = {
  cut: ['CUT', 7],
  seam: ['SEAM', 3],
  notch: ['NOTCH', 1],
  grain: ['GRAIN', 5],
  text: ['TEXT', 8],
  sheet: ['SHEET', 9],
};

export function writeDxf(drawing: Drawing): Uint8Array<ArrayBuffer> {
  const rows: string[] = [];
  const put = (...pairs: readonly (readonly [number, string | number])[]): void => {
    for (const [code, value] of pairs) rows.push(String(code).padStart(3), String(value));
  };
  put([0, 'SECTION'], [2, 'HEADER']);
  put([9, '$ACADVER'], [1, 'AC1009'], [9, '$INSUNITS'], [70, 4], [9, '$MEASUREMENT'], [70, 1]);
  put([9, '$EXTMIN'], [10, 0], [20, 0], [30, 0]);
  put([9, '$EXTMAX'], [10, number(drawing.widthMm)], [20, number(drawing.heightMm)], [30, 0]);
  put([0, 'ENDSEC'], [0, 'SECTION'], [2, 'TABLES']);
  put([0, 'TABLE'], [2, 'LTYPE'], [70, 1], [0, 'LTYPE'], [2, 'CONTINUOUS'], [70, 64], [3, 'Solid line'], [72, 65]);
  put([73, 0], [40, 0], [0, 'ENDTAB']);
  put([0, 'TABLE'], [2, 'LAYER'], [70, Object.keys(LAYERS).length]);
  for (const [name, colour] of Object.values(LAYERS)) {
    put([0, 'LAYER'], [2, name], [70, 0], [62, colour], [6, 'CONTINUOUS']);
  }
  put([0, 'ENDTAB'], [0, 'ENDSEC'], [0, 'SECTION'], [2, 'ENTITIES']);
  for (const shape of drawing.shapes) {
    const [layer] = LAYERS[shape.layer];
    if (shape.kind === 'text') {
      const at = shape.at.map(number);
      put([0, 'TEXT'], [8, layer], [10, at[0]], [20, at[1]], [30, 0], [40, number(shape.sizeMm)]);
      // Middle of the base line: the second point counts.
      put([1, ascii(shape.text)], [72, 1], [11, at[0]], [21, at[1]], [31, 0]);
      continue;
    }
    put([0, 'POLYLINE'], [8, layer], [66, 1], [10, 0], [20, 0], [30, 0], [70, shape.closed ? 1 : 0]);
    for (let i = 0; i < shape.points.length; i += 2) {
      put([0, 'VERTEX'], [8, layer], [10, number(shape.points[i])], [20, number(shape.points[i + 1])], [30, 0]);
    }
    put([0, 'SEQEND'], [8, layer]);
  }
  put([0, 'ENDSEC'], [0, 'EOF']);
  return new TextEncoder().encode(`${rows.join('\r\n')}\r\n`);
}

/** To a ten-thousandth of a millimetre, never in powers of ten. */
const number = (value: number): string => (Math.round(value * 10_000) / 10_000).toFixed(4);

/** One line of ASCII; every other letter by its number in hexadecimal. */
function ascii(text: string): string {
  return Array.from(text, (letter) => {
    const code = letter.codePointAt(0) as number;
    if (code < 32) return ' ';
    return code < 127 ? letter : `\\U+${code.toString(16).toUpperCase().padStart(4, '0')}`;
  }).join('');
}
