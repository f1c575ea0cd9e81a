import { describe, expect, it } from 'vitest';
import { scalePart } from '../../../electron/geometry/fit/grow.ts';
import { placePart } from '../../../electron/geometry/fit/place.ts';
import { apart, factorOf, grown, motion, quarterTurns } from '../../../electron/geometry/fit/pose.ts';
import { mirrorPlane, snapped } from '../../../electron/geometry/fit/symmetry.ts';
import { fittingBody, wornPart } from '../../../electron/geometry/fit/worn.ts';
import { determinant3, IDENTITY, multiply, transformMesh } from '../../../electron/geometry/mesh/transform.ts';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { box, cylinder, ellipsoid, sphere } from '../../support/solids.ts';

const DEGREE = Math.PI / 180;
/** Put wrong by some millimetres and degrees. */
const OFF = motion([0, 0, 0], [5 * DEGREE, -3 * DEGREE, 4 * DEGREE], [6, -4, 5]);

const shiftOf = (placement: readonly number[]): Vec3 => apart(IDENTITY, placement, [0, 0, 0]).shift;
const turnOf = (placement: readonly number[]): number =>
  Math.hypot(...apart(IDENTITY, placement, [0, 0, 0]).turn) / DEGREE;

function tube(radius: number, height: number, sides: number, rings: number): Mesh {
  const whole = cylinder(radius, height, sides, rings);
  return { ...whole, triangles: whole.triangles.subarray(0, 6 * sides * rings) };
}

describe('motions', () => {
  it('are turns that apart reads back', () => {
    const m = motion([3, 4, 5], [0.2, -0.1, 0.3], [1, 2, 3]);
    const { turn, shift } = apart(IDENTITY, m, [3, 4, 5]);
    [0.2, -0.1, 0.3].forEach((value, k) => expect(turn[k]).toBeCloseTo(value, 12));
    [1, 2, 3].forEach((value, k) => expect(shift[k]).toBeCloseTo(value, 12));
    expect(determinant3(m)).toBeCloseTo(1, 12);
    expect(factorOf(grown(m, 1.25, [9, 9, 9]))).toBeCloseTo(1.25, 12);
  });

  it('the turns of a cube are 24 and all different', () => {
    const turns = quarterTurns();
    expect(new Set(turns.map(String)).size).toBe(24);
    for (const turn of turns) expect(determinant3(turn)).toBe(1);
  });
});

