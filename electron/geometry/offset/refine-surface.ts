/**
 * Refinement of a tracked offset surface where it misses. Creases are laid into the mesh first (creases.ts), so that
 * every face lies on one sheet. Then the signed distance is measured at the middle of every edge and face that changed;
 * an edge that misses is turned if its quad's other diagonal misses less, else split, the new vertex on the sheet, or
 * the crease, the ends of the edge share.
 */
import { tickingRun, type RunContext } from '../../../shared-types/progress.ts';
import { roundToSingle } from '../mesh/transform.ts';
import { findTwins } from '../mesh/twins.ts';
import { findSelfIntersections } from '../spatial/self-intersections.ts';
import { roomFor } from './cell-map.ts';
import { CreaseSolver, MEETING, place } from './crease-solve.ts';
import { layCreases, REFINE_PHASE } from './creases.ts';
import { cosineBetween, cosineFrom, cutFaces, FaceList, FootedSurface } from './footed-surface.ts';
import { LEAST_ANGLE_SINE, mergeShortEdges } from './merge-short.ts';
import type { SignedField } from './signed-field.ts';
import type { TrackedSurface } from './cube-mesh.ts';

const STRIDE = 1023;
/** A face made by a turn or a split may lean from the way its sheet looks by acos of this. */
const LEAST_FLIP_COSINE = 0.3;
const LEAST_SPLIT_COSINE = 0.25;
/** One made by a split may be thinner than others: merging short edges comes after. */
const SPLIT_SINE = 0.02;
/** A flip must lessen the miss to this share. */
const FLIP_GAIN = 0.7;
/** Below this share of the limit at all three edges a face is not looked at. */
const PLAIN = 0.35;
/** A new vertex that turns a face over is drawn back halfway so many times. */
const DRAW_BACKS = 3;
/** Shorter edges of moved faces, both ends seen within acos of this from the form, are not asked at their middle. */
const PLAIN_EDGE_MM = 4;
const PLAIN_COSINE = 0.99;
/** Edges shorter than so many limits are not split: what they miss lies in their ends. */
const LEAST_SPLIT = 3;
/** An edge this many times as long as the one to be split is split instead; so many times over. */
const MUCH_LONGER = 1.5;
const LONG_STEPS = 4;
/** Feet of two ends of an edge seen within acos of this belong to one sheet. */
const SAME_SHEET = 0.8;
/** A vertex that misses by more than this share of its reach was kept from a crease. */
const FAR = 0.2;
/** Rounds of taking vertices back. */
const BACK_ROUNDS = 6;
/** Faces about one that has gone there are this fat, and face so; some lie across the crease until it is laid. */
const FAR_SINE = 0.02;
const FAR_COSINE = -0.5;
/** Neighbours seen farther apart than acos of this may lie on two sides of one. */
const FACING = 0.9;
/** Two feet of a vertex seen farther apart than acos of the root of this are of two sheets. */
const OTHER_SHEET = 0.9;
/** How well sheets must meet, in tolerances. */
const MEET = 0.1;
/** Rounds of laying creases at most, and what they let stand, in tolerances. */
const CREASE_ROUNDS = 6;
const CREASE_LIMIT = 0.3;
/** In folds the walls are near one another: what the first pass and the later ones let stand there, in tolerances. */
const FINE_LIMITS = [0.5, 0.6] as const;

export class Refinement {
  readonly surface: FootedSurface;
  readonly tolerance: number;
  readonly #field: SignedField;
  readonly #solver: CreaseSolver;
  readonly #run: RunContext;
  /** Faces measured and found good, by face; reset where changed. */
  #good: Uint8Array;
  #passes = 0;
  /** Edge of the coarsest cubes, mm. */
  readonly #coarse: number;
  /** So many first vertices are on the offset already. */
  readonly #there: number;

