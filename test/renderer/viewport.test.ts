import { describe, expect, it } from 'vitest';
import { approach, basisOf, eyePoint, lookAlong, shift, turn, type Pose } from '../../renderer/viewport/orbit.ts';
import { divergingColour, oklabOf, rgbOf, scaleTexels, type Rgb } from '../../renderer/viewport/scale-colours.ts';
import { STANDARD_VIEWS } from '../../renderer/viewport/views.ts';
import type { Vec3 } from '../../shared-types/mesh.ts';

const pose: Pose = { target: [10, -5, 40], distance: 800, yaw: 0.7, pitch: 0.3 };
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

/** Where a point is on screen, as tangents from the line of sight. */
function onScreen(at: Pose, point: Vec3): [number, number] {
  const { eye, right, up } = basisOf(at);
  const from = eyePoint(at);
  const d = point.map((x, k) => x - from[k]) as unknown as Vec3;
  return [dot(d, right) / -dot(d, eye), dot(d, up) / -dot(d, eye)];
}

describe('the hand that moves the view', () => {
  const pivot: Vec3 = [60, 30, 90];

  it('turns and comes nearer without moving what is under the cursor', () => {
    const before = onScreen(pose, pivot);
    for (const next of [turn(pose, 0.5, -0.2, pivot), approach(pose, 0.6, pivot), approach(pose, 1.7, pivot)]) {
      onScreen(next, pivot).forEach((x, k) => expect(x).toBeCloseTo(before[k], 9));
    }
  });

  it('never rolls over the top', () => {
    const high = turn(pose, 0, 9, pivot);
    expect(high.pitch).toBeLessThan(Math.PI / 2);
    expect(basisOf(high).right[2]).toBe(0);
  });

  it('shifts by mm in the plane of the screen', () => {
    const moved = shift(pose, 10, 0);
    const by = moved.target.map((x, k) => x - pose.target[k]) as unknown as Vec3;
    expect(dot(by, basisOf(pose).right)).toBeCloseTo(-10, 9);
    expect(dot(by, basisOf(pose).eye)).toBeCloseTo(0, 9);
  });

  it('looks along each standard view, the face up the screen from above and below', () => {
    for (const view of STANDARD_VIEWS) {
      const { eye, up } = basisOf(lookAlong(pose, view.eye));
      expect(dot(eye, view.eye) / Math.hypot(...view.eye)).toBeCloseTo(1, 3);
      expect(dot(up, view.up)).toBeGreaterThan(0.9);
    }
    expect(new Set(STANDARD_VIEWS.map((view) => view.key)).size).toBe(STANDARD_VIEWS.length);
  });
});

describe('the scale of lengths', () => {
  it('goes through Oklab and back unchanged', () => {
    for (const rgb of [
      [0.2, 0.5, 0.9],
      [1, 1, 1],
      [0, 0, 0],
    ] as Rgb[]) {
      rgbOf(oklabOf(rgb)).forEach((c, k) => expect(c).toBeCloseTo(rgb[k], 4));
    }
  });

  it('is lightest at zero and falls evenly to both ends', () => {
    const light = Array.from({ length: 21 }, (_, i) => oklabOf(divergingColour(i / 20))[0]);
    expect(light.indexOf(Math.max(...light))).toBe(10);
    for (let i = 0; i < 10; i++) {
      expect(light[i + 1]).toBeGreaterThan(light[i]);
      expect(light[20 - i - 1]).toBeGreaterThan(light[20 - i]);
    }
  });

  it('tells the two sides apart without red or green: blue against orange', () => {
    // the yellow-blue axis of Oklab is what red-green blind eyes keep
    expect(oklabOf(divergingColour(0.1))[2]).toBeGreaterThan(0.05);
    expect(oklabOf(divergingColour(0.9))[2]).toBeLessThan(-0.03);
    expect(scaleTexels().length).toBe(1024);
  });
});
