/** The field of an invented head with neck and shoulders: soft unions of simple bodies, in the form frame, mm. */
import { seeded } from './seeded.ts';
import type { Field } from '../geometry/figure/polygonise.ts';
import { ball, bar, egg, join, without } from '../geometry/figure/soft-solids.ts';

/** What differs from one invented wearer to the next; 1 is the middle of the range where it is a ratio. */
export interface Features {
  readonly nose: number;
  readonly chin: number;
  readonly brow: number;
  readonly cheek: number;
  readonly jaw: number;
  readonly earTurn: number;
  readonly ear: number;
  readonly neck: number;
  readonly box: number;
  readonly skewY: number;
  readonly phase: number;
}

export function featuresOf(seed: number): Features {
  const random = seeded(seed);
  const near = (spread: number): number => 1 + Math.max(-2, Math.min(2, random.normal())) * spread;
  return {
    nose: near(0.08),
    chin: near(0.06),
    brow: near(0.08),
    cheek: near(0.04),
    jaw: near(0.04),
    earTurn: 0.56 + 0.08 * random.between(-1, 1),
    ear: near(0.05),
    neck: near(0.05),
    box: random.between(0.18, 0.32),
    skewY: random.between(-1.5, 1.5),
    phase: random.between(0, 6),
  };
}

/** The ear alone: shell, rolled rim, inner ridge, bowl, lobe and the flap before the canal. Overhangs all round. */
function earAt(x: number, y: number, z: number, f: Features): number {
  const px = (x + 17) / f.ear,
    py = (y - 79.5) / f.ear,
    pz = (z + 10) / f.ear;
  const c = Math.cos(f.earTurn),
    s = Math.sin(f.earTurn);
  // u backward and outward along the shell, w off the shell, v up, leaning back a little.
  const u0 = -c * px + s * py,
    w = s * px + c * py;
  const v = 0.98 * pz + 0.19 * u0,
    u = 0.98 * u0 - 0.19 * pz;
  let d = egg(u - 1, v - 2, w + 2, 16, 28, 5.5);
  // Its root, so that no gap runs through between ear and head.
  d = join(d, egg(u + 7, v - 1, w + 8, 13, 26, 10), 4);
  const oval = Math.sqrt((u / 0.56) ** 2 + (v - 3) ** 2);
  const rim = Math.sqrt(((oval - 27) * 0.62) ** 2 + (w - 2.2) ** 2) - 3.7;
  d = join(d, u < -9 && v < 8 ? rim + 4 : rim, 2.5);
  const ridge = Math.sqrt(((Math.sqrt(((u - 1) / 0.58) ** 2 + (v + 1) ** 2) - 16) * 0.62) ** 2 + (w - 2.4) ** 2) - 2;
  d = join(d, u < -4 ? ridge + 4 : ridge, 2);
  d = without(d, egg(u + 3, v + 3, w - 4.5, 6.5, 10.5, 5.5), 2);
  d = join(d, egg(u + 2, v + 24, w - 0.5, 9, 9, 5), 4);
  d = join(d, ball(u, v, w, -12.5, -3, 1.5, 4), 3);
  return d * f.ear;
}

