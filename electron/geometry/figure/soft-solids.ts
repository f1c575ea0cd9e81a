/** Simple bodies as fields, negative inside, mm or near it, and their soft unions: what invented and neutral heads are made of. */

/** Union of two fields with a fillet of about k. */
export function join(a: number, b: number, k: number): number {
  const h = k - Math.abs(a - b);
  return h <= 0 ? Math.min(a, b) : Math.min(a, b) - (h * h) / (4 * k);
}

/** The first without the second, edges eased over about k. */
export function without(a: number, b: number, k: number): number {
  return -join(-a, b, k);
}

/** A ball about (cx, cy, cz). */
export function ball(x: number, y: number, z: number, cx: number, cy: number, cz: number, radius: number): number {
  return Math.sqrt((x - cx) ** 2 + (y - cy) ** 2 + (z - cz) ** 2) - radius;
}

/** Ellipsoid about its centre, exact to first order at its surface. */
export function egg(x: number, y: number, z: number, rx: number, ry: number, rz: number): number {
  const a = x / rx,
    b = y / ry,
    c = z / rz;
  const k0 = Math.sqrt(a * a + b * b + c * c);
  const k1 = Math.sqrt((a / rx) ** 2 + (b / ry) ** 2 + (c / rz) ** 2);
  return k1 === 0 ? -Math.min(rx, ry, rz) : (k0 * (k0 - 1)) / k1;
}

/** Rounded bar from one point to another, its radius going from r1 to r2. */
export function bar(
  x: number,
  y: number,
  z: number,
  ax: number,
  ay: number,
  az: number,
  r1: number,
  bx: number,
  by: number,
  bz: number,
  r2: number,
): number {
  const dx = bx - ax,
    dy = by - ay,
    dz = bz - az;
  const px = x - ax,
    py = y - ay,
    pz = z - az;
  const t = Math.min(1, Math.max(0, (px * dx + py * dy + pz * dz) / (dx * dx + dy * dy + dz * dz)));
  return Math.sqrt((px - t * dx) ** 2 + (py - t * dy) ** 2 + (pz - t * dz) ** 2) - (r1 + t * (r2 - r1));
}
