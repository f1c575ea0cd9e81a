/**
 * An offset surface under work: a closed mesh of which each vertex knows the sheets it lies on, by their feet on the
 * form. One foot: a point of a smooth sheet; two: of a crease; three: a corner.
 */
import { cornersCross, faceCross, faceCrossOut } from '../mesh/face-cross.ts';
import { roomFor } from './cell-map.ts';
import { MEETING, type CreaseSolver } from './crease-solve.ts';
import type { SignedField } from './signed-field.ts';
import type { TrackedSurface } from './cube-mesh.ts';

/** Below this share of the length of an edge it neither rises nor falls against a sheet. */
const FLAT = 2 ** -20;

export class FootedSurface {
  readonly field: SignedField;
  readonly offset: number;
  /** Distance from the form wanted, and on which side of it: 1 outside, -1 inside. */
  readonly wanted: number;
  readonly side: number;
  p: Float64Array;
  t: Uint32Array;
  vertexCount: number;
  /** Feet of each vertex, MEETING of xyz, and how many there are; the first is the nearest. */
  feet: Float64Array;
  sheetCount: Uint8Array;
  /** Edge of the cube each vertex comes from, mm: how far it may be from its neighbours and from where it belongs. */
  sizes: Float32Array;
  /** Of the last `crossing`: where along the edge, and which sheets of its ends are meant. */
  share = 0.5;
  /** How far that place lies from the farther tilted of the two tangent planes. */
  gap = 0;
  sheetA = 0;
  sheetB = 0;

  constructor(
    field: SignedField,
    offset: number,
    { positions, triangles, sizes }: Pick<TrackedSurface, 'positions' | 'triangles' | 'sizes'>,
  ) {
    this.field = field;
    this.offset = offset;
    this.wanted = Math.abs(offset);
    this.side = offset < 0 ? -1 : 1;
    this.p = positions;
    this.t = triangles;
    this.vertexCount = positions.length / 3;
    this.sizes = sizes;
    this.feet = new Float64Array(this.vertexCount * MEETING * 3);
    this.sheetCount = new Uint8Array(this.vertexCount).fill(1);
  }

  /** A new vertex without feet, of a cube so large. */
  add(x: number, y: number, z: number, size: number): number {
    const v = this.vertexCount++;
    this.p = roomFor(this.p, (v + 1) * 3);
    this.feet = roomFor(this.feet, (v + 1) * MEETING * 3);
    this.sheetCount = roomFor(this.sheetCount, v + 1);
    this.sizes = roomFor(this.sizes, v + 1);
    this.sizes[v] = size;
    this.place(v, x, y, z);
    return v;
  }

  place(v: number, x: number, y: number, z: number): void {
    this.p[v * 3] = x;
    this.p[v * 3 + 1] = y;
    this.p[v * 3 + 2] = z;
  }

  /** The vertex lies on one sheet, whose foot the field has found. */
  footOf(v: number): void {
    const at = v * MEETING * 3;
    this.feet[at] = this.field.x;
    this.feet[at + 1] = this.field.y;
    this.feet[at + 2] = this.field.z;
    this.sheetCount[v] = 1;
  }

  /** The vertex lies on the sheets of the solver. */
  feetOf(v: number, solver: CreaseSolver): void {
    this.feet.set(solver.feet, v * MEETING * 3);
    this.sheetCount[v] = solver.count;
  }

  near(a: number, b: number): number {
    const p = this.p;
    const x = p[a * 3] - p[b * 3],
      y = p[a * 3 + 1] - p[b * 3 + 1],
      z = p[a * 3 + 2] - p[b * 3 + 2];
    // Several times as fast as hypot, whose care about overflow is not needed here.
    return Math.sqrt(x * x + y * y + z * z);
  }

  /** Distance of a vertex to its nearest foot. */
  heightOf(v: number): number {
    const { p, feet } = this;
    const at = v * MEETING * 3;
    const x = p[v * 3] - feet[at],
      y = p[v * 3 + 1] - feet[at + 1],
      z = p[v * 3 + 2] - feet[at + 2];
    return Math.sqrt(x * x + y * y + z * z);
  }

