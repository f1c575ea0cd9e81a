/**
 * An offset made of two: the form's own faces moved outward where that serves (displaced.ts), and a surface followed
 * cube by cube for the rest (track-surface.ts), joined by bands of faces along the lines between them.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { tickingRun, type RunContext } from '../../../shared-types/progress.ts';
import { roomFor } from './cell-map.ts';
import { findHoleLoops } from '../mend/hole-loops.ts';
import { findTwins } from '../mesh/twins.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { VERTEX_SHEETS, type TrackedSurface } from './cube-mesh.ts';
import { partAt, type PartPlace } from './cut-form.ts';
import { unpinch, type Displaced } from './displaced.ts';
import { ringBetween } from './ring-between.ts';
import type { SignedField } from './signed-field.ts';

/** The followed surface ends so many cubes before what stands. */
const GAP = 0.7;
/** Lines that belong together are nowhere farther apart, in cubes. */
const MOST_APART = 5;
/** Vertices of a line looked at to find the line it runs along. */
const LOOKS = 16;

/** The joined surface, or the vertices of the cut form where faces stand that it could not be joined to. */
export type Joined =
  | { readonly surface: TrackedSurface; readonly troubles?: undefined }
  | { readonly troubles: ReadonlySet<number> };

/**
 * Join them: what stands keeps its faces, the followed surface those behind the line where it ends. Undefined where there
 * is no line to join along. Whether the result is closed is for the caller to see. O(n + squared length of the lines).
 */
export function joinSurfaces(
  field: SignedField,
  displaced: Displaced,
  tracked: TrackedSurface,
  cell: number,
  run: RunContext,
): Joined | undefined {
  const { positions: moved, stands, form, feet } = displaced;
  const own = form.triangles;
  const formCount = moved.length / 3;
  const count = formCount + tracked.positions.length / 3;
  const positions = new Float64Array(count * 3);
  positions.set(moved);
  positions.set(tracked.positions, moved.length);
  const triangles: number[] = [];
  for (let f = 0; f < stands.length; f++) {
    if (stands[f] === 1) triangles.push(own[f * 3], own[f * 3 + 1], own[f * 3 + 2]);
  }
  const outer = Uint32Array.from(triangles);
  const inner = trimmed(field, displaced, tracked, cell, run);
  const before = linesOf(outer, formCount);
  const behind = linesOf(inner, tracked.positions.length / 3).map((line) => line.map((v) => v + formCount));
  for (const v of inner) triangles.push(v + formCount);
  const pairs = pair(positions, before, behind, MOST_APART * cell);
  if (pairs === undefined) return undefined;
  const firstOfBands = triangles.length / 3;
  for (const [one, other] of pairs) {
    run.step('surface', 1, 2);
    triangles.push(...ringBetween(positions, one, other, () => run.step('surface', 1, 2)));
  }
  const all = { positions, triangles: Uint32Array.from(triangles) };
  const troubles = troublesOf(all, firstOfBands, formCount, run);
  if (troubles.size > 0) return { troubles };
  const sheets = new Int32Array(count * VERTEX_SHEETS).fill(-1);
  sheets.set(tracked.sheets, formCount * VERTEX_SHEETS);
  const sizes = roomFor(new Float32Array(formCount).fill(cell), count);
  sizes.set(tracked.sizes, formCount);
  return { surface: { ...all, sheets, sizes: sizes.subarray(0, count), feet } };
}

/** Vertices of the form on faces of bands that cut another face, and on the faces they cut. */
function troublesOf(mesh: Mesh, firstOfBands: number, formCount: number, run: RunContext): Set<number> {
  const { triangles } = mesh;
  const ofBands = new Uint8Array(triangles.length / 3).fill(1, firstOfBands);
  const ticking = tickingRun(() => run.step('surface', 1, 2));
  const troubles = new Set<number>();
  for (const f of findSelfIntersections(mesh, ticking, Infinity, ofBands)) {
    for (const v of triangles.subarray(f * 3, f * 3 + 3)) if (v < formCount) troubles.add(v);
  }
  return troubles;
}