describe('the largest least ease', () => {
  it('of a ball in a ball is with their middles together: the difference of radii', () => {
    const placed = placePart(wornPart(sphere(110, 4)), fittingBody(sphere(100, 4)), { aim: 'least', start: OFF });
    // Facets of 20·4^4 faces lie up to 0.13 mm inside their sphere, at different places of the two.
    expect(placed.leastMm).toBeGreaterThan(10 - 0.2);
    expect(placed.leastMm).toBeLessThan(10.05);
    expect(Math.hypot(...shiftOf(placed.placement))).toBeLessThan(0.1);
    // A ball is held from all sides: the pushes that hold it cancel out (necessary condition of a largest least).
    const sum = [0, 0, 0];
    for (const { at, share } of placed.holds) {
      const length = Math.hypot(...at);
      at.forEach((value, k) => (sum[k] += (share * value) / length));
    }
    expect(Math.hypot(...sum)).toBeLessThan(0.02);
    expect(placed.holds.reduce((total, { share }) => total + share, 0)).toBeCloseTo(1, 6);
    expect(placed.agreeing).toBe(placed.starts);
  });

  it('of an ellipsoid in an ellipsoid is the smallest difference of their axes, and the middles come together', () => {
    // Semi-axes 110, 95, 125 about 100, 75, 120: centred, the gap at the ends of the axes is 10, 20, 5, and no place
    // leaves both ends of the last more than 5.
    const placed = placePart(wornPart(ellipsoid(110, 95, 125, 4)), fittingBody(ellipsoid(100, 75, 120, 4)), {
      aim: 'least',
      start: OFF,
    });
    expect(placed.leastMm).toBeGreaterThan(5 - 0.15);
    expect(placed.leastMm).toBeLessThan(5 + 0.05);
    expect(Math.abs(shiftOf(placed.placement)[2])).toBeLessThan(0.1);
    // No turn is asked for: about the long axis facets win more than the gap loses.
    expect(Math.hypot(...shiftOf(placed.placement))).toBeLessThan(0.2);
    expect(placed.holds.map(({ at }) => Math.abs(at[2])).every((z) => z > 115)).toBe(true);
  });

  it('of a box in a box is half the least difference of their edges', () => {
    // Differences 20, 30, 10: at most 5 mm in the narrowest, and nothing but contact of faces there.
    const placed = placePart(wornPart(box(220, 180, 260)), fittingBody(box(200, 150, 250)), {
      aim: 'least',
      start: OFF,
    });
    expect(placed.leastMm).toBeGreaterThan(5 - 0.05);
    expect(placed.leastMm).toBeLessThan(5 + 1e-6);
    expect(Math.abs(shiftOf(placed.placement)[2])).toBeLessThan(0.05);
  });

  it('of a tube round a cylinder is with their axes together', () => {
    const placed = placePart(wornPart(tube(60, 120, 96, 20)), fittingBody(cylinder(45, 400, 96, 40)), {
      aim: 'least',
      start: OFF,
    });
    // 96 sides: the inner radius of the tube is 60·cos(180°/96) = 59.97.
    expect(placed.leastMm).toBeGreaterThan(14.9);
    expect(placed.leastMm).toBeLessThan(15.001);
    const [x, y] = shiftOf(placed.placement);
    expect(Math.hypot(x, y)).toBeLessThan(0.15);
  });

  it('stops at the limits, and names them', () => {
    const limits = { shiftMm: 2, tiltRad: 0 };
    const start = motion([0, 0, 0], [0, 0, 0], [5, 0, 0]);
    const placed = placePart(wornPart(sphere(110, 3)), fittingBody(sphere(100, 3)), { aim: 'least', start, limits });
    expect(shiftOf(placed.placement)[0]).toBeCloseTo(3, 3);
    expect(turnOf(placed.placement)).toBeCloseTo(0, 6);
    // Closed form: 10 - 3, less facets.
    expect(placed.leastMm).toBeGreaterThan(6.3);
    expect(placed.leastMm).toBeLessThan(7.3);
    expect(placed.heldByLimit).toContain('shift forward or back');
  });

  it('counts only a patch where one is given', () => {
    // Only the upper cap of the outer ball counts: then the whole sinks away from it, as far as the limit lets it go.
    const placed = placePart(wornPart(sphere(110, 4)), fittingBody(sphere(100, 4)), {
      aim: 'least',
      start: IDENTITY,
      limits: { shiftMm: 4, tiltRad: 0 },
      patch: (_x, _y, z) => z > 100,
    });
    expect(shiftOf(placed.placement)[2]).toBeCloseTo(4, 2);
    expect(placed.leastMm).toBeGreaterThan(13);
  });

  it('in its quick way comes near', () => {
    const placed = placePart(wornPart(ellipsoid(110, 95, 125, 4)), fittingBody(ellipsoid(100, 75, 120, 4)), {
      aim: 'least',
      start: OFF,
      quick: true,
    });
    expect(placed.leastMm).toBeGreaterThan(4.7);
    expect(placed.leastMm).toBeLessThan(5.3);
  });
});