  constructor(field: SignedField, offset: number, tolerance: number, from: TrackedSurface, run: RunContext) {
    this.surface = new FootedSurface(field, offset, from);
    this.tolerance = tolerance;
    this.#field = field;
    this.#solver = new CreaseSolver(field, offset);
    this.#run = run;
    this.#coarse = from.sizes.reduce((a, b) => Math.max(a, b), 0);
    this.#good = new Uint8Array(from.triangles.length / 3);
    const { feet = new Float64Array(0) } = from;
    this.#there = feet.length / 3;
    for (let v = 0; v < this.#there; v++) this.surface.feet.set(feet.subarray(v * 3, v * 3 + 3), v * MEETING * 3);
  }

  /**
   * Query every vertex; vertices that miss are moved onto the offset, by at most `reach`. Those that miss by much were
   * kept from a crease by the walls of their cube: they go there at once, if a neighbour sees the other sheet. What cuts
   * then goes back to where the cubes had put it.
   */
  settle(reach: number): void {
    const { surface } = this;
    const field = this.#field;
    const count = surface.vertexCount;
    const before = surface.p.slice(0, count * 3);
    const far: number[] = [];
    for (let v = this.#there; v < count; v++) {
      if ((v & STRIDE) === 0) this.#run.step(REFINE_PHASE, 0.1 * (v / count), 1);
      const p = surface.p;
      const miss = Math.abs(field.at(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]) - surface.offset);
      const isFine = surface.sizes[v] < this.#coarse;
      if (miss > (isFine ? this.tolerance / 4 : FAR * reach)) far.push(v);
      if (isFine || miss > FAR * reach) surface.footOf(v);
      else this.#settleVertex(v, reach);
    }
    if (far.length === 0) return;
    const { first, list } = surface.corners();
    const ring: number[] = [];
    const marked = new Uint8Array(surface.t.length / 3);
    for (const v of far) {
      ring.length = 0;
      for (let i = first[v]; i < first[v + 1]; i++) {
        const h = list[i];
        marked[(h / 3) | 0] = 1;
        ring.push(surface.t[h - (h % 3) + ((h + 1) % 3)]);
      }
      const within = Math.min(reach, surface.sizes[v]);
      if (!this.#toCrease(v, ring, 3 * within)) this.#settleVertex(v, within);
    }
    // Those that have overtaken their neighbours go onto their own sheet instead.
    for (const v of far) {
      if (surface.sheetCount[v] === 1) continue;
      const fair = list.subarray(first[v], first[v + 1]).every((h) => {
        const f = h - (h % 3);
        const { t } = surface;
        return surface.fair(t[f], t[f + 1], t[f + 2], FAR_SINE, FAR_COSINE);
      });
      if (fair) continue;
      surface.p.set(before.subarray(v * 3, v * 3 + 3), v * 3);
      this.#settleVertex(v, Math.min(reach, surface.sizes[v]));
    }
    for (let h = 0; h < surface.t.length; h++) if (surface.sizes[surface.t[h]] < this.#coarse) marked[(h / 3) | 0] = 1;
    this.#takeBack(before, marked);
  }

  /** Take vertices of faces that cut back to where they were, where one of the faces is marked. */
  #takeBack(before: Float64Array, marked: Uint8Array): void {
    const { surface } = this;
    const { t, p } = surface;
    const ticking = tickingRun(() => this.#run.step(REFINE_PHASE, 0.1, 1));
    for (let round = 0; round < BACK_ROUNDS; round++) {
      this.#run.step(REFINE_PHASE, 0.1, 1);
      const pairs = findSelfIntersections(roundToSingle({ positions: p, triangles: t }), ticking, Infinity, marked);
      if (pairs.length === 0) return;
      const back = new Set<number>();
      for (const f of pairs) for (let k = 0; k < 3; k++) back.add(t[f * 3 + k]);
      for (const v of back) {
        p.set(before.subarray(v * 3, v * 3 + 3), v * 3);
        this.#field.at(p[v * 3], p[v * 3 + 1], p[v * 3 + 2]);
        surface.footOf(v);
      }
      for (let h = 0; h < t.length; h++) if (back.has(t[h])) marked[(h / 3) | 0] = 1;
    }
  }

  /** Move a vertex to where its sheet meets the one of a neighbour that is seen most otherwise. */
  #toCrease(v: number, ring: readonly number[], reach: number): boolean {
    const { surface } = this;
    const { p, feet } = surface;
    let other = -1;
    let least = FACING;
    for (const w of ring) {
      const cosine = cosineBetween(p, feet, v * 3, v * MEETING * 3, w * 3, w * MEETING * 3);
      if (cosine < least) {
        least = cosine;
        other = w;
      }
    }
    if (other < 0) return false;
    const solver = this.#solver;
    solver.clear();
    for (const w of [v, other]) {
      const at = w * MEETING * 3;
      solver.take(feet[at], feet[at + 1], feet[at + 2]);
    }
    for (let k = 0; k < 3; k++) place[k] = p[v * 3 + k];
    if (!solver.solve(reach, MEET * this.tolerance)) return false;
    const miss = Math.abs(this.#field.at(place[0], place[1], place[2])) - surface.wanted;
    if (Math.abs(miss) > this.tolerance / 4) return false;
    surface.place(v, place[0], place[1], place[2]);
    surface.feetOf(v, solver);
    return true;
  }

  /** Lay the creases into the mesh where the cubes are coarse. Gives how many vertices were put on them. */
  creases(): number {
    let laid = 0;
    const smooth = new Set<number>();
    for (let round = 0; round < CREASE_ROUNDS; round++) {
      const count = layCreases(
        this.surface,
        this.#solver,
        CREASE_LIMIT * this.tolerance,
        smooth,
        this.#run,
        this.#coarse,
        this.#there,
      );
      laid += count;
      if (count === 0) break;
    }
    this.#good = new Uint8Array(this.surface.t.length / 3);
    return laid;
  }

  /**
   * Onto the sheet of its nearest foot; where that leads under another sheet, to where the two meet. A vertex that
   * reaches neither stays where it was.
   */
  #settleVertex(v: number, reach: number): void {
    const { surface } = this;
    const field = this.#field;
    const solver = this.#solver;
    const p = surface.p;
    const x0 = p[v * 3],
      y0 = p[v * 3 + 1],
      z0 = p[v * 3 + 2];
    let within = Infinity;
    let lastX = 0,
      lastY = 0,
      lastZ = 0;
    for (let round = 0; ; round++) {
      const x = p[v * 3],
        y = p[v * 3 + 1],
        z = p[v * 3 + 2];
      const miss = field.at(x, y, z, within) - surface.offset;
      const d = field.distance;
      if (Math.abs(miss) < this.tolerance / 8 || round >= 2 || d === 0) {
        surface.footOf(v);
        return;
      }
      if (round > 0) {
        const fx = field.x,
          fy = field.y,
          fz = field.z;
        const ux = x - fx,
          uy = y - fy,
          uz = z - fz;
        const vx = x - lastX,
          vy = y - lastY,
          vz = z - lastZ;
        const dot = ux * vx + uy * vy + uz * vz;
        if (dot * dot < OTHER_SHEET * (ux * ux + uy * uy + uz * uz) * (vx * vx + vy * vy + vz * vz) || dot < 0) {
          solver.clear();
          solver.take(lastX, lastY, lastZ);
          solver.take(fx, fy, fz);
          place[0] = x;
          place[1] = y;
          place[2] = z;
          const met = solver.solve(2 * reach, MEET * this.tolerance);
          const away = Math.hypot(place[0] - x0, place[1] - y0, place[2] - z0);
          if (met && away < 2 * reach) {
            const left = Math.abs(field.at(place[0], place[1], place[2])) - surface.wanted;
            if (Math.abs(left) < this.tolerance / 4) {
              surface.place(v, place[0], place[1], place[2]);
              surface.feetOf(v, solver);
              return;
            }
          }
          surface.place(v, x0, y0, z0);
          field.at(x0, y0, z0);
          surface.footOf(v);
          return;
        }
      }
      // Straight to the offset of the nearest face.
      lastX = field.x;
      lastY = field.y;
      lastZ = field.z;
      const by = -miss / d;
      let mx = (x - field.x) * by,
        my = (y - field.y) * by,
        mz = (z - field.z) * by;
      const length = Math.sqrt(mx * mx + my * my + mz * mz);
      if (length > reach) {
        mx *= reach / length;
        my *= reach / length;
        mz *= reach / length;
      }
      surface.place(v, x + mx, y + my, z + mz);
      if (Math.abs(miss) < this.tolerance / 2 && round === 0) {
        surface.footOf(v);
        return;
      }
      const rx = x + mx - field.x,
        ry = y + my - field.y,
        rz = z + mz - field.z;
      within = Math.sqrt(rx * rx + ry * ry + rz * rz);
    }
  }

  /** Signed distance at a place less what is wanted; the feet of a and b tell how near the form must be. */
  #missAt(x: number, y: number, z: number, a: number, b: number): number {
    const f = this.surface.feet;
    const i = a * MEETING * 3,
      j = b * MEETING * 3;
    const ax = x - f[i],
      ay = y - f[i + 1],
      az = z - f[i + 2];
    const bx = x - f[j],
      by = y - f[j + 1],
      bz = z - f[j + 2];
    const within = Math.sqrt(Math.min(ax * ax + ay * ay + az * az, bx * bx + by * by + bz * bz));
    return this.#field.at(x, y, z, within) - this.surface.offset;
  }

