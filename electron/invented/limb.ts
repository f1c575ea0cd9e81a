/**
 * An invented right forearm with a mitten of a hand, elbow straight, cut above the elbow: nobody's, varied by a seed,
 * with its landmarks and true measurements taken on the exact surface.
 *
 * Frame: that of a limb (mm, z along it toward the trunk, origin in the middle of the wrist, x to the thumb's side).
 */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { ball, bar, join, without } from '../geometry/figure/soft-solids.ts';
import { polygonise, type Field } from '../geometry/figure/polygonise.ts';
import { distance, exit, tape, type TrueGirth, type TrueSpan } from './field-probe.ts';
import { stack, type Section } from './profile.ts';
import { seeded } from './seeded.ts';

export interface LimbWishes {
  readonly seed: number;
  /** Elbow to wrist, mm. */
  readonly lengthMm?: number;
  /** Of girths, against a middling arm. */
  readonly stoutness?: number;
}

export interface InventedBody {
  readonly field: Field;
  readonly landmarks: Readonly<Record<string, Vec3>>;
  readonly spans: readonly TrueSpan[];
  readonly girths: readonly TrueGirth[];
  /** Girths where the body is thickest or thinnest between two landmarks. */
  readonly extremes?: readonly (TrueGirth & {
    readonly most: 'thickest' | 'thinnest';
    readonly between: readonly [string, string];
  })[];
  /** The surface with about so many faces: closed, manifold, outward, free of self-intersection, single precision. */
  mesh(faces: number): Mesh;
}

/** Fingers together, hand, wrist, forearm, elbow and the beginning of the upper arm. */
const ARM: readonly Section[] = [
  [-195, 20, 7, 0],
  [-165, 33, 10, 0],
  [-112, 43, 14, 0],
  [-60, 39, 17, 0],
  [-25, 31, 19, 0],
  [0, 29, 20, 0],
  [35, 28, 23, 0],
  [110, 38, 36, 0],
  [170, 43, 42, 0],
  [215, 42, 40, 0],
  [245, 43, 37, 0],
  [290, 43, 43, 0],
  [345, 46, 48, 0],
];
const MIDDLING_LENGTH = 245;
const CUT = 330;
const FINGERTIPS = -190;
const KNUCKLES = -112;
const THICKEST = 170;

export function inventLimb({ seed, lengthMm = 250, stoutness = 1 }: LimbWishes): InventedBody {
  const random = seeded(seed);
  const long = lengthMm / MIDDLING_LENGTH;
  const phase = random.between(0, 6);
  const fleshy = 1 + 0.05 * random.between(-1, 1);
  const tube = stack(
    ARM.map(([z, a, b, middle]) => [z, a * (z > 20 ? fleshy : 1), b * (z > 20 ? fleshy : 1), middle]),
    2.2,
  );
  const base: Field = (x, y, z) => {
    // Round at the fingers' end; the upper arm is cut level.
    let d = without(tube(x, y, z), z - FINGERTIPS, 16);
    d = join(d, bar(x, y, z, 26, 4, -28, 13, 62, 10, -82, 10), 10);
    d = join(d, ball(x, y, z, 0, -24, 246, 17), 12);
    d += 0.12 * Math.sin(0.5 * z + 0.31 * y + phase) * Math.sin(0.42 * x + 0.2 * y);
    return without(d, CUT - z, 3);
  };
  const least = Math.min(stoutness, long);
  const field: Field = (x, y, z) => least * base(x / stoutness, y / stoutness, z / long);
  const leave = (x: number, y: number, z: number, way: Vec3): Vec3 => exit(field, [x, y, z * long], way);
  const [thumbward, littleward, palmward, backward]: readonly Vec3[] = [
    [1, 0, 0],
    [-1, 0, 0],
    [0, 1, 0],
    [0, -1, 0],
  ];
  const landmarks = {
    'stylion-radiale': leave(0, 0, 0, thumbward),
    'stylion-ulnare': leave(0, 0, 0, littleward),
    'epicondyle-outer': leave(0, 0, 245, thumbward),
    'epicondyle-inner': leave(0, 0, 245, littleward),
    olecranon: leave(0, 0, 247, backward),
    'forearm-front': leave(0, 0, THICKEST, palmward),
    'forearm-back': leave(0, 0, THICKEST, backward),
    'upperarm-front': leave(0, 0, 305, palmward),
    'upperarm-back': leave(0, 0, 305, backward),
    'wrist-crease': leave(0, 0, 0, palmward),
    dactylion: leave(0, 0, -150, [0, 0, -1]),
    'knuckle-index': leave(0, 0, KNUCKLES, thumbward),
    'knuckle-little': leave(0, 0, KNUCKLES, littleward),
  };
  const span = (name: string, from: keyof typeof landmarks, to: keyof typeof landmarks): TrueSpan => ({
    name,
    from: landmarks[from],
    to: landmarks[to],
    lengthMm: distance(landmarks[from], landmarks[to]),
  });
  const level = (name: string, z: number): TrueGirth => tape(field, name, [0, 0, z * long], thumbward);
  return {
    field,
    landmarks,
    spans: [
      span('hand length', 'wrist-crease', 'dactylion'),
      span('hand breadth', 'knuckle-index', 'knuckle-little'),
      span('wrist breadth', 'stylion-radiale', 'stylion-ulnare'),
      span('forearm length', 'epicondyle-outer', 'stylion-radiale'),
    ],
    girths: [
      level('hand circumference', KNUCKLES),
      level('wrist circumference', 0),
      level('forearm circumference', THICKEST),
      level('elbow circumference', 245),
    ],
    mesh: (faces) => polygonise(field, [120, 0, 100], faces),
  };
}
