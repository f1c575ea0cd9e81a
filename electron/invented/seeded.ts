/** Repeatable randomness for invented bodies: the same seed gives the same wearer, scan and readings everywhere. */
export interface Seeded {
  /** Uniform in [0, 1). */
  next(): number;
  between(low: number, high: number): number;
  /** Standard normal. */
  normal(): number;
}

/** A 128-bit small fast counting generator, warmed up from one number. */
export function seeded(seed: number): Seeded {
  let a = seed | 0,
    b = Math.imul(seed ^ 0x5bd1e995, 0x85ebca6b) | 0,
    c = 0x2545f491,
    counter = 1;
  const next = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + t;
    return (t >>> 0) / 4294967296;
  };
  for (let turn = 0; turn < 16; turn++) next();
  return {
    next,
    between: (low, high) => low + (high - low) * next(),
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
  };
}

/** A number in [-1, 1) for a lattice point. */
function lattice(x: number, y: number, z: number, seed: number): number {
  let h =
    (Math.imul(x, 0x27d4eb2d) ^ Math.imul(y, 0x165667b1) ^ Math.imul(z, 0x9e3779b1) ^ Math.imul(seed, 0x632be5ab)) | 0;
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  h = Math.imul(h ^ (h >>> 12), 0x297a2d39);
  h ^= h >>> 15;
  return (h >>> 0) / 2147483648 - 1;
}

/** Smooth noise in [-1, 1], one swing per `size` or so. */
export function smoothNoise(x: number, y: number, z: number, size: number, seed: number): number {
  const [px, py, pz] = [x / size, y / size, z / size];
  const ix = Math.floor(px),
    iy = Math.floor(py),
    iz = Math.floor(pz);
  const fade = (t: number): number => t * t * (3 - 2 * t);
  const u = fade(px - ix),
    v = fade(py - iy),
    w = fade(pz - iz);
  let sum = 0;
  for (let corner = 0; corner < 8; corner++) {
    const cx = corner & 1,
      cy = (corner >> 1) & 1,
      cz = corner >> 2;
    const weight = (cx ? u : 1 - u) * (cy ? v : 1 - v) * (cz ? w : 1 - w);
    sum += weight * lattice(ix + cx, iy + cy, iz + cz, seed);
  }
  return sum;
}
