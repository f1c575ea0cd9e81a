/**
 * Creases of an offset surface laid into its mesh.
 *
 * An edge whose ends lie on different sheets that meet under it crosses a crease. The meeting place is solved for
 * exactly (crease-solve.ts). Where it lies near an end of the edge, that vertex is moved there; else the edge is
 * split there. Every face is cut along all its split edges at once, so that afterwards each face lies on one sheet and
 * the crease is a line of edges (as features are put into extracted surfaces by Kobbelt, Botsch, Schwanecke and Seidel
 * 2001, "Feature sensitive surface extraction from volume data", but by edges instead of cells).
 *
 * In folds too sharp for the coarsest cubes finer ones have found the walls and the crease themselves (fold-cubes.ts):
 * what comes from such cubes is left alone here.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { findTwins } from '../mesh/twins.ts';
import { MEETING, place, type CreaseSolver } from './crease-solve.ts';
import { cutFace, cutFaces, FaceList, type FootedSurface } from './footed-surface.ts';

export const REFINE_PHASE = 'refine';
/** A meeting place nearer an end than this share of the edge draws that vertex onto the crease. */
const DRAWN = 0.3;
/** How far below its edge, in edge lengths, a crease may lie. */
const DEEPEST = 4;
/** A place on the edge that misses by less than this share of what its ends tell lies over a smooth hollow. */
const SMOOTH_SHARE = 0.7;
/** How well the sheets must meet, as a share of the limit. */
const ACCURACY = 0.1;
/** Faces about a vertex moved onto a crease stay this fat and face this way. */
const DRAWN_SINE = 0.05;
const DRAWN_COSINE = 0.2;
/** Faces left by a turned edge may be thinner: merging short edges comes after. */
const TURNED_SINE = 0.02;
/** The same for faces left by cutting; one that stands across a fold may look so far from the way its corners do. */
const SPLIT_SINE = 0.05;
const STANDING_COSINE = -0.5;
/** A face that still crosses the crease may stand across it. */
const CROSSING_COSINE = -0.2;
/** Vertices are drawn onto creases that are missed by this share of the limit: that costs no faces. */
const HARDLY = 0.25;
/** Edges are split where they miss by so many times the limit. */
const DEEP = 2;
/** More than there can be vertices. */
const KEYS = 2 ** 26;
const STRIDE = 4095;
/** Meeting places solved for between two looks at the run, less one (a mask). */
const SOLVES = 31;

/** Names an edge by its ends, whichever comes first. */
function keyOf(a: number, b: number): number {
  return a < b ? a * KEYS + b : b * KEYS + a;
}

/** An edge that crosses a crease, and where. */
interface Crossing {
  readonly h: number;
  readonly at: readonly [number, number, number];
  readonly feet: Float64Array;
  readonly count: number;
  /** The end to be drawn there, or -1, and how far it is. */
  readonly end: number;
  readonly away: number;
}

/**
 * One round over all edges: vertices drawn onto creases, edges that miss a crease by more than `limit` mm split there.
 * Edges in `asked` were found smooth in an earlier round; more are added. Only edges between vertices of cubes no
 * smaller than `coarseMm` are looked at: smaller ones have resolved their fold; and none between the first
 * `there` vertices, whose faces stand as moved. Gives how many of both; 0 when no edge
 * crosses a crease any more, or none can be mended. O(edges + crossings log n).
 */