  /**
   * How deep under the edge ab the sheets of its ends meet, as their tangent planes tell: 0 where the ends share a
   * sheet or the surface bulges between them. A smooth hollow counts too, at twice its depth.
   */
  crossing(a: number, b: number): number {
    const { p, feet, sheetCount } = this;
    const ex = p[b * 3] - p[a * 3],
      ey = p[b * 3 + 1] - p[a * 3 + 1],
      ez = p[b * 3 + 2] - p[a * 3 + 2];
    const length = Math.sqrt(ex * ex + ey * ey + ez * ez);
    let least = Infinity;
    for (let i = 0; i < sheetCount[a]; i++) {
      const rise = this.#rise(feet, (a * MEETING + i) * 3, a * 3, ex, ey, ez, length);
      if (rise <= 0) return 0;
      for (let j = 0; j < sheetCount[b]; j++) {
        const fall = this.#rise(feet, (b * MEETING + j) * 3, b * 3, -ex, -ey, -ez, length);
        if (fall <= 0) return 0;
        const depth = (length * rise * fall) / (rise + fall);
        if (depth >= least) continue;
        least = depth;
        this.share = fall / (rise + fall);
        this.gap = depth / Math.sqrt(1 + Math.max(rise * rise, fall * fall));
        this.sheetA = i;
        this.sheetB = j;
      }
    }
    return least;
  }

  /** Tangent of the angle at which the tangent plane of a sheet falls below the edge. */
  #rise(feet: Float64Array, foot: number, v: number, ex: number, ey: number, ez: number, length: number): number {
    const p = this.p;
    const x = p[v] - feet[foot],
      y = p[v + 1] - feet[foot + 1],
      z = p[v + 2] - feet[foot + 2];
    const sine = (x * ex + y * ey + z * ez) / (length * Math.sqrt(x * x + y * y + z * z));
    return sine > FLAT ? sine / Math.sqrt(Math.max(FLAT, 1 - sine * sine)) : 0;
  }

  /** Whether the face abc is no needle and looks, at each corner, the way one of the sheets there does. */
  fair(a: number, b: number, c: number, leastSine: number, leastCosine: number): boolean {
    const p = this.p;
    const ux = p[b * 3] - p[a * 3],
      uy = p[b * 3 + 1] - p[a * 3 + 1],
      uz = p[b * 3 + 2] - p[a * 3 + 2];
    const vx = p[c * 3] - p[a * 3],
      vy = p[c * 3 + 1] - p[a * 3 + 1],
      vz = p[c * 3 + 2] - p[a * 3 + 2];
    const wx = ux - vx,
      wy = uy - vy,
      wz = uz - vz;
    const nx = uy * vz - uz * vy,
      ny = uz * vx - ux * vz,
      nz = ux * vy - uy * vx;
    const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
    const longest = Math.max(ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz, wx * wx + wy * wy + wz * wz);
    if (!(size > leastSine * longest)) return false;
    const least = leastCosine * size;
    return this.#looks(a, nx, ny, nz, least) && this.#looks(b, nx, ny, nz, least) && this.#looks(c, nx, ny, nz, least);
  }

  /** Whether the face abc is no needle and looks the way another one does (its number), both as they stand. */
  looksLike(a: number, b: number, c: number, face: number, leastSine: number, leastCosine: number): boolean {
    const other = faceCross(this.p, this.t, face * 3);
    const [x, y, z] = faceCrossOut;
    const size = cornersCross(this.p, a * 3, b * 3, c * 3);
    const longest = Math.max(this.near(a, b), this.near(b, c), this.near(c, a));
    if (!(size > leastSine * longest * longest)) return false;
    return x * faceCrossOut[0] + y * faceCrossOut[1] + z * faceCrossOut[2] > leastCosine * size * other;
  }

  #looks(v: number, nx: number, ny: number, nz: number, least: number): boolean {
    const { p, feet, side } = this;
    for (let i = 0; i < this.sheetCount[v]; i++) {
      const at = (v * MEETING + i) * 3;
      const x = p[v * 3] - feet[at],
        y = p[v * 3 + 1] - feet[at + 1],
        z = p[v * 3 + 2] - feet[at + 2];
      if (side * (x * nx + y * ny + z * nz) > least * Math.sqrt(x * x + y * y + z * z)) return true;
    }
    return false;
  }

  /** Add the unit way in which a vertex is seen, the mean of its feet's ways, to `way`. */
  addWay(v: number, way: Float64Array): void {
    const { p, feet, side, sheetCount } = this;
    for (let i = 0; i < sheetCount[v]; i++) {
      const at = (v * MEETING + i) * 3;
      const x = p[v * 3] - feet[at],
        y = p[v * 3 + 1] - feet[at + 1],
        z = p[v * 3 + 2] - feet[at + 2];
      const by = side / (sheetCount[v] * Math.sqrt(x * x + y * y + z * z));
      way[0] += x * by;
      way[1] += y * by;
      way[2] += z * by;
    }
  }

  /** For each vertex where its corners begin in the list of corners (half-edges), and that list. O(faces). */
  corners(): { first: Int32Array; list: Int32Array } {
    const t = this.t;
    const first = new Int32Array(this.vertexCount + 1);
    for (let h = 0; h < t.length; h++) first[t[h] + 1]++;
    for (let v = 0; v < this.vertexCount; v++) first[v + 1] += first[v];
    const next = first.slice();
    const list = new Int32Array(t.length);
    for (let h = 0; h < t.length; h++) list[next[t[h]]++] = h;
    return { first, list };
  }
}

