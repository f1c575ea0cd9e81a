import { describe, expect, it } from 'vitest';
import { arcThrough } from '../../electron/geometry/measure/arc.ts';
import { girthNoise } from '../../electron/geometry/measure/girth-noise.ts';
import { shortestPath } from '../../electron/geometry/measure/shortest-path.ts';
import { IDENTITY, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { roughen } from '../../electron/invented/phone-scan.ts';
import { SignedField } from '../../electron/geometry/offset/signed-field.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';
import { sphere } from '../support/solids.ts';

/** Walls between copies of a closed line, ring by ring; each ring is the line moved by `place`. */
function walls(rings: number, sides: number, place: (ring: number, side: number) => Vec3): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let r = 0; r <= rings; r++) for (let s = 0; s < sides; s++) positions.push(...place(r, s));
  for (let r = 0; r < rings; r++) {
    for (let s = 0; s < sides; s++) {
      const a = r * sides + s,
        b = r * sides + ((s + 1) % sides);
      triangles.push(a, b, b + sides, a, b + sides, a + sides);
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
}

const taut = (mesh: Mesh, points: readonly Vec3[]): number =>
  arcThrough(mesh, points, new SignedField(mesh))?.length ?? Number.NaN;

describe('taut arcs against closed forms', () => {
  it('on a sphere, which has no hollow, the great circle', () => {
    const points: Vec3[] = [
      [100, 0, 0],
      [0, 0, 100],
      [-100, 0, 0],
    ];
    expect(taut(sphere(100, 5), points)).toBeCloseTo(100 * Math.PI, 0);
    expect(Math.abs(taut(sphere(100, 5), points) / (100 * Math.PI) - 1)).toBeLessThan(0.0003);
  });

  it('over two discs of radius 30, centres 80 apart, joined by a web: two quarter turns and the straight between', () => {
    // Outline, counter-clockwise: right disc from the web round to the web, then the left one.
    const web = Math.asin(5 / 30);
    const outline: [number, number][] = [];
    for (const [middle, turn] of [
      [40, 0],
      [-40, Math.PI],
    ]) {
      for (let i = 0; i <= 240; i++) {
        const angle = turn + (-Math.PI + web) + (i / 240) * (2 * Math.PI - 2 * web);
        outline.push([middle + 30 * Math.cos(angle), 30 * Math.sin(angle)]);
      }
    }
    const body = walls(20, outline.length, (r, s) => [outline[s][0], outline[s][1], 10 * r - 100]);
    const ends: Vec3[] = [
      [70, 0, 0],
      [-70, 0, 0],
    ];
    const length = taut(body, [ends[0], [40, 30, 0], [-40, 30, 0], ends[1]]);
    expect(Math.abs(length - (30 * Math.PI + 80))).toBeLessThan(0.05);
    // Along the skin it goes down into the hollow and up again: 2 · 30 (pi - asin(1/6)) for the discs, and the web.
    const skin = shortestPath(body, ends[0], ends[1])?.length as number;
    expect(Math.abs(skin - (60 * (Math.PI - web) + 2 * (40 - 30 * Math.cos(web))))).toBeLessThan(0.05);
  });

  it('from a ball of radius 40 over its neck to the edge of a flange: an arc and a tangent, 100.506', () => {
    // Profile as radius, height: the ball, a neck of 15, a flange of 30 at height 100.
    const profile: [number, number][] = [];
    const top = Math.acos(15 / 40);
    for (let i = 0; i <= 80; i++) {
      const angle = -1.4 + (i / 80) * (top + 1.4);
      profile.push([40 * Math.cos(angle), 40 * Math.sin(angle)]);
    }
    for (const corner of [60, 80, 100]) profile.push([15, corner]);
    profile.push([30, 100], [30, 120]);
    const sides = 240;
    const body = walls(profile.length - 1, sides, (r, s) => {
      const angle = (2 * Math.PI * s) / sides;
      return [profile[r][0] * Math.cos(angle), profile[r][0] * Math.sin(angle), profile[r][1]];
    });
    const away = Math.hypot(30, 100);
    const exact = Math.sqrt(away ** 2 - 40 ** 2) + 40 * (Math.atan2(100, 30) - Math.acos(40 / away));
    expect(
      Math.abs(
        taut(body, [
          [40, 0, 0],
          [30, 0, 100],
        ]) - exact,
      ),
    ).toBeLessThan(0.1);
  });
});

describe('long ways on dense meshes', () => {
  it('are sought in a corridor, said to be, and met in closed form: a sphere of 82,000 faces', () => {
    const path = shortestPath(sphere(100, 6), [100, 0, 0], [-50, 50 * Math.sqrt(3), 0]);
    expect(path?.within).toBeGreaterThan(5);
    expect(path?.within).toBeLessThan(30);
    expect(Math.abs((path?.length as number) / ((200 * Math.PI) / 3) - 1)).toBeLessThan(0.0002);
  });
});

describe('what roughness adds to an arc, on a ball of 90 with 0.3 mm of noise', () => {
  it.each([
    ['laid on the skin', false],
    ['pulled taut', true],
  ])('%s: told within a factor of two', (_, isTaut) => {
    const points: Vec3[] = [
      [90, 0, 0],
      [0, 63.6396, 63.6396],
    ];
    const ball = sphere(90, 5);
    const arc = (mesh: Mesh, toScan: Matrix4) =>
      arcThrough(
        mesh,
        points.map((p) => transformPoint(toScan, p)),
        isTaut ? new SignedField(mesh) : undefined,
      );
    const smooth = arc(ball, IDENTITY)?.length as number;
    let [known, told] = [0, 0];
    for (const seed of [1, 2, 3, 4, 5]) {
      const wishes = { noiseMm: 0.3, charts: 0, holes: [], debris: 0, chair: false, badFaces: false };
      const { mesh, truth } = roughen(ball, { seed, unitsPerMm: 1, ...wishes });
      const got = arc(mesh, truth.formToScan);
      known += (got?.length as number) - smooth;
      told += got?.excess as number;
    }
    expect(known / 5).toBeGreaterThan(0.05);
    expect(told / known).toBeGreaterThan(0.5);
    expect(told / known).toBeLessThan(2);
  });
});

describe('what roughness adds to a girth', () => {
  const SEED = 20_261_125;
  const RADIUS = 91;
  /** A circle with waves of every number from 30 to 110 on it, of equal strength: 5 to 19 mm long. */
  const rough = (deviation: number, random: () => number): { x: number; y: number }[] => {
    const waves = Array.from({ length: 81 }, (_, i) => ({ turns: 30 + i, phase: 2 * Math.PI * random() }));
    const each = deviation * Math.sqrt(2 / waves.length);
    return Array.from({ length: 1440 }, (_, i) => {
      const angle = (2 * Math.PI * i) / 1440;
      const r = RADIUS + waves.reduce((sum, { turns, phase }) => sum + each * Math.sin(turns * angle + phase), 0);
      return { x: r * Math.cos(angle), y: r * Math.sin(angle) };
    });
  };
  /** By Cauchy the girth of the hull is the mean over all directions of the reach that way, times 2 pi. */
  const hullGirth = (line: readonly { x: number; y: number }[]): number => {
    let sum = 0;
    for (let i = 0; i < 1440; i++) {
      const [c, s] = [Math.cos((2 * Math.PI * i) / 1440), Math.sin((2 * Math.PI * i) / 1440)];
      let most = -Infinity;
      for (const { x, y } of line) most = Math.max(most, x * c + y * s);
      sum += most;
    }
    return (2 * Math.PI * sum) / 1440;
  };

  it(`is estimated within a third, over a fourfold range of roughness (seed ${SEED})`, () => {
    const random = seeded(SEED);
    for (const deviation of [0.15, 0.3, 0.6]) {
      let [known, estimated] = [0, 0];
      for (let trial = 0; trial < 6; trial++) {
        const line = rough(deviation, random);
        known += hullGirth(line) - 2 * Math.PI * RADIUS;
        estimated += girthNoise(line).excess;
      }
      expect(known / 6).toBeGreaterThan(deviation);
      expect(Math.abs(estimated / known - 1)).toBeLessThan(1 / 3);
    }
  });

  it('is nothing on a smooth ellipse and on a square', () => {
    const ellipse = Array.from({ length: 500 }, (_, i) => ({
      x: 100 * Math.cos((Math.PI * i) / 250),
      y: 77 * Math.sin((Math.PI * i) / 250),
    }));
    expect(girthNoise(ellipse).excess).toBeLessThan(0.02);
    const corners = [
      { x: 0, y: 0 },
      { x: 100, y: 0 },
      { x: 100, y: 100 },
      { x: 0, y: 100 },
    ];
    expect(girthNoise(corners).excess).toBeLessThan(1e-9);
  });
});
