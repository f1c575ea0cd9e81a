/** The two frames a ticket lives in: the scan file's own, in which decisions are kept, and the scene's, which is seen. */
import { IDENTITY, invert, multiply, transformPoint } from '../../../electron/geometry/mesh/transform.ts';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';

export interface Frames {
  /** From the view mesh's coordinates to the scene, in which the scan stands upright. */
  readonly stand: Matrix4;
  readonly toScene: Matrix4;
  readonly toFile: Matrix4;
  /** Lengths in the scene for one number of the file. */
  readonly scenePerFile: number;
}

/** `viewToFile` comes with the mesh, `stand` with the pose. */
export function framesOf(viewToFile: Matrix4 = IDENTITY, stand: Matrix4 = IDENTITY): Frames {
  const toScene = multiply(stand, invert(viewToFile));
  const toFile = multiply(viewToFile, invert(stand));
  return { stand, toScene, toFile, scenePerFile: Math.hypot(toScene[0], toScene[4], toScene[8]) };
}

export type PlaneNumbers = [number, number, number, number, number, number];

/** px, py, pz, nx, ny, nz of a plane by a similarity; the normal comes out one long. */
export function movePlane(by: Matrix4, [px, py, pz, nx, ny, nz]: readonly number[]): PlaneNumbers {
  const at = transformPoint(by, [px, py, pz]);
  const tip = transformPoint(by, [px + nx, py + ny, pz + nz]);
  const normal = tip.map((x, k) => x - at[k]);
  const size = Math.hypot(...normal);
  return [at[0], at[1], at[2], normal[0] / size, normal[1] / size, normal[2] / size];
}

/** A point mirrored left for right in the upright scene. */
export const mirrored = ([x, y, z]: Vec3): Vec3 => [x, -y, z];
