/**
 * The last look at an offset surface: faces that cut one another are undone where they are (an edge is merged away; only
 * where no merge helps are vertices smoothed), then what misses by too much is lessened (local-mend.ts). What it costs is
 * measured on the faces made anew.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { tickingRun, type RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { buildBvh, visitBox, type Bvh } from '../spatial/bvh.ts';
import { findSelfIntersections, overPositions } from '../spatial/self-intersections.ts';
import { deepMend } from './deep-mend.ts';
import { LocalMend, missInPart, missingFirst, missOfFace, type Part } from './local-mend.ts';
import type { SignedField } from './signed-field.ts';

/** Faces asked between two looks for a stop, less one (a mask). */
const STRIDE = 255;
/** Rounds over a neighbourhood: against cuts, and to lessen misses, which end as soon as one helps nothing. */
const ROUNDS = 12;
const LESSEN_ROUNDS = 16;
/** So often what no change helped is gone about in several steps. */
const DEEP_ROUNDS = 3;
/** So often the neighbourhoods of what cuts are worked on; they reach so many lengths of its faces, wider each time. */
const LOOKS = 3;
const ROOM = 4;
/** From this round on, what no merge helps is smoothed; one ring wider every second round. */
const SMOOTH_FROM = 4;
/** A face that looks plain and misses by no more than this share of what is allowed is not looked into. */
const PLAIN = 0.4;
/** Vertices that may be made. */
const NEW_VERTICES = 4096;

export interface Uncrossed {
  /** Single precision, unused vertices left out. */
  readonly mesh: Mesh;
  readonly tree: Bvh;
  readonly selfIntersections: number;
  /** Largest miss on the faces made anew, at their middles, mm; 0 where nothing was. */
  readonly mendedMm: number;
  /** The same on the faces they stand for. */
  readonly beforeMm: number;
}

/** Where a surface may still miss: vertices whose faces are looked at, and what they may miss, mm. */
export interface Spots {
  readonly vertices: Uint8Array;
  readonly allowedMm: number;
}

/**
 * Undo what cuts itself in a closed manifold of single precision, and lessen what misses by more than is allowed where
 * `spots` says. The whole is looked through for cuts once before and once after; the rounds between see only the faces
 * round the cuts and misses. O(faces log faces).
 */
export function uncross(
  mesh: Mesh,
  field: SignedField,
  offset: number,
  run: RunContext,
  spots: Spots = NO_SPOTS,
): Uncrossed {
  let current = mesh;
  let changed: Uint8Array = new Uint8Array(mesh.positions.length / 3);
  const tick = (): void => run.step('prove', 0, 1);
  const ticking = tickingRun(tick);
  tick();
  let tree = buildBvh(mesh, tick);
  let pairs = findSelfIntersections(mesh, ticking, Infinity, undefined, tree);
  const missing = missingFaces(mesh, field, offset, spots, tick);
  if (pairs.length === 0 && missing.length === 0) {
    return { mesh: compacted(mesh), tree, selfIntersections: 0, mendedMm: 0, beforeMm: 0 };
  }
  const cutting = new Set(pairs.flatMap((f) => [...mesh.triangles.subarray(f * 3, f * 3 + 3)]));
  const beforeMm = missBy(mesh, field, offset, (v) => cutting.has(v), tick);
  for (let look = 0; look < LOOKS; look++) {
    const wanted = look === 0 ? [...pairs, ...missing] : pairs;
    if (wanted.length === 0) break;
    const isNear = facesRound(current, tree, wanted, ROOM * (look + 1));
    const part = partOf(current, isNear, changed);
    // What missed by little so far need not be asked again.
    const open = new Uint8Array(part.held.length);
    for (const f of missing) for (let k = f * 3; k < f * 3 + 3; k++) open[mesh.triangles[k]] = 1;
    mendPart(part, open, spots.allowedMm, field, offset, tick);
    current = joinedTo(current, isNear, part);
    changed = part.changed.slice(0, part.vertexCount);
    tree = buildBvh(current, tick);
    // What was free of cuts before can only be cut by what was made anew, but for cuts that are left.
    const t = current.triangles;
    const isCutting = new Uint8Array(changed.length);
    for (const v of cutting) isCutting[v] = 1;
    const anew = new Uint8Array(t.length / 3);
    for (let h = 0; h < t.length; h++) if (changed[t[h]] === 1 || isCutting[t[h]] === 1) anew[(h / 3) | 0] = 1;
    pairs = findSelfIntersections(current, ticking, Infinity, anew, tree);
  }
  const mendedMm = missBy(current, field, offset, (v) => changed[v] === 1, tick);
  return { mesh: compacted(current), tree, selfIntersections: pairs.length / 2, mendedMm, beforeMm };
}

