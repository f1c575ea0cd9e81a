/**
 * Edge collapse by quadric error, in two stages.
 *
 * `sweepTo` takes a dense mesh down fast: vertices are visited in storage order (memory is walked
 * forwards), each merged with its cheapest neighbour when that costs less than a threshold; no vertex
 * takes part twice in a sweep. `drainTo` goes on in exact order of cost by a heap of vertices, each keyed
 * by its cheapest collapse. Far above the target the order hardly matters and the heap would be most of
 * the time; near it the order is the quality.
 *
 * A collapse must keep the topology (link condition, Dey, Edelsbrunner et al. 1999; as the common
 * neighbours of the ends being just the tips of the faces at the edge), must not turn a face over, and
 * must not make needles out of sound faces. New vertices are put where the summed quadric is least.
 */
import { QUIET_RUN, type RunContext } from '../../../shared-types/progress.ts';
import { BORDER, INTERIOR, LOCKED, QUADRIC, type Surface } from './surface.ts';

/** Pull of the new vertex to the middle of the edge, relative to the quadric's trace: keeps flat areas solvable. */
const MIDDLE_PULL = 1e-4;
/** The same in `polish`, towards where the vertex is; and its rounds. */
const POLISH_PULL = 1e-3;
const POLISH_ROUNDS = 4;
/** Cost per squared edge length, relative to the trace: among equal quadrics the short edge goes first. */
const LENGTH_COST = 1e-6;
/** A face may turn by at most acos of this in one collapse (78 degrees). */
const LEAST_TURN_COSINE = 0.2;
/** Share of vertices whose cheapest collapse one sweep takes. */
const SWEEP_QUANTILE = 0.7;
const SWEEP_PROBES = 4096;
/** With more faces than so many times the goal a sweep looks only at each vertex' shortest edge. */
const QUICK_ABOVE = 3;
const QUICK_QUANTILE = 0.9;
/** A sweep ends this near to the goal: a last one would cost as much as any other. */
const NEAR_ENOUGH = 1.03;
const STRIDE = 512;
const SHAPE_FACTOR = 2 * Math.sqrt(3);

/** Collapses done, in order, so that they can be done again: see `replay`. */
export interface CollapseLog {
  /** Vertex kept and vertex merged into it. */
  readonly ends: number[];
  /** Where the kept one was put, xyz. */
  readonly places: number[];
}

/** Asked before a merge of u and v at `placed`, told after v was merged into u. */
export interface CollapseGuard {
  allows(surface: Surface, u: number, v: number, placed: Float64Array): boolean;
  merged(surface: Surface, u: number, v: number): void;
}

export interface DrainOptions {
  readonly run?: RunContext;
  readonly guard?: CollapseGuard | undefined;
  /** No collapse is done after which the merged vertex would stand for more error than this, mm⁴. */
  readonly errorMm4?: number;
  /** What is done is added here. */
  readonly log?: CollapseLog;
}

export const COLLAPSE_PHASE = 'collapse';

/** Where `evaluate` would put the merged vertex. */
export const placed = new Float64Array(3);

/**
 * Cost of merging u and v, mm⁴: by how much the summed squared distance grows (not what it amounts to: what
 * is lost at u and v already is lost whatever is done). The place goes to `placed`.
 */
