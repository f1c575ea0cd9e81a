import { describe, expect, it } from 'vitest';
import { donPart } from '../../../electron/geometry/fit/don.ts';
import { easeColours } from '../../../electron/geometry/fit/ease-colours.ts';
import { measureEase } from '../../../electron/geometry/fit/ease.ts';
import { motion } from '../../../electron/geometry/fit/pose.ts';
import { nearestToTriangle, pairSlot } from '../../../electron/geometry/fit/triangle-pair.ts';
import { fittingBody, wornPart } from '../../../electron/geometry/fit/worn.ts';
import { transformMesh, translation } from '../../../electron/geometry/mesh/transform.ts';
import { buildBvh } from '../../../electron/geometry/spatial/bvh.ts';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';
import { box, cylinder, sphere } from '../../support/solids.ts';

const SEED = 20_261_125;
const at = (x: number, y: number, z: number) => translation([x, y, z]);

/** A cylinder's wall alone: no ends. */
function tube(radius: number, height: number, sides: number, rings: number): Mesh {
  const whole = cylinder(radius, height, sides, rings);
  return { ...whole, triangles: whole.triangles.subarray(0, 6 * sides * rings) };
}

describe('the distance of two triangles', () => {
  it('is that of the nearest of many points on both, never more, and nearly as little', () => {
    const random = seeded(SEED);
    const slot = pairSlot();
    for (let trial = 0; trial < 30; trial++) {
      const corner = (shift: number): number[] =>
        Array.from({ length: 9 }, (_, i) => random() * 10 + (i % 3 === 0 ? shift : 0));
      const a = corner(0),
        b = corner(trial % 2 === 0 ? 12 : 4);
      const tree = buildBvh({ positions: Float64Array.from(b), triangles: Uint32Array.from([0, 1, 2]) });
      nearestToTriangle(tree, a, slot, Infinity);
      // By force: a lattice of both triangles.
      const points = (t: number[]): Vec3[] => {
        const list: Vec3[] = [];
        const n = 16;
        for (let i = 0; i <= n; i++) {
          for (let j = 0; j <= n - i; j++) {
            const [u, v] = [i / n, j / n];
            list.push([0, 1, 2].map((k) => (1 - u - v) * t[k] + u * t[3 + k] + v * t[6 + k]) as unknown as Vec3);
          }
        }
        return list;
      };
      let least = Infinity;
      for (const p of points(a))
        for (const q of points(b)) least = Math.min(least, Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]));
      expect(slot.distance, `trial ${trial}, seed ${SEED}`).toBeLessThanOrEqual(least + 1e-9);
      // Lattice steps of at most 14.2 / 16 on each triangle; near the least the distance changes with their square.
      expect(least - slot.distance, `trial ${trial}, seed ${SEED}`).toBeLessThan(0.9);
      const { ax, ay, az, bx, by, bz } = slot;
      expect(Math.hypot(ax - bx, ay - by, az - bz)).toBeCloseTo(slot.distance, 9);
    }
  });

  it('of two edges that pass at right angles is the way between them', () => {
    // Edges along x at z = 0 and along y at z = 3, each the ridge of a triangle that leads away.
    const tree = buildBvh({
      positions: Float64Array.from([0, -5, 3, 0, 5, 3, 0, 0, 20]),
      triangles: Uint32Array.from([0, 1, 2]),
    });
    const slot = pairSlot();
    expect(nearestToTriangle(tree, [-5, 0, 0, 5, 0, 0, 0, 0, -20], slot, Infinity)).toBe(true);
    expect(slot.distance).toBeCloseTo(3, 12);
    expect([slot.ax, slot.ay, slot.az, slot.bx, slot.by, slot.bz].map((x) => x + 0)).toEqual([0, 0, 0, 0, 0, 3]);
  });

  it('is nothing where an edge goes through the other face', () => {
    const tree = buildBvh({
      positions: Float64Array.from([-9, -9, 0, 9, -9, 0, 0, 12, 0]),
      triangles: Uint32Array.from([0, 1, 2]),
    });
    const slot = pairSlot();
    nearestToTriangle(tree, [0, 0, -4, 0, 0, 4, 1, 0, 6], slot, Infinity);
    expect(slot.distance).toBe(0);
  });
});