const NO_SPOTS: Spots = { vertices: new Uint8Array(0), allowedMm: Infinity };

/** The faces that have a vertex of interest and miss by more than is allowed. */
function missingFaces(
  { positions: p, triangles: t }: Mesh,
  field: SignedField,
  offset: number,
  { vertices, allowedMm }: Spots,
  tick: () => void,
): number[] {
  const missing: number[] = [];
  if (vertices.length === 0) return missing;
  let asked = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (vertices[t[f]] + vertices[t[f + 1]] + vertices[t[f + 2]] === 0) continue;
    if ((asked++ & STRIDE) === 0) tick();
    if (missOfFace(p, t[f], t[f + 1], t[f + 2], field, offset, allowedMm, PLAIN * allowedMm) > allowedMm)
      missing.push(f / 3);
  }
  return missing;
}

/** The faces marked, with room for new vertices; vertices that have others too are held. */
function partOf({ positions, triangles }: Mesh, isNear: Uint8Array, changed: Uint8Array): Part {
  const vertexCount = positions.length / 3;
  const room = vertexCount + NEW_VERTICES;
  const held = new Uint8Array(room);
  for (let h = 0; h < triangles.length; h++) if (isNear[(h / 3) | 0] === 0) held[triangles[h]] = 1;
  const all = new Float64Array(room * 3);
  all.set(positions);
  const faces = chosen(triangles, isNear, 1);
  return {
    positions: all,
    vertexCount,
    triangles: faces,
    missed: new Float64Array(faces.length / 3).fill(-1),
    held,
    changed: roomed(changed, room),
  };
}

/** The faces marked so. A filter with a function costs several times as much. */
function chosen(triangles: Uint32Array, marks: Uint8Array, mark: number): Uint32Array {
  const faces = new Uint32Array(triangles.length);
  let count = 0;
  for (let f = 0; f < marks.length; f++) {
    if (marks[f] !== mark) continue;
    for (let k = f * 3; k < f * 3 + 3; k++) faces[count++] = triangles[k];
  }
  return faces.slice(0, count);
}

function roomed(array: Uint8Array, length: number): Uint8Array {
  const longer = new Uint8Array(length);
  longer.set(array);
  return longer;
}

/** The part put back among the faces that were not marked. */
function joinedTo({ triangles }: Mesh, isNear: Uint8Array, part: Part): Mesh {
  const rest = chosen(triangles, isNear, 0);
  const all = new Uint32Array(rest.length + part.triangles.length);
  all.set(rest);
  all.set(part.triangles, rest.length);
  return { positions: part.positions.slice(0, part.vertexCount * 3), triangles: all };
}

/** Rounds over a part: cuts first, then misses at faces with an open vertex. Rewrites the part, and `open`. */
function mendPart(
  part: Part,
  open: Uint8Array,
  allowedMm: number,
  field: SignedField,
  offset: number,
  tick: () => void,
): void {
  let lessened = 0;
  let deepened = 0;
  let isDeep = false;
  // Corners of faces that no single change helped.
  const stuck = new Uint8Array(part.held.length);
  for (let round = 0; round < ROUNDS + lessened && lessened < LESSEN_ROUNDS; round++) {
    tick();
    const tree = buildBvh(part, tick);
    // What lessens a miss is taken only when it cuts nothing; several changes in turn saw only what was near.
    const pairs =
      lessened > 0 && !isDeep ? [] : findSelfIntersections(part, tickingRun(tick), Infinity, undefined, tree);
    isDeep = false;
    if (pairs.length > 0) {
      const mend = new LocalMend(part, tree, field, offset);
      const unhelped = overPositions(part.positions, () => mend.undo(pairs, tick));
      mend.leave();
      mend.markTouched(open);
      if (unhelped.length > 0 && round >= SMOOTH_FROM) smooth(part, unhelped, (round - SMOOTH_FROM) >> 1, open);
      continue;
    }
    const t = part.triangles;
    const missing = missingFirst(part, open, allowedMm, field, offset, tick);
    const mend = new LocalMend(part, tree, field, offset);
    const made = overPositions(part.positions, () => mend.lessen(missing, allowedMm, tick));
    // What nothing helped is asked again only where something has changed about it.
    open.fill(0);
    mend.markTouched(open);
    for (const v of mend.unhelped) stuck[v] = 1;
    if (made === 0) {
      if (deepened++ === DEEP_ROUNDS) return;
      const faces: number[] = [];
      for (let f = 0; f < t.length; f += 3) {
        if (stuck[t[f]] + stuck[t[f + 1]] + stuck[t[f + 2]] < 3) continue;
        if (missInPart(part, f / 3, field, offset) > allowedMm) faces.push(f / 3);
      }
      stuck.fill(0);
      if (deepMend(part, tree, faces, open, allowedMm, field, offset, tick) === 0) return;
      isDeep = true;
    } else {
      mend.leave();
    }
    lessened++;
  }
}