function evaluate(surface: Surface, u: number, v: number): number {
  const { positions: p, quadrics: q, kind } = surface;
  const i = u * QUADRIC,
    j = v * QUADRIC;
  const a00 = q[i] + q[j],
    a01 = q[i + 1] + q[j + 1],
    a02 = q[i + 2] + q[j + 2],
    a11 = q[i + 3] + q[j + 3],
    a12 = q[i + 4] + q[j + 4],
    a22 = q[i + 5] + q[j + 5],
    b0 = q[i + 6] + q[j + 6],
    b1 = q[i + 7] + q[j + 7],
    b2 = q[i + 8] + q[j + 8],
    c = q[i + 9] + q[j + 9];
  const ux = p[u * 3],
    uy = p[u * 3 + 1],
    uz = p[u * 3 + 2];
  const vx = p[v * 3],
    vy = p[v * 3 + 1],
    vz = p[v * 3 + 2];
  let mx = (ux + vx) / 2,
    my = (uy + vy) / 2,
    mz = (uz + vz) / 2;
  const kindU = kind[u],
    kindV = kind[v];
  const free = kindU === kindV;
  if (!free) {
    // One end on a border: the merged vertex is that end.
    if (kindU > kindV) {
      mx = ux;
      my = uy;
      mz = uz;
    } else {
      mx = vx;
      my = vy;
      mz = vz;
    }
  }
  // Gradient and value at the middle.
  const g0 = a00 * mx + a01 * my + a02 * mz + b0,
    g1 = a01 * mx + a11 * my + a12 * mz + b1,
    g2 = a02 * mx + a12 * my + a22 * mz + b2;
  const value = (g0 + b0) * mx + (g1 + b1) * my + (g2 + b2) * mz + c;
  const trace = a00 + a11 + a22;
  const lost = surface.own[u] + surface.own[v];
  const lengthCost = LENGTH_COST * trace * ((ux - vx) * (ux - vx) + (uy - vy) * (uy - vy) + (uz - vz) * (uz - vz));
  if (!free || !(trace > 0)) {
    placed[0] = mx;
    placed[1] = my;
    placed[2] = mz;
    return Math.max(0, value - lost) + lengthCost;
  }
  // (A + pull·I) y = -g by cofactors.
  const pull = MIDDLE_PULL * trace;
  const d00 = a00 + pull,
    d11 = a11 + pull,
    d22 = a22 + pull;
  const c00 = d11 * d22 - a12 * a12,
    c01 = a02 * a12 - a01 * d22,
    c02 = a01 * a12 - a02 * d11,
    c11 = d00 * d22 - a02 * a02,
    c12 = a01 * a02 - d00 * a12,
    c22 = d00 * d11 - a01 * a01;
  const scale = -1 / (d00 * c00 + a01 * c01 + a02 * c02);
  const x = scale * (c00 * g0 + c01 * g1 + c02 * g2),
    y = scale * (c01 * g0 + c11 * g1 + c12 * g2),
    z = scale * (c02 * g0 + c12 * g1 + c22 * g2);
  placed[0] = mx + x;
  placed[1] = my + y;
  placed[2] = mz + z;
  const cost =
    value + x * (a00 * x + 2 * (a01 * y + a02 * z + g0)) + y * (a11 * y + 2 * (a12 * z + g1)) + z * (a22 * z + 2 * g2);
  return Math.max(0, cost - lost) + lengthCost;
}

/** Whether the faces at `v`, but those that also have `other`, stay the right way up and shapely when v moves to `placed`. */
function facesStay(surface: Surface, v: number, other: number): boolean {
  const { positions: p, triangles: t, head, next, leastShape } = surface;
  const x = placed[0],
    y = placed[1],
    z = placed[2];
  const ox = p[v * 3],
    oy = p[v * 3 + 1],
    oz = p[v * 3 + 2];
  for (let c = head[v]; c >= 0; c = next[c]) {
    const a = t[c % 3 === 2 ? c - 2 : c + 1];
    const b = t[c % 3 === 0 ? c + 2 : c - 1];
    if (a === other || b === other) continue;
    const ax = p[a * 3],
      ay = p[a * 3 + 1],
      az = p[a * 3 + 2];
    const ex = p[b * 3] - ax,
      ey = p[b * 3 + 1] - ay,
      ez = p[b * 3 + 2] - az;
    const fx = x - ax,
      fy = y - ay,
      fz = z - az;
    const hx = ox - ax,
      hy = oy - ay,
      hz = oz - az;
    const nx = ey * fz - ez * fy,
      ny = ez * fx - ex * fz,
      nz = ex * fy - ey * fx;
    const mx = ey * hz - ez * hy,
      my = ez * hx - ex * hz,
      mz = ex * hy - ey * hx;
    const dot = nx * mx + ny * my + nz * mz;
    const nn = nx * nx + ny * ny + nz * nz;
    const mm = mx * mx + my * my + mz * mz;
    if (!(dot > 0) || dot * dot < LEAST_TURN_COSINE * LEAST_TURN_COSINE * nn * mm) return false;
    const edges = ex * ex + ey * ey + ez * ez;
    const ff = fx * fx + fy * fy + fz * fz;
    const ef = ex * fx + ey * fy + ez * fz;
    const sum = 2 * (edges + ff - ef);
    const shape = SHAPE_FACTOR * Math.sqrt(nn);
    if (shape < leastShape * sum) {
      const hh = hx * hx + hy * hy + hz * hz;
      const eh = ex * hx + ey * hy + ez * hz;
      const before = SHAPE_FACTOR * Math.sqrt(mm) * sum;
      // A needle may stay a needle, not become a worse one.
      if (shape * 2 * (edges + hh - eh) < before) return false;
    }
  }
  return true;
}

