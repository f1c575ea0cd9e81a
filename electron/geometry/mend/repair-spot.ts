/**
 * Making one faulty spot of a closed surface sound: its vertices are drawn toward their neighbours, or its faces cut
 * out and the rim filled in several ways, in a region that grows until something holds. A way is taken only where
 * every new face was tested against all faces standing, so each spot repaired brings the whole nearer to sound.
 */
import { fairPatch, refinePatch, type Patch } from './fair-patch.ts';
import { fanOf, fillLoop, takenChords } from './fill-loop.ts';
import type { LiveSurface } from './live-surface.ts';
import { growRings, innerVertices, roundOff, type Region } from './region.ts';

/** Rings round the spot, one after the other until something holds. */
const RINGS = [0, 1, 2, 3, 4, 6, 8, 11, 15, 20] as const;
/** Rounds of relaxing after which the spot is looked at. */
const RELAX_LOOKS = [1, 2, 4, 8, 16] as const;
/** Share of the way to the neighbours' mean that one round goes. */
const RELAX_STEP = 0.6;
/** A region with a larger share of the faces is no spot. */
const MOST_SHARE = 0.25;
/** Pairs counted before a trial is given up. */
const ENOUGH_FAULTS = 400;
/** Longest rim cut out. */
const LONGEST_RIM = 600;

const LONGEST_FAIR = 120;
/** New vertices that a patch is refined to, about: a larger one has larger faces. */
const MOST_REFINED = 1200;

export type Repaired = 'relaxed' | 'cut';

/** How a rim may be filled; smoother ways first. */
const WAYS = ['fair', 'plain', 'membrane', 'fan'] as const;
type Way = (typeof WAYS)[number];

export interface Repair {
  readonly how: Repaired;
  readonly relaxedVertices: number;
  readonly cutFaces: number;
  /** Pairs of faces that meet still: a part of the spot that is to be repaired by itself. */
  readonly left: readonly number[];
}

/** A cut that leaves this share of the pairs is kept, and what is left becomes spots of its own. */
const PROGRESS_SHARE = 0.5;

/**
 * Repair the spot of these pairs of faces, at least in part, or leave it as it was and return nothing. `standing` is the
 * number of faces of the surface; `tick` is called between trials.
 */
export function repairSpot(
  surface: LiveSurface,
  pairs: readonly number[],
  standing: number,
  tick: () => void,
): Repair | undefined {
  const seeds = new Set(pairs);
  for (const rings of RINGS) {
    const grown = growRings(surface, seeds, rings + 1);
    if (rings > 0 && grown.size > MOST_SHARE * standing) return undefined;
    const relaxed = relax(surface, grown, tick);
    if (relaxed > 0) return { how: 'relaxed', relaxedVertices: relaxed, cutFaces: 0, left: [] };
    const region = roundOff(surface, growRings(surface, seeds, rings));
    if (region === undefined || region.loops.some((loop) => loop.length > LONGEST_RIM)) return undefined;
    const cut: Repair = { how: 'cut', relaxedVertices: 0, cutFaces: region.faces.length, left: [] };
    let best: { readonly way: Way; readonly faults: number[] } | undefined;
    const longest = region.loops.reduce((most, loop) => Math.max(most, loop.length), 0);
    for (const way of WAYS) {
      // Over a long rim the surface is not known well enough to be continued.
      if (way === 'fair' && longest > LONGEST_FAIR) continue;
      tick();
      const faults = cutAndFill(surface, region, way);
      if (faults.length === 0) {
        surface.keep();
        return cut;
      }
      surface.takeBack();
      if (best === undefined || faults.length < best.faults.length) best = { way, faults };
    }
    if (best === undefined) return undefined;
    if (best.faults.length <= PROGRESS_SHARE * pairs.length) {
      // All of them this time: what is kept must be known whole.
      const left = cutAndFill(surface, region, best.way, Infinity);
      surface.keep();
      return { ...cut, left };
    }
    // What the new faces ran into belongs to the spot.
    for (const face of best.faults) if (face < surface.faceCount) seeds.add(face);
  }
  return undefined;
}

/** Draw the inner vertices of the faces toward their neighbours; how many moved, 0 when that does not help. */
function relax(surface: LiveSurface, faces: ReadonlySet<number>, tick: () => void): number {
  const { triangles: t, positions: p } = surface;
  const inner = innerVertices(surface, faces, faces);
  if (inner.length === 0) return 0;
  const at = new Map<number, number>();
  inner.forEach((v, i) => at.set(v, i));
  const neighbours = inner.map((v) => {
    const around: number[] = [];
    surface.forCorners(v, (corner) => around.push(t[corner % 3 === 2 ? corner - 2 : corner + 1]));
    return around;
  });
  const points = new Float64Array(inner.length * 3);
  inner.forEach((v, i) => points.set(p.subarray(v * 3, v * 3 + 3), i * 3));
  const next = new Float64Array(points.length);
  const replaced = [...faces];
  const renamed = replaced.flatMap((face) =>
    [0, 1, 2].map((k) => {
      const v = t[face * 3 + k];
      const i = at.get(v);
      return i === undefined ? v : surface.vertexCount + i;
    }),
  );
  let round = 0;
  let fewest = Infinity;
  for (const look of RELAX_LOOKS) {
    for (; round < look; round++) {
      for (let i = 0; i < inner.length; i++) {
        for (let k = 0; k < 3; k++) {
          let sum = 0;
          for (const w of neighbours[i]) {
            const j = at.get(w);
            sum += j === undefined ? p[w * 3 + k] : points[j * 3 + k];
          }
          next[i * 3 + k] = points[i * 3 + k] + RELAX_STEP * (sum / neighbours[i].length - points[i * 3 + k]);
        }
      }
      points.set(next);
    }
    tick();
    surface.attempt(replaced, Array.from(points, Math.fround), inner, renamed);
    const faults = surface.faultsOfTrial(ENOUGH_FAULTS).length;
    if (faults === 0) {
      surface.keep();
      return inner.length;
    }
    surface.takeBack();
    // Relaxing that no longer helps only moves the surface.
    if (faults > 0.8 * fewest) break;
    fewest = faults;
  }
  return 0;
}