/** Marks the faces within so many of their own lengths of those that cut. */
function facesRound(
  { positions: p, triangles: t }: Mesh,
  tree: Bvh,
  pairs: readonly number[],
  lengths: number,
): Uint8Array {
  const isNear = new Uint8Array(t.length / 3);
  const low: [number, number, number] = [0, 0, 0],
    high: [number, number, number] = [0, 0, 0];
  for (const f of new Set(pairs)) {
    let size = 0;
    for (let k = 0; k < 3; k++) {
      const corners = [p[t[f * 3] * 3 + k], p[t[f * 3 + 1] * 3 + k], p[t[f * 3 + 2] * 3 + k]];
      low[k] = Math.min(...corners);
      high[k] = Math.max(...corners);
      size = Math.max(size, high[k] - low[k]);
    }
    for (let k = 0; k < 3; k++) {
      low[k] -= lengths * size;
      high[k] += lengths * size;
    }
    visitBox(tree, low, high, (face) => {
      isNear[face] = 1;
      return true;
    });
  }
  return isNear;
}

/** Without unused vertices; faces keep their numbers, so a tree over them is of use as it is. */
function compacted(mesh: Mesh): Mesh {
  return keepFaces(mesh, new Uint8Array(mesh.triangles.length / 3).fill(1));
}

/** Largest miss at the middles of the faces that have a vertex of interest. */
function missBy(
  { positions: p, triangles: t }: Mesh,
  field: SignedField,
  offset: number,
  isMeant: (v: number) => boolean,
  tick: () => void,
): number {
  let most = 0,
    asked = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (!isMeant(t[f]) && !isMeant(t[f + 1]) && !isMeant(t[f + 2])) continue;
    if ((asked++ & STRIDE) === 0) tick();
    const [a, b, c] = [t[f] * 3, t[f + 1] * 3, t[f + 2] * 3];
    const at = field.at(
      (p[a] + p[b] + p[c]) / 3,
      (p[a + 1] + p[b + 1] + p[c + 1]) / 3,
      (p[a + 2] + p[b + 2] + p[c + 2]) / 3,
    );
    most = Math.max(most, Math.abs(at - offset));
  }
  return most;
}

/** Move these vertices, and `rings` further, halfway to the mean of their neighbours; marks them in `open`. */
function smooth(part: Part, vertices: readonly number[], rings: number, open: Uint8Array): void {
  const { positions: p, triangles: t, vertexCount, held, changed } = part;
  part.missed.fill(-1);
  let marked = new Uint8Array(vertexCount);
  for (const v of vertices) marked[v] = 1;
  for (let ring = 0; ring < rings; ring++) {
    const wider = marked.slice();
    for (let f = 0; f < t.length; f += 3) {
      if (marked[t[f]] + marked[t[f + 1]] + marked[t[f + 2]] > 0) wider[t[f]] = wider[t[f + 1]] = wider[t[f + 2]] = 1;
    }
    marked = wider;
  }
  const sum = new Float64Array(vertexCount * 3);
  const count = new Uint32Array(vertexCount);
  for (let h = 0; h < t.length; h++) {
    const a = t[h],
      b = t[h - (h % 3) + ((h + 1) % 3)];
    if (marked[a] === 0) continue;
    count[a]++;
    for (let k = 0; k < 3; k++) sum[a * 3 + k] += p[b * 3 + k];
  }
  for (let v = 0; v < vertexCount; v++) {
    if (count[v] === 0 || held[v] === 1) continue;
    changed[v] = open[v] = 1;
    for (let k = 0; k < 3; k++) p[v * 3 + k] = Math.fround((p[v * 3 + k] + sum[v * 3 + k] / count[v]) / 2);
  }
}
