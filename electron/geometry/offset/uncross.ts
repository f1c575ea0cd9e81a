/**
 * Faces of an offset surface that cut one another, undone where they are: an edge of such a face is merged away, and of
 * the ways to do that the one taken leaves the fewest cuts, then the fewest faces upside down, then the least miss. No
 * vertex is moved but onto another one, so what is left lies where it lay; only where no merge helps are vertices
 * smoothed. What it costs is measured on the faces made anew.
 */
import type { Mesh } from '../../../shared-types/mesh.ts';
import type { RunContext } from '../../../shared-types/progress.ts';
import { keepFaces } from '../mesh/compact.ts';
import { faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { buildBvh, visitBox, visitOverlaps, type Bvh } from '../spatial/bvh.ts';
import { facesMeet, overPositions } from '../spatial/self-intersections.ts';
import { ringOf } from './merge-short.ts';
import type { SignedField } from './signed-field.ts';

const ROUNDS = 12;
/** So often the whole is looked through, but once; faces within so many lengths of those that cut are worked on. */
const LOOKS = 3;
const ROOM = 4;
/** From this round on, what no merge helps is smoothed; one ring wider every second round. */
const SMOOTH_FROM = 4;
/** A face made by a merge is upright when it looks, within acos of this, away from the form at its middle. */
const UPRIGHT_COSINE = 0.1;
/** A cut left outweighs any number of these; a face upside down any miss. */
const CUT = 1e6;
const TURNED = 1e3;

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

/**
 * Undo what cuts itself in a closed manifold of single precision. The whole is looked through once before and once after;
 * the rounds between see only the faces round the cuts. O(faces log faces).
 */
export function uncross(mesh: Mesh, field: SignedField, offset: number, run: RunContext): Uncrossed {
  let current = mesh;
  const changed = new Uint8Array(mesh.positions.length / 3);
  let beforeMm = 0;
  for (let look = 0; ; look++) {
    const tick = (): void => run.step('prove', look, LOOKS + 1);
    tick();
    const tree = buildBvh(current, tick);
    const pairs = crossingsOf(current, tree);
    if (pairs.length === 0 || look === LOOKS) {
      const mendedMm = look === 0 ? 0 : missBy(current, field, offset, (v) => changed[v] === 1, tick);
      return { ...compacted(current, tree, look), selfIntersections: pairs.length / 2, mendedMm, beforeMm };
    }
    if (look === 0) {
      const cutting = new Set(pairs.flatMap((f) => [...current.triangles.subarray(f * 3, f * 3 + 3)]));
      beforeMm = missBy(current, field, offset, (v) => cutting.has(v), tick);
    }
    current = uncrossNear(current, tree, pairs, look, field, offset, changed, tick);
  }
}

/** The rounds, on the faces near those that cut; vertices that have others too stay as they are. */
function uncrossNear(
  mesh: Mesh,
  tree: Bvh,
  pairs: readonly number[],
  look: number,
  field: SignedField,
  offset: number,
  changed: Uint8Array,
  tick: () => void,
): Mesh {
  const { triangles } = mesh;
  const isNear = facesRound(mesh, tree, pairs, ROOM * (look + 1));
  const held = new Uint8Array(changed.length);
  for (let h = 0; h < triangles.length; h++) if (isNear[(h / 3) | 0] === 0) held[triangles[h]] = 1;
  let part: Mesh = { positions: mesh.positions, triangles: triangles.filter((_, h) => isNear[(h / 3) | 0] === 1) };
  for (let round = 0; round < ROUNDS; round++) {
    tick();
    const partTree = buildBvh(part, tick);
    const left = crossingsOf(part, partTree);
    if (left.length === 0) break;
    const merger = new Merger(part, partTree, field, offset, changed, held);
    const unhelped = overPositions(part.positions, () => merger.undo(left, tick));
    part = { positions: part.positions, triangles: merger.triangles() };
    if (unhelped.length > 0 && round >= SMOOTH_FROM) {
      part = smoothed(part, unhelped, (round - SMOOTH_FROM) >> 1, changed, held);
    }
  }
  const rest = triangles.filter((_, h) => isNear[(h / 3) | 0] === 0);
  const all = new Uint32Array(rest.length + part.triangles.length);
  all.set(rest);
  all.set(part.triangles, rest.length);
  return { positions: part.positions, triangles: all };
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

/** Without unused vertices; a tree keeps its face numbers, and is of use as it is. */
function compacted(mesh: Mesh, tree: Bvh, rounds: number): { mesh: Mesh; tree: Bvh } {
  return { mesh: rounds === 0 ? mesh : keepFaces(mesh, new Uint8Array(mesh.triangles.length / 3).fill(1)), tree };
}

/** Faces that meet beyond what they share, two by two. */
function crossingsOf({ positions, triangles }: Mesh, tree: Bvh): number[] {
  const pairs: number[] = [];
  overPositions(positions, () =>
    visitOverlaps(tree, (f, g) => {
      if (facesMeet(triangles, f * 3, g * 3)) pairs.push(f, g);
    }),
  );
  return pairs;
}

/** Largest miss at the middles of the faces that have a vertex of interest. */
function missBy(
  { positions: p, triangles: t }: Mesh,
  field: SignedField,
  offset: number,
  isMeant: (v: number) => boolean,
  tick: () => void,
): number {
  let most = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (!isMeant(t[f]) && !isMeant(t[f + 1]) && !isMeant(t[f + 2])) continue;
    if (f % 384 === 0) tick();
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

/** One round of merges over a mesh; inside `overPositions`. */
class Merger {
  readonly #p: Float64Array;
  readonly #t: Uint32Array;
  readonly #tree: Bvh;
  readonly #field: SignedField;
  readonly #offset: number;
  readonly #changed: Uint8Array;
  readonly #locked: Uint8Array;
  readonly #dead: Uint8Array;
  readonly #first: Int32Array;
  readonly #list: Int32Array;

  constructor(
    { positions, triangles }: Mesh,
    tree: Bvh,
    field: SignedField,
    offset: number,
    changed: Uint8Array,
    held: Uint8Array,
  ) {
    this.#p = positions;
    const t = (this.#t = triangles.slice());
    this.#tree = tree;
    this.#field = field;
    this.#offset = offset;
    this.#changed = changed;
    this.#locked = held.slice();
    this.#dead = new Uint8Array(t.length / 3);
    const first = (this.#first = new Int32Array(changed.length + 1));
    for (const v of t) first[v + 1]++;
    for (let v = 0; v < changed.length; v++) first[v + 1] += first[v];
    const next = first.slice();
    this.#list = new Int32Array(t.length);
    for (let h = 0; h < t.length; h++) this.#list[next[t[h]]++] = h;
  }

  triangles(): Uint32Array {
    return this.#t.filter((_, h) => this.#dead[(h / 3) | 0] === 0);
  }

  /** Merge for each pair that still stands; gives vertices of those that no merge helped. */
  undo(pairs: readonly number[], tick: () => void): number[] {
    const t = this.#t;
    const left: number[] = [];
    for (let i = 0; i < pairs.length; i += 2) {
      if (i % 8 === 0) tick();
      const pair = [pairs[i], pairs[i + 1]];
      const corners = pair.flatMap((f) => [t[f * 3], t[f * 3 + 1], t[f * 3 + 2]]);
      // Seen again in the next round.
      if (corners.some((v) => this.#locked[v] === 1)) continue;
      let best: readonly [number, number] | undefined;
      let least = Infinity;
      for (const f of pair) {
        for (let k = 0; k < 3; k++) {
          const a = t[f * 3 + k],
            b = t[f * 3 + ((k + 1) % 3)];
          for (const [go, stay] of [
            [a, b],
            [b, a],
          ] as const) {
            const cost = this.#costOf(go, stay);
            if (cost >= least) continue;
            least = cost;
            best = [go, stay];
          }
        }
      }
      if (best === undefined) left.push(...corners);
      else this.#merge(...best);
    }
    return left;
  }

  #of(v: number): Int32Array {
    return this.#list.subarray(this.#first[v], this.#first[v + 1]);
  }

  #merge(go: number, stay: number): void {
    const t = this.#t;
    for (const w of [go, stay]) for (const v of ringOf(t, this.#of(w))) this.#locked[v] = 1;
    this.#locked[go] = this.#locked[stay] = 1;
    for (const h of this.#of(go)) {
      const f = h - (h % 3);
      if (t[f] === stay || t[f + 1] === stay || t[f + 2] === stay) this.#dead[f / 3] = 1;
      else t[h] = stay;
    }
    this.#changed[stay] = 1;
  }

  /** What merging would leave; Infinity where it is not sound or undoes no cut. */
  #costOf(go: number, stay: number): number {
    const t = this.#t;
    const ofGo = this.#of(go),
      ofStay = this.#of(stay);
    const ringGo = ringOf(t, ofGo),
      ringStay = ringOf(t, ofStay);
    let shared = 0;
    for (const v of ringGo) {
      if (ringStay.has(v)) shared++;
      if (this.#locked[v] === 1) return Infinity;
    }
    if (shared !== 2) return Infinity;
    for (const v of ringStay) if (this.#locked[v] === 1) return Infinity;
    const dying = new Set<number>();
    const changing: number[] = [];
    for (const h of ofGo) {
      const f = h - (h % 3);
      if (t[f] === stay || t[f + 1] === stay || t[f + 2] === stay) dying.add(f);
      else changing.push(h);
    }
    const near = this.#near(ringGo);
    let cuts = 0;
    for (const f of dying) cuts += this.#cutsOf(f, near, f);
    for (const h of changing) cuts += this.#cutsOf(h - (h % 3), near, h - (h % 3));
    for (const h of changing) t[h] = stay;
    const living = near.filter((f) => !dying.has(f));
    let left = 0,
      turned = 0,
      miss = 0;
    for (const h of changing) {
      const f = h - (h % 3);
      left += this.#cutsOf(f, living, f);
      const seen = this.#look(f);
      if (seen.cosine < UPRIGHT_COSINE) turned++;
      miss = Math.max(miss, seen.miss);
    }
    for (const h of changing) t[h] = go;
    return left < cuts ? left * CUT + turned * TURNED + miss : Infinity;
  }

  #cutsOf(face: number, near: readonly number[], self: number): number {
    let cuts = 0;
    for (const f of near) if (f !== self && facesMeet(this.#t, face, f)) cuts++;
    return cuts;
  }

  /** First corners of the living faces near these vertices. */
  #near(vertices: ReadonlySet<number>): number[] {
    const p = this.#p;
    const low: [number, number, number] = [Infinity, Infinity, Infinity];
    const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
    for (const v of vertices) {
      for (let k = 0; k < 3; k++) {
        low[k] = Math.min(low[k], p[v * 3 + k]);
        high[k] = Math.max(high[k], p[v * 3 + k]);
      }
    }
    const near: number[] = [];
    visitBox(this.#tree, low, high, (face) => {
      if (this.#dead[face] === 0) near.push(face * 3);
      return true;
    });
    return near;
  }

  /** How a face looks against the way out at its middle, and how far that lies off. */
  #look(f: number): { cosine: number; miss: number } {
    const t = this.#t,
      p = this.#p;
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    faceCross(p, t, f);
    const [nx, ny, nz] = faceCrossOut;
    const [x, y, z] = [0, 1, 2].map((k) => p[a + k] + (p[b + k] - p[a + k] + (p[c + k] - p[a + k])) / 3);
    const field = this.#field;
    const at = field.at(x, y, z);
    const [dx, dy, dz] = [x - field.x, y - field.y, z - field.z];
    const size = Math.sqrt((nx * nx + ny * ny + nz * nz) * (dx * dx + dy * dy + dz * dz));
    const dot = (nx * dx + ny * dy + nz * dz) * Math.sign(at);
    return { cosine: size > 0 ? dot / size : -1, miss: Math.abs(at - this.#offset) };
  }
}

/** These vertices, and `rings` further, halfway to the mean of their neighbours. */
function smoothed(mesh: Mesh, vertices: readonly number[], rings: number, changed: Uint8Array, held: Uint8Array): Mesh {
  const { triangles: t } = mesh;
  const vertexCount = mesh.positions.length / 3;
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
    for (let k = 0; k < 3; k++) sum[a * 3 + k] += mesh.positions[b * 3 + k];
  }
  const positions = mesh.positions.slice();
  for (let v = 0; v < vertexCount; v++) {
    if (count[v] === 0 || held[v] === 1) continue;
    changed[v] = 1;
    for (let k = 0; k < 3; k++) positions[v * 3 + k] = (positions[v * 3 + k] + sum[v * 3 + k] / count[v]) / 2;
  }
  return roundToSingle({ positions, triangles: t });
}