export function layCreases(
  surface: FootedSurface,
  solver: CreaseSolver,
  limit: number,
  asked: Set<number>,
  run: RunContext,
  coarseMm: number,
  there: number,
): number {
  const { twin } = findTwins(surface.t, surface.vertexCount);
  const found: Crossing[] = [];
  const t = surface.t;
  const isNearFine = nearFine(surface, coarseMm);
  let solved = 0;
  for (let h = 0; h < t.length; h++) {
    if ((h & STRIDE) === 0) run.step(REFINE_PHASE, 0.1, 1);
    const g = twin[h];
    if (t[h] < there && t[g] < there) continue;
    // A smooth hollow shows twice its depth.
    if (g < h || surface.crossing(t[h], t[g]) < limit * HARDLY) continue;
    if (isNearFine[t[h]] + isNearFine[t[g]] > 0) continue;
    const key = keyOf(t[h], t[g]);
    if (asked.has(key)) continue;
    if ((solved++ & SOLVES) === 0) run.step(REFINE_PHASE, 0.1, 1);
    const crossing = solveCrossing(surface, solver, h, t[h], t[g], limit);
    if (crossing === undefined) asked.add(key);
    else found.push(crossing);
  }
  if (found.length === 0) return 0;
  run.step(REFINE_PHASE, 0.1, 1);
  const { count: drawn, touched } = drawEnds(surface, twin, found, limit);
  const middle = new Int32Array(t.length).fill(-1);
  let split = 0;
  for (const { h, at, feet, count } of found) {
    const g = twin[h];
    if (touched[(h / 3) | 0] === 1 || touched[(g / 3) | 0] === 1) continue;
    if (surface.crossing(t[h], t[g]) < limit * DEEP) continue;
    const v = surface.add(at[0], at[1], at[2], Math.min(surface.sizes[t[h]], surface.sizes[t[g]]));
    surface.feet.set(feet, v * MEETING * 3);
    surface.sheetCount[v] = count;
    middle[h] = middle[g] = v;
    split++;
  }
  split -= withdrawUnfair(surface, twin, middle, limit);
  if (split > 0) {
    const next = new FaceList(t.length / 3 + 2 * split);
    const put = (a: number, b: number, c: number): void => next.put(a, b, c);
    cutFaces(surface, middle, put, (f) => put(t[f * 3], t[f * 3 + 1], t[f * 3 + 2]));
    surface.t = next.triangles();
  }
  return drawn + split;
}

/** Which vertices come from cubes smaller than `coarse`, which have resolved their fold, or share a face with such. */
function nearFine({ t, sizes, vertexCount }: FootedSurface, coarse: number): Uint8Array {
  const near = new Uint8Array(vertexCount);
  for (let f = 0; f < t.length; f += 3) {
    if (sizes[t[f]] >= coarse && sizes[t[f + 1]] >= coarse && sizes[t[f + 2]] >= coarse) continue;
    near[t[f]] = near[t[f + 1]] = near[t[f + 2]] = 1;
  }
  return near;
}

/**
 * Take back cuts of edges until every face they leave is fair. All cuts of a face are judged together: beside a cut
 * that is deep in a fold a face between it and the edge's other end stands across the fold until that is cut too.
 * Vertices of cuts taken back stay behind, used by no face. Gives how many were taken back. O(faces + cuts).
 */
function withdrawUnfair(surface: FootedSurface, twin: Int32Array, middle: Int32Array, limit: number): number {
  let withdrawn = 0;
  const fairFace = (f: number): boolean => {
    let fair = true;
    cutFace(surface, f, middle, (a, b, c) => {
      if (fair && !isCutFair(surface, a, b, c, limit)) fair = false;
    });
    return fair;
  };
  const queue: number[] = [];
  for (let f = 0; f < middle.length; f += 3) {
    if (middle[f] >= 0 || middle[f + 1] >= 0 || middle[f + 2] >= 0) queue.push(f / 3);
  }
  for (const f of queue) {
    if (fairFace(f)) continue;
    const cuts = [f * 3, f * 3 + 1, f * 3 + 2].filter((h) => middle[h] >= 0);
    const one = cuts.find((h) => {
      const m = middle[h];
      middle[h] = -1;
      const fair = fairFace(f);
      middle[h] = m;
      return fair;
    });
    for (const h of one === undefined ? cuts : [one]) {
      middle[h] = middle[twin[h]] = -1;
      queue.push((twin[h] / 3) | 0);
      withdrawn++;
    }
  }
  return withdrawn;
}

