/**
 * Invented wearers: a head with neck and upper shoulders of wanted sizes, its landmarks and its true measurements.
 *
 * Nobody's head: made from simple bodies, varied by a seed, stretched to the length, breadth and height asked for.
 * Frame: the form frame (mm, x forward, y left, z up, origin midway between the tragions, Frankfurt plane level).
 * Landmarks lie on the exact surface; spans and girths are measured on it, not on a mesh.
 */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { featuresOf, headField } from './head-field.ts';
import { polygonise, type Field } from '../geometry/figure/polygonise.ts';

export interface HeadWishes {
  readonly seed: number;
  /** Glabella to opisthocranion, mm (survey of 2012: men 199.5, women 189.8). */
  readonly lengthMm?: number;
  /** Euryon to euryon, mm (men 154.3, women 147.8). */
  readonly breadthMm?: number;
  /** Tragion to vertex, upright, mm (men 131.1, women 126.5). */
  readonly heightMm?: number;
}

export type HeadLandmark =
  | 'tragion-left'
  | 'tragion-right'
  | 'orbitale-left'
  | 'orbitale-right'
  | 'glabella'
  | 'sellion'
  | 'pronasale'
  | 'pogonion'
  | 'menton'
  | 'opisthocranion'
  | 'vertex'
  | 'euryon-left'
  | 'euryon-right'
  | 'zygion-left'
  | 'zygion-right';

export interface TrueSpan {
  readonly name: string;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly lengthMm: number;
}

export interface TrueGirth {
  readonly name: string;
  /** Three points of its plane, on the surface. */
  readonly through: readonly [Vec3, Vec3, Vec3];
  readonly lengthMm: number;
}

export interface InventedHead {
  readonly field: Field;
  readonly landmarks: Readonly<Record<HeadLandmark, Vec3>>;
  readonly spans: readonly TrueSpan[];
  readonly girths: readonly TrueGirth[];
  /** The surface with about so many faces: closed, manifold, outward, free of self-intersection, single precision. */
  mesh(faces: number): Mesh;
}

/** Longest ray, and its steps: no fold of the ear is thinner. */
const FAR_MM = 140;
const MARCH_MM = 2;
/** Halvings of a step that leave less than single precision holds. */
const HALVINGS = 24;
const PLACES = 10;
const TAPE_POINTS = 720;
/**
 * How far above the glabella the tape of the head's girth runs: just over the brow ridges, round the most prominent
 * point of the back of the head (ISO 7250-1). Level with the glabella itself it would graze the tops of the ears,
 * and what it then reads depends on a millimetre of their height.
 */
export const TAPE_ABOVE_GLABELLA_MM = 10;

/** Where the ray from inside first leaves the body. */
function exit(field: Field, from: Vec3, way: Vec3): Vec3 {
  const at = (t: number): number => field(from[0] + t * way[0], from[1] + t * way[1], from[2] + t * way[2]);
  let leave = -1;
  let before = at(0);
  if (before >= 0) throw new Error('a landmark ray does not start inside the head');
  for (let t = MARCH_MM; t < FAR_MM; t += MARCH_MM) {
    const now = at(t);
    if (before < 0 && now >= 0) {
      leave = t;
      break;
    }
    before = now;
  }
  if (leave < 0) throw new Error('a landmark ray does not leave the head');
  let low = leave - MARCH_MM,
    high = leave;
  for (let round = 0; round < HALVINGS; round++) {
    const middle = (low + high) / 2;
    if (at(middle) < 0) low = middle;
    else high = middle;
  }
  return [from[0] + low * way[0], from[1] + low * way[1], from[2] + low * way[2]];
}

