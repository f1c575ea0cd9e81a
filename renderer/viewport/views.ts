/**
 * Standard views, named by the body: x forward, y to the wearer's left, z up. `eye` is the direction from
 * the body to the viewer, `up` what is up on screen.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';

export interface StandardView {
  readonly name: string;
  /** The key that chooses it. */
  readonly key: string;
  readonly eye: Vec3;
  readonly up: Vec3;
}

const SLANT = 0.35;

export const STANDARD_VIEWS: readonly StandardView[] = [
  { name: 'front', key: 'f', eye: [1, 0, 0], up: [0, 0, 1] },
  { name: 'back', key: 'b', eye: [-1, 0, 0], up: [0, 0, 1] },
  { name: "wearer's left", key: 'l', eye: [0, 1, 0], up: [0, 0, 1] },
  { name: "wearer's right", key: 'r', eye: [0, -1, 0], up: [0, 0, 1] },
  { name: 'above', key: 'a', eye: [0, 0, 1], up: [1, 0, 0] },
  { name: 'below', key: 'u', eye: [0, 0, -1], up: [1, 0, 0] },
  { name: 'across', key: 'c', eye: [1, 0.75, SLANT], up: [0, 0, 1] },
];