describe('the most even ease', () => {
  it('of an ellipsoid in an ellipsoid is with their axes together', () => {
    const placed = placePart(wornPart(ellipsoid(110, 90, 125, 4)), fittingBody(ellipsoid(100, 75, 120, 4)), {
      aim: 'even',
      start: OFF,
    });
    expect(Math.hypot(...shiftOf(placed.placement))).toBeLessThan(0.1);
    expect(turnOf(placed.placement)).toBeLessThan(0.2);
  });

  it('finds a part that lies any way round, somewhere else', () => {
    const odd = motion([0, 0, 0], [90 * DEGREE, 5 * DEGREE, -4 * DEGREE], [400, 100, -300]);
    // An egg without mirror from end to end, so that only one way round is right.
    const egg = ellipsoid(100, 75, 120, 4);
    const shaped = {
      ...egg,
      positions: egg.positions.map((x, i, p) => (i % 3 === 2 ? x : x * (1 + p[i - (i % 3) + 2] / 500))),
    };
    const outer = { ...shaped, positions: shaped.positions.map((x) => x * 1.1) };
    const placed = placePart(wornPart(transformMesh(odd, outer)), fittingBody(shaped), { aim: 'even' });
    const whole = multiply(placed.placement, odd);
    // Two of its mirrors remain as half turns about z.
    expect(Math.abs(whole[10])).toBeGreaterThan(0.9999);
    expect(whole[10]).toBeGreaterThan(0);
    expect(Math.hypot(whole[3], whole[7], whole[11])).toBeLessThan(2);
  });
});

describe('the scale a part needs', () => {
  it('of a ball round a ball is the ratio of radius and gap to radius', () => {
    const scaled = scalePart(wornPart(sphere(100, 4)), fittingBody(sphere(100, 4)), {
      aim: 'least',
      start: OFF,
      leastMm: 5,
    });
    // Same facets on both: exactly 1.05 when they lie alike, more by less than a facet's height when turned.
    expect(scaled.factor).toBeGreaterThan(1.05 - 1e-4);
    expect(scaled.factor).toBeLessThan(1.05 + 0.0014);
    expect(scaled.reached).toBe(true);
    expect(scaled.leastMm).toBeCloseTo(5, 2);
    expect(scaled.grownOutsideMm[2]).toBeCloseTo(200 * scaled.factor, 6);
  });

  it('of a box in a box is set by the edge that has least room', () => {
    // 220 x 180 x 260 about 200 x 150 x 250: 8 mm all round ask for 216/220, 166/180 and 266/260 of it.
    const scaled = scalePart(wornPart(box(220, 180, 260)), fittingBody(box(200, 150, 250)), {
      aim: 'least',
      start: OFF,
      leastMm: 8,
    });
    expect(scaled.factor).toBeCloseTo(266 / 260, 3);
  });

  it('can be smaller than it is', () => {
    const scaled = scalePart(wornPart(sphere(120, 3)), fittingBody(sphere(100, 3)), {
      aim: 'least',
      start: OFF,
      leastMm: 8,
    });
    // 108 / 120, more by less than the 0.6 mm that facets of 20·4^3 faces lie inside their sphere.
    expect(scaled.factor).toBeGreaterThan(0.9 - 1e-4);
    expect(scaled.factor).toBeLessThan(0.9 + 0.005);
  });
});

describe('the mirror plane of a part', () => {
  it('is found from a guess, and the part is snapped to it', () => {
    // Mirrors itself in x = 12 only near the guess: one end is drawn out.
    const egg = ellipsoid(60, 90, 120, 4);
    const shaped = { ...egg, positions: egg.positions.map((x, i, p) => (i % 3 === 1 ? x * (1 + p[i + 1] / 400) : x)) };
    const part = wornPart(transformMesh(motion([0, 0, 0], [0, 0, 0], [12, 3, 4]), shaped));
    const plane = mirrorPlane(part, [0.97, 0.2, -0.1], () => {});
    expect(Math.abs(plane.normal[0])).toBeGreaterThan(Math.cos(0.2 * DEGREE));
    expect(Math.abs(plane.offMm)).toBeCloseTo(12, 1);
    expect(plane.missMm).toBeLessThan(0.2);
    const turned = snapped(motion([0, 0, 0], [0, 0, 80 * DEGREE], [30, 40, 50]), plane);
    // The plane's normal now runs along y, and its points have y = 0.
    expect(Math.abs(turned[4])).toBeCloseTo(1, 4);
    expect(turned[4] * 12 + turned[5] * 3 + turned[6] * 4 + turned[7]).toBeCloseTo(0, 0);
    expect(turned[11]).toBeCloseTo(50, 0);
  });
});
