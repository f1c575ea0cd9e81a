/** Where gauge bands lie on the body they are cut from: the edges of each as lines round it. Pure. */
import type { DrawnLine, Surface } from '../../controls/drawing.ts';
import { cutLines, sheetOf } from '../../viewport/section-outline.ts';
import { levelsOf, type GaugePlan } from './make-plan.ts';

export interface BandLines {
  readonly lines: readonly DrawnLine[];
  /** xyz triples along each line, by its id. */
  readonly ways: ReadonlyMap<string, Float64Array>;
  /** Levels at which no whole band is found, mm. */
  readonly missed: readonly number[];
  /** From the body's lowest to its highest point, mm. */
  readonly reachMm: readonly [low: number, high: number];
}

/** More levels than this are not drawn; the verb takes no more either. */
const MOST_LEVELS = 20;

/** Upper and lower edge of each band on its outermost line. Undefined without a body or levels. O(levels faces). */
export function bandLines(plan: GaugePlan, body: Surface | undefined): BandLines | undefined {
  const levels = levelsOf(plan.levels)?.slice(0, MOST_LEVELS);
  if (body === undefined || levels === undefined || plan.bandMm === undefined) return undefined;
  const reach: [number, number] = [Infinity, -Infinity];
  for (let z = 2; z < body.positions.length; z += 3) {
    reach[0] = Math.min(reach[0], body.positions[z]);
    reach[1] = Math.max(reach[1], body.positions[z]);
  }
  const lines: DrawnLine[] = [];
  const ways = new Map<string, Float64Array>();
  const missed: number[] = [];
  for (const level of levels) {
    const edges = [level + plan.bandMm / 2, level - plan.bandMm / 2].map((at) => outermost(body, at));
    if (edges.includes(undefined)) missed.push(level);
    for (const [k, way] of edges.entries()) {
      const id = `band ${level} ${k}`;
      if (way === undefined || ways.has(id)) continue;
      ways.set(id, way);
      lines.push({ id, name: `${level} mm, ${k === 0 ? 'upper' : 'lower'} edge`, places: [], isClosed: true });
    }
  }
  return { lines, ways, missed, reachMm: reach };
}

/** The longest line round a body at a height, as xyz triples. */
function outermost({ positions, triangles }: Surface, heightMm: number): Float64Array | undefined {
  const sheet = sheetOf([0, 0, heightMm], [0, 0, 1]);
  let [best, length] = [undefined as Float64Array | undefined, 0];
  for (const { points } of cutLines(positions, triangles, sheet)) {
    let round = 0;
    for (let i = 2; i < points.length; i += 2) {
      round += Math.hypot(points[i] - points[i - 2], points[i + 1] - points[i - 1]);
    }
    if (round > length) [best, length] = [points, round];
  }
  if (best === undefined) return undefined;
  const { origin, right, up } = sheet;
  const way = new Float64Array((best.length / 2) * 3);
  for (let i = 0; i < best.length / 2; i++) {
    for (let c = 0; c < 3; c++) way[3 * i + c] = origin[c] + best[2 * i] * right[c] + best[2 * i + 1] * up[c];
  }
  return way;
}
