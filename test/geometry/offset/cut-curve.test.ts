/** Liners opened along a drawn line, against bodies on which the cut has a closed form. */
import { describe, expect, it } from 'vitest';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { makeLiner, type Liner, type LinerWishes } from '../../../electron/geometry/offset/liner.ts';
import { knifeFor, measureOpening, openBy } from '../../../electron/geometry/offset/openings.ts';
import { fairRim, waysOut } from '../../../electron/geometry/offset/rim-curve.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { buildBvh, castRay, type RayHit } from '../../../electron/geometry/spatial/bvh.ts';
import { headOf } from '../../bench/heads.ts';
import { box, sphere } from '../../support/solids.ts';

const R = 50;
const FOAM = 8;
const WALL = 3;
/** Turning is told between chords about so long, mm. */
const CHORD_MM = 6;

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
    const outward = waysOut(rim);
    expect(Math.abs(rim.lengthMm / (2 * Math.PI * radius) - 1)).toBeLessThan(0.001);
    for (let i = 0; i < rim.points.length; i += 3) {
      const [x, y, z] = rim.points.subarray(i, i + 3);
      expect(Math.abs(Math.hypot(x, y) - radius)).toBeLessThan(0.1);
      const [dx, dy, dz] = outward.subarray(i, i + 3);
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
    expect(Math.abs(rim.leastWidthMm - 2 * inner * sine)).toBeLessThan(0.1);
    expect(rim.offLineMm).toBeLessThan(0.03);
    expect(Math.abs(rim.areaMm2 / (Math.PI * (inner * sine) ** 2) - 1)).toBeLessThan(0.006);
  });

  it('loses the other side when that is asked for', () => {
    const shell = lined(sphere(R, 4), {
      wallMm: WALL,
      toleranceMm: 0.2,
      openings: [{ ...opening, away: [0, 0, -R] }],
    });
    const volume = ((4 / 3) * Math.PI * (61 ** 3 - 58 ** 3) * (1 - 0.5)) / 2;
    expect(shell.troubles + shell.selfIntersections).toBe(0);
    expect(Math.abs(volumeOf(shell.mesh) / volume - 1)).toBeLessThan(0.02);
  });

  it('drawn the other way round it is the same', () => {
    const shell = lined(sphere(R, 3), { wallMm: WALL, toleranceMm: 0.2 }).mesh;
    const [one, other] = [opening.points, opening.points.toReversed()].map((points) => {
      const knife = knifeFor({ ...opening, points }, new SignedField(sphere(R, 3)));
      const opened = knife === undefined ? 'nothing-left' : openBy(shell, [knife], QUIET_RUN);
      return typeof opened === 'string' ? 0 : volumeOf(opened.mesh);
    });
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
    toleranceMm: 0.2,
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

it('a wavy line on a ball: the rim lies on the cone from the middle through the line, within 0.15 mm', () => {
  // Polar angle 60 degrees and 6 either way three times round: the ways out of a ball are its radii.
  const polar = (turn: number): number => (Math.PI / 180) * (60 + 6 * Math.sin(3 * turn));
  const points = Array.from({ length: 36 }, (_, i): Vec3 => {
    const turn = (2 * Math.PI * i) / 36;
    const [s, c] = [Math.sin(polar(turn)), Math.cos(polar(turn))];
    return [R * s * Math.cos(turn), R * s * Math.sin(turn), R * c];
  });
  const field = new SignedField(sphere(R, 5));
  const knife = knifeFor({ kind: 'curve', points, away: undefined }, field);
  const opened = knife === undefined ? 'nothing-left' : openBy(sphere(R + FOAM, 5), [knife], QUIET_RUN);
  if (typeof opened === 'string') throw new Error(opened);
  expect(opened.troubles + opened.selfIntersections).toBe(0);
  let worst = 0;
  for (const [x, y, z] of opened.cuts[0].inner[0]) {
    const off = Math.atan2(Math.hypot(x, y), z) - polar(Math.atan2(y, x));
    worst = Math.max(worst, Math.abs(off) * (R + FOAM));
  }
  expect(worst).toBeLessThan(0.15);
});

describe('a head', () => {
  const form = headOf(10_000);
  const shell = shellOf(form);
  const tree = buildBvh(form);
  /** An ellipse as seen from in front, laid on the head along the sight. */
  const inFront = (places: number, wide: number, high: number, at: number): Vec3[] =>
    Array.from({ length: places }, (_, i): Vec3 => {
      const turn = (2 * Math.PI * i) / places;
      const [y, z] = [wide * Math.cos(turn), at + high * Math.sin(turn)];
      const hit: RayHit = { face: -1, t: 0 };
      castRay(tree, 200, y, z, -1, 0, 0, hit);
      return [200 - hit.t, y, z];
    });

  it.each([
    ['round the face, over eye sockets and below the lips', 45, 55, -15],
    ['over both eye sockets and the nose', 55, 20, 8],
    ['round the nose', 14, 16, -10],
  ])('with a line %s is a sound shell, its rim where the line is ruled outward, and fair', (_name, wide, high, at) => {
    const points = inFront(16, wide, high, at);
    const knife = knifeFor({ kind: 'curve', points, away: undefined }, new SignedField(form));
    const opened = knife === undefined ? 'nothing-left' : openBy(shell, [knife], QUIET_RUN);
    if (typeof opened === 'string') throw new Error(opened);
    expect([opened.troubles, opened.selfIntersections]).toEqual([0, 0]);
    const [cut] = opened.cuts;
    const evidence = measureOpening('curve', cut);
    expect(evidence.offLineMm).toBeLessThan(0.05);
    expect(evidence.rimMm).toBeGreaterThan(WALL * 0.9);
    expect(evidence.rimMm).toBeLessThan(WALL * 1.3);
    // Seen from in front it turns hardly more than the drawn ellipse where that is tightest: the radius there is the square
    // of one half axis by the other, and a chord c turns by 2 asin(c / 2 r).
    const radius = Math.min(high ** 2 / wide, wide ** 2 / high);
    const turn = (360 / Math.PI) * Math.asin(CHORD_MM / 2 / radius);
    expect(Math.max(...turnsOf(cut.inner[0]))).toBeLessThan(1.3 * turn);
  });

  it('with a face opening and a neck cut is a sound shell', () => {
    const knives = [
      { kind: 'plane', plane: { point: [0, 0, -85], normal: [0, 0, 1] } } as const,
      { kind: 'curve', points: inFront(14, 48, 55, -15), away: undefined } as const,
    ].map((opening) => knifeFor(opening, new SignedField(form)));
    const opened = openBy(
      shell,
      knives.flatMap((knife) => knife ?? []),
      QUIET_RUN,
    );
    if (typeof opened === 'string') throw new Error(opened);
    expect([opened.troubles, opened.selfIntersections, opened.cuts.length]).toEqual([0, 0, 2]);
    expect(measureOpening('curve', opened.cuts[1]).leastWidthMm).toBeGreaterThan(70);
  });
});

/** Foam and wall over a form, its hollows not bridged. */
function shellOf(form: Mesh): Mesh {
  const { mesh } = lined(form, { wallMm: WALL, toleranceMm: 0.2 });
  return mesh;
}

/** How far a closed line turns from one chord to the next, seen from in front, degrees. */
function turnsOf(line: readonly Vec3[]): number[] {
  const ends = [line[0]];
  for (const point of line) {
    const [, y, z] = ends[ends.length - 1];
    if (Math.hypot(point[1] - y, point[2] - z) >= CHORD_MM) ends.push(point);
  }
  return ends.map((_, i) => {
    const [a, b, c] = [ends[i], ends[(i + 1) % ends.length], ends[(i + 2) % ends.length]];
    const [u, v] = [Math.atan2(b[2] - a[2], b[1] - a[1]), Math.atan2(c[2] - b[2], c[1] - b[1])];
    const turn = Math.abs(u - v) % (2 * Math.PI);
    return (Math.min(turn, 2 * Math.PI - turn) * 180) / Math.PI;
  });
}