/** Whether merging v into u at `placed` keeps topology, orientation and shape. */
export function mayCollapse(surface: Surface, u: number, v: number): boolean {
  const { triangles: t, head, next, kind, mark } = surface;
  if (kind[u] === LOCKED || kind[v] === LOCKED) return false;
  const stamp = (surface.stamp += 2);
  let cornersU = 0,
    cornersV = 0,
    shared = 0;
  for (let c = head[u]; c >= 0; c = next[c]) {
    const a = t[c % 3 === 2 ? c - 2 : c + 1];
    const b = t[c % 3 === 0 ? c + 2 : c - 1];
    mark[a] = stamp;
    mark[b] = stamp;
    if (a === v || b === v) shared++;
    cornersU++;
  }
  let common = 0;
  for (let c = head[v]; c >= 0; c = next[c]) {
    const a = t[c % 3 === 2 ? c - 2 : c + 1];
    const b = t[c % 3 === 0 ? c + 2 : c - 1];
    if (mark[a] === stamp && a !== u) {
      mark[a] = stamp + 1;
      common++;
    }
    if (mark[b] === stamp && b !== u) {
      mark[b] = stamp + 1;
      common++;
    }
    cornersV++;
  }
  if (common !== shared) return false;
  if (shared === 2) {
    if (kind[u] === BORDER && kind[v] === BORDER) return false;
    if (kind[u] === INTERIOR && kind[v] === INTERIOR && cornersU + cornersV - 4 < 3) return false;
  } else if (shared !== 1 || cornersU + cornersV - 2 < 1) {
    return false;
  }
  return facesStay(surface, u, v) && facesStay(surface, v, u);
}

/** Cheapest neighbour of v, -1 when none; its cost goes to `bestCost`. */
let bestCost = Infinity;
function cheapest(
  surface: Surface,
  v: number,
  touched: Uint8Array | undefined,
  legal: boolean,
  guard?: CollapseGuard,
  errorMm4 = Infinity,
): number {
  const { triangles: t, head, next, kind, own } = surface;
  let best = -1;
  bestCost = Infinity;
  // On a border the last neighbour is nobody's next corner.
  const sides = kind[v] !== INTERIOR ? 2 : 1;
  for (let c = head[v]; c >= 0; c = next[c]) {
    for (let side = 0; side < sides; side++) {
      const a = side === 0 ? t[c % 3 === 2 ? c - 2 : c + 1] : t[c % 3 === 0 ? c + 2 : c - 1];
      if (touched !== undefined && touched[a] !== 0) continue;
      const cost = evaluate(surface, v, a);
      if (!(cost < bestCost) || cost + own[v] + own[a] > errorMm4) continue;
      if (legal && !(mayCollapse(surface, v, a) && (guard === undefined || guard.allows(surface, v, a, placed))))
        continue;
      bestCost = cost;
      best = a;
    }
  }
  return best;
}

/** Nearest neighbour of v among the untouched, -1 when none. */
function shortest(surface: Surface, v: number, touched: Uint8Array): number {
  const { positions: p, triangles: t, head, next, kind } = surface;
  const x = p[v * 3],
    y = p[v * 3 + 1],
    z = p[v * 3 + 2];
  let best = -1;
  let least = Infinity;
  const sides = kind[v] !== INTERIOR ? 2 : 1;
  for (let c = head[v]; c >= 0; c = next[c]) {
    for (let side = 0; side < sides; side++) {
      const a = side === 0 ? t[c % 3 === 2 ? c - 2 : c + 1] : t[c % 3 === 0 ? c + 2 : c - 1];
      if (touched[a] !== 0) continue;
      const dx = p[a * 3] - x,
        dy = p[a * 3 + 1] - y,
        dz = p[a * 3 + 2] - z;
      const d2 = dx * dx + dy * dy + dz * dz;
      if (d2 >= least) continue;
      least = d2;
      best = a;
    }
  }
  return best;
}

/** A cost below which about `share` of the vertices have a collapse. */
function thresholdFor(surface: Surface, share: number): number {
  const { head } = surface;
  const costs: number[] = [];
  const step = Math.max(1, Math.floor(head.length / SWEEP_PROBES));
  for (let v = 0; v < head.length; v += step) {
    if (head[v] < 0) continue;
    if (cheapest(surface, v, undefined, false) >= 0) costs.push(bestCost);
  }
  costs.sort((a, b) => a - b);
  return costs.length === 0 ? 0 : costs[Math.min(costs.length - 1, Math.floor(share * costs.length))];
}

