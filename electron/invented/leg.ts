/**
 * An invented right lower leg with its foot, knee straight, standing, cut above the knee: nobody's, varied by a seed,
 * with its landmarks and true measurements taken on the exact surface.
 *
 * Frame: about that of a limb (mm, z along it toward the trunk, origin between the ankle bones, x to the kneecap), so
 * the outer side of this right leg is toward -y.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';
import { ball, bar, egg, join, without } from '../geometry/figure/soft-solids.ts';
import { polygonise, type Field } from '../geometry/figure/polygonise.ts';
import { best, distance, exit, tape, type TrueGirth, type TrueSpan } from './field-probe.ts';
import type { InventedBody, LimbWishes } from './limb.ts';
import { stack, type Section } from './profile.ts';
import { seeded } from './seeded.ts';

/** Ankle, shin, calf, knee and the beginning of the thigh. */
const SHANK: readonly Section[] = [
  [-60, 42, 30, -12],
  [0, 40, 30, -8],
  [50, 36, 31, -8],
  [140, 46, 42, -14],
  [250, 60, 56, -22],
  [320, 54, 52, -14],
  [385, 58, 53, -4],
  [440, 62, 58, 0],
  [520, 74, 70, 2],
];
const MIDDLING_LENGTH = 385;
const CUT = 505;
const GROUND = -76;
const BALL = 128;
const KNEECAP = 392;

export function inventLeg({ seed, lengthMm = 390, stoutness = 1 }: LimbWishes): InventedBody {
  const random = seeded(seed);
  const long = lengthMm / MIDDLING_LENGTH;
  const phase = random.between(0, 6);
  const fleshy = 1 + 0.05 * random.between(-1, 1);
  const tube = stack(
    SHANK.map(([z, a, b, middle]) => [z, a * (z > 100 ? fleshy : 1), b * (z > 100 ? fleshy : 1), middle]),
    2.1,
  );
  const base: Field = (x, y, z) => {
    let d = without(tube(x, y, z), z + 52, 16);
    // Heel, instep, the two sides of the ball and the toes.
    d = join(d, egg(x + 34, y, z + 50, 34, 29, 34), 16);
    d = join(d, bar(x, y, z, -10, 0, -44, 32, 120, 2, -58, 22), 22);
    d = join(d, bar(x, y, z, 118, 18, -58, 24, 182, 18, -62, 14), 16);
    d = join(d, bar(x, y, z, 118, -20, -60, 21, 162, -16, -64, 13), 24);
    // Ankle bones, the outer one lower, and the kneecap.
    d = join(d, ball(x, y, z, -4, -28, -6, 11), 8);
    d = join(d, ball(x, y, z, 2, 27, 6, 12), 8);
    d = join(d, egg(x - 50, y, z - KNEECAP, 16, 24, 28), 14);
    d += 0.12 * Math.sin(0.5 * z + 0.31 * y + phase) * Math.sin(0.42 * x + 0.2 * y);
    return without(without(d, z - GROUND, 5), CUT - z, 3);
  };
  const least = Math.min(stoutness, long);
  const field: Field = (x, y, z) => least * base(x / stoutness, y / stoutness, z / long);
  const leave = (x: number, y: number, z: number, way: Vec3): Vec3 =>
    exit(field, [x * stoutness, y * stoutness, z * long], way);
  const [front, back, inner, outer]: readonly Vec3[] = [
    [1, 0, 0],
    [-1, 0, 0],
    [0, 1, 0],
    [0, -1, 0],
  ];
  const level = (name: string, z: number): TrueGirth => tape(field, name, [-8 * stoutness, 0, z * long], front);
  /** The level between two at which the girth is most by `sign`; a girth's truth is its own greatest or least. */
  const most = (sign: 1 | -1, from: number, to: number): number =>
    best(
      from,
      to,
      (z) => [0, 0, z],
      ([, , z]) => sign * level('', z).lengthMm,
    )[2];
  const calf = most(1, 180, 320);
  const ankle = most(-1, 20, 120);
  const landmarks: Record<string, Vec3> = {
    'malleolus-outer': leave(-4, 0, -6, outer),
    'malleolus-inner': leave(2, 0, 6, inner),
    'knee-outer': leave(0, 0, 385, outer),
    'knee-inner': leave(0, 0, 385, inner),
    patella: leave(0, 0, KNEECAP, front),
    'knee-back': leave(0, 0, KNEECAP, back),
    'calf-front': leave(-8, 0, calf, front),
    'calf-back': leave(-8, 0, calf, back),
    'ankle-front': leave(-8, 0, ankle, front),
    'ankle-back': leave(-8, 0, ankle, back),
    heel: best(
      -66,
      -30,
      (z) => leave(-30, 0, z, back),
      (p) => -p[0],
    ),
    'heel-under': leave(-40, 0, -50, [-0.6, 0, -0.8]),
    'instep-fold': leave(10, 0, -30, [0.7, 0, 0.714]),
    'toe-tip': best(
      10,
      30,
      (y) => leave(150, y, -62, front),
      (p) => p[0],
    ),
    'ball-inner': leave(BALL, 0, -60, inner),
    'ball-outer': leave(BALL, 0, -60, outer),
    'ball-top': leave(BALL, 0, -60, [0, 0, 1]),
  };
  const span = (name: string, from: string, to: string): TrueSpan => ({
    name,
    from: landmarks[from],
    to: landmarks[to],
    lengthMm: distance(landmarks[from], landmarks[to]),
  });
  /** Through two landmarks on the middle line and across. */
  const slanting = (name: string, from: string, to: string): TrueGirth => {
    const [a, b] = [landmarks[from], landmarks[to]];
    const far = distance(a, b);
    const centre: Vec3 = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
    return tape(field, name, centre, [(a[0] - b[0]) / far, 0, (a[2] - b[2]) / far]);
  };
  return {
    field,
    landmarks,
    spans: [
      span('foot length', 'heel', 'toe-tip'),
      span('foot breadth', 'ball-inner', 'ball-outer'),
      span('ankle breadth', 'malleolus-outer', 'malleolus-inner'),
      span('shin length', 'knee-inner', 'malleolus-inner'),
      span('knee breadth', 'knee-outer', 'knee-inner'),
    ],
    girths: [
      tape(field, 'ball of foot circumference', [BALL * stoutness, 0, -60 * long], [0, 0, 1]),
      slanting('heel circumference', 'instep-fold', 'heel-under'),
      level('knee circumference', KNEECAP),
    ],
    extremes: [
      { ...level('calf circumference', calf), most: 'thickest', between: ['malleolus-inner', 'knee-inner'] },
      { ...level('ankle circumference', ankle), most: 'thinnest', between: ['malleolus-inner', 'knee-inner'] },
    ],
    mesh: (faces) => polygonise(field, [200, 0, 200], faces),
  };
}