/** Where the sheets of the ends of an edge, as `surface.crossing` has named them, meet; undefined where it is smooth. */
function solveCrossing(
  surface: FootedSurface,
  solver: CreaseSolver,
  h: number,
  a: number,
  b: number,
  limit: number,
): Crossing | undefined {
  const { p, feet, share, gap, sheetA, sheetB, wanted, field } = surface;
  const length = surface.near(a, b);
  for (let k = 0; k < 3; k++) place[k] = p[a * 3 + k] + share * (p[b * 3 + k] - p[a * 3 + k]);
  const [x, y, z] = place;
  // Under a smooth hollow the form is half as much farther than under a crease.
  if (Math.abs(field.at(x, y, z)) - wanted < gap * SMOOTH_SHARE) return undefined;
  solver.clear();
  const fa = (a * MEETING + sheetA) * 3,
    fb = (b * MEETING + sheetB) * 3;
  solver.take(feet[fa], feet[fa + 1], feet[fa + 2]);
  solver.take(feet[fb], feet[fb + 1], feet[fb + 2]);
  if (!solver.solve(DEEPEST * length, ACCURACY * limit)) return undefined;
  const at = [place[0], place[1], place[2]] as const;
  if (Math.hypot(at[0] - x, at[1] - y, at[2] - z) < (limit * HARDLY) / 2) return undefined;
  // A third sheet in between: this edge crosses two creases, and is left to the refinement.
  if (Math.abs(Math.abs(field.at(at[0], at[1], at[2])) - wanted) > limit / 2) return undefined;
  const toA = Math.hypot(at[0] - p[a * 3], at[1] - p[a * 3 + 1], at[2] - p[a * 3 + 2]);
  const toB = Math.hypot(at[0] - p[b * 3], at[1] - p[b * 3 + 1], at[2] - p[b * 3 + 2]);
  const away = Math.min(toA, toB);
  const end = away > DRAWN * length ? -1 : toA < toB ? a : b;
  return { h, at, feet: solver.feet.slice(), count: solver.count, end, away };
}

/**
 * Move the ends that lie near their meeting places there, nearest first, where the faces about them stay fair. A face
 * that this lays along the crease loses its longest edge to the other diagonal. Rewrites corners in `surface.t`.
 */
function drawEnds(surface: FootedSurface, twin: Int32Array, found: readonly Crossing[], limit: number): Drawn {
  const near = found.filter(({ end }) => end >= 0).toSorted((a, b) => a.away - b.away);
  const touched = new Uint8Array(surface.t.length / 3);
  if (near.length === 0) return { count: 0, touched };
  const { t, p, feet, sheetCount } = surface;
  const { first, list } = surface.corners();
  let drawn = 0;
  for (const { h, at, feet: met, count, end } of near) {
    if (sheetCount[end] >= count || touched[(h / 3) | 0] === 1 || surface.crossing(t[h], t[twin[h]]) === 0) continue;
    const around = list.subarray(first[end], first[end + 1]);
    if (around.some((corner) => touched[(corner / 3) | 0] === 1)) continue;
    const before = p.slice(end * 3, end * 3 + 3);
    const old = feet.slice(end * MEETING * 3, (end + 1) * MEETING * 3);
    const oldCount = sheetCount[end];
    surface.place(end, at[0], at[1], at[2]);
    feet.set(met, end * MEETING * 3);
    sheetCount[end] = count;
    const turned: number[] = [];
    const fair = around.every((corner) => {
      const f = corner - (corner % 3);
      if (isFair(surface, t[f], t[f + 1], t[f + 2], DRAWN_SINE, limit)) return true;
      const longest = longestEdge(surface, f);
      if (touched[f / 3] === 1 || touched[(twin[longest] / 3) | 0] === 1) return false;
      if (!turnEdge(surface, longest, twin[longest], first, list, limit)) return false;
      touched[f / 3] = touched[(twin[longest] / 3) | 0] = 1;
      turned.push(longest);
      return true;
    });
    if (fair) {
      drawn++;
      continue;
    }
    for (const edge of turned.toReversed()) {
      turnBack(t, edge, twin[edge]);
      touched[(edge / 3) | 0] = touched[(twin[edge] / 3) | 0] = 0;
    }
    p.set(before, end * 3);
    feet.set(old, end * MEETING * 3);
    sheetCount[end] = oldCount;
  }
  return { count: drawn, touched };
}