  #edgeMiss(a: number, b: number, maySeem = this.#passes === 0): number {
    const { p, feet, wanted, side } = this.surface;
    if (maySeem && a < this.#there && b < this.#there && this.surface.near(a, b) < PLAIN_EDGE_MM) {
      const i = a * MEETING * 3,
        j = b * MEETING * 3;
      if (cosineBetween(p, feet, a * 3, i, b * 3, j) > PLAIN_COSINE) {
        // Between two moved vertices seen alike the form lies as between their feet.
        const x = p[a * 3] + p[b * 3] - feet[i] - feet[j],
          y = p[a * 3 + 1] + p[b * 3 + 1] - feet[i + 1] - feet[j + 1],
          z = p[a * 3 + 2] + p[b * 3 + 2] - feet[i + 2] - feet[j + 2];
        return side * (Math.sqrt(x * x + y * y + z * z) / 2 - wanted);
      }
    }
    return this.#missAt(
      (p[a * 3] + p[b * 3]) / 2,
      (p[a * 3 + 1] + p[b * 3 + 1]) / 2,
      (p[a * 3 + 2] + p[b * 3 + 2]) / 2,
      a,
      b,
    );
  }

  /** Give the solver the sheets that meet on or under the edge ab; false where there is only one. */
  #sheetsOfEdge(a: number, b: number): boolean {
    const { surface } = this;
    const { feet, p, sheetCount } = surface;
    const solver = this.#solver;
    solver.clear();
    if (surface.crossing(a, b) > 0) {
      const i = (a * MEETING + surface.sheetA) * 3,
        j = (b * MEETING + surface.sheetB) * 3;
      solver.take(feet[i], feet[i + 1], feet[i + 2]);
      solver.take(feet[j], feet[j + 1], feet[j + 2]);
      return true;
    }
    if (sheetCount[a] < 2 || sheetCount[b] < 2) return false;
    // Both on a crease: on the same one where each sheet of a is seen from b too.
    for (let i = 0; i < sheetCount[a]; i++) {
      const fa = (a * MEETING + i) * 3;
      let best = -1,
        most = SAME_SHEET;
      for (let j = 0; j < sheetCount[b]; j++) {
        const cosine = cosineBetween(p, feet, a * 3, fa, b * 3, (b * MEETING + j) * 3);
        if (cosine > most) {
          most = cosine;
          best = (b * MEETING + j) * 3;
        }
      }
      if (best < 0) continue;
      solver.take(
        (feet[fa] + feet[best]) / 2,
        (feet[fa + 1] + feet[best + 1]) / 2,
        (feet[fa + 2] + feet[best + 2]) / 2,
      );
    }
    return solver.count > 1;
  }

  /** A new vertex at (x, y, z), moved to where the solver's sheets meet if `several`, else onto the nearest sheet. */
  #addAt(x: number, y: number, z: number, several: boolean, length: number, size: number): number {
    const { surface } = this;
    const v = surface.add(x, y, z, size);
    place[0] = x;
    place[1] = y;
    place[2] = z;
    const accuracy = MEET * this.tolerance;
    if (several && this.#solver.solve(length, accuracy)) {
      const miss = Math.abs(this.#field.at(place[0], place[1], place[2])) - surface.wanted;
      if (Math.abs(miss) < 2 * accuracy) {
        surface.place(v, place[0], place[1], place[2]);
        surface.feetOf(v, this.#solver);
        return v;
      }
    }
    this.#settleVertex(v, length / 4);
    return v;
  }

  /** A new vertex on the edge ab. */
  #splitEdge(a: number, b: number): number {
    const { surface } = this;
    const several = this.#sheetsOfEdge(a, b);
    const p = surface.p;
    return this.#addAt(
      (p[a * 3] + p[b * 3]) / 2,
      (p[a * 3 + 1] + p[b * 3 + 1]) / 2,
      (p[a * 3 + 2] + p[b * 3 + 2]) / 2,
      several,
      surface.near(a, b),
      Math.min(surface.sizes[a], surface.sizes[b]),
    );
  }

  /** A new vertex in the face abc, at its corner if three sheets meet under it. */
  #splitFace(a: number, b: number, c: number, x: number, y: number, z: number): number {
    const { surface } = this;
    const solver = this.#solver;
    const { feet } = surface;
    solver.clear();
    for (const v of [a, b, c]) {
      for (let i = 0; i < surface.sheetCount[v]; i++) {
        const at = (v * MEETING + i) * 3;
        let known = false;
        for (let k = 0; k < solver.count; k++) {
          if (cosineFrom(x, y, z, solver.feet, k * 3, feet, at) > SAME_SHEET) known = true;
        }
        if (!known) solver.take(feet[at], feet[at + 1], feet[at + 2]);
      }
    }
    const length = Math.max(surface.near(a, b), surface.near(b, c), surface.near(c, a));
    return this.#addAt(x, y, z, solver.count > 1, length, Math.min(...[a, b, c].map((v) => surface.sizes[v])));
  }

  /** One pass: measure what changed, turn edges, split what misses by more than `limit`. Gives the splits. */
  pass(limit: number, fraction: number): number {
    const { surface } = this;
    const fineLimit = Math.max(limit, (this.#passes === 0 ? FINE_LIMITS[0] : FINE_LIMITS[1]) * this.tolerance);
    const coarse = this.#coarse;
    const limitOf = (a: number, b: number): number =>
      surface.sizes[a] < coarse || surface.sizes[b] < coarse ? fineLimit : limit;
    this.#turned.clear();
    this.#corners = undefined;
    const { twin } = findTwins(surface.t, surface.vertexCount);
    const t = surface.t;
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
      edgeMiss[h] = edgeMiss[g] = this.#edgeMiss(t[h], t[g]);
    }
    if (this.#passes === 0) this.#balance(edgeMiss, limit);
    for (let h = 0; h < t.length; h++) edgeMiss[h] = Math.abs(edgeMiss[h]);
    // Turn edges whose other diagonal misses less.
    for (let h = 0; h < t.length; h++) {
      const g = twin[h];
      // No limit is less than the plain one; most are done with here.
      if (edgeMiss[h] < limit || g < h || edgeMiss[h] < limitOf(t[h], t[g])) continue;
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
      const opposite = twin[candidate];
      if (edgeMiss[candidate] < limit || opposite < candidate) continue;
      if (splits % 32 === 0) this.#run.step(REFINE_PHASE, fraction + 0.1, 1);
      if (edgeMiss[candidate] < limitOf(t[candidate], t[opposite])) continue;
      const h = this.#longAbout(candidate, twin);
      const g = twin[h];
      if (surface.near(t[h], t[g]) < LEAST_SPLIT * limit) continue;
      const f = (h / 3) | 0,
        e = (g / 3) | 0;
      if (touched[f] === 1 || touched[e] === 1 || middle[h] >= 0) continue;
      const a = t[h],
        b = t[g];
      const m = this.#splitEdge(a, b);
      if (!this.#draw(m, [a, b], [f, e])) {
        surface.vertexCount--;
        continue;
      }
      middle[h] = middle[g] = m;
      splits++;
    }
    // A split of an edge makes two faces more.
    const next = new FaceList(faces + 2 * splits);
    let good: Uint8Array = new Uint8Array(faces + 2 * splits);
    const put = (a: number, b: number, c: number, isGood = 0): void => {
      good = roomFor(good, next.count + 1);
      good[next.count] = isGood;
      next.put(a, b, c);
    };
    // Of the faces whose edges are all good the middle is measured.
    const whole = (f: number): void => {
      const a = t[f * 3],
        b = t[f * 3 + 1],
        c = t[f * 3 + 2];
      if ((f & STRIDE) === 0) this.#run.step(REFINE_PHASE, fraction + 0.1 + (0.05 * f) / faces, 1);
      const most = Math.max(edgeMiss[f * 3], edgeMiss[f * 3 + 1], edgeMiss[f * 3 + 2]);
      if (touched[f] === 0 && most < limit * PLAIN) {
        put(a, b, c, 1);
        return;
      }
      const least = Math.max(limitOf(a, b), limitOf(c, c));
      // Three good edges of a smooth face: its middle is good too.
      if (touched[f] === 0 && this.#good[f] === 0 && most >= least * PLAIN) {
        const q = surface.p;
        const x = (q[a * 3] + q[b * 3] + q[c * 3]) / 3,
          y = (q[a * 3 + 1] + q[b * 3 + 1] + q[c * 3 + 1]) / 3,
          z = (q[a * 3 + 2] + q[b * 3 + 2] + q[c * 3 + 2]) / 3;
        if (Math.abs(this.#missAt(x, y, z, a, b)) > least) {
          const m = this.#splitFace(a, b, c, x, y, z);
          if (this.#draw(m, [a, b, c], [f])) {
            splits++;
            put(a, b, m);
            put(b, c, m);
            put(c, a, m);
            return;
          }
          surface.vertexCount--;
        }
      }
      put(a, b, c, touched[f] === 0 && most < least ? 1 : 0);
    };
    cutFaces(surface, middle, put, whole);
    surface.t = next.triangles();
    this.#good = good.slice(0, next.count);
    this.#passes++;
    return splits;
  }

  /** Marks the vertices of faces that the last pass did not find good. */
  openVertices(): Uint8Array {
    const { t, vertexCount } = this.surface;
    const open = new Uint8Array(vertexCount);
    for (let h = 0; h < t.length; h++) if (this.#good[(h / 3) | 0] === 0) open[t[h]] = 1;
    return open;
  }

  /** Merge the ends of edges shorter than this where that is sound, at the end that misses less. */
  mergeShort(shortest: number): void {
    const { surface } = this;
    const merged = mergeShortEdges(surface, shortest, this.#good);
    for (const face of merged.changed) this.#good[face] = 0;
    if (merged.dead.size === 0) return;
    // Moved up in place: filters with a function cost several times as much.
    const t = surface.t;
    const good = this.#good;
    let kept = 0;
    for (let f = 0; f < good.length; f++) {
      if (merged.dead.has(f)) continue;
      good[kept] = good[f];
      for (let k = 0; k < 3; k++) t[kept * 3 + k] = t[f * 3 + k];
      kept++;
    }
    surface.t = t.slice(0, kept * 3);
    this.#good = good.slice(0, kept);
  }

  /**
   * Even out what edges miss, of those that miss by more as if they missed by `limit`; marks in `open` the corners of faces
   * at edges that still miss by more than is allowed. O(faces) queries.
   */
  even(limit: number, open: Uint8Array, allowedMm: number): void {
    const { t, vertexCount } = this.surface;
    const { twin } = findTwins(t, vertexCount);
    const edgeMiss = new Float32Array(t.length);
    for (let h = 0; h < edgeMiss.length; h++) {
      if ((h & STRIDE) === 0) this.#run.step(REFINE_PHASE, 0.95, 1);
      if (twin[h] > h) edgeMiss[h] = edgeMiss[twin[h]] = this.#edgeMiss(t[h], t[twin[h]], true);
    }
    this.#balance(edgeMiss, limit);
    for (let h = 0; h < t.length; h++) if (Math.abs(edgeMiss[h]) > allowedMm) open[t[h]] = 1;
  }

  /** Chords of a bulge lie below it: raise each vertex by the mean its edges miss, so that the errors even out. */
  #balance(edgeMiss: Float32Array, limit: number): void {
    const { t, p, feet, vertexCount, sheetCount, sizes, offset } = this.surface;
    const sum = new Float32Array(vertexCount);
    const count = new Uint8Array(vertexCount);
    for (let h = 0; h < t.length; h++) {
      const miss = Math.min(limit, Math.max(-limit, edgeMiss[h]));
      sum[t[h]] += miss;
      count[t[h]]++;
    }
    for (let v = 0; v < vertexCount; v++) {
      if (count[v] === 0) continue;
      // In a fold the walls are too near one another to be moved.
      sum[v] = sheetCount[v] > 1 || sizes[v] < this.#coarse ? 0 : sum[v] / -count[v];
      const at = v * 3,
        foot = at * MEETING;
      const dx = p[at] - feet[foot],
        dy = p[at + 1] - feet[foot + 1],
        dz = p[at + 2] - feet[foot + 2];
      const length = Math.sqrt(dx * dx + dy * dy + dz * dz);
      if (length === 0) continue;
      const by = (sum[v] * (offset < 0 ? -1 : 1)) / length;
      p[at] += dx * by;
      p[at + 1] += dy * by;
      p[at + 2] += dz * by;
    }
    for (let h = 0; h < t.length; h++) edgeMiss[h] += (sum[t[h]] + sum[t[h - (h % 3) + ((h + 1) % 3)]]) / 2;
  }

  /**
   * Draw a new vertex back toward the middle of an edge or face until no face of it and another edge of the faces (their
   * numbers) is turned over, against the sheets or the face it comes of; false when that does not help.
   */
  #draw(m: number, from: readonly number[], faces: readonly number[]): boolean {
    const { surface } = this;
    const { p, t } = surface;
    const isFair = (face: number): boolean => {
      for (let k = 0; k < 3; k++) {
        const a = t[face * 3 + k],
          b = t[face * 3 + ((k + 1) % 3)];
        if (from.length === 2 && from.includes(a) && from.includes(b)) continue;
        if (surface.fair(a, b, m, SPLIT_SINE, LEAST_SPLIT_COSINE)) continue;
        // A corner on a crease may be known by its other sheet alone.
        if (Math.abs(surface.heightOf(m) - surface.wanted) > this.tolerance / 4) return false;
        if (!surface.looksLike(a, b, m, face, SPLIT_SINE, LEAST_FLIP_COSINE)) return false;
      }
      return true;
    };
    for (let halving = 0; halving <= DRAW_BACKS; halving++) {
      if (faces.every(isFair)) return true;
      const at = [0, 1, 2].map((k) => {
        const middle = from.reduce((sum, v) => sum + p[v * 3 + k], 0) / from.length;
        return middle + (p[m * 3 + k] - middle) / 2;
      });
      surface.place(m, at[0], at[1], at[2]);
      this.#field.at(at[0], at[1], at[2]);
      surface.footOf(m);
    }
    return false;
  }

  /** The edge itself, or the longest edge reached through its faces while that is much longer. */
  #longAbout(h: number, twin: Int32Array): number {
    const { surface } = this;
    const t = surface.t;
    for (let step = 0; step < LONG_STEPS; step++) {
      let best = h;
      let longest = surface.near(t[h], t[twin[h]]) * MUCH_LONGER;
      for (const side of [h, twin[h]]) {
        const f = side - (side % 3);
        for (let k = 0; k < 3; k++) {
          const l = surface.near(t[f + k], t[f + ((k + 1) % 3)]);
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

  /** Turn the edge of half-edges h and g in place when that is sound and misses less. */
  #turn(h: number, g: number, miss: number): boolean {
    const { surface } = this;
    const t = surface.t;
    const f = h - (h % 3),
      e = g - (g % 3);
    const a = t[h],
      b = t[g],
      c = t[f + ((h + 2) % 3)],
      d = t[e + ((g + 2) % 3)];
    if (c === d) return false;
    if (!surface.fair(a, d, c, LEAST_ANGLE_SINE, LEAST_FLIP_COSINE)) return false;
    if (!surface.fair(d, b, c, LEAST_ANGLE_SINE, LEAST_FLIP_COSINE)) return false;
    if (this.#joined(c, d)) return false;
    const other = Math.abs(this.#edgeMiss(c, d));
    if (other > miss * FLIP_GAIN) return false;
    t[f] = a;
    t[f + 1] = d;
    t[f + 2] = c;
    t[e] = d;
    t[e + 1] = b;
    t[e + 2] = c;
    this.#turned.add(c < d ? c * surface.vertexCount + d : d * surface.vertexCount + c);
    return true;
  }

  readonly #turned = new Set<number>();
  #corners: { first: Int32Array; list: Int32Array } | undefined;

  /** Whether the two are, or were at the beginning of the pass, joined by an edge. */
  #joined(c: number, d: number): boolean {
    const { surface } = this;
    const t = surface.t;
    if (this.#turned.has(c < d ? c * surface.vertexCount + d : d * surface.vertexCount + c)) return true;
    const { first, list } = (this.#corners ??= surface.corners());
    for (let i = first[c]; i < first[c + 1]; i++) {
      const f = list[i] - (list[i] % 3);
      if (t[f] === d || t[f + 1] === d || t[f + 2] === d) return true;
    }
    return false;
  }
}
