/**
 * Standard views, named by the body: x forward, y to the wearer's left, z up. `eye` is the direction from the body to
 * the viewer: the front view looks at the face. The keys are our own choice: the views' first letters, `u` for under
 * and `q` for three-quarter.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';
import type { ViewName } from './view-types.ts';

export interface StandardView {
  readonly name: ViewName;
  /** What it is called beside the picture. */
  readonly label: string;
  readonly key: string;
  readonly eye: Vec3;
  /** What is up on screen. */
  readonly up: Vec3;
}

export const STANDARD_VIEWS: readonly StandardView[] = [
  { name: 'front', label: 'front', key: 'f', eye: [1, 0, 0], up: [0, 0, 1] },
  { name: 'back', label: 'back', key: 'b', eye: [-1, 0, 0], up: [0, 0, 1] },
  { name: 'left', label: "wearer's left", key: 'l', eye: [0, 1, 0], up: [0, 0, 1] },
  { name: 'right', label: "wearer's right", key: 'r', eye: [0, -1, 0], up: [0, 0, 1] },
  { name: 'above', label: 'above', key: 'a', eye: [0, 0, 1], up: [1, 0, 0] },
  { name: 'below', label: 'below', key: 'u', eye: [0, 0, -1], up: [1, 0, 0] },
  { name: 'three-quarter', label: 'three-quarter', key: 'q', eye: [1, 0.75, 0.35], up: [0, 0, 1] },
];
