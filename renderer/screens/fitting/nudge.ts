/** Placements changed by a step, in the form's frame: x forward, y to the wearer's left, z up. */
import { IDENTITY, multiply, translation } from '../../../electron/geometry/mesh/transform.ts';
import type { Matrix4, Vec3 } from '../../../shared-types/mesh.ts';

export type Axis = 'x' | 'y' | 'z';

const asMatrix = (placement: readonly number[] | undefined): Matrix4 =>
  placement === undefined ? IDENTITY : (placement as unknown as Matrix4);

export function moved(placement: readonly number[] | undefined, axis: Axis, mm: number): number[] {
  const by = [0, 0, 0];
  by['xyz'.indexOf(axis)] = mm;
  return [...multiply(translation(by as unknown as Vec3), asMatrix(placement))];
}

/** Turned about the form's own origin, between the ears, so that a helmet nods as the head does. */
export function turned(placement: readonly number[] | undefined, axis: Axis, degrees: number): number[] {
  const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  const turns: Readonly<Record<Axis, Matrix4>> = {
    x: [1, 0, 0, 0, 0, c, -s, 0, 0, s, c, 0, 0, 0, 0, 1],
    y: [c, 0, s, 0, 0, 1, 0, 0, -s, 0, c, 0, 0, 0, 0, 1],
    z: [c, -s, 0, 0, s, c, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1],
  };
  return [...multiply(turns[axis], asMatrix(placement))];
}
