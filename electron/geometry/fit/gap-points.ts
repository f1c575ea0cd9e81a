/**
 * Gaps between a placed part and a body as a solver needs them: the least, and every point that could become it under
 * a small motion, with the direction in which it opens. A distance changes no faster than its point moves, so only
 * points that may have come near enough are asked for again.
 */
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import type { SignedField } from '../offset/signed-field.ts';
import { invert } from '../mesh/transform.ts';
import { nearestToTriangle, pairSlot } from './triangle-pair.ts';

/** Where the part comes near the body. Arrays are by contact; positions and directions by threes, body coordinates. */
export interface Contacts {
  readonly count: number;
  /** Signed gap, mm. */
  readonly gapMm: Float64Array;
  /** The point of the part. */
  readonly at: Float64Array;
  /** Unit direction in which moving that point opens the gap. */
  readonly opens: Float64Array;
}

export interface GapSource {
  /** Least gap with the part so placed, mm. */
  least(placement: Matrix4): number;
  /** Contacts up to `withinMm` above the least, for the placement last asked for. */
  contacts(withinMm: number): Contacts;
}

const STRIDE = 127;
/** Distances from here down say nothing of the direction, mm. */
const TOUCHING_MM = 2 ** -20;
/** Slack on a distance known to be enough, for rounding. */
const LIMIT_SLACK = 1 + 2 ** -30;

/** A gap that lies well above the least may have moved by this share of what it lies above. */
const CARRIED_SHARE = 1 / 8;
/** What lies this near the least is asked anew whenever it has moved, mm. */
const MATTERS_MM = 1 / 8;

/**
 * Whether a gap taken elsewhere may be carried on along its direction: neither it nor the estimate changes by more than
 * the way it moved, so that its room above the least is known to a quarter.
 */
const isCarried = (aboveLeastMm: number, movedMm: number): boolean =>
  aboveLeastMm > MATTERS_MM && movedMm < CARRIED_SHARE * aboveLeastMm;

/** Nothing farther than this above what is asked for is looked for, mm: until it has come that much nearer it rests. */
const REST_MM = 8;

/** The gap at given points of the part. */
export class PointGaps implements GapSource {
  #points: Float64Array;
  readonly #body: SignedField;
  readonly #tick: () => void;
  /** Where it was asked last; only a lower bound where not exact. */
  #gap: Float64Array;
  #exact: Uint8Array;
  /** Where each point was when its gap was taken. */
  #at: Float64Array;
  #opens: Float64Array;
  #placement: Matrix4 = [];
  #least = 0;
  #asked = 0;

  constructor(points: Float64Array, body: SignedField, tick: () => void) {
    this.#points = points;
    this.#body = body;
    this.#tick = tick;
    this.#gap = new Float64Array(points.length / 3).fill(-Infinity);
    this.#exact = new Uint8Array(points.length / 3);
    this.#at = new Float64Array(points.length);
    this.#opens = new Float64Array(points.length);
  }