/** The faces of the followed surface whose corners all lie at least so deep behind the line of what stands. */
function trimmed(
  field: SignedField,
  displaced: Displaced,
  { positions: p, triangles: t, seen }: TrackedSurface,
  cell: number,
  run: RunContext,
): Uint32Array {
  const count = p.length / 3;
  const isDeep = new Uint8Array(count);
  const limit = GAP * cell;
  const depths = depthsOf(displaced, field.mesh.triangles.length / 3, limit);
  for (let v = 0; v < count; v++) {
    if ((v & 255) === 0) run.step('surface', 0.9, 1);
    // In folds it is known already which face a vertex sees.
    const known = field.isPlain && seen !== undefined ? seen[v] : -1;
    if (known >= 0 && depths[known] !== MIXED) {
      isDeep[v] = depths[known];
      continue;
    }
    field.at(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    if (field.askedMm > cell) {
      isDeep[v] = 1;
      continue;
    }
    // By the form itself, whatever the field says.
    if (!field.isPlain) field.formAt(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
    isDeep[v] = depths[field.face];
    if (isDeep[v] !== MIXED) continue;
    spot.x = field.x;
    spot.y = field.y;
    spot.z = field.z;
    isDeep[v] = depthAt(displaced, field.face) >= limit ? 1 : 0;
  }
  const keep = new Uint8Array(t.length / 3);
  for (let f = 0; f < t.length; f += 3) keep[f / 3] = isDeep[t[f]] & isDeep[t[f + 1]] & isDeep[t[f + 2]];
  unpinch(t, count, keep);
  return t.filter((_, h) => keep[(h / 3) | 0] === 1);
}

/** Of a face that is deep in part only. */
const MIXED = 2;

/** Per face of the form 1 where all of it lies at least so deep, 0 where none of it does. */
function depthsOf({ form, depth }: Displaced, faceCount: number, limit: number): Uint8Array {
  const { triangles: t, firstPart } = form;
  const depths = new Uint8Array(faceCount);
  for (let face = 0; face < faceCount; face++) {
    let deep = 0;
    const [first, end] = [firstPart[face] * 3, firstPart[face + 1] * 3];
    for (let h = first; h < end; h++) if (depth[t[h]] >= limit) deep++;
    depths[face] = deep === 0 ? 0 : deep === end - first ? 1 : MIXED;
  }
  return depths;
}

/** The depth at a place of the form, straight between the corners of the part of a face it lies on. */
function depthAt({ form, depth }: Displaced, face: number): number {
  partAt(form, face, spot);
  const { part, s, r } = spot;
  const t = form.triangles;
  const a = depth[t[part * 3]],
    b = depth[t[part * 3 + 1]],
    c = depth[t[part * 3 + 2]];
  // Where no face stands from which it could be reached it is Infinity, and nothing lies between.
  return a + b + c < Infinity ? a + s * (b - a) + r * (c - a) : Infinity;
}

/** Scratch: a place of the form. */
const spot: PartPlace = { x: 0, y: 0, z: 0, part: 0, s: 0, r: 0 };

function linesOf(triangles: Uint32Array, vertexCount: number): number[][] {
  const { twin } = findTwins(triangles, vertexCount);
  return findHoleLoops(triangles, twin, vertexCount).map((line) => [...line]);
}

/** A line seen from another: its number, the share of the other's vertices it is nearest to, and the largest distance. */
interface Seen {
  readonly number: number;
  readonly share: number;
  readonly distance: number;
}

/** Which of the lines each vertex of one is nearest to, most often first. */
function seenFrom(p: Float64Array, line: readonly number[], others: readonly number[][]): Seen[] {
  const votes = new Map<number, { count: number; most: number }>();
  const every = Math.max(1, Math.floor(line.length / LOOKS));
  let looks = 0;
  for (let i = 0; i < line.length; i += every) {
    looks++;
    let best = -1;
    let least = Infinity;
    for (const [n, other] of others.entries()) {
      for (const w of other) {
        const d = distance2(p, line[i], w);
        if (d < least) [least, best] = [d, n];
      }
    }
    const vote = votes.get(best) ?? { count: 0, most: 0 };
    vote.count++;
    vote.most = Math.max(vote.most, least);
    votes.set(best, vote);
  }
  return [...votes]
    .map(([number, { count, most }]) => ({ number, share: count / looks, distance: Math.sqrt(most) }))
    .sort((a, b) => b.share - a.share);
}

function distance2(p: Float64Array, v: number, w: number): number {
  const x = p[v * 3] - p[w * 3],
    y = p[v * 3 + 1] - p[w * 3 + 1],
    z = p[v * 3 + 2] - p[w * 3 + 2];
  return x * x + y * y + z * z;
}

/** The lines two by two, each with the one it runs along; where one runs along several these are made one first. */
function pair(
  p: Float64Array,
  before: readonly number[][],
  behind: readonly number[][],
  mostApart: number,
): (readonly [number[], number[]])[] | undefined {
  const inner: number[][] = before.map(() => []);
  for (const [n, line] of behind.entries()) {
    const seen = seenFrom(p, line, before);
    if (!seen.every(({ distance }) => distance < mostApart)) return undefined;
    inner[seen[0].number].push(n);
  }
  const pairs: [number[], number[]][] = [];
  const partner = new Map<number, number>();
  for (const [n, numbers] of inner.entries()) {
    if (numbers.length === 0) continue;
    let line = behind[numbers[0]];
    for (const other of numbers.slice(1)) line = bridged(p, line, behind[other]);
    for (const one of numbers) partner.set(one, pairs.length);
    pairs.push([before[n], line]);
  }
  for (const [n, numbers] of inner.entries()) {
    if (numbers.length > 0) continue;
    const seen = seenFrom(p, before[n], behind);
    if (!seen.every(({ distance }) => distance < mostApart)) return undefined;
    const at = partner.get(seen[0].number) as number;
    pairs[at][0] = bridged(p, pairs[at][0], before[n]);
  }
  return pairs;
}

/** One line of two: across where they are nearest, and back. */
function bridged(p: Float64Array, one: readonly number[], other: readonly number[]): number[] {
  let [i, j, least] = [0, 0, Infinity];
  for (let a = 0; a < one.length; a++) {
    for (let b = 0; b < other.length; b++) {
      const d = distance2(p, one[a], other[b]);
      if (d < least) [i, j, least] = [a, b, d];
    }
  }
  return [...one.slice(0, i + 1), ...other.slice(j), ...other.slice(0, j + 1), ...one.slice(i)];
}
