/** The plane in which a part mirrors itself, and a placement turned so that this plane is the body's own. */
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';
import { faceNormals } from '../mesh/quantities.ts';
import { multiply, transformPoint } from '../mesh/transform.ts';
import { findNearest, nearestSlot } from '../spatial/bvh.ts';
import { areaPoints, spreadOf, thinned } from './part-points.ts';
import { motion } from './pose.ts';
import type { WornPart } from './worn.ts';
import { cross, dot, unit } from '../mesh/vector.ts';

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
 * Mirror plane near a guessed normal: the part's points are mirrored, each finds its nearest place on the part, and the
 * plane is turned and shifted so that the mirrored points come to lie in the faces there (Gauss and Newton's method on
 * the distances to those faces); again until it stays. The guess should be right to some 20 degrees; a part that is
 * round about the guess has no one plane. O(rounds · points · log faces).
 */
export function mirrorPlane(part: WornPart, guess: Vec3, tick: () => void): MirrorPlane {
  const every = new Uint8Array(part.mesh.triangles.length / 3).fill(1);
  const points = thinned(areaPoints(part.mesh, every, 8), POINTS);
  const normals = faceNormals(part.mesh);
  const count = points.face.length;
  const near = nearestSlot();
  let normal = unit(guess);
  let off = dot(normal, spreadOf(points).middle);
  let miss = Infinity;
  for (let round = 0; round < ROUNDS; round++) {
    tick();
    const first = unit(cross(normal, Math.abs(normal[0]) < 0.8 ? [1, 0, 0] : [0, 1, 0]));
    const second = cross(normal, first);
    // Normal equations of two turns of the normal and the shift, and their right side.
    const a = [
      [0, 0, 0, 0],
      [0, 0, 0, 0],
      [0, 0, 0, 0],
    ];
    let square = 0;
    for (let i = 0; i < count; i++) {
      const at: Vec3 = [points.at[3 * i], points.at[3 * i + 1], points.at[3 * i + 2]];
      const beyond = dot(normal, at) - off;
      const [x, y, z] = at.map((value, k) => value - 2 * beyond * normal[k]);
      findNearest(part.tree, x, y, z, near);
      square += near.distance ** 2;
      const f = 3 * near.face;
      const face: Vec3 = [normals[f], normals[f + 1], normals[f + 2]];
      const along = dot(face, normal);
      const row = [
        -2 * (dot(first, at) * along + beyond * dot(face, first)),
        -2 * (dot(second, at) * along + beyond * dot(face, second)),
        2 * along,
      ];
      const left = dot(face, [x - near.x, y - near.y, z - near.z]);
      for (let r = 0; r < 3; r++) {
        for (let c = 0; c < 3; c++) a[r][c] += row[r] * row[c];
        a[r][3] -= row[r] * left;
      }
    }
    const rms = Math.sqrt(square / count);
    const still = Math.abs(rms - miss) < STILL_MM;
    miss = rms;
    const step = still ? undefined : solve3(a);
    if (step === undefined) break;
    normal = unit([0, 1, 2].map((k) => normal[k] + step[0] * first[k] + step[1] * second[k]) as unknown as Vec3);
    off += step[2];
  }
  return { normal, offMm: off, missMm: miss };
}

/** Three equations with their right sides in the fourth column, by Cramer's rule; undefined where they are not free. */
function solve3(a: readonly (readonly number[])[]): number[] | undefined {
  const columns = [0, 1, 2, 3].map((c) => [a[0][c], a[1][c], a[2][c]] as const);
  const det = (u: Vec3, v: Vec3, w: Vec3): number => dot(u, cross(v, w));
  const whole = det(columns[0], columns[1], columns[2]);
  const size = a[0][0] * a[1][1] * a[2][2];
  if (!(Math.abs(whole) > size * FREE_SHARE)) return undefined;
  return [
    det(columns[3], columns[1], columns[2]) / whole,
    det(columns[0], columns[3], columns[2]) / whole,
    det(columns[0], columns[1], columns[3]) / whole,
  ];
}

/** Share of the product of the diagonal below which equations say the same. */
const FREE_SHARE = 2 ** -40;
const STILL_MM = 1 / 4096;

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
