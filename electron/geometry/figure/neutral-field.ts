/**
 * The field of a neutral head with its neck, mirror-symmetric: nobody's head, a calm block of middling proportions.
 *
 * Made from simple bodies with soft unions (soft-solids.ts); lids closed, ears as smooth shells without folds, since
 * a form made to measures has nothing to say about the folds of an ear. In the form frame, mm; the neck is cut level.
 */
import type { Field } from './polygonise.ts';
import { ball, bar, egg, join, without } from './soft-solids.ts';

/** Height of the level cut through the neck, mm, and the roundness of its rim. */
const CUT_MM = -176;
const RIM_MM = 12;

/** Skull, fuller at the diagonals than an ellipsoid, with the back of the head. */
function skull(x: number, y: number, z: number): number {
  const [a, b, c] = [(x + 1) / 99, y / 75.5, (z - 46) / 83.5];
  const k0 = Math.sqrt(Math.max(0.0625, a * a + b * b + c * c - 0.26 * a * a * b * b));
  const k1 = Math.sqrt((a / 99) ** 2 + (b / 75.5) ** 2 + (c / 83.5) ** 2);
  // Near the middle the ratio says nothing; deep inside is enough.
  const d = k1 * 99 < 0.1 ? -76 : (k0 * (k0 - 1)) / k1;
  return join(d, egg(x + 46, y, z - 20, 48, 57, 48), 22);
}

function ear(x: number, y: number, z: number): number {
  const [px, py, pz] = [x + 15, y - 79, z + 8];
  // u backward and outward along the shell, w off the shell, v up; it leans back a little.
  const [cos, sin] = [Math.cos(0.5), Math.sin(0.5)];
  const u0 = -cos * px + sin * py;
  const w = sin * px + cos * py;
  const v = 0.98 * pz + 0.2 * u0;
  const u = 0.98 * u0 - 0.2 * pz;
  const shell = join(egg(u - 1, v - 1, w + 1, 17, 31, 7), egg(u + 6, v, w + 9, 14, 26, 10), 6);
  return without(shell, egg(u + 2, v + 1, w - 7, 10, 18, 7), 5);
}

function face(d: number, x: number, y: number, z: number): number {
  const s = Math.abs(y);
  let f = join(d, egg(x - 39, y, z + 30, 50, 52, 70), 24);
  f = join(f, egg(x - 57, s - 39, z + 14, 24, 24, 20), 20);
  // Cheek arch, jaw, chin.
  f = join(f, bar(x, s, z, 54, 54, -12, 9, 10, 62, -3, 7), 14);
  f = join(f, bar(x, s, z, -2, 54, -14, 10, 8, 49, -62, 12), 16);
  f = join(f, bar(x, s, z, 8, 49, -62, 13, 75, 14, -89, 13), 18);
  f = join(f, egg(x - 36, s - 37, z + 46, 34, 23, 34), 18);
  return join(f, egg(x - 80, y, z + 87, 16, 18, 15), 14);
}

function features(d: number, x: number, y: number, z: number): number {
  const s = Math.abs(y);
  let f = join(d, bar(x, s, z, 87, 8, 36, 8, 69, 46, 33, 8), 14);
  f = without(f, egg(x - 93, s - 33, z - 12, 14, 17, 12), 10);
  f = join(f, egg(x - 71, s - 32, z - 13, 14, 17, 13), 5);
  f = join(f, bar(x, y, z, 80, 0, 20, 7, 104, 0, -19, 9), 10);
  f = join(f, ball(x, y, z, 107, 0, -20, 9), 7);
  f = join(f, egg(x - 95, s - 11, z + 24, 11, 7, 8), 6);
  // Lips, the line between them, the hollow over the chin.
  f = join(f, egg(x - 84, y, z + 47, 10, 24, 6), 7);
  f = join(f, egg(x - 84, y, z + 56, 10, 21, 7), 7);
  f = without(f, egg(x - 100, y, z + 51.5, 7, 26, 2.5), 4);
  return without(f, egg(x - 103, y, z + 67, 10, 24, 7), 10);
}

/** Distance-like field of the neutral head. */
export const neutralField: Field = (x, y, z) => {
  const s = Math.abs(y);
  let d = skull(x, y, z);
  if (z < 20) {
    d = join(d, bar(x, y * 1.04, z, -22, 0, -35, 54, -39, 0, -190, 58), 24);
    d = join(d, bar(x, s, z, -10, 58, -40, 8, 10, 18, -178, 9), 20);
    d = join(d, egg(x - 17, y, z + 122, 13, 13, 17), 16);
  }
  if (x > -30 && z < 70 && z > -150) d = face(d, x, y, z);
  if (x > 40 && z < 70 && z > -80) d = features(d, x, y, z);
  if (s > 50 && s < 115 && x > -65 && x < 35 && z > -60 && z < 60) {
    d = join(without(d, egg(x + 34, s - 85, z + 6, 12, 10, 25), 9), ear(x, s, z), 5);
  }
  return z < CUT_MM + 40 ? -join(-d, z - CUT_MM, RIM_MM) : d;
};
