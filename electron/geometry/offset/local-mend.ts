/**
 * Local changes to a closed surface near an offset, each taken only when it is seen to help: an edge merged, turned or
 * split, a face split, a vertex moved. What counts is measured, not guessed from angles: whether faces cut one another
 * (exact), and how far the faces made anew lie off the offset, inside and along their edges.
 */
import { cornersCross, faceCrossOut } from '../mesh/face-cross.ts';
import { visitBox, type Bvh } from '../spatial/bvh.ts';
import { facesMeet } from '../spatial/self-intersections.ts';
import { CreaseSolver, place } from './crease-solve.ts';
import { cosineFrom, FaceList } from './footed-surface.ts';
import type { SignedField } from './signed-field.ts';

/** A face made by a merge is upright when it looks, within acos of this, away from the form at its middle. */
const UPRIGHT_COSINE = 0.1;
/** A cut left outweighs any number of these; a face upside down any miss. */
const CUT = 1e6;
const TURNED = 1e3;
/** Less than this share of what is allowed is not counted; what is over must become less by this factor. */
const FINE = 0.7;
const GAIN = 0.85;
/** Feet seen from a place within acos of this are of one sheet. */
const ONE_SHEET = 0.95;
/** How far from an end toward the middle its sheet is asked for: right on a crease either could be meant. */
const INWARD = 0.15;
/** How well sheets must meet, as a share of what may be missed. */
const MEET = 0.05;
const SETTLE_ROUNDS = 3;
/** A face goes once in a round, and at most two come for it; room for trying beyond that. */
const ROOM = 4096;
/** Faces asked between two looks for a stop, less one (a mask). */
const STRIDE = 31;
/** Edges shorter than this share of what may be missed are not split. */
const LEAST_SPLIT = 1;

/** A part of a mesh under work. Arrays have room for new vertices and faces. */
export interface Part {
  /** Single precision values, xyz each. */
  readonly positions: Float64Array;
  vertexCount: number;
  triangles: Uint32Array;
  /** Per face by how much it misses, mm; -1 where that is not known. */
  missed: Float64Array;
  /** Per vertex 1 where it has faces outside the part, and where faces about it were made anew. */
  readonly held: Uint8Array;
  readonly changed: Uint8Array;
}

/** Of some faces, mm and mm². */
export interface Missed {
  readonly most: number;
  readonly excess: number;
}

/** Faces to be taken away (first corners) and faces to be put in their stead (corners). */
export interface Change {
  readonly away: readonly number[];
  readonly put: readonly number[];
  /** The new vertex it brings, if any, where `m` is to be. */
  readonly at?: readonly [number, number, number];
  /** By how much the faces put miss, where that was asked. */
  readonly misses?: readonly number[];
}

interface Edge {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
  readonly g: number;
}

/** One round over a part; inside `overPositions` of its positions. Vertices about which something changed are left then. */
export class LocalMend {
  readonly #part: Part;
  readonly #p: Float64Array;
  readonly #t: Uint32Array;
  #faceCount: number;
  readonly #treeFaces: number;
  readonly #tree: Bvh;
  readonly #field: SignedField;
  readonly #offset: number;
  readonly #solver: CreaseSolver;
  readonly #locked: Uint8Array;
  /** As in the part, of the faces made too. */
  readonly #missed: Float64Array;
  readonly #dead: Uint8Array;
  /** Whether a change was not looked at for another one made in this round, and corners of faces that nothing else helped. */
  #isHindered = false;
  readonly #hindered: number[] = [];
  /** Corners of faces that no change helped. */
  readonly unhelped: number[] = [];
  readonly #first: Int32Array;
  readonly #list: Int32Array;

