/**
 * Invented wearers: a head with neck and upper shoulders of wanted sizes, its landmarks and its true measurements.
 *
 * Nobody's head: made from simple bodies, varied by a seed, stretched to the length, breadth and height asked for.
 * Frame: the form frame (mm, x forward, y left, z up, origin midway between the tragions, Frankfurt plane level).
 * Landmarks lie on the exact surface; spans and girths are measured on it, not on a mesh.
 */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { best, distance, exit, tape, type TrueGirth, type TrueSpan } from './field-probe.ts';
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

export interface InventedHead {
  readonly field: Field;
  readonly landmarks: Readonly<Record<HeadLandmark, Vec3>>;
  readonly spans: readonly TrueSpan[];
  readonly girths: readonly TrueGirth[];
  /** The surface with about so many faces: closed, manifold, outward, free of self-intersection, single precision. */
  mesh(faces: number): Mesh;
}

/**
 * How far above the glabella the tape of the head's girth runs: just over the brow ridges, round the most prominent
 * point of the back of the head (ISO 7250-1). Level with the glabella itself it would graze the tops of the ears,
 * and what it then reads depends on a millimetre of their height.
 */
export const TAPE_ABOVE_GLABELLA_MM = 10;

/** Each landmark by itself, as places that stretch with the head: taken only where it is asked for. */
function landmarkProbes(field: Field, [sx, sy, sz]: Vec3) {
  const leave = (x: number, y: number, z: number, way: Vec3): Vec3 => exit(field, [x * sx, y * sy, z * sz], way);
  const onMiddle = (low: number, high: number, score: (p: Vec3) => number): Vec3 =>
    best(low, high, (z) => leave(60, 0, z, [1, 0, 0]), score);
  const widest = (way: 1 | -1, x0: number, x1: number, z0: number, z1: number): Vec3 => {
    const outward = (p: Vec3): number => way * p[1];
    return best(x0, x1, (x) => best(z0, z1, (z) => leave(x, way * 40, z, [0, way, 0]), outward), outward);
  };
  const glabella = (): Vec3 => onMiddle(30, 48, (p) => p[0]);
  return {
    'tragion-left': () => leave(0, 40, 0, [0, 1, 0]),
    'tragion-right': () => leave(0, -40, 0, [0, -1, 0]),
    'orbitale-left': () => leave(50, 33, 0, [1, 0, 0]),
    'orbitale-right': () => leave(50, -33, 0, [1, 0, 0]),
    glabella,
    sellion: () => onMiddle(10, 32, (p) => -p[0]),
    pronasale: () => onMiddle(-40, 0, (p) => p[0]),
    pogonion: () => onMiddle(-97, -75, (p) => p[0]),
    menton: () =>
      best(
        64,
        84,
        (x) => leave(x, 0, -82, [0, 0, -1]),
        (p) => -p[2],
      ),
    opisthocranion: () => {
      const from = glabella();
      return best(
        -25,
        90,
        (z) => leave(-40, 0, z, [-1, 0, 0]),
        (p) => distance(p, from),
      );
    },
    vertex: () =>
      best(
        -60,
        60,
        (x) => leave(x, 0, 80, [0, 0, 1]),
        (p) => p[2],
      ),
    'euryon-left': () => widest(1, -50, 10, 40, 80),
    'euryon-right': () => widest(-1, -50, 10, 40, 80),
    'zygion-left': () => widest(1, 26, 60, -18, -8),
    'zygion-right': () => widest(-1, 26, 60, -18, -8),
  } satisfies Record<HeadLandmark, () => Vec3>;
}

/** Make one invented head. O(1) until something of it is asked for: landmarks, spans and girths are taken then, once. */
export function inventHead(wishes: HeadWishes): InventedHead {
  const { lengthMm = 199.5, breadthMm = 154.3, heightMm = 131.1 } = wishes;
  const base = headField(featuresOf(wishes.seed));
  let [sx, sy, sz] = [1, 1, 1];
  let shift = 0;
  const field: Field = (x, y, z) => base(x / sx, (y + shift) / sy, z / sz);
  // Stretching moves the landmarks a little, so it is done until the sizes are right.
  for (let round = 0; round < 4; round++) {
    const now = landmarkProbes(field, [sx, sy, sz]);
    const lengths = [
      distance(now.glabella(), now.opisthocranion()),
      now['euryon-left']()[1] - now['euryon-right']()[1],
    ];
    const height = now.vertex()[2];
    sx *= lengthMm / lengths[0];
    sy *= breadthMm / lengths[1];
    sz *= heightMm / height;
    const stretched = landmarkProbes(field, [sx, sy, sz]);
    shift += (stretched['tragion-left']()[1] + stretched['tragion-right']()[1]) / 2;
  }
  let truth: ReturnType<typeof measured> | undefined;
  const known = (): ReturnType<typeof measured> => (truth ??= measured(field, [sx, sy, sz]));
  return {
    field,
    get landmarks() {
      return known().landmarks;
    },
    get spans() {
      return known().spans;
    },
    get girths() {
      return known().girths;
    },
    mesh: (faces) => polygonise(field, [260, 0, 60], faces),
  };
}

/** What is true of the head with this field, its base stretched by `scale`. */
function measured(field: Field, scale: Vec3): Pick<InventedHead, 'landmarks' | 'spans' | 'girths'> {
  const [sx, , sz] = scale;
  const probes = Object.entries(landmarkProbes(field, scale)).map(([name, probe]) => [name, probe()] as const);
  const landmarks = Object.fromEntries(probes) as Record<HeadLandmark, Vec3>;
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
  };
}