/** The candidate with the largest score over a range, coarse then fine. */
function best(low: number, high: number, make: (at: number) => Vec3, score: (p: Vec3) => number): Vec3 {
  let [from, to] = [low, high];
  let found = make(low);
  for (let round = 0; round < 4; round++) {
    const step = (to - from) / PLACES;
    let where = from;
    let top = -Infinity;
    for (let i = 0; i <= PLACES; i++) {
      const point = make(from + i * step);
      const value = score(point);
      if (value > top) {
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

const distance = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** Rays start and end at places that stretch with the head. */
function findLandmarks(field: Field, [sx, sy, sz]: Vec3): Record<HeadLandmark, Vec3> {
  const leave = (x: number, y: number, z: number, way: Vec3): Vec3 => exit(field, [x * sx, y * sy, z * sz], way);
  const onMiddle = (low: number, high: number, score: (p: Vec3) => number): Vec3 =>
    best(low, high, (z) => leave(60, 0, z, [1, 0, 0]), score);
  const widest = (way: 1 | -1, x0: number, x1: number, z0: number, z1: number): Vec3 => {
    const outward = (p: Vec3): number => way * p[1];
    return best(x0, x1, (x) => best(z0, z1, (z) => leave(x, way * 40, z, [0, way, 0]), outward), outward);
  };
  const glabella = onMiddle(30, 48, (p) => p[0]);
  return {
    'tragion-left': leave(0, 40, 0, [0, 1, 0]),
    'tragion-right': leave(0, -40, 0, [0, -1, 0]),
    'orbitale-left': leave(50, 33, 0, [1, 0, 0]),
    'orbitale-right': leave(50, -33, 0, [1, 0, 0]),
    glabella,
    sellion: onMiddle(10, 32, (p) => -p[0]),
    pronasale: onMiddle(-40, 0, (p) => p[0]),
    pogonion: onMiddle(-97, -75, (p) => p[0]),
    menton: best(
      64,
      84,
      (x) => leave(x, 0, -82, [0, 0, -1]),
      (p) => -p[2],
    ),
    opisthocranion: best(
      -25,
      90,
      (z) => leave(-40, 0, z, [-1, 0, 0]),
      (p) => distance(p, glabella),
    ),
    vertex: best(
      -60,
      60,
      (x) => leave(x, 0, 80, [0, 0, 1]),
      (p) => p[2],
    ),
    'euryon-left': widest(1, -50, 10, 40, 80),
    'euryon-right': widest(-1, -50, 10, 40, 80),
    'zygion-left': widest(1, 26, 60, -18, -8),
    'zygion-right': widest(-1, 26, 60, -18, -8),
  };
}

/** Length of a taut tape round points of one plane: the perimeter of their convex hull. */
function tautLength(points: readonly (readonly [number, number])[]): number {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly (readonly [number, number])[]): (readonly [number, number])[] => {
    const chain: (readonly [number, number])[] = [];
    for (const p of list) {
      while (chain.length > 1) {
        const a = chain[chain.length - 2],
          b = chain[chain.length - 1];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        chain.pop();
      }
      chain.push(p);
    }
    return chain;
  };
  const hull = [...half(sorted).slice(0, -1), ...half(sorted.reverse()).slice(0, -1)];
  return hull.reduce((sum, p, i) => {
    const q = hull[(i + 1) % hull.length];
    return sum + Math.hypot(p[0] - q[0], p[1] - q[1]);
  }, 0);
}

/**
 * A tape on the skin, in the plane through `centre` that holds y and the direction `forward`. What lies beyond the
 * first skin met from the centre (an ear) is not taped, so the plane has to clear it.
 */
function tape(field: Field, name: string, centre: Vec3, forward: Vec3): TrueGirth {
  const flat: (readonly [number, number])[] = [];
  const at = (angle: number): Vec3 =>
    exit(field, centre, [
      Math.cos(angle) * forward[0],
      Math.sin(angle) + Math.cos(angle) * forward[1],
      Math.cos(angle) * forward[2],
    ]);
  for (let i = 0; i < TAPE_POINTS; i++) {
    const angle = (2 * Math.PI * i) / TAPE_POINTS;
    const p = at(angle);
    const r = distance(p, centre);
    flat.push([r * Math.cos(angle), r * Math.sin(angle)]);
  }
  return { name, through: [at(0), at(Math.PI * 0.75), at(-Math.PI * 0.75)], lengthMm: tautLength(flat) };
}

/** Make one invented head. O(1) until `mesh` is called. */
export function inventHead(wishes: HeadWishes): InventedHead {
  const { lengthMm = 199.5, breadthMm = 154.3, heightMm = 131.1 } = wishes;
  const base = headField(featuresOf(wishes.seed));
  let [sx, sy, sz] = [1, 1, 1];
  let shift = 0;
  const field: Field = (x, y, z) => base(x / sx, (y + shift) / sy, z / sz);
  let landmarks = findLandmarks(field, [sx, sy, sz]);
  // Stretching moves the landmarks a little, so it is done until the sizes are right.
  for (let round = 0; round < 4; round++) {
    sx *= lengthMm / distance(landmarks.glabella, landmarks.opisthocranion);
    sy *= breadthMm / (landmarks['euryon-left'][1] - landmarks['euryon-right'][1]);
    sz *= heightMm / landmarks.vertex[2];
    landmarks = findLandmarks(field, [sx, sy, sz]);
    shift += (landmarks['tragion-left'][1] + landmarks['tragion-right'][1]) / 2;
    landmarks = findLandmarks(field, [sx, sy, sz]);
  }
  const span = (name: string, from: HeadLandmark, to: HeadLandmark): TrueSpan => ({
    name,
    from: landmarks[from],
    to: landmarks[to],
    lengthMm: distance(landmarks[from], landmarks[to]),
  });
  const { glabella: g, opisthocranion: o } = landmarks;
  const front = exit(field, [60 * sx, 0, g[2] + TAPE_ABOVE_GLABELLA_MM], [1, 0, 0]);
  const length = distance(front, o);
  const centre: Vec3 = [(front[0] + o[0]) / 2, 0, (front[2] + o[2]) / 2];
  return {
    field,
    landmarks,
    spans: [
      span('head length', 'glabella', 'opisthocranion'),
      span('head breadth', 'euryon-left', 'euryon-right'),
      span('bitragion breadth', 'tragion-left', 'tragion-right'),
      span('bizygomatic breadth', 'zygion-left', 'zygion-right'),
      span('face length', 'sellion', 'menton'),
      span('tragion to vertex', 'tragion-left', 'vertex'),
    ],
    girths: [
      tape(field, 'head circumference', centre, [(front[0] - o[0]) / length, 0, (front[2] - o[2]) / length]),
      tape(field, 'neck circumference', [-30 * sx, 0, -112 * sz], [1, 0, 0]),
    ],
    mesh: (faces) => polygonise(field, [260, 0, 60], faces),
  };
}