/** Try to cut the region out and fill its rims in one way; what is wrong then. */
function cutAndFill(surface: LiveSurface, region: Region, way: Way, limit = ENOUGH_FAULTS): number[] {
  const points: number[] = [];
  const like: number[] = [];
  const faces: number[] = [];
  const gone = new Set(region.faces);
  for (const loop of region.loops) {
    const patch = fillRim(surface, gone, loop, way);
    const base = surface.vertexCount + points.length / 3;
    for (let i = loop.length; i < patch.positions.length / 3; i++) {
      for (let k = 0; k < 3; k++) points.push(Math.fround(patch.positions[i * 3 + k]));
      like.push(loop[0]);
    }
    for (const i of patch.faces) faces.push(i < loop.length ? loop[i] : base + i - loop.length);
  }
  surface.attempt(region.faces, points, like, faces);
  return surface.faultsOfTrial(limit);
}

/** A patch over one rim. */
function fillRim(surface: LiveSurface, gone: ReadonlySet<number>, loop: readonly number[], way: Way): Patch {
  const { positions: p, triangles: t } = surface;
  const n = loop.length;
  const outside = loop.map((v) => {
    const around = new Set<number>();
    surface.forCorners(v, (corner) => {
      if (gone.has((corner / 3) | 0)) return;
      for (let k = 1; k < 3; k++) around.add(t[corner - (corner % 3) + ((corner + k) % 3)]);
    });
    return around;
  });
  const where = new Map(loop.map((v, i) => [v, i]));
  const isTaken = takenChords(loop, (v) => outside[where.get(v) as number]);
  const filling = way === 'fan' ? fanOf(n) : fillLoop(p, Uint32Array.from(loop), false, isTaken);
  const patch: Patch = { positions: [], faces: filling.faces };
  for (const v of loop) patch.positions.push(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
  if (filling.way === 'fan')
    for (let k = 0; k < 3; k++) patch.positions.push(loop.reduce((sum, v) => sum + p[v * 3 + k], 0) / n);
  if (way === 'plain' || n < 4) return patch;
  const scales = Float64Array.from(loop, (v, i) => {
    let sum = 0;
    for (const w of outside[i])
      sum += Math.hypot(p[v * 3] - p[w * 3], p[v * 3 + 1] - p[w * 3 + 1], p[v * 3 + 2] - p[w * 3 + 2]);
    return sum / Math.max(1, outside[i].size);
  });
  coarsen(patch, scales);
  refinePatch(patch, scales, isTaken);
  if (way === 'fair') {
    const outer = loop.map((_, i) => {
      const list: number[] = [];
      for (const w of outside[i])
        if (w !== loop[(i + 1) % n] && w !== loop[(i + n - 1) % n]) list.push(p[w * 3], p[w * 3 + 1], p[w * 3 + 2]);
      return list;
    });
    fairPatch(patch, n, { outer });
  } else {
    smoothMembrane(patch, n);
  }
  return patch;
}

/** Enlarge the scales so that refining stops at MOST_REFINED vertices or so. */
function coarsen({ positions: p, faces }: Patch, scales: Float64Array): void {
  let area = 0;
  for (let f = 0; f < faces.length; f += 3) {
    const [a, b, c] = [faces[f] * 3, faces[f + 1] * 3, faces[f + 2] * 3];
    const u = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const v = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    area += Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
  }
  const mean = scales.reduce((sum, x) => sum + x, 0) / scales.length;
  // A vertex of a mesh of equilateral faces of edge e has sqrt(3)/2 e^2 of the area.
  const wanted = area / (0.866 * mean * mean);
  if (wanted > MOST_REFINED) scales.forEach((x, i) => (scales[i] = x * Math.sqrt(wanted / MOST_REFINED)));
}

const MEMBRANE_ROUNDS = 60;

/** Place the points after the first `fixed` at the mean of their neighbours, in rounds. */
function smoothMembrane({ positions: p, faces }: Patch, fixed: number): void {
  const count = p.length / 3;
  const neighbours: Set<number>[] = Array.from({ length: count }, () => new Set());
  for (let f = 0; f < faces.length; f += 3)
    for (let k = 0; k < 3; k++) neighbours[faces[f + k]].add(faces[f + ((k + 1) % 3)]).add(faces[f + ((k + 2) % 3)]);
  for (let round = 0; round < MEMBRANE_ROUNDS; round++) {
    for (let v = fixed; v < count; v++) {
      for (let k = 0; k < 3; k++) {
        let sum = 0;
        for (const w of neighbours[v]) sum += p[w * 3 + k];
        p[v * 3 + k] = sum / neighbours[v].size;
      }
    }
  }
}