/**
 * Collapse in storage order until about `faces` are left or no more can be done cheaply. Steps
 * 'collapse' of `run`. No vertex comes to stand for more error than `errorMm4`.
 */
export function sweepTo(surface: Surface, faces: number, run: RunContext = QUIET_RUN, errorMm4 = Infinity): void {
  const { head, own } = surface;
  const touched = new Uint8Array(head.length);
  const begin = surface.faceCount;
  const span = Math.log(begin / faces);
  while (surface.faceCount > faces * NEAR_ENOUGH) {
    const before = surface.faceCount;
    const quick = before > QUICK_ABOVE * faces;
    const needed = 1 - faces / before;
    // A collapse uses up two vertices, so a sweep cannot take half; a last sweep takes only what is needed.
    const threshold = thresholdFor(surface, Math.min(quick ? QUICK_QUANTILE : SWEEP_QUANTILE, 2 * needed));
    touched.fill(0);
    for (let v = 0; v < head.length && surface.faceCount > faces; v++) {
      if (v % STRIDE === 0) run.step(COLLAPSE_PHASE, Math.log(begin / surface.faceCount), span);
      if (head[v] < 0 || touched[v]) continue;
      const u = quick ? shortest(surface, v, touched) : cheapest(surface, v, touched, false);
      if (u < 0) continue;
      const cost = evaluate(surface, v, u);
      if (cost > threshold || cost + own[v] + own[u] > errorMm4 || !mayCollapse(surface, v, u)) continue;
      surface.collapse(v, u, placed[0], placed[1], placed[2]);
      touched[v] = 1;
    }
    if (surface.faceCount > before * 0.97) break;
  }
}

/**
 * Do the logged collapses again, on a surface made from the same base, but those that would touch a vertex
 * marked in `kept` and those that the others' absence makes unlawful. Returns the log of what was done. O(collapses).
 */
export function replay(surface: Surface, log: CollapseLog, kept: Uint8Array): CollapseLog {
  const again: CollapseLog = { ends: [], places: [] };
  for (let i = 0, at = 0; i < log.ends.length; i += 2, at += 3) {
    const u = log.ends[i],
      v = log.ends[i + 1];
    if (kept[u] || kept[v]) continue;
    placed[0] = log.places[at];
    placed[1] = log.places[at + 1];
    placed[2] = log.places[at + 2];
    if (!mayCollapse(surface, u, v)) continue;
    surface.collapse(u, v, placed[0], placed[1], placed[2]);
    again.ends.push(u, v);
    again.places.push(placed[0], placed[1], placed[2]);
  }
  return again;
}

/**
 * Collapse in order of cost until at most `faces` are left, no collapse is allowed, or the
 * guard refuses all that are left. Steps 'collapse' of `run`. O(n log n).
 */
