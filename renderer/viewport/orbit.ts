/**
 * How a hand moves the view: orbit, pan and zoom about the point under the cursor, so that what
 * one looks at stays where it is. Pure state, which the stage copies into its cameras.
 *
 * The pose is kept as a look-at: `target` (mm), `distance`, and an orthonormal view basis. Turning never
 * rolls the horizon: yaw is about the body's z, pitch is clamped short of the poles.
 */
import type { Vec3 } from '../../shared-types/mesh.ts';

export interface Pose {
  target: Vec3;
  /** From target to eye, mm. */
  distance: number;
  /** Azimuth from x toward y, radians. */
  yaw: number;
  /** Elevation, radians. */
  pitch: number;
}

const PITCH_LIMIT = Math.PI / 2 - 1e-4;

export interface Basis {
  /** Toward the viewer. */
  readonly eye: Vec3;
  readonly right: Vec3;
  readonly up: Vec3;
}

export function basisOf(pose: Pose): Basis {
  const cp = Math.cos(pose.pitch),
    sp = Math.sin(pose.pitch),
    cy = Math.cos(pose.yaw),
    sy = Math.sin(pose.yaw);
  return { eye: [cp * cy, cp * sy, sp], right: [-sy, cy, 0], up: [-sp * cy, -sp * sy, cp] };
}

export function eyePoint(pose: Pose): Vec3 {
  const { eye } = basisOf(pose);
  return [0, 1, 2].map((k) => pose.target[k] + pose.distance * eye[k]) as unknown as Vec3;
}

/** The pose that looks along a standard view's direction at the same target. */
export function lookAlong(pose: Pose, eye: Vec3): Pose {
  const flat = Math.hypot(eye[0], eye[1]);
  const pitch = Math.atan2(eye[2], flat);
  return {
    ...pose,
    // Straight above or below, the wearer faces up the screen.
    yaw: flat < 1e-9 ? (eye[2] > 0 ? Math.PI : 0) : Math.atan2(eye[1], eye[0]),
    pitch: Math.max(-PITCH_LIMIT, Math.min(PITCH_LIMIT, pitch)),
  };
}

/** Turn by angles (radians) keeping `pivot` where it is on screen. */
export function turn(pose: Pose, yawBy: number, pitchBy: number, pivot: Vec3): Pose {
  const before = basisOf(pose);
  const offset = pose.target.map((t, k) => t - pivot[k]);
  const inView = [before.right, before.up, before.eye].map((axis) => axis.reduce((s, a, k) => s + a * offset[k], 0));
  const next: Pose = {
    ...pose,
    yaw: pose.yaw + yawBy,
    pitch: Math.max(-PITCH_LIMIT, Math.min(PITCH_LIMIT, pose.pitch + pitchBy)),
  };
  const after = basisOf(next);
  next.target = [0, 1, 2].map(
    (k) => pivot[k] + inView[0] * after.right[k] + inView[1] * after.up[k] + inView[2] * after.eye[k],
  ) as unknown as Vec3;
  return next;
}

/** Shift in the view plane, mm. */
export function shift(pose: Pose, rightMm: number, upMm: number): Pose {
  const { right, up } = basisOf(pose);
  return {
    ...pose,
    target: [0, 1, 2].map((k) => pose.target[k] - right[k] * rightMm - up[k] * upMm) as unknown as Vec3,
  };
}

/** Come nearer (factor < 1) or go back, keeping `pivot` where it is on screen. */
export function approach(pose: Pose, factor: number, pivot: Vec3): Pose {
  const limited = Math.max(5, Math.min(2e4, pose.distance * factor)) / pose.distance;
  return {
    ...pose,
    distance: pose.distance * limited,
    target: pose.target.map((t, k) => pivot[k] + (t - pivot[k]) * limited) as unknown as Vec3,
  };
}
