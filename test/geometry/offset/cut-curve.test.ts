/** Liners opened along a drawn line, against bodies on which the cut has a closed form. */
import { describe, expect, it } from 'vitest';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { makeLiner, type Liner, type LinerWishes } from '../../../electron/geometry/offset/liner.ts';
import { fairRim } from '../../../electron/geometry/offset/rim-curve.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { headOf } from '../../bench/heads.ts';
import { box, sphere } from '../../support/solids.ts';

const R = 50;
const FOAM = 8;
const WALL = 3;

/** A circle on the sphere at an angle from the z axis. */
function circle(degrees: number, places: number): Vec3[] {
  const a = (degrees * Math.PI) / 180;
  return Array.from({ length: places }, (_, i): Vec3 => {
    const turn = (2 * Math.PI * i) / places;
    return [R * Math.sin(a) * Math.cos(turn), R * Math.sin(a) * Math.sin(turn), R * Math.cos(a)];
  });
}

function lined(form: Parameters<typeof makeLiner>[0], wishes: Partial<LinerWishes>): Liner {
  const made = makeLiner(form, { foamMm: FOAM, toleranceMm: 0.1, openings: [], ...wishes }, QUIET_RUN);
  if (typeof made === 'string') throw new Error(made);
  return made;
}

describe('the fair line', () => {
  it('through twelve places of a circle is the circle within 0.1 mm, and goes out square to the sphere', () => {
    const field = new SignedField(sphere(R, 5));
    const rim = fairRim(circle(60, 12), field);
    if (rim === undefined) throw new Error('no line');
    const radius = R * Math.sin(Math.PI / 3);
    expect(Math.abs(rim.lengthMm / (2 * Math.PI * radius) - 1)).toBeLessThan(0.001);
    for (let i = 0; i < rim.points.length; i += 3) {
      const [x, y, z] = rim.points.subarray(i, i + 3);
      expect(Math.abs(Math.hypot(x, y) - radius)).toBeLessThan(0.1);
      const [dx, dy, dz] = rim.outward.subarray(i, i + 3);
      expect((dx * x + dy * y + dz * z) / Math.hypot(x, y, z)).toBeGreaterThan(0.9995);
    }
  });

  it('needs three different places', () => {
    const field = new SignedField(sphere(R, 3));
    expect(fairRim([...circle(60, 2), ...circle(60, 2)], field)).toBeUndefined();
  });
});

describe('a shell over a sphere opened along a circle', () => {
  const opening = { kind: 'curve', points: circle(60, 16), away: undefined } as const;

  it('keeps the zone of the shell beyond the cone, its rim the cone between both sides', () => {
    const shell = lined(sphere(R, 5), { wallMm: WALL, openings: [opening] });
    const [inner, outer] = [R + FOAM, R + FOAM + WALL];
    const sine = Math.sin(Math.PI / 3);
    expect([shell.troubles, shell.selfIntersections]).toEqual([0, 0]);
    // The cone of half-angle 60 degrees takes (1 - cos 60°) / 2 of every sphere about its tip.
    const volume = ((4 / 3) * Math.PI * (outer ** 3 - inner ** 3) * (1 + 0.5)) / 2;
    expect(Math.abs(volumeOf(shell.mesh) / volume - 1)).toBeLessThan(0.006);
    const [rim] = shell.openings;
    expect(Math.abs(rim.rimLengthMm / (2 * Math.PI * inner * sine) - 1)).toBeLessThan(0.003);
    expect(Math.abs(rim.rimAreaMm2 / (Math.PI * sine * (outer ** 2 - inner ** 2)) - 1)).toBeLessThan(0.02);
    expect(Math.abs((rim.rimMm ?? 0) - WALL)).toBeLessThan(0.06);
    expect(Math.abs(rim.leastWidthMm - 2 * inner * sine)).toBeLessThan(0.3);
    expect(Math.abs(rim.areaMm2 / (Math.PI * (inner * sine) ** 2) - 1)).toBeLessThan(0.006);
  });

  it('loses the other side when that is asked for', () => {
    const shell = lined(sphere(R, 4), { wallMm: WALL, openings: [{ ...opening, away: [0, 0, -R] }] });
    const volume = ((4 / 3) * Math.PI * (61 ** 3 - 58 ** 3) * (1 - 0.5)) / 2;
    expect(shell.troubles + shell.selfIntersections).toBe(0);
    expect(Math.abs(volumeOf(shell.mesh) / volume - 1)).toBeLessThan(0.02);
  });

  it('drawn the other way round it is the same', () => {
    const [one, other] = [opening.points, opening.points.toReversed()].map((points) =>
      volumeOf(lined(sphere(R, 4), { wallMm: WALL, openings: [{ ...opening, points }] }).mesh),
    );
    expect(Math.abs(one / other - 1)).toBeLessThan(1e-4);
  });

  it('without a wall the padded body is closed across the opening', () => {
    const solid = lined(sphere(R, 4), { openings: [opening] });
    // A ball less the cap beyond the plane of the circle, which lies at r cos 60°.
    const r = R + FOAM,
      h = r / 2;
    const volume = (4 / 3) * Math.PI * r ** 3 - (Math.PI * h * h * (3 * r - h)) / 3;
    expect(solid.troubles + solid.selfIntersections).toBe(0);
    expect(Math.abs(volumeOf(solid.mesh) / volume - 1)).toBeLessThan(0.01);
    expect(solid.openings[0].rimMm).toBeNull();
  });
});

