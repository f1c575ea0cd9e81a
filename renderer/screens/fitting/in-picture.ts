/** Moving in the plane of the picture: what a way on the screen means on the body. */
import type { Vec3 } from '../../../shared-types/mesh.ts';

/** How a millimetre along each axis moves on the screen, pixels: x and y for x, y, z. */
export type PixelsPerMm = readonly [Vec3, Vec3];

/** Step for finding it, mm. */
const STEP_MM = 5;

/** As the picture shows it round a point. */
export function pixelsPerMm(placeOf: (point: Vec3) => { x: number; y: number }, at: Vec3): PixelsPerMm {
  const from = placeOf(at);
  const to = [0, 1, 2].map((k) =>
    placeOf(at.map((value, c) => (c === k ? value + STEP_MM : value)) as unknown as Vec3),
  );
  return [
    to.map(({ x }) => (x - from.x) / STEP_MM) as unknown as Vec3,
    to.map(({ y }) => (y - from.y) / STEP_MM) as unknown as Vec3,
  ];
}

/** The shortest way on the body that moves so far on the screen: it lies in the picture's plane. Zero seen edge on. */
export function wayInPicture([across, down]: PixelsPerMm, dx: number, dy: number): Vec3 {
  const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const [xx, xy, yy] = [dot(across, across), dot(across, down), dot(down, down)];
  const size = xx * yy - xy * xy;
  if (!(size > 0)) return [0, 0, 0];
  const s = (yy * dx - xy * dy) / size;
  const t = (xx * dy - xy * dx) / size;
  return [0, 1, 2].map((k) => s * (across[k] ?? 0) + t * (down[k] ?? 0)) as unknown as Vec3;
}
