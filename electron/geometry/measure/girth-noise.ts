/**
 * How much longer a tape reads on a rough section than on the smooth one below: it lies on what stands out.
 *
 * The section's own roughness, what a local parabola leaves of it, is laid on the smoothed section again, shifted along
 * it in turn; the mean by which that lengthens the hull is the estimate, its spread the uncertainty. (The idea of
 * surrogates made by shifting a record against itself; the figures are checked against bodies roughened by a known
 * amount.) Whether the roughness is the scan's or the body's own, as of hair under a cap, no mesh can tell.
 */
import { convexHull } from './convex-hull.ts';
import { parabolaWeight } from './parabola.ts';

/** Points the section is resampled to. */
const SAMPLES = 720;
/** Half the width of the local parabola, in samples: on a head, 12 mm. What is wider counts as shape. */
const HALF_WIDTH = 15;
const SHIFTS = 24;
/** Roughness beyond so many times the median is an edge, an ear or a fold, not noise. */
const FOLD = 4;

export interface GirthNoise {
  /** By how much the girth of the rough section exceeds that of the smooth one, mesh units. */
  readonly excess: number;
  /** Standard deviation that the roughness gives the girth, mesh units. */
  readonly scatter: number;
}

/** Of a closed line given as xy pairs in order. O(samples · shifts). */
export function girthNoise(line: readonly { readonly x: number; readonly y: number }[]): GirthNoise {
  const even = resampleClosed(line);
  const smooth = even.map((_, i) => {
    let [x, y] = [0, 0];
    for (let k = -HALF_WIDTH; k <= HALF_WIDTH; k++) {
      const w = parabolaWeight(k, HALF_WIDTH);
      const q = even[(i + k + SAMPLES) % SAMPLES];
      x += w * q.x;
      y += w * q.y;
    }
    return { x, y };
  });
  const normals = smooth.map((_, i) => {
    const a = smooth[(i + SAMPLES - 1) % SAMPLES],
      b = smooth[(i + 1) % SAMPLES];
    const length = Math.hypot(b.x - a.x, b.y - a.y) || 1;
    return { x: (b.y - a.y) / length, y: (a.x - b.x) / length };
  });
  const off = even.map((q, i) => (q.x - smooth[i].x) * normals[i].x + (q.y - smooth[i].y) * normals[i].y);
  const median = off.map(Math.abs).toSorted((a, b) => a - b)[SAMPLES >> 1];
  const rough = off.map((d) => (Math.abs(d) <= FOLD * median ? d : 0));
  let crossings = 0;
  for (let i = 0; i < SAMPLES; i++) if (rough[i] * rough[(i + 1) % SAMPLES] < 0) crossings++;
  // A parabola takes 9/4 of a sample's share of the noise with it (its weight at the middle times their number).
  const independent = Math.max(3, (crossings * (2 * HALF_WIDTH + 1)) / SAMPLES);
  const restored = 1 / Math.sqrt(1 - PARABOLA_MIDDLE / Math.max(independent, 2 * PARABOLA_MIDDLE));
  const plain = hullLength(smooth);
  const excesses = Array.from({ length: SHIFTS }, (_, turn) => {
    const shift = Math.round(((turn + 0.5) * SAMPLES) / SHIFTS);
    return (
      hullLength(
        smooth.map((q, i) => {
          const d = restored * rough[(i + shift) % SAMPLES];
          return { x: q.x + d * normals[i].x, y: q.y + d * normals[i].y };
        }),
      ) - plain
    );
  });
  const excess = Math.max(0, excesses.reduce((sum, one) => sum + one, 0) / SHIFTS);
  const scatter = Math.sqrt(excesses.reduce((sum, one) => sum + (one - excess) ** 2, 0) / (SHIFTS - 1));
  return { excess, scatter };
}

const PARABOLA_MIDDLE = 9 / 4;

function hullLength(points: readonly { readonly x: number; readonly y: number }[]): number {
  const hull = convexHull(points);
  return hull.reduce((sum, a, i) => {
    const b = hull[(i + 1) % hull.length];
    return sum + Math.hypot(b.x - a.x, b.y - a.y);
  }, 0);
}

function resampleClosed(line: readonly { readonly x: number; readonly y: number }[]): { x: number; y: number }[] {
  const links = line.map((a, i) => {
    const b = line[(i + 1) % line.length];
    return Math.hypot(b.x - a.x, b.y - a.y);
  });
  const whole = links.reduce((sum, one) => sum + one, 0);
  let at = 0;
  let passed = 0;
  return Array.from({ length: SAMPLES }, (_, i) => {
    const wanted = (i / SAMPLES) * whole;
    while (passed + links[at] < wanted && at < line.length - 1) passed += links[at++];
    const share = links[at] > 0 ? Math.min(1, (wanted - passed) / links[at]) : 0;
    const a = line[at],
      b = line[(at + 1) % line.length];
    return { x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y) };
  });
}