describe('the ease', () => {
  it('of a box in a box is exact, also where no corner comes near', () => {
    // Walls 10, 15 and 5 mm away: closed form. A large face that lies 5 mm from a face has no corner within 18 mm.
    const report = measureEase(wornPart(box(220, 180, 260)), fittingBody(box(200, 150, 250)), {
      placement: at(0, 0, 0),
    });
    expect(report.leastEaseMm).toBeCloseTo(5, 9);
    // Moved by 3 mm along z it is 2 mm at one end.
    const moved = measureEase(wornPart(box(220, 180, 260)), fittingBody(box(200, 150, 250)), {
      placement: at(0, 0, 3),
    });
    expect(moved.leastEaseMm).toBeCloseTo(2, 9);
    expect(moved.insideShare).toBe(0);
    expect(moved.at[2]).toBeCloseTo(-127, 6);
  });

  it('of a ball moved off the middle of a ball is the difference of radii less the shift, both ways', () => {
    const report = measureEase(wornPart(sphere(110, 5)), fittingBody(sphere(100, 5)), {
      placement: at(0, 0, 4),
      neededMm: 8,
    });
    // Facets of 20·4^5 faces lie up to 0.03 mm inside their sphere.
    expect(report.leastEaseMm).toBeCloseTo(6, 1);
    // Both are centred bodies: the mean of |p| - 100 over a sphere of 110 shifted by d is 10 + d²/(3·110).
    expect(report.meanEaseMm).toBeCloseTo(10 + 16 / 330, 1);
    expect(report.body?.leastMm).toBeCloseTo(6, 1);
    expect(report.body?.coveredMm2).toBeGreaterThan(0.99 * 4 * Math.PI * 100 ** 2);
    // Short of 8 mm below the circle where |p| = 108: cos from -z over (10 - 8 + d²/220) / d.
    const cap = 2 * Math.PI * 110 ** 2 * (1 - (2 + 16 / 220) / 4);
    const short = report.pinches.reduce((sum, pinch) => sum + pinch.areaMm2, 0);
    expect(short / cap).toBeGreaterThan(0.97);
    expect(short / cap).toBeLessThan(1.03);
    expect(report.histogram.reduce((sum, bar) => sum + bar.share, 0)).toBeCloseTo(1, 9);
  });

  it('tells how deep a ball goes into a ball', () => {
    const report = measureEase(wornPart(sphere(95, 4)), fittingBody(sphere(100, 4)), { placement: at(2, 0, 0) });
    expect(report.leastEaseMm).toBeCloseTo(-7, 1);
    expect(report.insideShare).toBe(1);
  });

  it('looks at the inner side of a double wall only', () => {
    const wall = 3;
    const [outer, inner] = [sphere(113, 4), sphere(110, 4)];
    const turned = inner.triangles.slice();
    for (let f = 0; f < turned.length; f += 3) [turned[f], turned[f + 1]] = [turned[f + 1], turned[f]];
    const count = outer.positions.length / 3;
    const shell: Mesh = {
      positions: Float64Array.from([...outer.positions, ...inner.positions]),
      triangles: Uint32Array.from([...outer.triangles, ...Array.from(turned, (v) => v + count)]),
    };
    const report = measureEase(wornPart(shell), fittingBody(sphere(100, 4)), { placement: at(0, 0, 0) });
    const faces = outer.triangles.length / 3;
    expect(report.inner.subarray(0, faces).includes(1)).toBe(false);
    expect(report.inner.subarray(faces).every((one) => one === 1)).toBe(true);
    expect(report.meanEaseMm).toBeCloseTo(10, 0);
    expect(report.perVertexMm[0]).toBeCloseTo(10 + wall, 1);
  });

  it('does not change when part and placement are turned against one another', () => {
    const turn = motion([10, 20, 30], [0.3, -0.7, 0.2], [5, 6, 7]);
    const back = motion([15, 26, 37], [-0.3, 0.7, -0.2], [-5, -6, -7]);
    const body = fittingBody(sphere(100, 3));
    const straight = measureEase(wornPart(sphere(112, 3)), body, { placement: at(1, 2, 3) });
    const turned = measureEase(wornPart(transformMesh(turn, transformMesh(at(1, 2, 3), sphere(112, 3)))), body, {
      placement: back,
    });
    expect(turned.leastEaseMm).toBeCloseTo(straight.leastEaseMm, 6);
    expect(turned.meanEaseMm).toBeCloseTo(straight.meanEaseMm, 6);
  });

  it('finds the skin that stands out through a sheet, by how far', () => {
    // A ball of 100 under a flat sheet at z = 90: its top stands 10 mm beyond.
    const sheet: Mesh = {
      positions: Float64Array.from([-300, -300, 90, 300, -300, 90, 300, 300, 90, -300, 300, 90]),
      triangles: Uint32Array.from([0, 2, 1, 0, 3, 2]),
    };
    const report = measureEase(wornPart(sheet), fittingBody(sphere(100, 5)), { placement: at(0, 0, 0) });
    expect(report.leastEaseMm).toBeCloseTo(-10, 1);
    expect(report.body?.leastMm).toBeCloseTo(-10, 1);
  });
});