it('two curves and a plane together on one shell', () => {
  const turn = (points: readonly Vec3[]): Vec3[] => points.map(([x, y, z]): Vec3 => [z, x, y]);
  const shell = lined(sphere(R, 4), {
    wallMm: WALL,
    openings: [
      { kind: 'plane', plane: { point: [0, 0, -20], normal: [0, 0, 1] } },
      { kind: 'curve', points: circle(25, 10), away: undefined },
      { kind: 'curve', points: turn(circle(14, 10)), away: undefined },
    ],
  });
  expect([shell.troubles, shell.selfIntersections]).toEqual([0, 0]);
  expect(shell.openings.map(({ kind }) => kind)).toEqual(['plane', 'curve', 'curve']);
});

it('a line over the edges of a box, which the foam rounds', () => {
  const points: Vec3[] = [];
  for (let i = 0; i < 24; i++) {
    const [c, s] = [Math.cos((Math.PI * i) / 12), Math.sin((Math.PI * i) / 12)];
    const by = 30 / Math.max(Math.abs(c), Math.abs(s));
    points.push([c * by, s * by, 8]);
  }
  const shell = lined(box(60, 60, 60), { wallMm: WALL, openings: [{ kind: 'curve', points, away: [0, 0, 30] }] });
  expect([shell.troubles, shell.selfIntersections]).toEqual([0, 0]);
  expect(Math.abs(shell.openings[0].leastWidthMm - 76)).toBeLessThan(1.5);
});

describe('a head', () => {
  const face: Vec3[] = Array.from({ length: 14 }, (_, i): Vec3 => {
    const turn = (2 * Math.PI * i) / 14;
    // Seen from the front: about brow, cheeks and chin; the line is laid on the form by its nearest points.
    return [110, 48 * Math.cos(turn), -15 + 55 * Math.sin(turn)];
  });
  it('with a face opening and a neck cut is a sound shell', () => {
    const shell = lined(headOf(10_000), {
      wallMm: WALL,
      toleranceMm: 0.2,
      openings: [
        { kind: 'plane', plane: { point: [0, 0, -85], normal: [0, 0, 1] } },
        { kind: 'curve', points: face, away: undefined },
      ],
    });
    expect([shell.troubles, shell.selfIntersections]).toEqual([0, 0]);
    expect(shell.openings[1].leastWidthMm).toBeGreaterThan(70);
    expect(shell.openings[1].rimMm).toBeGreaterThan(WALL * 0.9);
    expect(shell.openings[1].rimMm).toBeLessThan(WALL * 1.5);
  });
});