/** How many vertices were drawn onto creases, and the faces that were turned for it. */
interface Drawn {
  readonly count: number;
  readonly touched: Uint8Array;
}

/** The half-edge of the face at first corner f that is longest. */
function longestEdge(surface: FootedSurface, f: number): number {
  const { t } = surface;
  const [ab, bc, ca] = [0, 1, 2].map((k) => surface.near(t[f + k], t[f + ((k + 1) % 3)]));
  return ab >= bc && ab >= ca ? f : bc >= ca ? f + 1 : f + 2;
}

/** Give the two faces of an edge the other diagonal, if both are fair then and it is not there yet. */
function turnEdge(
  surface: FootedSurface,
  h: number,
  g: number,
  first: Int32Array,
  list: Int32Array,
  limit: number,
): boolean {
  const { t } = surface;
  const f = h - (h % 3),
    e = g - (g % 3);
  const a = t[h],
    b = t[g],
    c = t[f + ((h + 2) % 3)],
    d = t[e + ((g + 2) % 3)];
  if (c === d) return false;
  if (!isFair(surface, a, d, c, TURNED_SINE, limit) || !isFair(surface, d, b, c, TURNED_SINE, limit)) return false;
  for (let i = first[c]; i < first[c + 1]; i++) {
    const other = list[i] - (list[i] % 3);
    if (t[other] === d || t[other + 1] === d || t[other + 2] === d) return false;
  }
  // Corners keep their places, so that turning back finds them: h runs from d, g from c.
  t[h] = d;
  t[f + ((h + 1) % 3)] = b;
  t[g] = c;
  t[e + ((g + 1) % 3)] = a;
  t[f + ((h + 2) % 3)] = c;
  t[e + ((g + 2) % 3)] = d;
  return true;
}

/** Undo `turnEdge`. */
function turnBack(t: Uint32Array, h: number, g: number): void {
  const f = h - (h % 3),
    e = g - (g % 3);
  t[h] = t[e + ((g + 1) % 3)];
  t[g] = t[f + ((h + 1) % 3)];
}

/** A face is no needle and looks as its corners do; one across a crease may stand there until its edges are split. */
function isFair(surface: FootedSurface, a: number, b: number, c: number, sine: number, limit: number): boolean {
  return surface.fair(a, b, c, sine, crossesCrease(surface, a, b, c, limit) ? CROSSING_COSINE : DRAWN_COSINE);
}

/** The same for a face left by cutting, which may stand across a fold however narrow that is. */
function isCutFair(surface: FootedSurface, a: number, b: number, c: number, limit: number): boolean {
  return crossesCrease(surface, a, b, c, limit)
    ? isUpright(surface, a, b, c, SPLIT_SINE, STANDING_COSINE)
    : surface.fair(a, b, c, SPLIT_SINE, DRAWN_COSINE);
}

function crossesCrease(surface: FootedSurface, a: number, b: number, c: number, limit: number): boolean {
  const least = limit * HARDLY;
  return surface.crossing(a, b) > least || surface.crossing(b, c) > least || surface.crossing(c, a) > least;
}

/** Whether the face abc looks, within acos of `cosine`, the way its corners do in the mean, and is no needle. */
function isUpright(surface: FootedSurface, a: number, b: number, c: number, sine: number, cosine: number): boolean {
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
