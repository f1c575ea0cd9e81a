/**
 * An invented torso with the stumps of neck and arms, cut at the hips: nobody's, varied by a seed, with its landmarks
 * and true measurements taken on the exact surface.
 *
 * Frame: upright, mm, x forward, y to the wearer's left, z up, origin in the middle of the foot of the neck. It is
 * about a torso's form frame (`standTorso`), which leans by a degree or so as breastbone and spine do.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';
import { bar, egg, join, without } from '../geometry/figure/soft-solids.ts';
import { polygonise, type Field } from '../geometry/figure/polygonise.ts';
import { best, distance, exit, tape, type TrueGirth, type TrueSpan } from './field-probe.ts';
import type { InventedBody } from './limb.ts';
import { stack, type Section } from './profile.ts';
import { seeded } from './seeded.ts';

export interface TorsoWishes {
  readonly seed: number;
  /** Against a middling torso. */
  readonly breadth?: number;
  readonly depth?: number;
  readonly height?: number;
}

/** From the hips to under the neck. */
const TRUNK: readonly Section[] = [
  [-500, 112, 165, 2],
  [-460, 106, 154, 2],
  [-400, 97, 136, 2],
  [-330, 102, 140, 2],
  [-250, 112, 152, 3],
  [-185, 116, 156, 4],
  [-120, 104, 158, 1],
  [-60, 80, 140, -3],
  [-10, 52, 96, -4],
];
const HIPS = -470;
const NECK = 80;
const CHEST = -190;
const BREASTBONE_END = -235;
const WAIST = -400;

export function inventTorso({ seed, breadth = 1, depth = 1, height = 1 }: TorsoWishes): InventedBody {
  const random = seeded(seed);
  const phase = random.between(0, 6);
  const chest = 1 + 0.08 * random.between(-1, 1);
  const trunk = stack(TRUNK, 2.3);
  const base: Field = (x, y, z) => {
    const s = Math.abs(y);
    let d = without(trunk(x, y, z), -12 - z, 20);
    d = join(d, bar(x, y, z, -4, 0, -30, 62, 14, 0, 90, 56), 26);
    // Slope of the shoulders, shoulders, stumps of the arms.
    d = join(d, bar(x, s, z, -8, 60, -24, 34, -8, 165, -58, 36), 30);
    d = join(d, bar(x, s, z, -8, 172, -66, 44, -10, 214, -122, 44), 18);
    // Chest, shoulder blades, the furrow of the spine.
    d = join(d, egg(x - 84 * chest, s - 62, z + 178, 36, 60, 52), 30);
    d = join(d, egg(x + 88, s - 72, z + 135, 24, 44, 62), 28);
    d = without(d, bar(x, y, z, -132, 0, -90, 16, -118, 0, -420, 18), 26);
    d += 0.25 * Math.sin(0.21 * z + 0.17 * y + phase) * Math.sin(0.19 * x + 0.11 * y);
    return without(without(d, z - HIPS, 6), NECK - z, 4);
  };
  const least = Math.min(breadth, depth, height);
  const field: Field = (x, y, z) => least * base(x / depth, y / breadth, z / height);
  const leave = (x: number, y: number, z: number, way: Vec3): Vec3 =>
    exit(field, [x * depth, y * breadth, z * height], way);
  const front = (z: number): Vec3 => leave(0, 0, z, [1, 0, 0]);
  const back = (z: number): Vec3 => leave(0, 0, z, [-1, 0, 0]);
  const beside = (name: string, left: (way: 1 | -1) => Vec3): Record<string, Vec3> => ({
    [`${name}-left`]: left(1),
    [`${name}-right`]: left(-1),
  });
  const landmarks: Record<string, Vec3> = {
    suprasternale: front(-40),
    cervicale: back(6),
    xiphion: front(BREASTBONE_END),
    midback: back(BREASTBONE_END),
    'chest-front': front(CHEST),
    'chest-back': back(CHEST),
    'waist-front': front(WAIST),
    'waist-back': back(WAIST),
    ...beside('chest-side', (way) => leave(0, 0, CHEST, [0, way, 0])),
    ...beside('acromion', (way) => leave(-8, way * 182, -80, [0, way * 0.5, 0.866])),
    ...beside('deltoid', (way) =>
      best(
        -150,
        -80,
        (z) => leave(-10, way * 200, z, [0, way, 0]),
        (p) => way * p[1],
      ),
    ),
    ...beside('neck-side', (way) => leave(0, 0, -6, [0, way, 0.2])),
  };
  const span = (name: string, from: string, to: string): TrueSpan => ({
    name,
    from: landmarks[from],
    to: landmarks[to],
    lengthMm: distance(landmarks[from], landmarks[to]),
  });
  /** Level, through both landmarks on the middle line. */
  const round = (name: string, from: string, to: string): TrueGirth => {
    const [a, b] = [landmarks[from], landmarks[to]];
    const far = distance(a, b);
    const centre: Vec3 = [(a[0] + b[0]) / 2, 0, (a[2] + b[2]) / 2];
    return tape(field, name, centre, [(a[0] - b[0]) / far, 0, (a[2] - b[2]) / far]);
  };
  return {
    field,
    landmarks,
    spans: [
      span('biacromial breadth', 'acromion-left', 'acromion-right'),
      span('bideltoid breadth', 'deltoid-left', 'deltoid-right'),
      span('chest breadth', 'chest-side-left', 'chest-side-right'),
      span('chest depth', 'chest-front', 'chest-back'),
      span('breastbone length', 'suprasternale', 'xiphion'),
    ],
    girths: [
      round('chest circumference', 'chest-front', 'chest-back'),
      round('waist circumference', 'waist-front', 'waist-back'),
    ],
    mesh: (faces) => polygonise(field, [320, 0, -200], faces),
  };
}
