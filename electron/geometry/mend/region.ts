/** The faces round a fault, rounded off so that what is left has simple rims. */
import type { LiveSurface } from './live-surface.ts';
import { nextHalfedge, previousHalfedge } from '../mesh/twins.ts';

export interface Region {
  readonly faces: readonly number[];
  /** Rims, each in the direction in which new faces must run. */
  readonly loops: readonly (readonly number[])[];
  /** Vertices that only the region's faces use. */
  readonly inner: readonly number[];
  /** Whether the region reaches an open edge of the surface. */
  readonly reachesBorder: boolean;
}

/** An island inside a region is taken with it while it has fewer faces than this times the region, plus some. */
const ISLAND_FACTOR = 2;
const ISLAND_LEAST = 64;

/** Faces within `rings` rings of faces round the seeds, seeds included. O(faces returned). */
export function growRings(surface: LiveSurface, seeds: Iterable<number>, rings: number): Set<number> {
  const region = new Set<number>();
  for (const face of seeds) if (surface.alive[face]) region.add(face);
  let front = [...region];
  for (let ring = 0; ring < rings; ring++) {
    const vertices = new Set<number>();
    for (const face of front) for (let k = 0; k < 3; k++) vertices.add(surface.triangles[face * 3 + k]);
    front = [];
    for (const v of vertices)
      surface.forCorners(v, (corner) => {
        const face = (corner / 3) | 0;
        if (region.has(face)) return;
        region.add(face);
        front.push(face);
      });
  }
  return region;
}

/** Vertices that only faces of the set use. */
export function innerVertices(surface: LiveSurface, faces: Iterable<number>, set: ReadonlySet<number>): number[] {
  const seen = new Set<number>();
  const inner: number[] = [];
  for (const face of faces) {
    for (let k = 0; k < 3; k++) {
      const v = surface.triangles[face * 3 + k];
      if (seen.has(v)) continue;
      seen.add(v);
      let all = true;
      surface.forCorners(v, (corner) => {
        if (!set.has((corner / 3) | 0)) all = false;
      });
      if (all) inner.push(v);
    }
  }
  return inner;
}

/**
 * The set grown (in place) until every vertex of its rim has one fan of faces outside and no small island is left in
 * it; nothing where no face would be left outside. O(faces).
 */
export function roundOff(surface: LiveSurface, set: Set<number>): Region | undefined {
  if (set.size === 0) return undefined;
  for (let round = 0; ; round++) {
    const rim = closeFans(surface, set);
    if (rim.loops.length === 0 && !rim.reachesBorder) return undefined;
    if (rim.loops.length > 1 && round < 8 && takeIslands(surface, set, rim.loops)) continue;
    return { faces: [...set], ...rim, inner: innerVertices(surface, set, set) };
  }
}

/** Take in all but the largest fan outside at each rim vertex, until there is one; then the rims. */
function closeFans(surface: LiveSurface, set: Set<number>): Pick<Region, 'loops' | 'reachesBorder'> {
  const t = surface.triangles;
  let waiting = [...set];
  while (waiting.length > 0) {
    const vertices = new Set<number>();
    for (const face of waiting) for (let k = 0; k < 3; k++) vertices.add(t[face * 3 + k]);
    waiting = [];
    for (const v of vertices) {
      for (const face of smallFansOutside(surface, set, v)) {
        set.add(face);
        waiting.push(face);
      }
    }
  }
  const next = new Map<number, number>();
  let reachesBorder = false;
  for (const face of set) {
    for (let h = face * 3; h < face * 3 + 3; h++) {
      const a = t[h],
        b = t[nextHalfedge(h)];
      const other = surface.faceWithEdge(b, a);
      if (other < 0) reachesBorder = true;
      else if (!set.has(other)) next.set(a, b);
    }
  }
  const loops: number[][] = [];
  const onLoop = new Set<number>();
  const hasBefore = new Set(next.values());
  for (const start of next.keys()) {
    if (onLoop.has(start)) continue;
    const loop: number[] = [];
    for (let v: number | undefined = start; v !== undefined && !onLoop.has(v); v = next.get(v)) {
      onLoop.add(v);
      loop.push(v);
    }
    // A chain that ends at an open border is no rim to fill.
    if (next.get(loop[loop.length - 1]) === start && loop.every((v) => hasBefore.has(v))) loops.push(loop);
  }
  return { loops, reachesBorder };
}

/** Faces at v outside the set, but for the largest fan. */
function smallFansOutside(surface: LiveSurface, set: ReadonlySet<number>, v: number): number[] {
  const t = surface.triangles;
  const byEntry = new Map<number, number>();
  const leaving = new Set<number>();
  const corners: number[] = [];
  surface.forCorners(v, (corner) => {
    if (set.has((corner / 3) | 0)) return;
    corners.push(corner);
    byEntry.set(t[previousHalfedge(corner)], corner);
    leaving.add(t[nextHalfedge(corner)]);
  });
  if (corners.length < 2) return [];
  const fans: number[][] = [];
  for (const corner of corners) {
    if (leaving.has(t[previousHalfedge(corner)])) continue;
    const fan: number[] = [];
    for (let c: number | undefined = corner; c !== undefined && fan.length < corners.length; ) {
      fan.push((c / 3) | 0);
      c = byEntry.get(t[nextHalfedge(c)]);
    }
    fans.push(fan);
  }
  if (fans.length < 2) return [];
  fans.sort((a, b) => b.length - a.length);
  return fans.slice(1).flat();
}

/** Take in what the set cuts off from the rest, if it is small; tells whether there was any. */
function takeIslands(surface: LiveSurface, set: Set<number>, loops: readonly (readonly number[])[]): boolean {
  const t = surface.triangles;
  const most = ISLAND_FACTOR * set.size + ISLAND_LEAST;
  const islands: number[][] = [];
  const seen = new Set<number>();
  let hasRest = false;
  for (const loop of loops) {
    const start = surface.faceWithEdge(loop[1], loop[0]);
    if (start < 0 || seen.has(start)) continue;
    const island = [start];
    const own = new Set(island);
    for (let n = 0; n < island.length && island.length <= most; n++) {
      for (let k = 0; k < 3; k++)
        surface.forCorners(t[island[n] * 3 + k], (corner) => {
          const face = (corner / 3) | 0;
          if (set.has(face) || own.has(face)) return;
          own.add(face);
          island.push(face);
        });
    }
    if (island.length > most) hasRest = true;
    else {
      for (const face of island) seen.add(face);
      islands.push(island);
    }
  }
  islands.sort((a, b) => a.length - b.length);
  if (!hasRest) islands.pop();
  for (const island of islands) for (const face of island) set.add(face);
  return islands.length > 0;
}
