/**
 * Refinement of a tracked offset surface where it misses: the signed distance is measured at the middle of every
 * edge and face that changed; an edge that misses is turned if its quad's other diagonal misses less, else split
 * where the sheets about it meet. Splitting an edge that bridges a crease puts a vertex on the crease, and after
 * one pass no edge crosses it any more.
 */
import type { RunContext } from '../../../shared-types/progress.ts';
import { findTwins } from '../mesh/twins.ts';
import { roomFor } from './cell-map.ts';
import { MOST_SHEETS, nearestOfSheets, place, solveSheets } from './crease-solve.ts';
import { LEAST_ANGLE_SINE, mergeShortEdges, turnCosine } from './merge-short.ts';
import type { SignedField } from './signed-field.ts';
import { VERTEX_SHEETS, type TrackedSurface } from './track-surface.ts';

export const REFINE_PHASE = 'refine';
const STRIDE = 1023;
/** Sheets this near the nearest, in edge lengths, take part where a vertex is placed. */
const ACTIVE = 0.35;
/** Sheets whose normals differ less than acos of this are the same. */
const SAME_NORMAL = 0.9998;
/** Two faces may not be turned against one another further than acos of this by a flip. */
const LEAST_FLIP_COSINE = 0.3;
/** A flip must lessen the miss to this share. */
const FLIP_GAIN = 0.7;
/** Sheets seen within acos of this of one another are one smooth sheet. */
const SMOOTH = 0.998;
/** Below this share of the limit at all three edges a face is not looked at. */
const PLAIN = 0.35;
/** A split may turn a face by acos of this at most; else the new vertex is drawn back, halfway so many times. */
const LEAST_SPLIT_COSINE = 0.25;
const DRAW_BACKS = 3;
/** An edge this many times as long as the one to be split is split instead; so many times over. */
const MUCH_LONGER = 1.9;
const LONG_STEPS = 4;
/** A stray vertex moves at least this share of its way, or not at all. */
const LEAST_SHARE = 0.1;
/** Corrections when the true nearest face was not among the sheets. */
const CORRECTIONS = 3;

export class Refinement {
  readonly field: SignedField;
  readonly offset: number;
  readonly tolerance: number;
  p: Float64Array;
  t: Uint32Array;
  sheets: Int32Array;
  vertexCount: number;
  /** Foot of each vertex on the form. */
  foot: Float64Array;
  readonly #run: RunContext;
  readonly #list = new Int32Array(MOST_SHEETS);
  /** Faces measured and found good, by face; reset where changed. */
  #good: Uint8Array;
  passes = 0;

  constructor(field: SignedField, offset: number, tolerance: number, from: TrackedSurface, run: RunContext) {
    this.field = field;
    this.offset = offset;
    this.tolerance = tolerance;
    this.p = from.positions;
    this.t = from.triangles;
    this.sheets = from.sheets;
    this.vertexCount = from.positions.length / 3;
    this.foot = new Float64Array(from.positions.length);
    this.#run = run;
    this.#good = new Uint8Array(from.triangles.length / 3);
  }

  /** Query every vertex; vertices that miss are moved onto the offset, by at most `reach`. */
  settle(reach: number): void {
    for (let v = 0; v < this.vertexCount; v++) {
      if ((v & STRIDE) === 0) this.#run.step(REFINE_PHASE, 0.1 * (v / this.vertexCount), 1);
      this.#settleVertex(v, reach);
    }
  }

