/** Edges too short to be of use, merged into a vertex where no face turns over. */
import type { FootedSurface } from './footed-surface.ts';

/** Where two vertices are merged, a face may turn by acos of this, and be this thin. */
const MERGE_COSINE = 0.5;
const MERGE_SINE = 0.02;
/** A face with a thinner angle than this is a needle. */
export const LEAST_ANGLE_SINE = 0.05;

/**
 * Merge the ends of edges shorter than `shortest` at the end on more sheets, or else the one whose distance to its foot
 * is nearer to what is wanted. Edges between two faces marked good are left. Rewrites corners in `surface.t`; gives the
 * faces that changed and those that are to be taken out. O(faces).
 */
export function mergeShortEdges(
  surface: FootedSurface,
  shortest: number,
  good: Uint8Array,
): { changed: readonly number[]; dead: ReadonlySet<number> } {
  const { p, t, vertexCount, sheetCount, wanted, sizes } = surface;
  const missOf = (v: number): number => Math.abs(surface.heightOf(v) - wanted);
  const short: number[] = [];
  for (let h = 0; h < t.length; h++) {
    if (good[(h / 3) | 0] === 1) continue;
    const a = t[h],
      b = t[h - (h % 3) + ((h + 1) % 3)];
    if (nearer(p, a, b, shortest * Math.min(sizes[a], sizes[b]))) short.push(Math.min(a, b), Math.max(a, b));
  }
  const changed: number[] = [];
  const dead = new Set<number>();
  if (short.length === 0) return { changed, dead };
  const involved = new Uint8Array(vertexCount);
  for (const v of short) involved[v] = 1;
  const corners = new Map<number, number[]>();
  for (let h = 0; h < t.length; h++) {
    if (involved[t[h]] === 0) continue;
    const list = corners.get(t[h]);
    if (list === undefined) corners.set(t[h], [h]);
    else list.push(h);
  }
  const locked = new Set<number>();
  for (let i = 0; i < short.length; i += 2) {
    const [one, two] = [short[i], short[i + 1]];
    const more = sheetCount[two] - sheetCount[one];
    const swap = more > 0 || (more === 0 && missOf(one) > missOf(two));
    const stay = swap ? two : one,
      go = swap ? one : two;
    const ofGo = corners.get(go) ?? [],
      ofStay = corners.get(stay) ?? [];
    const ringGo = ringOf(t, ofGo),
      ringStay = ringOf(t, ofStay);
    let shared = 0;
    for (const v of ringGo) if (ringStay.has(v)) shared++;
    if (shared !== 2 || locked.has(go) || locked.has(stay)) continue;
    if ([...ringGo, ...ringStay].some((v) => locked.has(v))) continue;
    const sound = ofGo.every((h) => {
      const f = h - (h % 3);
      const a = t[f + ((h + 1) % 3)],
        b = t[f + ((h + 2) % 3)];
      return a === stay || b === stay || turnCosine(p, a, b, go, stay, MERGE_SINE) > MERGE_COSINE;
    });
    if (!sound) continue;
    for (const h of ofGo) {
      const f = h - (h % 3);
      changed.push(f / 3);
      if (t[f] === stay || t[f + 1] === stay || t[f + 2] === stay) dead.add(f / 3);
      else t[h] = stay;
    }
    for (const v of ringGo) locked.add(v);
    for (const v of ringStay) locked.add(v);
  }
  return { changed, dead };
}

function nearer(p: Float64Array, a: number, b: number, than: number): boolean {
  const x = p[a * 3] - p[b * 3],
    y = p[a * 3 + 1] - p[b * 3 + 1],
    z = p[a * 3 + 2] - p[b * 3 + 2];
  return x * x + y * y + z * z < than * than;
}

/** The other corners of the faces with these corners. */
export function ringOf(t: Uint32Array, corners: Iterable<number>): Set<number> {
  const ring = new Set<number>();
  for (const h of corners) {
    const f = h - (h % 3);
    ring.add(t[f + ((h + 1) % 3)]);
    ring.add(t[f + ((h + 2) % 3)]);
  }
  return ring;
}

/** Cosine between the normals of abo and abm; -1 for a needle. */
export function turnCosine(
  p: Float64Array,
  a: number,
  b: number,
  o: number,
  m: number,
  leastSine = LEAST_ANGLE_SINE,
): number {
  const ex = p[b * 3] - p[a * 3],
    ey = p[b * 3 + 1] - p[a * 3 + 1],
    ez = p[b * 3 + 2] - p[a * 3 + 2];
  const ox = p[o * 3] - p[a * 3],
    oy = p[o * 3 + 1] - p[a * 3 + 1],
    oz = p[o * 3 + 2] - p[a * 3 + 2];
  const mx = p[m * 3] - p[a * 3],
    my = p[m * 3 + 1] - p[a * 3 + 1],
    mz = p[m * 3 + 2] - p[a * 3 + 2];
  const nx = ey * oz - ez * oy,
    ny = ez * ox - ex * oz,
    nz = ex * oy - ey * ox;
  const wx = ey * mz - ez * my,
    wy = ez * mx - ex * mz,
    wz = ex * my - ey * mx;
  const w = Math.hypot(wx, wy, wz);
  if (w < leastSine * Math.max(ex * ex + ey * ey + ez * ez, mx * mx + my * my + mz * mz)) return -1;
  return (nx * wx + ny * wy + nz * wz) / (w * Math.hypot(nx, ny, nz));
}