it('colours run from inside the body to far away, each vertex its own', () => {
  const colours = easeColours(Float64Array.from([-50, 6, 100]), 6);
  expect([...colours]).toEqual([128, 16, 48, 204, 62, 48, 62, 104, 150]);
});

describe('the way off', () => {
  const body = fittingBody(sphere(100, 4));

  it('of a half tube over a ball is straight, as tight as it is worn', () => {
    // Tube of radius 112 round a ball of 100, along z: 12 mm free all the way.
    const don = donPart(wornPart(tube(112, 200, 96, 40)), body, { placement: at(0, 0, 0), direction: [0, 0, 1] });
    expect(don.straight).toMatchObject({ kind: 'straight', passes: true, blockedMm: 0, words: 'up' });
    expect(don.straight.tightestMm).toBeCloseTo(12, 0);
    // Clear when its lower rim at -100 has gone up to the ball's top at 100.
    expect(don.straight.lengthMm).toBeCloseTo(200, 0);
    expect(don.partings).toEqual([]);
  });

  it('of a cap that reaches under a ball is blocked by what the rim is narrower, and halves come off', () => {
    // Sphere of 106 cut at z = -60: rim radius (106² - 60²)^½ = 87.4; the ball's 100 must pass it.
    const whole = sphere(106, 4);
    const keep: number[] = [];
    for (let f = 0; f < whole.triangles.length; f += 3) {
      const corners = [0, 1, 2].map((i) => whole.triangles[f + i]);
      if (corners.every((v) => whole.positions[3 * v + 2] > -60)) keep.push(...corners);
    }
    const cap = { ...whole, triangles: Uint32Array.from(keep) };
    let rim = Infinity;
    for (const v of keep) {
      const [x, y, z] = whole.positions.subarray(3 * v, 3 * v + 3);
      if (z < -50) rim = Math.min(rim, Math.hypot(x, y));
    }
    const don = donPart(wornPart(cap), body, { placement: at(0, 0, 0) });
    expect(don.best.passes).toBe(false);
    // A ball has no better way than straight through the rim.
    expect(don.best.tightestMm).toBeLessThan(rim - 100 + 1.5);
    expect(don.best.tightestMm).toBeGreaterThan(rim - 100 - 0.5);
    expect(don.partings[0].kind).toBe('halves');
    // Half a sphere of 106 moves sideways off a ball of 100 with its 6 mm left.
    expect(don.partings[0].tightestMm).toBeCloseTo(6, 0);
    expect(don.partings[0].blockedMm).toBe(0);
  });

  it('asks for the foam that cannot be pressed away', () => {
    const don = donPart(wornPart(tube(104, 200, 96, 40)), body, {
      placement: at(0, 0, 0),
      direction: [0, 0, 1],
      neededMm: 6,
      quick: true,
    });
    expect(don.straight.passes).toBe(false);
    expect(don.straight.blockedMm).toBeCloseTo(2, 0);
  });
});
