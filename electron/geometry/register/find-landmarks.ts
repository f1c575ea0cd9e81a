/**
 * Landmarks of a head, found on a mesh that stands about upright: the program's proposals, to be confirmed by a person.
 *
 * Extreme points are searched by the definitions of ISO 7250-1 within windows that follow the head's own length
 * (own proportions, see MIDDLING in stand-up.ts); the head is then stood anew by what was found, and the search is
 * done again, because "highest" and "farthest forward" depend on the stand. What has no extreme (tragion, orbitale) is
 * placed by proportion and laid on the surface. Measured on invented heads, see
 * test/geometry/register/landmarks.test.ts.
 */
import type { Matrix4, Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { IDENTITY, invert, multiply, transformPoint } from '../mesh/transform.ts';
import { buildBvh, castRay, type Bvh, type RayHit } from '../spatial/bvh.ts';
import { standByLandmarks } from './stand-up.ts';

export interface FoundLandmark {
  readonly name: string;
  /** On the surface, in the mesh's own coordinates. */
  readonly point: Vec3;
  /** 1 for a sharp extreme, less for a broad one or a place by proportion. */
  readonly confidence: number;
}

/** A middling head's length, mm: windows below are in mm of such a head. */
const MIDDLING_LENGTH = 197;
/** Rounds of standing anew; later ones move nothing by a millimetre. */
const ROUNDS = 3;
/** Steps of a search, coarse then fine. */
const PLACES = 12;
const FINER = 3;

/** How sure each is; by the errors met on invented heads. */
const CONFIDENCE: Readonly<Record<string, number>> = {
  pronasale: 0.95,
  vertex: 0.8,
  glabella: 0.8,
  brow: 0.8,
  opisthocranion: 0.8,
  sellion: 0.8,
  menton: 0.75,
  'euryon-left': 0.7,
  'euryon-right': 0.7,
  'zygion-left': 0.5,
  'zygion-right': 0.5,
  'tragion-left': 0.4,
  'tragion-right': 0.4,
  'orbitale-left': 0.4,
  'orbitale-right': 0.4,
};

/** A body with its search tree, looked at as if it stood otherwise than its mesh lies. */
class Standing {
  readonly crown: number;
  /** No point is further from the origin. */
  readonly reach: number;
  readonly #tree: Bvh;
  readonly #back: Matrix4;
  readonly #hit: RayHit = { face: -1, t: 0 };

  constructor({ positions: p }: Mesh, tree: Bvh, way: Matrix4) {
    this.#tree = tree;
    this.#back = invert(way);
    let [crown, reach] = [-Infinity, 0];
    for (let i = 0; i < p.length; i += 3) {
      const [x, y, z] = transformPoint(way, [p[i], p[i + 1], p[i + 2]]);
      crown = Math.max(crown, z);
      reach = Math.max(reach, Math.abs(x), Math.abs(y), Math.abs(z));
    }
    this.crown = crown;
    this.reach = 2 * reach + 1;
  }

  /** First surface met coming from `side` along -side through `at`; undefined when the line misses. */
  from(side: Vec3, at: Vec3): Vec3 | undefined {
    const start = at.map((x, k) => x + this.reach * side[k]) as unknown as Vec3;
    const next = start.map((x, k) => x - side[k]) as unknown as Vec3;
    const [ox, oy, oz] = transformPoint(this.#back, start);
    const [nx, ny, nz] = transformPoint(this.#back, next);
    if (!castRay(this.#tree, ox, oy, oz, nx - ox, ny - oy, nz - oz, this.#hit)) return undefined;
    const { t } = this.#hit;
    return [start[0] - t * side[0], start[1] - t * side[1], start[2] - t * side[2]];
  }
}

/** The candidate with the largest score between two ends, coarse then fine; undefined when nothing was met. */
function best(
  low: number,
  high: number,
  make: (at: number) => Vec3 | undefined,
  score: (point: Vec3) => number,
): Vec3 | undefined {
  let [from, to] = [low, high];
  let found: Vec3 | undefined;
  let top = -Infinity;
  for (let round = 0; round < FINER; round++) {
    const step = (to - from) / PLACES;
    let where = (from + to) / 2;
    for (let i = 0; i <= PLACES; i++) {
      const point = make(from + i * step);
      if (point === undefined) continue;
      const value = score(point);
      if (value >= top) {
        top = value;
        where = from + i * step;
        found = point;
      }
    }
    from = Math.max(low, where - step);
    to = Math.min(high, where + step);
  }
  return found;
}

const FRONT: Vec3 = [1, 0, 0];
const BACK: Vec3 = [-1, 0, 0];
const ABOVE: Vec3 = [0, 0, 1];
const BELOW: Vec3 = [0, 0, -1];
const distance = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** One search on a body that stands as it is taken to; undefined where even the first extremes are missing. */
function search(outside: Standing): Record<string, Vec3> | undefined {
  const { crown, reach: far } = outside;
  const on = (side: Vec3, x: number, y: number, z: number): Vec3 | undefined => outside.from(side, [x, y, z]);

  // Length of the head at the brow, a share of that length below the crown: a few rounds settle it.
  let length = far;
  let [front, back] = [far, -far];
  for (let round = 0; round < 8; round++) {
    const level = crown - (98 / MIDDLING_LENGTH) * length;
    const a = on(FRONT, 0, 0, level);
    const b = on(BACK, 0, 0, level);
    if (a === undefined || b === undefined) {
      length *= 0.7;
      continue;
    }
    [front, back] = [a[0], b[0]];
    length = front - back;
  }
  const u = length / MIDDLING_LENGTH;
  if (!(u > 0)) return undefined;
  // Midway between the ends lies 3.5 mm behind the tragions of a middling head.
  const x0 = (front + back) / 2 + 3.5 * u;

  const vertex = best(
    x0 - 60 * u,
    x0 + 60 * u,
    (x) => on(ABOVE, x, 0, 0),
    (q) => q[2],
  );
  if (vertex === undefined) return undefined;
  const top = vertex[2];
  const along = (low: number, high: number, score: (q: Vec3) => number): Vec3 | undefined =>
    best(top - high * u, top - low * u, (z) => on(FRONT, 0, 0, z), score);
  const pronasale = along(122, 172, (q) => q[0]);
  if (pronasale === undefined) return undefined;
  const nose = (top - pronasale[2]) / u;
  const sellion = along(nose - 52, nose - 22, (q) => -q[0]);
  const root = sellion === undefined ? nose - 36 : (top - sellion[2]) / u;
  const glabella = along(root - 30, root - 8, (q) => q[0]);
  if (sellion === undefined || glabella === undefined) return undefined;
  const brow = on(FRONT, 0, 0, glabella[2] + 10 * u);
  const opisthocranion = best(
    top - 170 * u,
    top - 40 * u,
    (z) => on(BACK, 0, 0, z),
    (q) => distance(q, glabella),
  );
  // From below, in front of the throat: the chin's underside is met first there.
  const menton = best(
    x0 + 58 * u,
    x0 + 92 * u,
    (x) => on(BELOW, x, 0, 0),
    (q) => (q[2] > pronasale[2] - 60 * u || q[2] < pronasale[2] - 120 * u ? -Infinity : -q[2]),
  );
  if (opisthocranion === undefined) return undefined;
  // Level of the tragions: by the eyes' and nose's own heights where those are known, crowns vary with hair.
  const z0 = (sellion[2] + pronasale[2]) / 2 + 4 * u;
  const found: Record<string, Vec3> = { vertex, pronasale, sellion, glabella, opisthocranion };
  if (brow !== undefined) found['brow'] = brow;
  if (menton !== undefined && Number.isFinite(menton[2])) found['menton'] = menton;
  for (const [side, way] of [
    ['left', 1],
    ['right', -1],
  ] as const) {
    const from: Vec3 = [0, way, 0];
    const outward = (q: Vec3): number => way * q[1];
    const widest = (xa: number, xb: number, za: number, zb: number): Vec3 | undefined =>
      best(x0 + xa * u, x0 + xb * u, (x) => best(z0 + za * u, z0 + zb * u, (z) => on(from, x, 0, z), outward), outward);
    const put = (name: string, point: Vec3 | undefined): void => {
      if (point !== undefined) found[`${name}-${side}`] = point;
    };
    // Above the ears, whose tops are about as high as the brow.
    put('euryon', widest(-50, 10, 44, 82));
    put('zygion', widest(26, 60, -18, -6));
    put('tragion', on(from, x0 + u, 0, z0));
    put('orbitale', on(FRONT, 0, way * 32 * u, z0));
  }
  return found;
}

/** Turns by half about each axis, and nods: a guess may be upside down, look backwards, or lean by the neck's cut. */
const NOD = (20 * Math.PI) / 180;
const turned = (x: number, y: number, z: number): Matrix4 => [x, 0, 0, 0, 0, y, 0, 0, 0, 0, z, 0, 0, 0, 0, 1];
const nodded = (by: number): Matrix4 => {
  const [c, s] = [Math.cos(by), Math.sin(by)];
  return [c, 0, s, 0, 0, 1, 0, 0, -s, 0, c, 0, 0, 0, 0, 1];
};
const TRIES: readonly Matrix4[] = [turned(1, 1, 1), turned(-1, 1, -1), turned(-1, -1, 1), turned(1, -1, -1)].flatMap(
  (turn) => [0, NOD, -NOD].map((by) => multiply(nodded(by), turn)),
);

/** What was placed by proportion, and the crown under its hair, say nothing about the stand. */
const IS_SHARP = /^(pronasale|sellion|glabella|opisthocranion|menton|euryon)/;
/** A face fits a middling one within this share of its length; what is no face does not. */
const FIT_SHARE = 0.06;
/** The same at first sight, when the stand is still rough. */
const ROUGH_SHARE = 0.14;

/** Of a fit only the nod and the shift in the mirror plane: that plane is known better than single points are. */
function inMirrorPlane(m: Matrix4): Matrix4 {
  const nod = nodded(Math.atan2(m[2] - m[8], m[0] + m[10]));
  return nod.map((x, at) => (at === 3 || at === 11 ? m[at] : x));
}

interface Sight {
  readonly found: Readonly<Record<string, Vec3>>;
  readonly way: Matrix4;
  /** Misfit to a middling head as a share of the head's length. */
  readonly miss: number;
}

/** Search, stand anew by what was found, search again. */
function look(mesh: Mesh, tree: Bvh, from: Matrix4, rounds: number): Sight | undefined {
  let way = from;
  let sight: Sight | undefined;
  for (let round = 0; round < rounds; round++) {
    const found = search(new Standing(mesh, tree, way));
    if (found === undefined) return sight;
    const sharp = Object.fromEntries(Object.entries(found).filter(([name]) => IS_SHARP.test(name)));
    const fit = standByLandmarks(sharp);
    const length = distance(found['glabella'], found['opisthocranion']);
    if (fit === undefined || !(length > 0)) return sight;
    const there = invert(way);
    sight = {
      found: Object.fromEntries(Object.entries(found).map(([name, point]) => [name, transformPoint(there, point)])),
      way,
      // A chin that is not found is a flaw of the sight as much as one that does not fit.
      miss: fit.missMm / length + (found['menton'] === undefined ? FIT_SHARE / 2 : 0),
    };
    way = multiply(inMirrorPlane(fit.matrix), way);
  }
  return sight === undefined ? undefined : { ...sight, way };
}

export interface FoundFace {
  readonly landmarks: readonly FoundLandmark[];
  /** From the mesh's coordinates to standing about upright by what was found: level within a few degrees. */
  readonly matrix: Matrix4;
  /** Misfit to a middling head, as a share of the head's length. */
  readonly miss: number;
}

/**
 * Find what can be found of vertex, glabella, brow, opisthocranion, sellion, pronasale, menton, and left and right
 * euryon, zygion, tragion and orbitale. `toStanding` puts the mirror plane at y = 0 with the body's long way along z, up
 * or down, in any size: the way up and forward is settled by where a face is. Undefined when there is none to see.
 * O(faces log faces).
 */
export function findLandmarks(mesh: Mesh, toStanding: Matrix4 = IDENTITY, tick?: () => void): FoundFace | undefined {
  const tree = buildBvh(mesh, tick);
  let start: Sight | undefined;
  for (const turn of TRIES) {
    tick?.();
    const sight = look(mesh, tree, multiply(turn, toStanding), 2);
    if (sight !== undefined && (start === undefined || sight.miss < start.miss)) start = sight;
  }
  if (start === undefined || start.miss > ROUGH_SHARE) return undefined;
  tick?.();
  const sight = look(mesh, tree, start.way, ROUNDS) ?? start;
  if (sight.miss > FIT_SHARE) return undefined;
  return {
    landmarks: Object.entries(sight.found).map(([name, point]) => ({
      name,
      point,
      confidence: CONFIDENCE[name] ?? 0.4,
    })),
    matrix: sight.way,
    miss: sight.miss,
  };
}