  #settleVertex(v: number, reach: number): void {
    const { p, field } = this;
    let within = Infinity;
    for (let round = 0; ; round++) {
      const x = p[v * 3],
        y = p[v * 3 + 1],
        z = p[v * 3 + 2];
      const miss = field.at(x, y, z, within) - this.offset;
      this.foot[v * 3] = field.x;
      this.foot[v * 3 + 1] = field.y;
      this.foot[v * 3 + 2] = field.z;
      const list = this.sheets;
      const at = v * VERTEX_SHEETS;
      let known = false;
      let last = at;
      for (let s = at; s < at + VERTEX_SHEETS; s++) {
        if (list[s] === field.face) known = true;
        if (list[s] >= 0) last = s;
      }
      if (!known) list[last + 1 < at + VERTEX_SHEETS && list[last] >= 0 ? last + 1 : last] = field.face;
      if (Math.abs(miss) < this.tolerance / 8 || round >= 2) return;
      // Straight to the offset of the nearest face.
      const d = field.distance;
      if (d === 0) return;
      const by = -miss / d;
      let mx = (x - field.x) * by,
        my = (y - field.y) * by,
        mz = (z - field.z) * by;
      const length = Math.hypot(mx, my, mz);
      if (length > reach) {
        mx *= reach / length;
        my *= reach / length;
        mz *= reach / length;
      }
      p[v * 3] = x + mx;
      p[v * 3 + 1] = y + my;
      p[v * 3 + 2] = z + mz;
      within = Math.hypot(p[v * 3] - field.x, p[v * 3 + 1] - field.y, p[v * 3 + 2] - field.z);
    }
  }

  #missAt(x: number, y: number, z: number, a: number, b: number): number {
    const f = this.foot;
    const ax = x - f[a * 3],
      ay = y - f[a * 3 + 1],
      az = z - f[a * 3 + 2];
    const bx = x - f[b * 3],
      by = y - f[b * 3 + 1],
      bz = z - f[b * 3 + 2];
    const within = Math.sqrt(Math.min(ax * ax + ay * ay + az * az, bx * bx + by * by + bz * bz));
    return this.field.at(x, y, z, within) - this.offset;
  }

  #edgeMiss(a: number, b: number): number {
    const p = this.p;
    return this.#missAt(
      (p[a * 3] + p[b * 3]) / 2,
      (p[a * 3 + 1] + p[b * 3 + 1]) / 2,
      (p[a * 3 + 2] + p[b * 3 + 2]) / 2,
      a,
      b,
    );
  }

  /** A new vertex near (x, y, z) where the sheets of the given vertices meet. */
  #place(x: number, y: number, z: number, around: readonly number[], length: number): number {
    const { field, offset } = this;
    const mesh = field.mesh;
    const list = this.#list;
    const v = this.vertexCount++;
    this.p = roomFor(this.p, (v + 1) * 3);
    this.foot = roomFor(this.foot, (v + 1) * 3);
    const wider = roomFor(this.sheets, (v + 1) * VERTEX_SHEETS);
    if (wider !== this.sheets) wider.fill(-1, this.sheets.length);
    this.sheets = wider;
    place[0] = x;
    place[1] = y;
    place[2] = z;
    const side = offset < 0 ? -1 : 1;
    for (let round = 0; round <= CORRECTIONS; round++) {
      const miss = field.at(place[0], place[1], place[2]) - offset;
      // What the listed faces are to be away, here.
      const wanted = offset + field.shift(place[0], place[1], place[2], offset);
      if (Math.abs(miss) < this.tolerance / 16 && round > 0) break;
      // Below the surface: it bulges here, and the offset of the nearest face is right.
      if (side * miss < 0) {
        if (round === 0)
          for (let s = 0; s < VERTEX_SHEETS; s++) this.sheets[v * VERTEX_SHEETS + s] = s === 0 ? field.face : -1;
        break;
      }
      const nearest = Math.abs(field.distance + wanted - offset);
      let count = 0;
      list[count++] = field.face;
      for (const w of around) {
        for (let s = w * VERTEX_SHEETS; s < (w + 1) * VERTEX_SHEETS; s++) {
          const face = this.sheets[s];
          if (face < 0 || count >= MOST_SHEETS) break;
          let known = false;
          for (let i = 0; i < count; i++) {
            const other = list[i];
            if (
              other === face ||
              field.normal(other, 0) * field.normal(face, 0) +
                field.normal(other, 1) * field.normal(face, 1) +
                field.normal(other, 2) * field.normal(face, 2) >
                SAME_NORMAL
            ) {
              known = true;
            }
          }
          if (known) continue;
          const d = distanceTo(mesh, face, place[0], place[1], place[2]);
          if (d < nearest + ACTIVE * length) list[count++] = face;
        }
      }
      for (let s = 0; s < VERTEX_SHEETS; s++) this.sheets[v * VERTEX_SHEETS + s] = s < count ? list[s] : -1;
      const cosine = solveSheets(mesh, list, count, wanted, side, length / 2);
      if (cosine > SMOOTH) {
        place[0] = x;
        place[1] = y;
        place[2] = z;
        break;
      }
    }
    this.p[v * 3] = place[0];
    this.p[v * 3 + 1] = place[1];
    this.p[v * 3 + 2] = place[2];
    this.#settleVertex(v, length / 4);
    return v;
  }

  /** One pass: measure what changed, turn edges, split what misses by more than `limit`. Gives the splits. */
  pass(limit: number, fraction: number): number {
    this.#turned.clear();
    this.#edges = undefined;
    const { twin } = findTwins(this.t, this.vertexCount);
    const t = this.t;
    const faces = t.length / 3;
    const edgeMiss = new Float32Array(t.length);
    const middle = new Int32Array(t.length).fill(-1);
    const touched = new Uint8Array(faces);
    let splits = 0;
    for (let h = 0; h < t.length; h++) {
      if ((h & STRIDE) === 0) this.#run.step(REFINE_PHASE, fraction + (0.1 * h) / t.length, 1);
      const g = twin[h];
      if (g < h) continue;
      const f = (h / 3) | 0,
        e = (g / 3) | 0;
      if (this.#good[f] === 1 && this.#good[e] === 1) continue;
      edgeMiss[h] = edgeMiss[g] = this.#edgeMiss(t[h], t[h - (h % 3) + ((h + 1) % 3)]);
    }
    if (this.passes === 0) this.#balance(edgeMiss, limit);
    for (let h = 0; h < t.length; h++) edgeMiss[h] = Math.abs(edgeMiss[h]);
    // Turn edges whose other diagonal misses less.
    for (let h = 0; h < t.length; h++) {
      const g = twin[h];
      if (g < h || edgeMiss[h] < limit) continue;
      const f = (h / 3) | 0,
        e = (g / 3) | 0;
      if (touched[f] === 1 || touched[e] === 1) continue;
      if (this.#turn(h, g, edgeMiss[h])) {
        touched[f] = touched[e] = 1;
        this.#good[f] = this.#good[e] = 0;
      }
    }
    // Split the edges that still miss, but none of a face that was just turned.
    // Beside a much longer edge that one is split instead, or needles would come of it.
    for (let candidate = 0; candidate < t.length; candidate++) {
      if (twin[candidate] < candidate || edgeMiss[candidate] < limit) continue;
      const h = this.#longAbout(candidate, twin);
      const g = twin[h];
      const f = (h / 3) | 0,
        e = (g / 3) | 0;
      if (touched[f] === 1 || touched[e] === 1 || middle[h] >= 0) continue;
      const a = t[h],
        b = t[g];
      const q = this.p;
      const length = Math.hypot(q[a * 3] - q[b * 3], q[a * 3 + 1] - q[b * 3 + 1], q[a * 3 + 2] - q[b * 3 + 2]);
      const c = t[f * 3 + ((h + 2) % 3)],
        d = t[e * 3 + ((g + 2) % 3)];
      const x = (q[a * 3] + q[b * 3]) / 2,
        y = (q[a * 3 + 1] + q[b * 3 + 1]) / 2,
        z = (q[a * 3 + 2] + q[b * 3 + 2]) / 2;
      const m = this.#place(x, y, z, [a, b, c, d], length);
      this.#draw(m, x, y, z, [
        [c, a, b],
        [b, c, a],
        [d, b, a],
        [a, d, b],
      ]);
      middle[h] = middle[g] = m;
      splits++;
    }
    // Middles of the faces whose edges are all good.
    const next: number[] = [];
    const good: number[] = [];
    for (let f = 0; f < faces; f++) {
      if ((f & STRIDE) === 0) this.#run.step(REFINE_PHASE, fraction + 0.1 + (0.05 * f) / faces, 1);
      const a = t[f * 3],
        b = t[f * 3 + 1],
        c = t[f * 3 + 2];
      const ab = middle[f * 3],
        bc = middle[f * 3 + 1],
        ca = middle[f * 3 + 2];
      const cut = (ab >= 0 ? 1 : 0) + (bc >= 0 ? 1 : 0) + (ca >= 0 ? 1 : 0);
      if (cut === 0) {
        if (touched[f] === 1 || this.#good[f] === 1) {
          next.push(a, b, c);
          good.push(touched[f] === 1 ? 0 : 1);
          continue;
        }
        // Three good edges of a smooth face: its middle is good too.
        const most = Math.max(edgeMiss[f * 3], edgeMiss[f * 3 + 1], edgeMiss[f * 3 + 2]);
        if (most < limit * PLAIN) {
          next.push(a, b, c);
          good.push(1);
          continue;
        }
        const q = this.p;
        const x = (q[a * 3] + q[b * 3] + q[c * 3]) / 3,
          y = (q[a * 3 + 1] + q[b * 3 + 1] + q[c * 3 + 1]) / 3,
          z = (q[a * 3 + 2] + q[b * 3 + 2] + q[c * 3 + 2]) / 3;
        if (Math.abs(this.#missAt(x, y, z, a, b)) > limit) {
          const m = this.#place(x, y, z, [a, b, c], Math.hypot(q[a * 3] - x, q[a * 3 + 1] - y, q[a * 3 + 2] - z));
          this.#draw(m, x, y, z, [
            [a, b, c],
            [b, c, a],
            [c, a, b],
          ]);
          splits++;
          next.push(a, b, m, b, c, m, c, a, m);
          good.push(0, 0, 0);
        } else {
          next.push(a, b, c);
          good.push(most < limit ? 1 : 0);
        }
        continue;
      }
      if (cut === 3) {
        next.push(a, ab, ca, ab, b, bc, ca, bc, c, ab, bc, ca);
        good.push(0, 0, 0, 0);
      } else if (cut === 1) {
        if (ab >= 0) next.push(a, ab, c, ab, b, c);
        else if (bc >= 0) next.push(b, bc, a, bc, c, a);
        else next.push(c, ca, b, ca, a, b);
        good.push(0, 0);
      } else {
        // The uncut edge u-v, the corner w between the cut ones.
        const [u, v, w, vw, wu] = ab < 0 ? [a, b, c, bc, ca] : bc < 0 ? [b, c, a, ca, ab] : [c, a, b, ab, bc];
        next.push(w, wu, vw);
        if (this.#near(u, vw) <= this.#near(v, wu)) next.push(u, v, vw, u, vw, wu);
        else next.push(v, vw, wu, v, wu, u);
        good.push(0, 0, 0);
      }
    }
    this.t = Uint32Array.from(next);
    this.#good = Uint8Array.from(good);
    this.passes++;
    return splits;
  }

  /**
   * Vertices that miss by more than `limit` (drawn back, or beside a crease) are moved to where the sheets about them
   * meet, as far as no face about them turns over. Gives how many were moved.
   */
  settleStrays(limit: number): number {
    const { p, foot, t } = this;
    const wanted = Math.abs(this.offset);
    const stray = new Uint8Array(this.vertexCount);
    let strays = 0;
    for (let v = 0; v < this.vertexCount; v++) {
      const x = p[v * 3] - foot[v * 3],
        y = p[v * 3 + 1] - foot[v * 3 + 1],
        z = p[v * 3 + 2] - foot[v * 3 + 2];
      const d = Math.sqrt(x * x + y * y + z * z);
      if (Math.abs(d - wanted) < limit) continue;
      stray[v] = 1;
      strays++;
    }
    if (strays === 0) return 0;
    const facesOf = new Map<number, number[]>();
    for (let h = 0; h < t.length; h++) {
      if (stray[t[h]] === 0) continue;
      const list = facesOf.get(t[h]);
      if (list === undefined) facesOf.set(t[h], [h]);
      else list.push(h);
    }
    let moved = 0;
    for (const [v, corners] of facesOf) {
      this.#run.step(REFINE_PHASE, 0, 1);
      const ends = corners.map((h) => {
        const f = h - (h % 3);
        return [t[f + ((h + 1) % 3)], t[f + ((h + 2) % 3)]] as const;
      });
      const around = ends.map(([a]) => a);
      let reach = 0;
      for (const a of around) reach = Math.max(reach, this.#near(a, v));
      const x = p[v * 3],
        y = p[v * 3 + 1],
        z = p[v * 3 + 2];
      const before = Math.abs(this.field.at(x, y, z) - this.offset);
      const fresh = this.#place(x, y, z, [v, ...around], reach);
      this.vertexCount--;
      const q = this.p;
      let share = 1;
      for (; share > LEAST_SHARE; share /= 2) {
        for (let k = 0; k < 3; k++)
          q[fresh * 3 + k] = q[v * 3 + k] + (q[fresh * 3 + k] - q[v * 3 + k]) * (share === 1 ? 1 : 0.5);
        if (ends.every(([a, b]) => turnCosine(q, a, b, v, fresh) > LEAST_SPLIT_COSINE)) break;
      }
      const nx = q[fresh * 3],
        ny = q[fresh * 3 + 1],
        nz = q[fresh * 3 + 2];
      if (share <= LEAST_SHARE || Math.abs(this.field.at(nx, ny, nz) - this.offset) >= before) continue;
      q.copyWithin(v * 3, fresh * 3, fresh * 3 + 3);
      this.foot[v * 3] = this.field.x;
      this.foot[v * 3 + 1] = this.field.y;
      this.foot[v * 3 + 2] = this.field.z;
      for (const h of corners) this.#good[(h / 3) | 0] = 0;
      moved++;
    }
    return moved;
  }

  /** Merge the ends of edges shorter than this where that is sound, at the end that misses less. */
  mergeShort(shortest: number): void {
    const { p, foot, t, offset, vertexCount } = this;
    const merged = mergeShortEdges({ p, foot, t, vertexCount }, shortest, Math.abs(offset));
    for (const face of merged.changed) this.#good[face] = 0;
    if (merged.dead.size === 0) return;
    this.t = t.filter((_, h) => !merged.dead.has((h / 3) | 0));
    this.#good = this.#good.filter((_, f) => !merged.dead.has(f));
  }

  /** Chords of a bulge lie below it: raise each vertex by the mean its edges miss, so that the errors even out. */
  #balance(edgeMiss: Float32Array, limit: number): void {
    const t = this.t;
    const sum = new Float32Array(this.vertexCount);
    const count = new Uint8Array(this.vertexCount);
    for (let h = 0; h < t.length; h++) {
      const miss = Math.min(limit, Math.max(-limit, edgeMiss[h]));
      sum[t[h]] += miss;
      count[t[h]]++;
    }
    for (let v = 0; v < this.vertexCount; v++) {
      if (count[v] === 0) continue;
      sum[v] /= -count[v];
      const at = v * 3;
      const dx = this.p[at] - this.foot[at],
        dy = this.p[at + 1] - this.foot[at + 1],
        dz = this.p[at + 2] - this.foot[at + 2];
      const length = Math.hypot(dx, dy, dz);
      if (length === 0) continue;
      const by = (sum[v] * (this.offset < 0 ? -1 : 1)) / length;
      this.p[at] += dx * by;
      this.p[at + 1] += dy * by;
      this.p[at + 2] += dz * by;
    }
    for (let h = 0; h < t.length; h++) edgeMiss[h] += (sum[t[h]] + sum[t[h - (h % 3) + ((h + 1) % 3)]]) / 2;
  }

  /** Draw a new vertex back toward (x, y, z) until no face about it is turned over; rings: opposite edges in order. */
  #draw(m: number, x: number, y: number, z: number, rims: readonly (readonly [number, number, number])[]): void {
    const p = this.p;
    for (let halving = 0; halving <= DRAW_BACKS; halving++) {
      let sound = true;
      for (const [a, b, o] of rims) {
        // Old face a, b, o; new face a, b, m.
        if (turnCosine(p, a, b, o, m) < LEAST_SPLIT_COSINE) sound = false;
      }
      if (sound) return;
      const keep = halving === DRAW_BACKS ? 0 : 0.5;
      p[m * 3] = x + (p[m * 3] - x) * keep;
      p[m * 3 + 1] = y + (p[m * 3 + 1] - y) * keep;
      p[m * 3 + 2] = z + (p[m * 3 + 2] - z) * keep;
      this.field.at(p[m * 3], p[m * 3 + 1], p[m * 3 + 2]);
      this.foot[m * 3] = this.field.x;
      this.foot[m * 3 + 1] = this.field.y;
      this.foot[m * 3 + 2] = this.field.z;
    }
  }

  /** The edge itself, or the longest edge reached through its faces while that is much longer. */
  #longAbout(h: number, twin: Int32Array): number {
    const t = this.t;
    for (let step = 0; step < LONG_STEPS; step++) {
      let best = h;
      const length = this.#near(t[h], t[twin[h]]);
      let longest = length * MUCH_LONGER;
      for (const side of [h, twin[h]]) {
        const f = side - (side % 3);
        for (let k = 0; k < 3; k++) {
          const l = this.#near(t[f + k], t[f + ((k + 1) % 3)]);
          if (l > longest) {
            longest = l;
            best = f + k;
          }
        }
      }
      if (best === h) return h;
      h = best;
    }
    return h;
  }

  #near(a: number, b: number): number {
    const p = this.p;
    const x = p[a * 3] - p[b * 3],
      y = p[a * 3 + 1] - p[b * 3 + 1],
      z = p[a * 3 + 2] - p[b * 3 + 2];
    // Several times as fast as hypot, whose care about overflow is not needed here.
    return Math.sqrt(x * x + y * y + z * z);
  }

  /** Turn the edge of half-edges h and g in place when that is sound and misses less. */
  #turn(h: number, g: number, miss: number): boolean {
    const t = this.t;
    const f = h - (h % 3),
      e = g - (g % 3);
    const a = t[h],
      b = t[g],
      c = t[f + ((h + 2) % 3)],
      d = t[e + ((g + 2) % 3)];
    if (c === d) return false;
    if (!this.#fair(a, d, c, b) || !this.#fair(d, b, c, a)) return false;
    if (this.#joined(c, d)) return false;
    const other = Math.abs(this.#edgeMiss(c, d));
    if (other > miss * FLIP_GAIN) return false;
    t[f] = a;
    t[f + 1] = d;
    t[f + 2] = c;
    t[e] = d;
    t[e + 1] = b;
    t[e + 2] = c;
    this.#turned.add(c < d ? c * this.vertexCount + d : d * this.vertexCount + c);
    return true;
  }

  readonly #turned = new Set<number>();

  /** Whether the two are already joined by an edge. Few flips are made, so the faces round c are looked through. */
  #joined(c: number, d: number): boolean {
    const key = c < d ? c * this.vertexCount + d : d * this.vertexCount + c;
    this.#edges ??= this.#edgeKeys();
    return this.#turned.has(key) || this.#edges.has(key);
  }
  #edges: Set<number> | undefined;

  /** The face abc is no needle, and looks the way the old quad did (o is the fourth corner). */
  #fair(a: number, b: number, c: number, o: number): boolean {
    const p = this.p;
    const n = (i: number, j: number, k: number): number[] => {
      const ux = p[j * 3] - p[i * 3],
        uy = p[j * 3 + 1] - p[i * 3 + 1],
        uz = p[j * 3 + 2] - p[i * 3 + 2];
      const vx = p[k * 3] - p[i * 3],
        vy = p[k * 3 + 1] - p[i * 3 + 1],
        vz = p[k * 3 + 2] - p[i * 3 + 2];
      return [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    };
    const N = n(a, b, c);
    const size = Math.hypot(N[0], N[1], N[2]);
    const longest = Math.max(this.#near(a, b), this.#near(b, c), this.#near(c, a));
    if (size < LEAST_ANGLE_SINE * longest * longest) return false;
    // Against the outward direction at the corners, from foot to vertex.
    const side = this.offset < 0 ? -1 : 1;
    const f = this.foot;
    for (const v of [a, b, c, o]) {
      const dx = p[v * 3] - f[v * 3],
        dy = p[v * 3 + 1] - f[v * 3 + 1],
        dz = p[v * 3 + 2] - f[v * 3 + 2];
      const length = Math.hypot(dx, dy, dz);
      if (side * (dx * N[0] + dy * N[1] + dz * N[2]) < LEAST_FLIP_COSINE * size * length) return false;
    }
    return true;
  }

  #edgeKeys(): Set<number> {
    const edges = new Set<number>();
    const t = this.t;
    for (let h = 0; h < t.length; h++) {
      const a = t[h],
        b = t[h - (h % 3) + ((h + 1) % 3)];
      if (a < b) edges.add(a * this.vertexCount + b);
    }
    return edges;
  }
}

const one = new Int32Array(1);
function distanceTo(mesh: SignedField['mesh'], face: number, x: number, y: number, z: number): number {
  one[0] = face;
  return nearestOfSheets(mesh, one, 1, x, y, z);
}
