/** Neighbours, edge lengths and angles of a patch: everything about it that ways along it need. */
import { findTwins } from '../mesh/twins.ts';
import type { SurfacePatch } from './surface-patch.ts';

/** A full turn is told from more than one down to this, radians. */
const TURN_ROUNDING_RAD = 2 ** -36;

/** The half-edge after `h` in its face. */
export function next(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}

/** Corner c of face f is half-edge 3f+c, which runs to the next corner; in its own plane along x from the origin. */
export class PatchShape {
  readonly patch: SurfacePatch;
  readonly twin: Int32Array;
  /** Edge lengths, and the apex of each half-edge's face in the half-edge's own plane, y not below 0. */
  readonly edge: Float64Array;
  readonly apexX: Float64Array;
  readonly apexY: Float64Array;
  /** Where shortest paths may bend: vertices with more than a full turn around them, and those on a border. */
  readonly bends: Uint8Array;
  /** `leaving` from start[v] to start[v + 1]: the half-edges that start at vertex v. */
  readonly start: Uint32Array;
  readonly leaving: Uint32Array;
  /** Extent along x, y, z. */
  readonly size: readonly [number, number, number];

  constructor(patch: SurfacePatch) {
    this.patch = patch;
    const { positions: p } = patch;
    const t = Uint32Array.from(patch.triangles);
    const count = p.length / 3;
    this.twin = findTwins(t, count).twin;
    this.edge = new Float64Array(t.length);
    this.apexX = new Float64Array(t.length);
    this.apexY = new Float64Array(t.length);
    this.bends = new Uint8Array(count);
    this.start = new Uint32Array(count + 1);
    this.leaving = new Uint32Array(t.length);
    for (let h = 0; h < t.length; h++) this.start[t[h] + 1]++;
    for (let v = 0; v < count; v++) this.start[v + 1] += this.start[v];
    const fill = this.start.slice(0, count);
    const turn = new Float64Array(count);
    const between = (a: number, b: number): number =>
      Math.sqrt((p[a * 3] - p[b * 3]) ** 2 + (p[a * 3 + 1] - p[b * 3 + 1]) ** 2 + (p[a * 3 + 2] - p[b * 3 + 2]) ** 2);
    for (let h = 0; h < t.length; h++) {
      const a = t[h],
        b = t[next(h)],
        c = t[next(next(h))];
      this.leaving[fill[a]++] = h;
      const ab = between(a, b),
        bc = between(b, c),
        ca = between(c, a);
      this.edge[h] = ab;
      const x = ab > 0 ? (ab * ab + ca * ca - bc * bc) / (2 * ab) : 0;
      this.apexX[h] = x;
      this.apexY[h] = Math.sqrt(Math.max(0, ca * ca - x * x));
      turn[a] += Math.atan2(this.apexY[h], x);
      if (!this.goesOn(h)) this.bends[a] = this.bends[b] = 1;
    }
    for (let v = 0; v < count; v++) if (turn[v] > 2 * Math.PI + TURN_ROUNDING_RAD) this.bends[v] = 1;
    const low = [Infinity, Infinity, Infinity],
      high = [-Infinity, -Infinity, -Infinity];
    for (let at = 0; at < p.length; at++) {
      low[at % 3] = Math.min(low[at % 3], p[at]);
      high[at % 3] = Math.max(high[at % 3], p[at]);
    }
    this.size = [high[0] - low[0], high[1] - low[1], high[2] - low[2]];
  }

  /** Whether the surface goes on across a half-edge: not at a border, nor where its faces look different ways. */
  goesOn(h: number): boolean {
    const twin = this.twin[h];
    return twin >= 0 && this.patch.triangles[twin] === this.patch.triangles[next(h)];
  }
}