/** Faces put one after the other. */
export class FaceList {
  count = 0;
  #corners: Uint32Array;

  /** `room`: faces expected. */
  constructor(room: number) {
    this.#corners = new Uint32Array(room * 3);
  }

  put(a: number, b: number, c: number): void {
    const at = 3 * this.count++;
    this.#corners = roomFor(this.#corners, at + 3);
    this.#corners[at] = a;
    this.#corners[at + 1] = b;
    this.#corners[at + 2] = c;
  }

  triangles(): Uint32Array {
    return this.#corners.slice(0, this.count * 3);
  }
}

/**
 * The faces cut along their edges: `middle` holds, per half-edge, the vertex on it or -1. `whole` is called for each
 * face none of whose edges is cut and puts in what is to stand in its stead; `put` for each new face. O(faces).
 */
export function cutFaces(
  surface: Pick<FootedSurface, 't' | 'near'>,
  middle: Int32Array,
  put: (a: number, b: number, c: number) => void,
  whole: (face: number) => void,
): void {
  for (let f = 0; f < surface.t.length / 3; f++) if (!cutFace(surface, f, middle, put)) whole(f);
}

/** One face cut as `cutFaces` does; false, and nothing put, where none of its edges is cut. */
export function cutFace(
  surface: Pick<FootedSurface, 't' | 'near'>,
  f: number,
  middle: Int32Array,
  put: (a: number, b: number, c: number) => void,
): boolean {
  const { t } = surface;
  const a = t[f * 3],
    b = t[f * 3 + 1],
    c = t[f * 3 + 2];
  const ab = middle[f * 3],
    bc = middle[f * 3 + 1],
    ca = middle[f * 3 + 2];
  const cut = (ab >= 0 ? 1 : 0) + (bc >= 0 ? 1 : 0) + (ca >= 0 ? 1 : 0);
  if (cut === 0) return false;
  if (cut === 3) {
    put(a, ab, ca);
    put(ab, b, bc);
    put(ca, bc, c);
    put(ab, bc, ca);
  } else if (cut === 1) {
    const [u, v, w, m] = ab >= 0 ? [a, b, c, ab] : bc >= 0 ? [b, c, a, bc] : [c, a, b, ca];
    put(u, m, w);
    put(m, v, w);
  } else {
    // The uncut edge u-v, the corner w between the cut ones.
    const [u, v, w, vw, wu] = ab < 0 ? [a, b, c, bc, ca] : bc < 0 ? [b, c, a, ca, ab] : [c, a, b, ab, bc];
    put(w, wu, vw);
    if (surface.near(u, vw) <= surface.near(v, wu)) {
      put(u, v, vw);
      put(u, vw, wu);
    } else {
      put(v, vw, wu);
      put(v, wu, u);
    }
  }
  return true;
}

/** Cosine between the directions in which vertices at a and b are seen from their feet. */
export function cosineBetween(
  p: Float64Array,
  feet: Float64Array,
  a: number,
  fa: number,
  b: number,
  fb: number,
): number {
  let dot = 0,
    na = 0,
    nb = 0;
  for (let k = 0; k < 3; k++) {
    const u = p[a + k] - feet[fa + k],
      v = p[b + k] - feet[fb + k];
    dot += u * v;
    na += u * u;
    nb += v * v;
  }
  return dot / Math.sqrt(na * nb);
}

/** Cosine between the directions in which (x, y, z) is seen from two feet. */
export function cosineFrom(
  x: number,
  y: number,
  z: number,
  one: Float64Array,
  i: number,
  two: Float64Array,
  j: number,
): number {
  const ux = x - one[i],
    uy = y - one[i + 1],
    uz = z - one[i + 2];
  const vx = x - two[j],
    vy = y - two[j + 1],
    vz = z - two[j + 2];
  return (ux * vx + uy * vy + uz * vz) / Math.sqrt((ux * ux + uy * uy + uz * uz) * (vx * vx + vy * vy + vz * vz));
}
