/** The plane in which a part mirrors itself, and a placement turned so that this plane is the body's own. */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { multiply, transformPoint } from '../mesh/transform.ts';
import { findNearest, nearestSlot } from '../spatial/bvh.ts';
import { areaPoints, spreadOf, thinned } from './part-points.ts';
import { motion } from './pose.ts';
import type { WornPart } from './worn.ts';

export interface MirrorPlane {
  /** Unit normal, and the plane's distance from the origin along it, mm; part's coordinates. */
  readonly normal: Vec3;
  readonly offMm: number;
  /** How far the mirrored part lies from itself, root mean square, mm. */
  readonly missMm: number;
}

const POINTS = 1500;
const ROUNDS = 15;

/**
 * Mirror plane near a guessed normal: points are mirrored, each finds its nearest place on the part, and the plane is
 * laid through the middles of these pairs, square to them on the whole; again until it stays. The guess should be
 * right to some 20 degrees. O(rounds · points · log faces).
 */
export function mirrorPlane(part: WornPart, guess: Vec3, tick: () => void): MirrorPlane {
  const every = new Uint8Array(part.mesh.triangles.length / 3).fill(1);
  const points = thinned(areaPoints(part.mesh, every, 8), POINTS);
  const { middle } = spreadOf(points);
  const count = points.face.length;
  const length = Math.hypot(...guess);
  let normal: Vec3 = [guess[0] / length, guess[1] / length, guess[2] / length];
  let off = dot(normal, middle);
  let miss = Infinity;
  const near = nearestSlot();
  for (let round = 0; round < ROUNDS; round++) {
    tick();
    const sum: [number, number, number] = [0, 0, 0];
    const pairs: { at: Vec3; to: Vec3 }[] = [];
    let square = 0;
    for (let i = 0; i < count; i++) {
      const at: Vec3 = [points.at[3 * i], points.at[3 * i + 1], points.at[3 * i + 2]];
      const beyond = dot(normal, at) - off;
      const [x, y, z] = at.map((value, k) => value - 2 * beyond * normal[k]);
      findNearest(part.tree, x, y, z, near);
      square += near.distance ** 2;
      const to: Vec3 = [near.x, near.y, near.z];
      for (let k = 0; k < 3; k++) sum[k] += Math.sign(beyond) * (at[k] - to[k]);
      pairs.push({ at, to });
    }
    const rms = Math.sqrt(square / count);
    const size = Math.hypot(...sum);
    if (size === 0) break;
    const next: Vec3 = [sum[0] / size, sum[1] / size, sum[2] / size];
    const nextOff = pairs.reduce((total, { at, to }) => total + (dot(next, at) + dot(next, to)) / 2, 0) / count;
    const still = Math.abs(rms - miss) < STILL_MM;
    [normal, off, miss] = [next, nextOff, rms];
    if (still) break;
  }
  return { normal, offMm: off, missMm: miss };
}

const STILL_MM = 1 / 4096;

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

/** The placement turned and shifted as little as possible so that the part's mirror plane is the body's, y = 0. */
export function snapped(placement: Matrix4, plane: MirrorPlane): Matrix4 {
  const on = transformPoint(placement, [
    plane.normal[0] * plane.offMm,
    plane.normal[1] * plane.offMm,
    plane.normal[2] * plane.offMm,
  ]);
  const tip = transformPoint(placement, [
    plane.normal[0] * (plane.offMm + 1),
    plane.normal[1] * (plane.offMm + 1),
    plane.normal[2] * (plane.offMm + 1),
  ]);
  const way = tip.map((value, k) => value - on[k]);
  const length = Math.hypot(...way);
  const sign = way[1] < 0 ? -1 : 1;
  const n = way.map((value) => (sign * value) / length);
  // From n to y: about their cross product, by the angle between them.
  const axis = [-n[2], 0, n[0]];
  const size = Math.hypot(...axis);
  const angle = Math.atan2(size, n[1]);
  const turn: Vec3 = size > 0 ? [(axis[0] * angle) / size, 0, (axis[2] * angle) / size] : [0, 0, 0];
  return multiply(motion(on, turn, [0, -on[1], 0]), placement);
}
