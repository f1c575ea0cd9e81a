/**
 * Gaps between a placed part and a body as a solver needs them: the least, and every point that could become it under
 * a small motion, with the direction in which it opens. A distance changes no faster than its point moves, so only
 * points that may have come near enough are asked for again.
 */
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import type { SignedField } from '../offset/signed-field.ts';
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

/** The gap at given points of the part. */
export class PointGaps implements GapSource {
  readonly #points: Float64Array;
  readonly #body: SignedField;
  readonly #tick: () => void;
  readonly #gap: Float64Array;
  /** Where each point was when its gap was taken. */
  readonly #at: Float64Array;
  readonly #opens: Float64Array;
  #placement: Matrix4 = [];
  #least = 0;

  constructor(points: Float64Array, body: SignedField, tick: () => void) {
    this.#points = points;
    this.#body = body;
    this.#tick = tick;
    this.#gap = new Float64Array(points.length / 3).fill(-Infinity);
    this.#at = new Float64Array(points.length);
    this.#opens = new Float64Array(points.length);
  }

  least(placement: Matrix4): number {
    this.#placement = placement;
    this.#least = Infinity;
    this.#refresh(0);
    return this.#least;
  }

  /** Ask again for every point whose gap may be within `within` of the least. */
  #refresh(within: number): void {
    const { 0: a, 1: b, 2: c, 3: d, 4: e, 5: f, 6: g, 7: h, 8: i, 9: j, 10: k, 11: l } = this.#placement;
    const points = this.#points,
      at = this.#at;
    let asked = 0;
    for (let p = 0; p < this.#gap.length; p++) {
      const q = 3 * p;
      const x = a * points[q] + b * points[q + 1] + c * points[q + 2] + d,
        y = e * points[q] + f * points[q + 1] + g * points[q + 2] + h,
        z = i * points[q] + j * points[q + 1] + k * points[q + 2] + l;
      const moved = Math.sqrt((x - at[q]) ** 2 + (y - at[q + 1]) ** 2 + (z - at[q + 2]) ** 2);
      if (this.#gap[p] - moved > this.#least + within) continue;
      if (moved > 0 || this.#gap[p] === -Infinity) this.#ask(p, x, y, z);
      if (this.#gap[p] < this.#least) this.#least = this.#gap[p];
      if ((asked++ & STRIDE) === 0) this.#tick();
    }
  }

  #ask(p: number, x: number, y: number, z: number): void {
    const body = this.#body;
    const gap = body.at(x, y, z);
    const q = 3 * p;
    this.#gap[p] = gap;
    this.#at[q] = x;
    this.#at[q + 1] = y;
    this.#at[q + 2] = z;
    const from = [x - body.x, y - body.y, z - body.z];
    for (let k = 0; k < 3; k++) {
      this.#opens[q + k] = Math.abs(gap) > TOUCHING_MM ? from[k] / gap : body.normal(body.face, k);
    }
  }

  contacts(within: number): Contacts {
    this.#refresh(within);
    const chosen: number[] = [];
    for (let p = 0; p < this.#gap.length; p++) if (this.#gap[p] <= this.#least + within) chosen.push(p);
    const gapMm = new Float64Array(chosen.length),
      at = new Float64Array(3 * chosen.length),
      opens = new Float64Array(3 * chosen.length);
    chosen.forEach((p, i) => {
      gapMm[i] = this.#gap[p];
      at.set(this.#at.subarray(3 * p, 3 * p + 3), 3 * i);
      opens.set(this.#opens.subarray(3 * p, 3 * p + 3), 3 * i);
    });
    return { count: chosen.length, gapMm, at, opens };
  }
}

/**
 * The gap of whole faces, exact: a face that dips between its corners, and a body's corner against the middle of a
 * face, are seen. Where a face and the body meet, the deepest of the face's corners and middle speaks for it.
 */
export class FaceGaps implements GapSource {
  /** Nine numbers per face, part coordinates. */
  readonly #corners: Float64Array;
  readonly #body: SignedField;
  readonly #tick: () => void;
  readonly #gap: Float64Array;
  /** Corners of each face where its gap was taken. */
  readonly #at: Float64Array;
  readonly #touch: Float64Array;
  readonly #opens: Float64Array;
  /** At which asking each gap was taken. */
  readonly #when: Uint32Array;
  #asking = 0;
  #placement: Matrix4 = [];
  #least = 0;
  /** Face that has the least gap. */
  leastFace = -1;

  constructor(corners: Float64Array, body: SignedField, tick: () => void) {
    this.#corners = corners;
    this.#body = body;
    this.#tick = tick;
    const faces = corners.length / 9;
    this.#gap = new Float64Array(faces).fill(-Infinity);
    this.#at = new Float64Array(corners.length);
    this.#touch = new Float64Array(3 * faces);
    this.#opens = new Float64Array(3 * faces);
    this.#when = new Uint32Array(faces);
  }

  least(placement: Matrix4): number {
    this.#placement = placement;
    this.#asking++;
    this.#least = Infinity;
    // The faces that were nearest before most likely are again: with them first, few others need asking.
    if (this.leastFace >= 0) this.#look(this.leastFace, 0);
    this.#refresh(0);
    return this.#least;
  }

  #refresh(within: number): void {
    for (let f = 0; f < this.#gap.length; f++) {
      if (this.#when[f] !== this.#asking) this.#look(f, within);
    }
  }

  #look(f: number, within: number): void {
    const m = this.#placement,
      own = this.#corners,
      at = this.#at;
    const now = corner9;
    let moved = 0;
    for (let i = f * 9, o = 0; o < 9; i += 3, o += 3) {
      const x = own[i],
        y = own[i + 1],
        z = own[i + 2];
      now[o] = m[0] * x + m[1] * y + m[2] * z + m[3];
      now[o + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
      now[o + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
      moved = Math.max(moved, (now[o] - at[i]) ** 2 + (now[o + 1] - at[i + 1]) ** 2 + (now[o + 2] - at[i + 2]) ** 2);
    }
    if (this.#gap[f] - Math.sqrt(moved) > this.#least + within) return;
    if ((this.#asked++ & STRIDE) === 0) this.#tick();
    this.#ask(f, within);
  }
  #asked = 0;

  #ask(f: number, within: number): void {
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
    const middle = body.at(mx, my, mz);
    if (middle - radius > this.#least + within) {
      this.#gap[f] = middle - radius;
      return;
    }
    this.#when[f] = this.#asking;
    const q = 3 * f;
    const meets = !nearestToTriangle(body.tree, now, pair, Math.abs(middle) + radius) || pair.distance === 0;
    if (!meets && middle > 0) {
      this.#gap[f] = pair.distance;
      this.#touch.set([pair.ax, pair.ay, pair.az], q);
      const d = pair.distance;
      this.#opens.set([(pair.ax - pair.bx) / d, (pair.ay - pair.by) / d, (pair.az - pair.bz) / d], q);
    } else {
      this.#gap[f] = Infinity;
      for (let o = -3; o < 9; o += 3) {
        const [x, y, z] = o < 0 ? [mx, my, mz] : [now[o], now[o + 1], now[o + 2]];
        const gap = body.at(x, y, z);
        if (gap >= this.#gap[f]) continue;
        this.#gap[f] = gap;
        this.#touch.set([x, y, z], q);
        const far = Math.abs(gap) > TOUCHING_MM;
        for (let k = 0; k < 3; k++) {
          const from = k === 0 ? x - body.x : k === 1 ? y - body.y : z - body.z;
          this.#opens[q + k] = far ? from / gap : body.normal(body.face, k);
        }
      }
      // Edges may meet though every corner is clear.
      if (meets) this.#gap[f] = Math.min(0, this.#gap[f]);
    }
    if (this.#gap[f] < this.#least) {
      this.#least = this.#gap[f];
      this.leastFace = f;
    }
  }

  contacts(within: number): Contacts {
    this.#refresh(within);
    const chosen: number[] = [];
    for (let f = 0; f < this.#gap.length; f++) {
      if (this.#when[f] === this.#asking && this.#gap[f] <= this.#least + within) chosen.push(f);
    }
    const gapMm = new Float64Array(chosen.length),
      at = new Float64Array(3 * chosen.length),
      opens = new Float64Array(3 * chosen.length);
    chosen.forEach((f, i) => {
      gapMm[i] = this.#gap[f];
      at.set(this.#touch.subarray(3 * f, 3 * f + 3), 3 * i);
      opens.set(this.#opens.subarray(3 * f, 3 * f + 3), 3 * i);
    });
    return { count: chosen.length, gapMm, at, opens };
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
