/** The bridged field against balls that rest on straight edges, worked out by hand; no mesh of an offset is made here. */
import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { BridgedField } from '../../../electron/geometry/offset/bridged-field.ts';
import { thicknessAt, type Zone } from '../../../electron/geometry/measure/zone-share.ts';
import type { RoomWishes } from '../../../electron/geometry/offset/roomy-field.ts';
import { join, moved } from '../../support/meshes.ts';
import { seeded } from '../../support/random.ts';
import { box, torus } from '../../support/solids.ts';

const FOAM = 8;
const BALL = 12;
const NOTHING: RoomWishes = { foamMm: FOAM, zones: [], keepOuts: [], clear: undefined };
/** Two boxes whose upper edges run along y at height 30, so far to either side of the middle. */
const gap = (half: number): Mesh =>
  join(moved(box(60, 160, 60), -30 - half, 0, 0), moved(box(60, 160, 60), 30 + half, 0, 0));
const fieldOf = (mesh: Mesh, wishes: Partial<RoomWishes>): BridgedField =>
  new BridgedField(mesh, BALL, { ...NOTHING, ...wishes }, QUIET_RUN);
/** Height over both edges of the middle of a ball that rests a reach from each. */
const over = (reach: number, half: number): number => Math.sqrt(reach ** 2 - half ** 2);

/** 14 mm of foam from y = 20 on, blending over 24 mm. */
const ZONE: Zone = {
  name: 'end',
  region: { kind: 'box', min: [-200, 20, -200], max: [200, 400, 400] },
  thicknessMm: 14,
  blendMm: 24,
};
const foamAt = (y: number): number => thicknessAt([ZONE], FOAM, 0, y, 50, FOAM + BALL);

/**
 * The largest ball over a point: their middles lie over the gap, each as high as the foam of its place and the ball
 * reach, so it is a search along one line, here by steps of 0.01 mm.
 */
function heightAt(x: number, y: number, z: number, half: number): number {
  let height = -Infinity;
  for (let at = y - 30; at <= y + 30; at += 0.01) {
    const reach = foamAt(at) + BALL;
    height = Math.max(height, reach - Math.hypot(x, y - at, z - 30 - over(reach, half)));
  }
  return height;
}

describe('the field over a gap, bridged', () => {
  it('rolls the ball on both edges: exact at 400 seeded points', () => {
    const field = fieldOf(gap(3), {});
    const reach = FOAM + BALL;
    const middle = 30 + over(reach, 3);
    const random = seeded(9);
    for (let i = 0; i < 400; i++) {
      const [x, y, z] = [6 * random() - 3, 30 * random() - 15, 30 + 9 * random()];
      const below = middle - z;
      // Between the lines from the middle to both edges it is nearest there.
      if (Math.abs(x) > (3 * below) / (middle - 30)) continue;
      expect(Math.abs(field.at(x, y, z) - (reach - Math.hypot(x, below)))).toBeLessThan(0.01);
      expect(field.isBridged).toBe(true);
    }
    expect(Math.abs(field.at(-20, 5, 45) - 15)).toBeLessThan(1e-9);
    expect(field.isBridged).toBe(false);
  });

  it.each([3, 14])(
    'a zone lays its foam over it: the ball asked for beside the blend, the largest in it, %i mm',
    (half) => {
      const field = fieldOf(gap(half), { zones: [ZONE] });
      const random = seeded(3);
      let bridged = 0;
      for (let i = 0; i < 300; i++) {
        const [x, y, z] = [half * (random() - 0.5), 120 * random() - 60, 32 + 6 * random()];
        const value = field.at(x, y, z);
        if (!field.isBridged) continue;
        bridged++;
        const height = heightAt(x, y, z, half);
        expect(Math.abs(field.heightMm - height)).toBeLessThan(0.01);
        expect(Math.abs(value - height + thicknessAt([ZONE], FOAM, x, y, z, height) - FOAM)).toBeLessThan(0.01);
      }
      expect(bridged).toBeGreaterThan(150);
      // Far from the blend either way the liner over the gap is one ball below where its middle rests.
      for (const [y, foam] of [
        [-50, FOAM],
        [60, 14],
      ]) {
        expect(Math.abs(field.at(0, y, 30 + over(foam + BALL, half) - BALL) - FOAM)).toBeLessThan(0.01);
      }
    },
  );

  it('where nothing is hollow zones and bridging leave the plain height, also in a blend', () => {
    const field = fieldOf(gap(3), { zones: [ZONE] });
    const random = seeded(4);
    for (let i = 0; i < 200; i++) {
      const [x, y, z] = [25 + 20 * random(), 100 * random() - 50, 31 + 15 * random()];
      expect(field.at(x, y, z) - (z - 30) + thicknessAt([ZONE], FOAM, x, y, z, z - 30) - FOAM).toBeCloseTo(0, 9);
      expect(field.isBridged).toBe(false);
    }
  });

  it('the room of the way in is bridged with the body, less what foam gives', () => {
    // The high box leaves a wall on its way down at x = 3; over the low one, at height 30, the ball rests in the corner.
    const body = join(moved(box(60, 160, 60), -33, 0, 0), moved(box(60, 160, 60), 33, 0, 90));
    for (const giveMm of [0, 2]) {
      const clear = { direction: [0, 0, -1], giveMm } as const;
      const field = fieldOf(body, { clear });
      const reach = FOAM + BALL;
      const [x, z] = [3 - reach + giveMm, 30 + reach];
      const random = seeded(5);
      for (let i = 0; i < 100; i++) {
        const [px, py, pz] = [x + 15 * random(), 40 * random() - 20, z - 15 * random()];
        const height = Math.min(pz - 30, 3 - px + giveMm, reach - Math.hypot(px - x, pz - z));
        expect(Math.abs(field.at(px, py, pz) - height)).toBeLessThan(0.01);
      }
    }
  });

  it('the hole of a ring, closed by balls that touch its axis from both sides: within 0.06 mm of the cones they rest on', () => {
    const [ring, tube, foam, ball] = [30, 10, 5, 16];
    const field = new BridgedField(torus(ring, tube, 96, 48), ball, { ...NOTHING, foamMm: foam }, QUIET_RUN);
    // In a half-plane through the axis the middles' room ends where a circle about the tube's middle meets the axis.
    const reach = foam + ball;
    const tip = Math.sqrt((tube + reach) ** 2 - ring ** 2);
    const random = seeded(8);
    let bridged = 0;
    for (let i = 0; i < 600; i++) {
      const [r, z, turn] = [15 * random(), 12 * random() - 6, 2 * Math.PI * random()];
      const way = Math.hypot(r - ring, z);
      const resting = ring + ((r - ring) * (tube + reach)) / way >= 0;
      const height = resting ? way - tube : reach - Math.hypot(r, Math.abs(z) - tip);
      if (Math.abs(height - foam) > 4) continue;
      bridged++;
      // Facets of the ring lie up to 0.04 mm within it.
      expect(Math.abs(field.at(r * Math.cos(turn), r * Math.sin(turn), z) - height)).toBeLessThan(0.06);
    }
    expect(bridged).toBeGreaterThan(100);
  });
});
