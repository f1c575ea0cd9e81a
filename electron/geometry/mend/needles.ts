/**
 * Doing away with faces that have no area left in single precision, without opening the surface: a needle loses its
 * short edge, a cap has its long edge flipped to the far corner.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { dropUnusedVertices } from '../mesh/compact.ts';
import { findTwins, nextHalfedge, previousHalfedge } from '../mesh/twins.ts';
import { isFlat } from './weld.ts';

const PASSES = 8;
/** Flipping may go round in circles; after this many passes edges are drawn together instead. */
const FLIP_PASSES = 4;
/** A flat face is a needle when its shortest edge is below this share of its longest, else a cap. */
const NEEDLE_SHARE = 0.05;
const MOST_NEIGHBOURS = 4096;

/**
 * The mesh (manifold, mostly closed) without faces of no area, as far as they can go without pinching the surface.
 * Vertices that stay keep their coordinates. O(faces) where there are none. `tick` is called between passes over all.
 */
export function removeNeedles(mesh: Mesh, tick?: () => void): { mesh: Mesh; removed: number } {
  let result = mesh;
  let removed = 0;
  for (let pass = 0; pass < PASSES; pass++) {
    tick?.();
    const flat = flatFaces(result);
    tick?.();
    if (flat.length === 0) break;
    const next = onePass(result, flat, pass >= FLIP_PASSES, tick);
    if (next.changed === 0) break;
    removed += next.changed;
    result = next.mesh;
  }
  return { mesh: result, removed };
}

/** Whether a mesh has faces without area. O(faces). */
export function hasFlatFaces(mesh: Mesh): boolean {
  return flatFaces(mesh).length > 0;
}

function flatFaces({ positions, triangles: t }: Mesh): number[] {
  const flat: number[] = [];
  for (let f = 0; f < t.length; f += 3) if (isFlat(positions, t[f] * 3, t[f + 1] * 3, t[f + 2] * 3)) flat.push(f);
  return flat;
}

function onePass(
  mesh: Mesh,
  flat: readonly number[],
  collapseFirst: boolean,
  tick?: () => void,
): { mesh: Mesh; changed: number } {
  const { positions: p } = mesh;
  const t = mesh.triangles.slice();
  const { twin } = findTwins(t, p.length / 3);
  tick?.();
  // What a change of this pass has touched waits for the next, which knows the new neighbours.
  const touched = new Uint8Array(p.length / 3);
  const gone = new Uint8Array(t.length / 3);
  const length = (h: number): number => {
    const a = t[h] * 3,
      b = t[nextHalfedge(h)] * 3;
    return Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
  };
  let changed = 0;
  for (const f of flat) {
    const edges = [f, f + 1, f + 2].sort((x, y) => length(x) - length(y));
    const isNeedle = length(edges[0]) <= NEEDLE_SHARE * length(edges[2]);
    const done =
      (isNeedle || collapseFirst
        ? collapse(t, twin, edges[0], touched, gone) || flip(t, twin, edges[2], touched)
        : flip(t, twin, edges[2], touched) || collapse(t, twin, edges[0], touched, gone)) ||
      edges.some((h) => collapse(t, twin, h, touched, gone, true) || collapse(t, twin, twin[h], touched, gone, true));
    if (done) changed++;
  }
  tick?.();
  const kept = new Uint32Array(t.length);
  let at = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (gone[f / 3]) continue;
    kept[at++] = t[f];
    kept[at++] = t[f + 1];
    kept[at++] = t[f + 2];
  }
  return { mesh: dropUnusedVertices({ ...mesh, triangles: kept.slice(0, at) }), changed };
}

/** Vertices round the start of half-edge h and their faces' half-edges; nothing on a border. */
function ringOf(t: Uint32Array, twin: Int32Array, h: number): { around: number[]; leaving: number[] } | undefined {
  const around: number[] = [];
  const leaving: number[] = [];
  let at = h;
  do {
    around.push(t[nextHalfedge(at)]);
    leaving.push(at);
    at = twin[previousHalfedge(at)];
    if (at < 0 || t[at] !== t[h] || around.length > MOST_NEIGHBOURS) return undefined;
  } while (at !== h);
  return { around, leaving };
}

/** Draw the end of half-edge h into its start; with `onlyThree`, only an end with three neighbours. */
function collapse(
  t: Uint32Array,
  twin: Int32Array,
  h: number,
  touched: Uint8Array,
  gone: Uint8Array,
  onlyThree = false,
): boolean {
  const g = h < 0 ? -1 : twin[h];
  if (g < 0 || t[g] !== t[nextHalfedge(h)]) return false;
  const stays = ringOf(t, twin, h),
    goes = ringOf(t, twin, g);
  if (stays === undefined || goes === undefined) return false;
  if (stays.around.length <= 3 || (onlyThree && goes.around.length !== 3)) return false;
  const all = [...stays.around, ...goes.around];
  if (all.some((v) => touched[v])) return false;
  // The link condition: more than two common neighbours would pinch the surface.
  const common = new Set(stays.around);
  if (goes.around.filter((v) => common.has(v)).length !== 2) return false;
  const name = t[h];
  for (const v of all) touched[v] = 1;
  for (const corner of goes.leaving) t[corner] = name;
  gone[(h / 3) | 0] = 1;
  gone[(g / 3) | 0] = 1;
  return true;
}

function flip(t: Uint32Array, twin: Int32Array, h: number, touched: Uint8Array): boolean {
  const g = twin[h];
  if (g < 0 || t[g] !== t[nextHalfedge(h)]) return false;
  const a = t[h],
    b = t[nextHalfedge(h)],
    c = t[previousHalfedge(h)],
    d = t[previousHalfedge(g)];
  if (c === d || [a, b, c, d].some((v) => touched[v])) return false;
  const ring = ringOf(t, twin, previousHalfedge(h));
  if (ring === undefined || ring.around.includes(d)) return false;
  const f = h - (h % 3),
    e = g - (g % 3);
  t.set([a, d, c], f);
  t.set([d, b, c], e);
  for (const v of [a, b, c, d]) touched[v] = 1;
  return true;
}
