/**
 * Vertices of a fold narrower than a cube that have overtaken one another, merged away before its crease is laid.
 *
 * Each vertex lies on its own wall of the fold, so what is merged along a wall stays on it; what is left crosses the
 * fold in order, and its edges can be split down to the crease however deep that lies.
 */
import type { FootedSurface } from './footed-surface.ts';
import { ringOf } from './merge-short.ts';

/**
 * A face is upright when it looks, within acos of this, the way its corners do in the mean. Measured: 0.1 lays more of
 * a limb's fold, but spoils a groove of 15 degrees and a waist; 0 is worse than both.
 */
const UPRIGHT_COSINE = -0.3;
/** Faces left by a merge are no needles. */
const MERGED_SINE = 0.02;
const ROUNDS = 12;

/**
 * Merge ends of edges of faces that look the wrong way, where fewer of those are left by it. Rewrites `surface.t`;
 * gives how many vertices went. O(faces) a round.
 */
export function untangle(surface: FootedSurface): number {
  let gone = 0;
  for (let round = 0; round < ROUNDS; round++) {
    const count = untangleOnce(surface);
    gone += count;
    if (count === 0) break;
  }
  return gone;
}

function untangleOnce(surface: FootedSurface): number {
  const { t } = surface;
  const wrong: number[] = [];
  for (let f = 0; f < t.length; f += 3) if (!isUpright(surface, t[f], t[f + 1], t[f + 2], 0)) wrong.push(f);
  if (wrong.length === 0) return 0;
  const { first, list } = surface.corners();
  const locked = new Uint8Array(surface.vertexCount);
  const dead = new Uint8Array(t.length / 3);
  let merged = 0;
  for (const f of wrong) {
    const edges = [0, 1, 2].map((k) => [t[f + k], t[f + ((k + 1) % 3)]] as const);
    const ways = edges
      .toSorted((a, b) => surface.near(...a) - surface.near(...b))
      .flatMap(([a, b]) => [
        [a, b],
        [b, a],
      ]);
    for (const [go, stay] of ways) {
      const ofGo = list.subarray(first[go], first[go + 1]),
        ofStay = list.subarray(first[stay], first[stay + 1]);
      const ring = new Set([...ringOf(t, ofGo), ...ringOf(t, ofStay)]);
      if ([...ring].some((v) => locked[v] === 1) || !isSoundMerge(surface, go, stay, ofGo, ofStay)) continue;
      for (const h of ofGo) {
        const g = h - (h % 3);
        if (t[g] === stay || t[g + 1] === stay || t[g + 2] === stay) dead[g / 3] = 1;
        else t[h] = stay;
      }
      for (const v of ring) locked[v] = 1;
      merged++;
      break;
    }
  }
  surface.t = t.filter((_, h) => dead[(h / 3) | 0] === 0);
  return merged;
}

/** Whether merging `go` into `stay` keeps the mesh a manifold and leaves fewer faces that look the wrong way. */
function isSoundMerge(surface: FootedSurface, go: number, stay: number, ofGo: Int32Array, ofStay: Int32Array): boolean {
  const { t } = surface;
  const around = ringOf(t, ofStay);
  let shared = 0;
  for (const v of ringOf(t, ofGo)) if (around.has(v)) shared++;
  if (shared !== 2) return false;
  let before = 0,
    after = 0;
  for (const h of ofGo) {
    const f = h - (h % 3);
    const [a, b] = [t[f + ((h + 1) % 3)], t[f + ((h + 2) % 3)]];
    if (!isUpright(surface, go, a, b, 0)) before++;
    if (a !== stay && b !== stay && !isUpright(surface, stay, a, b, MERGED_SINE)) after++;
  }
  return after < before;
}

/** Whether the face abc looks, within acos of `cosine`, the way its corners do in the mean, and is no needle. */
export function isUpright(
  surface: FootedSurface,
  a: number,
  b: number,
  c: number,
  sine: number,
  cosine = UPRIGHT_COSINE,
): boolean {
  const { p } = surface;
  const ux = p[b * 3] - p[a * 3],
    uy = p[b * 3 + 1] - p[a * 3 + 1],
    uz = p[b * 3 + 2] - p[a * 3 + 2];
  const vx = p[c * 3] - p[a * 3],
    vy = p[c * 3 + 1] - p[a * 3 + 1],
    vz = p[c * 3 + 2] - p[a * 3 + 2];
  const nx = uy * vz - uz * vy,
    ny = uz * vx - ux * vz,
    nz = ux * vy - uy * vx;
  const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
  const longest = Math.max(surface.near(a, b), surface.near(b, c), surface.near(c, a));
  if (!(size > sine * longest * longest)) return false;
  way.fill(0);
  surface.addWay(a, way);
  surface.addWay(b, way);
  surface.addWay(c, way);
  const [x, y, z] = way;
  return x * nx + y * ny + z * nz > cosine * size * Math.sqrt(x * x + y * y + z * z);
}

/** Scratch of `isUpright`. */
const way = new Float64Array(3);
