/** Several placed parts of one file as one mesh, within a bound on what a small file may blow up to. */
import type { Mesh } from '../../shared-types/mesh.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import { give } from './trouble.ts';

/** Coordinates and corners together; some 14 million faces, half a gigabyte. */
const NUMBERS_LIMIT = 64_000_000;

/** Counts what parts, placed once or many times, would take; asked before it is allocated. */
export class Budget {
  #left = NUMBERS_LIMIT;
  readonly #run: RunContext;
  constructor(run: RunContext) {
    this.#run = run;
  }
  /** A point where the user's stop takes effect, for loops inside one part. */
  breathe(): void {
    this.#run.step('read', 0, 1);
  }
  take(numbers: number): void {
    this.breathe();
    this.#left -= numbers;
    if (this.#left < 0) {
      give('file.unsupported', {
        what: 'parts repeated to more faces than fit in memory',
        remedy: 'export the scan as one mesh with fewer faces',
      });
    }
  }
}

/** One mesh of several; colours are kept when every part has them. */
export function join(parts: readonly Mesh[]): Mesh {
  const vertices = parts.reduce((sum, part) => sum + part.positions.length, 0);
  const corners = parts.reduce((sum, part) => sum + part.triangles.length, 0);
  const positions = new Float64Array(vertices);
  const triangles = new Uint32Array(corners);
  const colours =
    parts.length > 0 && parts.every((part) => part.colours !== undefined) ? new Uint8Array(vertices) : undefined;
  let v = 0;
  let c = 0;
  for (const part of parts) {
    positions.set(part.positions, v);
    colours?.set(part.colours as Uint8Array, v);
    for (let i = 0; i < part.triangles.length; i++) triangles[c + i] = part.triangles[i] + v / 3;
    v += part.positions.length;
    c += part.triangles.length;
  }
  return colours === undefined ? { positions, triangles } : { positions, triangles, colours };
}