/** Distance-like field of the whole head in base sizes, before stretching. */
export function headField(f: Features): Field {
  return (x, y0, z) => {
    // No face is quite even: the middle wanders a little below the eyes.
    const y = y0 + f.skewY * 0.01 * Math.max(0, -z) * Math.exp(-(((z + 60) / 50) ** 2)) * (x > 0 ? x / 100 : 0);
    const s = Math.abs(y);
    // Skull, wider at the diagonals than an ellipsoid.
    const a = (x + 4) / 101,
      b = y / 76.5,
      c = (z - 37) / 94;
    const k0 = Math.sqrt(Math.max(0.0625, a * a + b * b + c * c - f.box * a * a * b * b));
    const k1 = Math.sqrt((a / 101) ** 2 + (b / 76.5) ** 2 + (c / 94) ** 2);
    let d = k1 < 1e-9 ? -76 : (k0 * (k0 - 1)) / k1;
    d = join(d, egg(x + 52, y, z - 16, 49, 56, 48), 20);
    // Neck, nape, shoulders, cut level below.
    if (z < 20) {
      const n = f.neck;
      d = join(d, bar(x, y * 1.06, z, -22, 0, -35, 54 * n, -40, 0, -190, 57 * n), 20);
      d = join(d, bar(x, s, z, -54, 22, -172, 30, -46, 165, -222, 42), 36);
      d = join(d, egg(x + 36, y, z + 306, 92, 178, 118), 36);
      d = join(d, bar(x, s, z, -10, 60, -38, 8, 12, 16, -178, 8), 16);
      d = join(d, egg(x - 16 - 4 * n, y, z + 128, 12, 11, 15), 12);
    }
    if (x > -30 && z < 70 && z > -150) {
      // Face: middle block, cheeks, jaw, chin.
      d = join(d, egg(x - 36, y, z + 30, 51, 52, 70), 22);
      d = join(d, egg(x - 58, s - 40 * f.cheek, z + 14, 24, 24, 20), 18);
      d = join(d, bar(x, s, z, 58, 52 * f.cheek, -14, 9, 12, 64 * f.cheek, -4, 7), 12);
      d = join(d, bar(x, s, z, -2, 60, -10, 10, 8, 50 * f.jaw, -62, 12), 14);
      d = join(d, bar(x, s, z, 8, 50 * f.jaw, -62, 13, 70, 15, -88, 13), 16);
      d = join(d, egg(x - 36, s - 38, z + 46, 34, 22, 34), 16);
      d = join(d, egg(x - 74, y, z + 86, 17, 18, 16 * f.chin), 12);
    }
    if (x > 40 && z < 70 && z > -80) {
      // Brow, sockets with the eyes under their lids.
      d = join(d, bar(x, s, z, 86 + 2 * f.brow, 8, 36, 8 * f.brow, 68, 46, 33, 8), 10);
      d = without(d, egg(x - 92, s - 33, z - 13, 15, 16, 11), 8);
      d = join(d, ball(x, s, z, 72, 32.5, 13, 12.8), 3);
      d = join(d, bar(x, s, z, 71.5, 20, 13.5, 6, 66, 46, 13, 6), 3);
      // Nose: bridge, tip, wings, nostrils.
      d = join(d, bar(x, y, z, 79, 0, 20, 7, 104 * 0.98 + 6 * (f.nose - 1) * 10, 0, -20, 9), 8);
      d = join(d, ball(x, y, z, 106 + 60 * (f.nose - 1), 0, -21, 9), 6);
      d = join(d, egg(x - 94 - 30 * (f.nose - 1), s - 11.5, z + 24, 10, 7, 7.5), 5);
      d = without(d, egg(x - 100 - 40 * (f.nose - 1), s - 7, z + 32, 6, 3.4, 4.5), 2.5);
      // Lips with the line between them.
      d = join(d, egg(x - 82, y, z + 46.5, 9.5, 24, 5), 5);
      d = join(d, egg(x - 82, y, z + 56, 9.5, 21, 6), 5);
      d = without(d, egg(x - 96, y, z + 51, 6.5, 27, 1.6), 2);
      d = without(d, egg(x - 98, y, z + 66, 9, 22, 6), 8);
    }
    if (s > 50 && s < 115 && x > -60 && x < 30 && z > -55 && z < 55) {
      // The hollow behind the ear, then the ear.
      d = without(d, egg(x + 36, s - 84, z + 7, 13, 11, 27), 8);
      d = join(d, earAt(x, s, z, f), 3);
    }
    // Hair under a cap above, skin below: detail down to a few millimetres.
    const hair = z > 20 ? Math.min(1, (z - 20) / 40) : 0;
    d += 0.3 * hair * Math.sin(0.9 * x + 0.25 * z + f.phase) * Math.sin(0.55 * y - 0.2 * x);
    d += 0.12 * Math.sin(0.7 * z + 0.31 * y + f.phase) * Math.sin(0.62 * x + 0.2 * y);
    // The bottom is level, its edge eased.
    return z < -190 ? -join(-d, 232 + z, 14) : d;
  };
}