  /** Further points, in the part's coordinates; what is known of the others stays. */
  add(points: ArrayLike<number>): void {
    const before = this.#gap.length;
    const longer = (old: Float64Array, more: number): Float64Array => {
      const now = new Float64Array(old.length + more);
      now.set(old);
      return now;
    };
    this.#gap = longer(this.#gap, points.length / 3).fill(-Infinity, before);
    const exact = new Uint8Array(this.#gap.length);
    exact.set(this.#exact);
    this.#exact = exact;
    this.#at = longer(this.#at, points.length);
    this.#opens = longer(this.#opens, points.length);
    this.#points = longer(this.#points, points.length);
    this.#points.set(points, 3 * before);
  }

  least(placement: Matrix4): number {
    this.#placement = placement;
    this.#least = Infinity;
    const now = point3;
    for (let p = 0; p < this.#gap.length; p++) {
      const moved = this.#movedTo(p);
      if (this.#gap[p] - moved > this.#least) continue;
      if (moved > 0 || this.#exact[p] === 0) this.#ask(p, now[0], now[1], now[2], this.#gap[p] - moved, this.#least);
      if (this.#gap[p] < this.#least) this.#least = this.#gap[p];
    }
    return this.#least;
  }

  /** Bring a point to where it is now; how far that is from where its gap was taken, mm. */
  #movedTo(p: number): number {
    const m = this.#placement,
      at = this.#at;
    const q = 3 * p;
    const x = this.#points[q],
      y = this.#points[q + 1],
      z = this.#points[q + 2];
    const px = (point3[0] = m[0] * x + m[1] * y + m[2] * z + m[3]),
      py = (point3[1] = m[4] * x + m[5] * y + m[6] * z + m[7]),
      pz = (point3[2] = m[8] * x + m[9] * y + m[10] * z + m[11]);
    return Math.sqrt((px - at[q]) ** 2 + (py - at[q + 1]) ** 2 + (pz - at[q + 2]) ** 2);
  }

  /** Take the gap of a point, known to be at least `low`; exact where it may be no more than `enough`. */
  #ask(p: number, x: number, y: number, z: number, low: number, enough: number): void {
    if ((this.#asked++ & STRIDE) === 0) this.#tick();
    const body = this.#body;
    const q = 3 * p;
    this.#at[q] = x;
    this.#at[q + 1] = y;
    this.#at[q + 2] = z;
    const limit = enough + REST_MM;
    if (limit > 0 && low > -limit) {
      // So deep inside it cannot be: where the surface is farther, the point is outside.
      if (!body.isNearer(x, y, z, limit)) {
        this.#gap[p] = limit;
        this.#exact[p] = 0;
        return;
      }
    } else body.at(x, y, z);
    const gap = body.distance;
    this.#gap[p] = gap;
    this.#exact[p] = 1;
    const far = Math.abs(gap) > TOUCHING_MM;
    this.#opens[q] = far ? (x - body.x) / gap : body.normal(body.face, 0);
    this.#opens[q + 1] = far ? (y - body.y) / gap : body.normal(body.face, 1);
    this.#opens[q + 2] = far ? (z - body.z) / gap : body.normal(body.face, 2);
  }

  contacts(within: number): Contacts {
    const now = point3,
      at = this.#at,
      opens = this.#opens;
    const enough = this.#least + within;
    const found: number[] = [];
    const gaps: number[] = [];
    const places: number[] = [];
    for (let p = 0; p < this.#gap.length; p++) {
      const moved = this.#movedTo(p);
      let gap = this.#gap[p];
      if (gap - moved > enough) continue;
      const q = 3 * p;
      const [x, y, z] = [now[0], now[1], now[2]];
      if (this.#exact[p] === 1 && isCarried(gap - this.#least, moved)) {
        gap += (x - at[q]) * opens[q] + (y - at[q + 1]) * opens[q + 1] + (z - at[q + 2]) * opens[q + 2];
      } else if (moved > 0 || this.#exact[p] === 0) {
        this.#ask(p, x, y, z, gap - moved, enough);
        gap = this.#gap[p];
      }
      if (gap > enough) continue;
      found.push(p);
      gaps.push(gap);
      places.push(x, y, z);
    }
    return contactsOf(found, gaps, places, opens);
  }
}

const point3 = new Float64Array(3);

function contactsOf(found: readonly number[], gaps: readonly number[], places: readonly number[], opens: Float64Array) {
  const ways = new Float64Array(places.length);
  found.forEach((one, i) => ways.set(opens.subarray(3 * one, 3 * one + 3), 3 * i));
  return { count: found.length, gapMm: Float64Array.from(gaps), at: Float64Array.from(places), opens: ways };
}

/**
 * The gap of whole faces, exact: a face that dips between its corners, and a body's corner against the middle of a
 * face, are seen. Where a face and the body meet, the deepest of the face's corners and middle speaks for it. Contacts
 * well above the least that moved little since they were asked are carried on to first order.
 */
export class FaceGaps implements GapSource {
  /** Nine numbers per face, part coordinates. */
  readonly #corners: Float64Array;
  readonly #body: SignedField;
  readonly #tick: () => void;
  /** Gap of each face where it was asked last; only a lower bound where not exact. */
  readonly #gap: Float64Array;
  readonly #exact: Uint8Array;
  /** Corners of each face where its gap was taken. */
  readonly #at: Float64Array;
  /** Where an exact gap was taken: body's coordinates then, and the part's own. */
  readonly #touch: Float64Array;
  readonly #ownTouch: Float64Array;
  readonly #told: Uint8Array;
  readonly #opens: Float64Array;
  #placement: Matrix4 = [];
  #back: Matrix4 = [];
  #least = 0;
  #asked = 0;
  /** Face that has the least gap. */
  leastFace = -1;

  constructor(corners: Float64Array, body: SignedField, tick: () => void) {
    this.#corners = corners;
    this.#body = body;
    this.#tick = tick;
    const faces = corners.length / 9;
    this.#gap = new Float64Array(faces).fill(-Infinity);
    this.#exact = new Uint8Array(faces);
    this.#at = new Float64Array(corners.length);
    this.#touch = new Float64Array(3 * faces);
    this.#ownTouch = new Float64Array(3 * faces);
    this.#told = new Uint8Array(faces);
    this.#opens = new Float64Array(3 * faces);
  }

  least(placement: Matrix4): number {
    this.#placement = placement;
    this.#back = invert(placement);
    this.#least = Infinity;
    // The face that was nearest before most likely is again: with it first, few others need asking.
    const first = this.leastFace;
    if (first >= 0) this.#look(first);
    for (let f = 0; f < this.#gap.length; f++) if (f !== first) this.#look(f);
    return this.#least;
  }

  #look(f: number): void {
    const moved = this.#movedTo(f);
    if (this.#gap[f] - moved > this.#least) return;
    if (moved > 0 || this.#exact[f] === 0) this.#ask(f, this.#gap[f] - moved, this.#least);
    if (this.#gap[f] < this.#least) {
      this.#least = this.#gap[f];
      this.leastFace = f;
    }
  }

  /** Bring a face's corners to where they are now; how far the farthest is from where the gap was taken, mm. */
  #movedTo(f: number): number {
    const { 0: a, 1: b, 2: c, 3: d, 4: e, 5: g, 6: h, 7: i, 8: j, 9: k, 10: l, 11: m } = this.#placement;
    const own = this.#corners,
      at = this.#at,
      now = corner9;
    let moved = 0;
    for (let q = f * 9, o = 0; o < 9; q += 3, o += 3) {
      const x = own[q],
        y = own[q + 1],
        z = own[q + 2];
      const px = (now[o] = a * x + b * y + c * z + d),
        py = (now[o + 1] = e * x + g * y + h * z + i),
        pz = (now[o + 2] = j * x + k * y + l * z + m);
      const dx = px - at[q],
        dy = py - at[q + 1],
        dz = pz - at[q + 2];
      const square = dx * dx + dy * dy + dz * dz;
      if (square > moved) moved = square;
    }
    return Math.sqrt(moved);
  }

  /** Take the gap of the face in `corner9`, known to be at least `low`; exact where it may be no more than `enough`. */
  #ask(f: number, low: number, enough: number): void {
    if ((this.#asked++ & STRIDE) === 0) this.#tick();
    const body = this.#body,
      now = corner9;
    // The middle tells at once whether the face can matter.
    const mx = (now[0] + now[3] + now[6]) / 3,
      my = (now[1] + now[4] + now[7]) / 3,
      mz = (now[2] + now[5] + now[8]) / 3;
    let radius = 0;
    for (let o = 0; o < 9; o += 3) {
      radius = Math.max(radius, (now[o] - mx) ** 2 + (now[o + 1] - my) ** 2 + (now[o + 2] - mz) ** 2);
    }
    radius = Math.sqrt(radius);
    this.#at.set(now, f * 9);
    this.#exact[f] = 0;
    const limit = enough + radius + REST_MM;
    if (limit > 0 && low - radius > -limit) {
      if (!body.isNearer(mx, my, mz, limit)) {
        this.#gap[f] = limit - radius;
        return;
      }
    } else body.at(mx, my, mz);
    const middle = body.distance;
    if (middle - radius > enough) {
      this.#gap[f] = middle - radius;
      return;
    }
    if (middle > 0) {
      // The middle is a point of the face: it comes at least that near.
      const reach = Math.min(middle * LIMIT_SLACK, enough);
      const isFound = reach > 0 && nearestToTriangle(body.tree, now, pair, reach);
      if (reach > 0 && reach === enough && !isFound) {
        this.#gap[f] = enough;
        return;
      }
      const d = pair.distance;
      if (isFound && d > 0) {
        this.#take(f, d, pair.ax, pair.ay, pair.az);
        this.#opensAlong(f, (pair.ax - pair.bx) / d, (pair.ay - pair.by) / d, (pair.az - pair.bz) / d);
        return;
      }
    }
    const meets = !nearestToTriangle(body.tree, now, pair, Math.abs(middle) + radius) || pair.distance === 0;
    this.#gap[f] = Infinity;
    for (let o = -3; o < 9; o += 3) {
      const [x, y, z] = o < 0 ? [mx, my, mz] : [now[o], now[o + 1], now[o + 2]];
      const gap = body.at(x, y, z);
      if (gap >= this.#gap[f]) continue;
      this.#take(f, gap, x, y, z);
      if (Math.abs(gap) > TOUCHING_MM) this.#opensAlong(f, (x - body.x) / gap, (y - body.y) / gap, (z - body.z) / gap);
      else this.#opensAlong(f, body.normal(body.face, 0), body.normal(body.face, 1), body.normal(body.face, 2));
    }
    // Edges may meet though every corner is clear.
    if (meets) this.#gap[f] = Math.min(0, this.#gap[f]);
  }

  #take(f: number, gap: number, x: number, y: number, z: number): void {
    const q = 3 * f,
      m = this.#back,
      own = this.#ownTouch;
    this.#gap[f] = gap;
    this.#exact[f] = 1;
    this.#touch[q] = x;
    this.#touch[q + 1] = y;
    this.#touch[q + 2] = z;
    for (let k = 0; k < 3; k++) own[q + k] = m[4 * k] * x + m[4 * k + 1] * y + m[4 * k + 2] * z + m[4 * k + 3];
  }

  #opensAlong(f: number, x: number, y: number, z: number): void {
    this.#opens[3 * f] = x;
    this.#opens[3 * f + 1] = y;
    this.#opens[3 * f + 2] = z;
  }

  contacts(within: number): Contacts {
    const m = this.#placement,
      own = this.#ownTouch,
      touch = this.#touch,
      opens = this.#opens;
    const enough = this.#least + within;
    const found: number[] = [];
    const gaps: number[] = [];
    const places: number[] = [];
    for (let f = 0; f < this.#gap.length; f++) {
      const moved = this.#movedTo(f);
      if (this.#gap[f] - moved > enough) continue;
      const isOld = moved > 0 && !isCarried(this.#gap[f] - this.#least, moved);
      if (this.#exact[f] === 0 || isOld) this.#ask(f, this.#gap[f] - moved, enough);
      if (this.#exact[f] === 0) continue;
      const q = 3 * f;
      const [u, v, w] = [own[q], own[q + 1], own[q + 2]];
      const x = m[0] * u + m[1] * v + m[2] * w + m[3],
        y = m[4] * u + m[5] * v + m[6] * w + m[7],
        z = m[8] * u + m[9] * v + m[10] * w + m[11];
      const along = (x - touch[q]) * opens[q] + (y - touch[q + 1]) * opens[q + 1] + (z - touch[q + 2]) * opens[q + 2];
      const gap = this.#gap[f] + along;
      if (gap > enough) continue;
      found.push(f);
      gaps.push(gap);
      places.push(x, y, z);
    }
    return contactsOf(found, gaps, places, opens);
  }

  /**
   * Corners, in the part's coordinates, of the nearest `most` faces up to `withinMm` above the least, for the placement
   * last asked for, that were not told before.
   */
  nearest(withinMm: number, most: number): Float64Array {
    const enough = this.#least + withinMm;
    const found: number[] = [];
    for (let f = 0; f < this.#gap.length; f++) {
      if (this.#told[f] === 1) continue;
      const moved = this.#movedTo(f);
      if (this.#gap[f] - moved > enough) continue;
      if (this.#exact[f] === 0 || moved > 0) this.#ask(f, this.#gap[f] - moved, enough);
      if (this.#gap[f] <= enough) found.push(f);
    }
    found.sort((a, b) => this.#gap[a] - this.#gap[b]);
    const told = found.slice(0, most);
    const corners = new Float64Array(9 * told.length);
    told.forEach((f, i) => {
      this.#told[f] = 1;
      corners.set(this.#corners.subarray(9 * f, 9 * f + 9), 9 * i);
    });
    return corners;
  }

  /** Point of the part where the face has its gap, body coordinates, as last asked. */
  touchOf(face: number): [number, number, number] {
    return [this.#touch[3 * face], this.#touch[3 * face + 1], this.#touch[3 * face + 2]];
  }
}

const corner9 = new Float64Array(9);
const pair = pairSlot();

/** Nine numbers per chosen face, in the mesh's own coordinates. */
export function cornersOf(mesh: { positions: Float64Array; triangles: Uint32Array }, chosen: Uint8Array): Float64Array {
  const { positions: p, triangles: t } = mesh;
  const corners: number[] = [];
  for (let f = 0; f < chosen.length; f++) {
    if (chosen[f] === 0) continue;
    for (let i = 0; i < 3; i++) for (let k = 0; k < 3; k++) corners.push(p[t[f * 3 + i] * 3 + k]);
  }
  return Float64Array.from(corners);
}