  /** `tree`: over the part's triangles. */
  constructor(part: Part, tree: Bvh, field: SignedField, offset: number) {
    this.#part = part;
    this.#p = part.positions;
    const { triangles, vertexCount } = part;
    this.#faceCount = this.#treeFaces = triangles.length / 3;
    this.#t = new Uint32Array(3 * triangles.length + 3 * ROOM);
    this.#t.set(triangles);
    this.#tree = tree;
    this.#field = field;
    this.#offset = offset;
    this.#solver = new CreaseSolver(field, offset);
    this.#locked = part.held.slice();
    this.#missed = new Float64Array(this.#t.length / 3).fill(-1);
    this.#missed.set(part.missed);
    this.#dead = new Uint8Array(this.#t.length / 3);
    const first = (this.#first = new Int32Array(vertexCount + 1));
    for (const v of triangles) first[v + 1]++;
    for (let v = 0; v < vertexCount; v++) first[v + 1] += first[v];
    const next = first.slice();
    this.#list = new Int32Array(triangles.length);
    for (let h = 0; h < triangles.length; h++) this.#list[next[triangles[h]]++] = h;
  }

  /** Leave the faces there are now in the part. */
  leave(): void {
    const faces = new FaceList(this.#faceCount);
    const missed = new Float64Array(this.#faceCount);
    const t = this.#t;
    for (let f = 0; f < this.#faceCount; f++) {
      if (this.#dead[f] === 1) continue;
      missed[faces.count] = this.#missed[f];
      faces.put(t[f * 3], t[f * 3 + 1], t[f * 3 + 2]);
    }
    this.#part.triangles = faces.triangles();
    this.#part.missed = missed.slice(0, faces.count);
  }

  /** Marks the vertices of all faces that went or came, and of those about which more could not be tried for it. */
  markTouched(touched: Uint8Array): void {
    const { held } = this.#part;
    for (const v of this.#hindered) touched[v] = 1;
    for (let v = 0; v < held.length; v++) if (this.#locked[v] === 1 && held[v] === 0) touched[v] = 1;
  }

  /**
   * Merge an edge of each pair of faces (their numbers two by two) that cut, the way that leaves the fewest cuts, then the
   * fewest faces upside down, then the least miss. Gives vertices of those that no merge helped.
   */
  undo(pairs: readonly number[], tick: () => void): number[] {
    const t = this.#t;
    const left: number[] = [];
    for (let i = 0; i < pairs.length; i += 2) {
      if (i % 8 === 0) tick();
      const pair = [pairs[i] * 3, pairs[i + 1] * 3];
      const corners = pair.flatMap((f) => [t[f], t[f + 1], t[f + 2]]);
      // Seen again in the next round.
      if (this.#isLocked(corners)) continue;
      let best: Change | undefined;
      let least = Infinity;
      for (const change of pair.flatMap((f) => this.#merges(f))) {
        const before = this.#cutsBy(change.away);
        const { cuts, turned, miss } = this.#judge(change);
        const cost = cuts < before ? cuts * CUT + turned * TURNED + miss : Infinity;
        if (cost >= least) continue;
        least = cost;
        best = change;
      }
      if (best === undefined) left.push(...corners);
      else this.make(best);
    }
    return left;
  }

  /**
   * Lessen what these faces (their numbers) miss over `allowedMm` by the change that does it best, without missing by more
   * anywhere; gives how many changes were made.
   */
  lessen(faces: readonly number[], allowedMm: number, tick: () => void): number {
    const t = this.#t;
    let made = 0;
    for (const face of faces) {
      tick();
      const f = face * 3;
      if (this.#dead[face] === 1 || this.#isLocked([t[f], t[f + 1], t[f + 2]])) continue;
      this.#isHindered = false;
      let best: Change | undefined;
      let least = GAIN;
      const judge = (change: Change): void => {
        const before = this.#missOfAway(change, allowedMm);
        const after = this.#missOfPut(change, allowedMm, { most: before.most, excess: least * before.excess });
        if (after.most > before.most || after.excess >= least * before.excess) return;
        if (this.#cutsOfPut(change) > 0) return;
        least = after.excess / before.excess;
        best = { ...change, misses: after.misses };
      };
      for (const change of this.#changes(f, allowedMm)) judge(change);
      if (best === undefined) for (const change of this.#splitsNearEnds(f, allowedMm)) judge(change);
      if (best === undefined) for (const change of this.#stars(f, allowedMm)) judge(change);
      if (best === undefined) {
        (this.#isHindered ? this.#hindered : this.unhelped).push(t[f], t[f + 1], t[f + 2]);
        continue;
      }
      this.make(best);
      made++;
    }
    return made;
  }

  /** So many changes at a face that cut nothing, those that miss least first, though they may miss by more than it does now. */
  firsts(face: number, allowedMm: number, most: number, tick: () => void): Change[] {
    const found: { readonly change: Change; readonly gained: number }[] = [];
    const any = { most: Infinity, excess: Infinity };
    const f = face * 3;
    const all = [...this.#changes(f, allowedMm), ...this.#splitsNearEnds(f, allowedMm), ...this.#stars(f, allowedMm)];
    for (const change of all) {
      tick();
      const { excess, misses } = this.#missOfPut(change, allowedMm, any);
      const gained = excess - this.#missOfAway(change, allowedMm).excess;
      found.push({ change: { ...change, misses }, gained });
    }
    found.sort((a, b) => a.gained - b.gained);
    const firsts: Change[] = [];
    for (const { change } of found) {
      if (firsts.length === most) break;
      if (this.#cutsOfPut(change) === 0) firsts.push(change);
    }
    return firsts;
  }

  #isLocked(vertices: Iterable<number>): boolean {
    for (const v of vertices) {
      if (this.#locked[v] === 0) continue;
      if (this.#part.held[v] === 0) this.#isHindered = true;
      return true;
    }
    return false;
  }

  #of(v: number): Int32Array {
    return this.#list.subarray(this.#first[v], this.#first[v + 1]);
  }

  /** First corners of the faces at a vertex. */
  #facesAt(v: number): number[] {
    return Array.from(this.#of(v), (h) => h - (h % 3));
  }

  /** All ways to merge an edge of a face that keep the surface a manifold. */
  #merges(f: number): Change[] {
    const t = this.#t;
    const merges: Change[] = [];
    for (let k = 0; k < 3; k++) {
      const a = t[f + k],
        b = t[f + ((k + 1) % 3)];
      for (const [go, stay] of [
        [a, b],
        [b, a],
      ]) {
        const away = this.#facesAt(go);
        const ringGo = new Set(away.flatMap((g) => [t[g], t[g + 1], t[g + 2]]));
        const ringStay = new Set(this.#facesAt(stay).flatMap((g) => [t[g], t[g + 1], t[g + 2]]));
        let shared = 0;
        for (const v of ringGo) if (ringStay.has(v)) shared++;
        // Both ends, and one vertex on either side.
        if (shared !== 4 || this.#isLocked(ringGo) || this.#isLocked(ringStay)) continue;
        const put: number[] = [];
        for (const g of away) {
          const corners = [t[g], t[g + 1], t[g + 2]];
          if (!corners.includes(stay)) put.push(...corners.map((v) => (v === go ? stay : v)));
        }
        merges.push({ away, put });
      }
    }
    return merges;
  }

  /** What could be done at a face that misses. */
  *#changes(f: number, allowedMm: number): Generator<Change> {
    yield* this.#merges(f);
    const t = this.#t;
    const m = this.#part.vertexCount;
    const hasRoom = (m + 1) * 3 <= this.#p.length;
    for (const edge of this.#edges(f)) {
      const { a, b, c, d, g } = edge;
      if (!this.#areJoined(c, d)) yield { away: [f, g], put: [a, d, c, d, b, c] };
      yield* this.#splits(f, edge, this.#amid([a, b]), allowedMm);
    }
    const corners = [t[f], t[f + 1], t[f + 2]];
    const [a, b, c] = corners;
    if (!hasRoom) return;
    for (const at of this.#placesFor(this.#amid(corners), corners, allowedMm)) {
      yield { away: [f], put: [a, b, m, b, c, m, c, a, m], at };
    }
    for (const v of corners) {
      const away = this.#facesAt(v);
      const around = away.flatMap((g) => [t[g], t[g + 1], t[g + 2]]);
      if (this.#isLocked(around)) continue;
      const put = around.map((w) => (w === v ? m : w));
      for (const at of this.#placesFor(this.#amid([v]), new Set(around), allowedMm)) yield { away, put, at };
    }
  }

  /** Edges of a face that miss more a fifth of their length from an end than in their middle, split there. */
  *#splitsNearEnds(f: number, allowedMm: number): Generator<Change> {
    for (const edge of this.#edges(f)) {
      const { a, b } = edge;
      // Named more than once an end weighs more.
      const places = [
        [a, b],
        [a, a, a, a, b],
        [a, b, b, b, b],
      ].map((ends) => this.#amid(ends));
      const [middle, nearA, nearB] = places.map(([x, y, z]) => Math.abs(this.#field.at(x, y, z) - this.#offset));
      if (middle >= Math.max(nearA, nearB)) continue;
      yield* this.#splits(f, edge, places[nearA > nearB ? 1 : 2], allowedMm);
    }
  }

  /** A new vertex joined to the rim of the face and of some of the faces across its edges, these taken away. */
  *#stars(f: number, allowedMm: number): Generator<Change> {
    const t = this.#t;
    const corners = [t[f], t[f + 1], t[f + 2]];
    const m = this.#part.vertexCount;
    if ((m + 1) * 3 > this.#p.length || this.#isLocked(corners)) return;
    const edges = [...this.#edges(f)];
    const worst = this.#worstOf(f);
    for (let chosen = 1; chosen < 1 << edges.length; chosen++) {
      const across = edges.filter((_, n) => ((chosen >> n) & 1) === 1);
      if (new Set(across.map(({ d }) => d)).size < across.length) continue;
      const rim = corners.flatMap((a) => [a, ...across.filter((edge) => edge.a === a).map(({ d }) => d)]);
      const away = [f, ...across.map(({ g }) => g)];
      const put = rim.flatMap((v, i) => [v, rim[(i + 1) % rim.length], m]);
      for (const from of [worst, this.#amid(rim)]) {
        for (const at of this.#placesFor(from, rim, allowedMm)) yield { away, put, at };
      }
    }
  }

  /** The place of a face that misses most, of those asked but its corners. */
  #worstOf(f: number): number[] {
    const p = this.#p;
    const [a, b, c] = [this.#t[f] * 3, this.#t[f + 1] * 3, this.#t[f + 2] * 3];
    let worst: number[] = [];
    let most = -1;
    for (const [wa, wb, wc] of SAMPLES.slice(0, -3)) {
      const at = [0, 1, 2].map((k) => wa * p[a + k] + wb * p[b + k] + wc * p[c + k]);
      const miss = Math.abs(this.#field.at(at[0], at[1], at[2]) - this.#offset);
      if (miss <= most) continue;
      most = miss;
      worst = at;
    }
    return worst;
  }

  /** The edges ab of a face, with its third corner c, and d of the face g across; none where d is locked or no face is. */
  *#edges(f: number): Generator<Edge> {
    const t = this.#t;
    for (let k = 0; k < 3; k++) {
      const a = t[f + k],
        b = t[f + ((k + 1) % 3)],
        c = t[f + ((k + 2) % 3)];
      const g = this.#across(f, a, b);
      if (g < 0) continue;
      const d = [t[g], t[g + 1], t[g + 2]].find((v) => v !== a && v !== b) as number;
      if (!this.#isLocked([d])) yield { a, b, c, d, g };
    }
  }

  /** An edge split at a place of it, where it is not too short. */
  *#splits(f: number, { a, b, c, d, g }: Edge, at: readonly number[], allowedMm: number): Generator<Change> {
    const m = this.#part.vertexCount;
    if ((m + 1) * 3 > this.#p.length || this.#length(a, b) < LEAST_SPLIT * allowedMm) return;
    for (const placed of this.#placesFor(at, [a, b], allowedMm)) {
      yield { away: [f, g], put: [c, a, m, b, c, m, d, b, m, a, d, m], at: placed };
    }
  }

  /** The middle of some vertices. */
  #amid(vertices: readonly number[]): number[] {
    const p = this.#p;
    return [0, 1, 2].map((k) => vertices.reduce((sum, v) => sum + p[v * 3 + k], 0) / vertices.length);
  }

  /** Places for a new vertex: this one brought onto the nearest sheet, and where the sheets seen from there to `around` meet. */
  #placesFor(middle: readonly number[], around: Iterable<number>, allowedMm: number): [number, number, number][] {
    const p = this.#p;
    const field = this.#field;
    const places: [number, number, number][] = [];
    let [x, y, z] = middle;
    for (let round = 0; round < SETTLE_ROUNDS; round++) {
      const miss = field.at(x, y, z) - this.#offset;
      if (field.distance === 0) break;
      const by = -miss / field.distance;
      x += (x - field.x) * by;
      y += (y - field.y) * by;
      z += (z - field.z) * by;
    }
    places.push([Math.fround(x), Math.fround(y), Math.fround(z)]);
    const solver = this.#solver;
    solver.clear();
    [x, y, z] = middle;
    let reach = 0;
    for (const v of around) {
      const [ax, ay, az] = [p[v * 3], p[v * 3 + 1], p[v * 3 + 2]];
      reach = Math.max(reach, Math.sqrt((ax - x) * (ax - x) + (ay - y) * (ay - y) + (az - z) * (az - z)));
      field.at(ax + INWARD * (x - ax), ay + INWARD * (y - ay), az + INWARD * (z - az));
      foot[0] = field.x;
      foot[1] = field.y;
      foot[2] = field.z;
      let isKnown = false;
      for (let k = 0; k < solver.count; k++) {
        if (cosineFrom(x, y, z, solver.feet, k * 3, foot, 0) > ONE_SHEET) isKnown = true;
      }
      if (!isKnown) solver.take(foot[0], foot[1], foot[2]);
    }
    if (solver.count > 1) {
      place[0] = x;
      place[1] = y;
      place[2] = z;
      if (solver.solve(2 * reach, MEET * allowedMm)) {
        places.push([Math.fround(place[0]), Math.fround(place[1]), Math.fround(place[2])]);
      }
    }
    return places;
  }

  #length(a: number, b: number): number {
    const p = this.#p;
    const x = p[a * 3] - p[b * 3],
      y = p[a * 3 + 1] - p[b * 3 + 1],
      z = p[a * 3 + 2] - p[b * 3 + 2];
    return Math.sqrt(x * x + y * y + z * z);
  }

  /** The other face at an edge, or -1 where it is not of the part. */
  #across(f: number, a: number, b: number): number {
    const t = this.#t;
    for (const g of this.#facesAt(a)) if (g !== f && (t[g] === b || t[g + 1] === b || t[g + 2] === b)) return g;
    return -1;
  }

  #areJoined(a: number, b: number): boolean {
    const t = this.#t;
    return this.#facesAt(a).some((g) => t[g] === b || t[g + 1] === b || t[g + 2] === b);
  }

  /** What faces miss: the most, and the sum of squares of what is over a share of `allowedMm`. */
  #missOfAway({ away }: Change, allowedMm: number): Missed {
    const t = this.#t;
    let most = 0,
      excess = 0;
    for (const f of away) {
      let miss = this.#missed[f / 3];
      if (miss < 0) {
        miss = missOfFace(this.#p, t[f], t[f + 1], t[f + 2], this.#field, this.#offset);
        this.#missed[f / 3] = miss;
      }
      const over = Math.max(0, miss - FINE * allowedMm);
      most = Math.max(most, miss);
      excess += over * over;
    }
    return { most, excess };
  }

  /** The same of what a change puts; looks no further once there is more than either limit. */
  #missOfPut({ put, at }: Change, allowedMm: number, limits: Missed): Missed & { readonly misses: readonly number[] } {
    if (at !== undefined) this.#p.set(at, this.#part.vertexCount * 3);
    const misses: number[] = [];
    let most = 0,
      excess = 0;
    for (let i = 0; i < put.length && excess < limits.excess && most <= limits.most; i += 3) {
      const [a, b, c] = [put[i], put[i + 1], put[i + 2]];
      const miss = missOfFace(this.#p, a, b, c, this.#field, this.#offset, limits.most);
      const over = Math.max(0, miss - FINE * allowedMm);
      misses.push(miss);
      most = Math.max(most, miss);
      excess += over * over;
    }
    return { most, excess, misses };
  }

  /** Cuts of these faces with any living ones. */
  #cutsBy(faces: readonly number[]): number {
    const near = this.#near(faces.flatMap((f) => [this.#t[f], this.#t[f + 1], this.#t[f + 2]]));
    let cuts = 0;
    for (const f of faces) for (const g of near) if (f !== g && facesMeet(this.#t, f, g)) cuts++;
    return cuts;
  }

  /** Cuts of the faces a change puts, with one another and with all that stays. */
  #cutsOfPut({ away, put, at }: Change): number {
    const t = this.#t;
    if (at !== undefined) this.#p.set(at, this.#part.vertexCount * 3);
    const near = this.#near(put);
    const stays = near.filter((g) => !away.includes(g));
    // Behind the last face, so that they can be told by their first corners too.
    const begin = this.#faceCount * 3;
    this.#needRoom(put.length);
    t.set(put, begin);
    let cuts = 0;
    for (let f = begin; f < begin + put.length; f += 3) {
      for (const g of stays) if (facesMeet(t, f, g)) cuts++;
      for (let g = begin; g < f; g += 3) if (facesMeet(t, f, g)) cuts++;
    }
    return cuts;
  }

  /** What a merge leaves: cuts, faces upside down, the largest miss in the middle of a face. */
  #judge(change: Change): { cuts: number; turned: number; miss: number } {
    let turned = 0,
      miss = 0;
    const { put } = change;
    for (let i = 0; i < put.length; i += 3) {
      const seen = this.#look(put[i], put[i + 1], put[i + 2]);
      if (seen.cosine < UPRIGHT_COSINE) turned++;
      miss = Math.max(miss, seen.miss);
    }
    return { cuts: this.#cutsOfPut(change), turned, miss };
  }

  /** How a face looks against the way out at its middle, and how far that lies off. */
  #look(va: number, vb: number, vc: number): { cosine: number; miss: number } {
    const p = this.#p;
    const a = va * 3,
      b = vb * 3,
      c = vc * 3;
    cornersCross(p, a, b, c);
    const [nx, ny, nz] = faceCrossOut;
    const [x, y, z] = [0, 1, 2].map((k) => (p[a + k] + p[b + k] + p[c + k]) / 3);
    const field = this.#field;
    const at = field.at(x, y, z);
    const [dx, dy, dz] = [x - field.x, y - field.y, z - field.z];
    const size = Math.sqrt((nx * nx + ny * ny + nz * nz) * (dx * dx + dy * dy + dz * dz));
    const dot = (nx * dx + ny * dy + nz * dz) * Math.sign(at);
    return { cosine: size > 0 ? dot / size : -1, miss: Math.abs(at - this.#offset) };
  }

  make({ away, put, at, misses }: Change): void {
    const t = this.#t;
    const { changed } = this.#part;
    for (const f of away) {
      this.#dead[f / 3] = 1;
      for (let k = f; k < f + 3; k++) this.#locked[t[k]] = 1;
    }
    if (at !== undefined) this.#p.set(at, this.#part.vertexCount++ * 3);
    this.#needRoom(put.length);
    t.set(put, this.#faceCount * 3);
    if (misses !== undefined) this.#missed.set(misses, this.#faceCount);
    this.#faceCount += put.length / 3;
    for (const v of put) this.#locked[v] = changed[v] = 1;
  }

  #needRoom(corners: number): void {
    if (this.#faceCount * 3 + corners > this.#t.length) throw new RangeError('more faces than a round may make');
  }

  /** First corners of the living faces near these vertices. */
  #near(vertices: readonly number[]): number[] {
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
    const t = this.#t;
    for (let face = this.#treeFaces; face < this.#faceCount; face++) {
      if (this.#dead[face] === 1) continue;
      let isNear = true;
      for (let k = 0; k < 3 && isNear; k++) {
        const a = p[t[face * 3] * 3 + k],
          b = p[t[face * 3 + 1] * 3 + k],
          c = p[t[face * 3 + 2] * 3 + k];
        isNear = Math.min(a, b, c) <= high[k] && Math.max(a, b, c) >= low[k];
      }
      if (isNear) near.push(face * 3);
    }
    return near;
  }
}

/** By how much a face of a part misses (`missOfFace`); asked once. */
export function missInPart(
  { positions, triangles: t, missed }: Part,
  face: number,
  field: SignedField,
  offset: number,
): number {
  if (missed[face] < 0) {
    missed[face] = missOfFace(positions, t[face * 3], t[face * 3 + 1], t[face * 3 + 2], field, offset);
  }
  return missed[face];
}

/** Faces of a part that miss by more than is allowed, their numbers, worst first; with `open` only those with a vertex marked in it. */
export function missingFirst(
  part: Part,
  open: Uint8Array | undefined,
  allowedMm: number,
  field: SignedField,
  offset: number,
  tick: () => void,
): number[] {
  const { triangles: t } = part;
  const missing: { readonly face: number; readonly miss: number }[] = [];
  let asked = 0;
  for (let f = 0; f < t.length; f += 3) {
    if (open !== undefined && open[t[f]] + open[t[f + 1]] + open[t[f + 2]] === 0) continue;
    if ((asked++ & STRIDE) === 0) tick();
    const miss = missInPart(part, f / 3, field, offset);
    if (miss > allowedMm) missing.push({ face: f / 3, miss });
  }
  missing.sort((a, b) => b.miss - a.miss);
  return missing.map(({ face }) => face);
}

/**
 * Largest miss of a face, mm: inside, at its corners, and along its edges, where a crease may cross them off their middle.
 * Looks no further beyond `enough`, nor where its middle and those of its edges miss by no more than `plain` and see the
 * form alike.
 */
export function missOfFace(
  p: Float64Array,
  va: number,
  vb: number,
  vc: number,
  field: SignedField,
  offset: number,
  enough = Infinity,
  plain = -1,
): number {
  const a = va * 3,
    b = vb * 3,
    c = vc * 3;
  let most = 0;
  let wx = 0,
    wy = 0,
    wz = 0;
  for (let n = 0; n < SAMPLES.length; n++) {
    const [wa, wb, wc] = SAMPLES[n];
    const x = wa * p[a] + wb * p[b] + wc * p[c],
      y = wa * p[a + 1] + wb * p[b + 1] + wc * p[c + 1],
      z = wa * p[a + 2] + wb * p[b + 2] + wc * p[c + 2];
    const at = field.at(x, y, z);
    const miss = Math.abs(at - offset);
    if (miss > most) most = miss;
    if (most > enough) return most;
    if (n >= MIDDLES || most > plain) continue;
    wx += (x - field.x) / at;
    wy += (y - field.y) / at;
    wz += (z - field.z) / at;
    if (n === MIDDLES - 1 && wx * wx + wy * wy + wz * wz > ALIKE * MIDDLES * MIDDLES) return most;
  }
  return most;
}

/** Ways are alike when their mean is so long, squared. */
const ALIKE = 0.999;
/** So many of the samples, the first, are of the middles of the face and its edges. */
const MIDDLES = 4;
/** Where a face is asked how far it misses. */
const SAMPLES = [
  [1 / 3, 1 / 3, 1 / 3],
  [0.5, 0.5, 0],
  [0, 0.5, 0.5],
  [0.5, 0, 0.5],
  [0.75, 0.25, 0],
  [0.25, 0.75, 0],
  [0, 0.75, 0.25],
  [0, 0.25, 0.75],
  [0.25, 0, 0.75],
  [0.75, 0, 0.25],
  [2 / 3, 1 / 6, 1 / 6],
  [1 / 6, 2 / 3, 1 / 6],
  [1 / 6, 1 / 6, 2 / 3],
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
] as const;
/** Scratch. */
const foot = new Float64Array(3);
