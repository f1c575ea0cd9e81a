/** Cut pieces laid on stock sheets, as drawings in SVG and DXF, and as a cut list. */
import type { Drawing, DrawingShape } from '../../shared-types/drawing.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import { writeDxf } from '../formats/dxf-write.ts';
import { writeSvg } from '../formats/svg-write.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import { nest, type Nested } from '../geometry/nest/nest.ts';
import type { MadeFile } from './operation.ts';
import { placedShapes, type CutPiece } from './pattern-piece.ts';

export interface SheetOptions {
  readonly sheetMm: readonly number[];
  readonly gapMm: number;
  readonly keepGrain: boolean;
}

export interface LaidSheets extends Nested {
  readonly files: readonly MadeFile[];
}

/** `name` begins the names of the files: `<name>-sheet-1.svg`. A piece larger than a sheet gets a file of its own. */
export function layOnSheets(
  pieces: readonly CutPiece[],
  options: SheetOptions,
  name: string,
  title: string,
  tick: () => void,
): LaidSheets {
  const [widthMm, heightMm] = options.sheetMm;
  const quarters = options.keepGrain ? [0, 2] : [0, 1, 2, 3];
  const nested = nest(pieces, { widthMm, heightMm, gapMm: options.gapMm, quarters }, tick);
  const files: MadeFile[] = [];
  const write = (end: string, drawing: Drawing): void => {
    files.push({ name: `${name}-${end}.svg`, bytes: writeSvg(drawing) });
    files.push({ name: `${name}-${end}.dxf`, bytes: writeDxf(drawing) });
  };
  for (let sheet = 0; sheet < nested.sheets; sheet++) {
    const shapes: DrawingShape[] = [
      { kind: 'path', layer: 'sheet', points: [0, 0, widthMm, 0, widthMm, heightMm, 0, heightMm], closed: true },
    ];
    for (const one of nested.placed) {
      if (one.sheet === sheet) shapes.push(...placedShapes(pieces[one.piece].shapes, one.quarters, one.shift));
    }
    write(`sheet-${sheet + 1}`, { title: `${title}, sheet ${sheet + 1}`, widthMm, heightMm, shapes });
  }
  for (const at of nested.tooLarge) {
    const piece = pieces[at];
    write(`piece-${piece.number}${piece.mirrored ? '-mirrored' : ''}`, {
      title: `${title}, piece ${piece.number}`,
      widthMm: piece.widthMm,
      heightMm: piece.heightMm,
      shapes: placedShapes(piece.shapes, 0, [0, 0]),
    });
  }
  return { ...nested, files };
}

/**
 * For each piece, not the mirrored ones, where its points lie on the body, in the coordinates of the body's file: JSON
 * {"pieces":[{"number","name","outline","flat","body","triangles","givePercent"}]}, rounded.
 */
export function writeOnBody(pieces: readonly CutPiece[], toFile: Matrix4): MadeFile {
  const round = (value: number, steps: number): number => Math.round(value * steps) / steps;
  const told = pieces.map(({ number, name, outline, onBody }) => ({
    number,
    name,
    outline: outline.map((value) => round(value, 100)),
    flat: onBody.flat.map((value) => round(value, 100)),
    body: Array.from({ length: onBody.body.length / 3 }, (_, v) =>
      transformPoint(toFile, onBody.body.slice(v * 3, v * 3 + 3) as unknown as Vec3),
    ).flatMap((point) => point.map((value) => round(value, 100_000))),
    triangles: onBody.triangles,
    givePercent: onBody.givePercent.map((value) => round(value, 100)),
  }));
  return { name: 'on-body.json', bytes: new TextEncoder().encode(JSON.stringify({ pieces: told })) };
}

/** Rows as CSV (RFC 4180), first the heads. */
export function writeCsv(rows: readonly (readonly (string | number)[])[]): Uint8Array<ArrayBuffer> {
  const cell = (value: string | number): string => {
    const words = String(value);
    // A sheet program would take such a beginning for a formula.
    const safe = typeof value === 'string' && /^[=+\-@]/.test(words) ? `'${words}` : words;
    return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
  };
  return new TextEncoder().encode(rows.map((row) => `${row.map(cell).join(',')}\r\n`).join(''));
}