export function drainTo(surface: Surface, faces: number, options: DrainOptions = {}): void {
  const { run = QUIET_RUN, guard, errorMm4 = Infinity, log } = options;
  const { own } = surface;
  const { triangles: t, head, next } = surface;
  const count = head.length;
  const key = new Float64Array(count).fill(Infinity);
  const partner = new Int32Array(count).fill(-1);
  const heap = new Int32Array(count);
  const place = new Int32Array(count).fill(-1);
  let size = 0;

  const up = (at: number): void => {
    const v = heap[at];
    const k = key[v];
    while (at > 0) {
      const above = (at - 1) >> 1;
      const w = heap[above];
      if (key[w] <= k) break;
      heap[at] = w;
      place[w] = at;
      at = above;
    }
    heap[at] = v;
    place[v] = at;
  };
  const down = (at: number): void => {
    const v = heap[at];
    const k = key[v];
    for (;;) {
      let below = at * 2 + 1;
      if (below >= size) break;
      if (below + 1 < size && key[heap[below + 1]] < key[heap[below]]) below++;
      const w = heap[below];
      if (key[w] >= k) break;
      heap[at] = w;
      place[w] = at;
      at = below;
    }
    heap[at] = v;
    place[v] = at;
  };
  const setKey = (v: number, cost: number): void => {
    const before = key[v];
    key[v] = cost;
    if (cost < before) up(place[v]);
    else if (cost > before) down(place[v]);
  };
  const remove = (v: number): void => {
    const at = place[v];
    place[v] = -1;
    const last = heap[--size];
    if (last === v) return;
    heap[at] = last;
    place[last] = at;
    up(at);
    down(place[last]);
  };

  for (let v = 0; v < count; v++) {
    if (v % STRIDE === 0) run.step(COLLAPSE_PHASE, 0, 1);
    if (head[v] < 0) continue;
    partner[v] = cheapest(surface, v, undefined, false);
    key[v] = bestCost;
    heap[size] = v;
    place[v] = size++;
  }
  for (let at = (size >> 1) - 1; at >= 0; at--) down(at);

  const begin = surface.faceCount;
  let ticks = 0;
  while (surface.faceCount > faces && size > 0) {
    if (ticks++ % 64 === 0) run.step(COLLAPSE_PHASE, begin - surface.faceCount, begin - faces);
    const v = heap[0];
    if (key[v] === Infinity) break;
    const u = partner[v];
    const error = evaluate(surface, v, u) + own[u] + own[v];
    if (
      error > errorMm4 ||
      !mayCollapse(surface, v, u) ||
      (guard !== undefined && !guard.allows(surface, v, u, placed))
    ) {
      partner[v] = cheapest(surface, v, undefined, true, guard, errorMm4);
      setKey(v, bestCost);
      continue;
    }
    surface.collapse(v, u, placed[0], placed[1], placed[2]);
    guard?.merged(surface, v, u);
    log?.ends.push(v, u);
    log?.places.push(placed[0], placed[1], placed[2]);
    remove(u);
    // The merged vertex, and each neighbour whose cheapest edge this changed.
    let best = -1;
    let least = Infinity;
    const stamp = (surface.stamp += 2);
    surface.mark[v] = stamp;
    for (let c = head[v]; c >= 0; c = next[c]) {
      for (let side = 0; side < 2; side++) {
        const w = side === 0 ? t[c % 3 === 2 ? c - 2 : c + 1] : t[c % 3 === 0 ? c + 2 : c - 1];
        if (surface.mark[w] === stamp) continue;
        surface.mark[w] = stamp;
        const cost = evaluate(surface, v, w);
        if (cost < least) {
          least = cost;
          best = w;
        }
        if (cost <= key[w]) {
          partner[w] = v;
          setKey(w, cost);
        } else if (partner[w] === v || partner[w] === u) {
          partner[w] = cheapest(surface, w, undefined, false);
          setKey(w, bestCost);
        }
      }
    }
    partner[v] = best;
    setKey(v, least);
  }
}

/**
 * Move each interior vertex to where its own quadric is least, in a few damped steps: takes out what the pull
 * to the middle left, so that corners and creases are met exactly. A step that would turn or starve a face is
 * not taken. O(vertices).
 */
export function polish(surface: Surface): void {
  const { positions: p, quadrics: q, head, kind } = surface;
  for (let round = 0; round < POLISH_ROUNDS; round++) {
    for (let v = 0; v < head.length; v++) {
      if (head[v] < 0 || kind[v] !== INTERIOR) continue;
      const i = v * QUADRIC;
      const x = p[v * 3],
        y = p[v * 3 + 1],
        z = p[v * 3 + 2];
      const trace = q[i] + q[i + 3] + q[i + 5];
      if (!(trace > 0)) continue;
      const pull = POLISH_PULL * trace;
      const a00 = q[i] + pull,
        a01 = q[i + 1],
        a02 = q[i + 2],
        a11 = q[i + 3] + pull,
        a12 = q[i + 4],
        a22 = q[i + 5] + pull;
      const g0 = q[i] * x + a01 * y + a02 * z + q[i + 6],
        g1 = a01 * x + q[i + 3] * y + a12 * z + q[i + 7],
        g2 = a02 * x + a12 * y + q[i + 5] * z + q[i + 8];
      const c00 = a11 * a22 - a12 * a12,
        c01 = a02 * a12 - a01 * a22,
        c02 = a01 * a12 - a02 * a11,
        c11 = a00 * a22 - a02 * a02,
        c12 = a01 * a02 - a00 * a12,
        c22 = a00 * a11 - a01 * a01;
      const scale = -1 / (a00 * c00 + a01 * c01 + a02 * c02);
      placed[0] = x + scale * (c00 * g0 + c01 * g1 + c02 * g2);
      placed[1] = y + scale * (c01 * g0 + c11 * g1 + c12 * g2);
      placed[2] = z + scale * (c02 * g0 + c12 * g1 + c22 * g2);
      if (!facesStay(surface, v, -1)) continue;
      p[v * 3] = placed[0];
      p[v * 3 + 1] = placed[1];
      p[v * 3 + 2] = placed[2];
    }
  }
}
