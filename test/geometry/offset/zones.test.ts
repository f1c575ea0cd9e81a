import { describe, expect, it } from 'vitest';
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { boundsOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import type { KeepOut } from '../../../electron/geometry/offset/keep-out.ts';
import { makeLiner } from '../../../electron/geometry/offset/liner.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { WallField } from '../../../electron/geometry/offset/wall-field.ts';
import { namedRegion, ZonedField, zoneShare, type Zone } from '../../../electron/geometry/offset/zones.ts';
import { findSelfIntersections } from '../../../electron/geometry/spatial/self-intersections.ts';
import { headOf } from '../../bench/heads.ts';
import { seeded } from '../../support/random.ts';
import { sphere } from '../../support/solids.ts';

const R = 90;
const BASE = 8;
const SPOT: Zone = {
  name: 'spot',
  region: { kind: 'spots', centres: [[0, 0, R]], radiusMm: 40 },
  thicknessMm: 14,
  blendMm: 24,
};

/**
 * Closed form on a sphere: at the angle θ from the spot's centre a point at radius r lies √(2 r R (1 - cos θ)) from the
 * centre along the form, so r = R + t(r, θ), which is iterated to its end.
 */
function radiusAt(theta: number, formRadius = R, spotRadius = 40): number {
  let r = formRadius + BASE;
  for (let i = 0; i < 200; i++) {
    const along = Math.sqrt(2 * r * formRadius * (1 - Math.cos(theta)));
    const s = Math.min(1, Math.max(0, (spotRadius - along) / 24 + 0.5));
    r = formRadius + BASE + 6 * (3 * s * s - 2 * s * s * s);
  }
  return r;
}

describe('a zone on a sphere', () => {
  const field = new ZonedField(sphere(R, 5), BASE, [SPOT]);
  const made = offsetSurface(field, BASE, 0.1, QUIET_RUN);
  const mesh = made?.mesh as Mesh;

  it('has the radius of the closed form at every vertex, within 0.1 mm', () => {
    let worst = 0;
    let raised = 0;
    for (let v = 0; v < mesh.positions.length; v += 3) {
      const [x, y, z] = mesh.positions.subarray(v, v + 3);
      const theta = Math.atan2(Math.hypot(x, y), z);
      worst = Math.max(worst, Math.abs(Math.hypot(x, y, z) - radiusAt(theta)));
      if (Math.hypot(x, y, z) > R + BASE + 1) raised++;
    }
    // The sphere's own facets lie up to 0.06 mm below it: (edge / 2)² / 2 R, edge 3.3 mm at most with 20,480 faces.
    expect(worst).toBeLessThan(0.1 + 0.06);
    expect(raised).toBeGreaterThan(500);
  });

  it('is sound, and measured both ways within the tolerance of a head', () => {
    const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
    expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
    expect(findSelfIntersections(mesh)).toEqual([]);
    const evidence = measureOffset(field, BASE, mesh, QUIET_RUN);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.15);
    expect(evidence.missingMaxMm).toBeLessThan(0.15);
    expect(evidence.meanAbsErrorMm).toBeLessThan(0.01);
    expect(evidence.maxMm).toBeLessThan(14.1);
    expect(evidence.maxMm).toBeGreaterThan(13.9);
  });
});

describe('how far a zone counts', () => {
  it('is 1 half a blend inside, 1/2 at the border, 0 half a blend outside', () => {
    const box: Zone = {
      name: 'box',
      region: { kind: 'box', min: [0, 0, 0], max: [100, 100, 100] },
      thicknessMm: 5,
      blendMm: 20,
    };
    expect([10, 0, -10, 5].map((x) => zoneShare(box, x, 50, 50, 8))).toEqual([1, 0.5, 0, 0.84375]);
  });

  it('named zones lie where their names say in the frame x forward, y left, z up', () => {
    const share = (name: Parameters<typeof namedRegion>[0], at: Vec3): number =>
      zoneShare({ name, region: namedRegion(name, 130), thicknessMm: 5, blendMm: 10 }, ...at, 8);
    expect(share('brow', [105, 0, 75])).toBe(1);
    expect(share('crown', [0, 0, 140])).toBe(1);
    expect([share('temples', [20, 80, 75]), share('temples', [20, -80, 75])]).toEqual([1, 1]);
    expect(share('back of head', [-100, 0, 80])).toBe(1);
    expect(share('nape', [-80, 0, 0])).toBe(1);
    expect([share('cheeks', [60, 50, -20]), share('cheeks', [60, -50, -20])]).toEqual([1, 1]);
    expect([share('brow', [-100, 0, 80]), share('crown', [100, 0, 60]), share('nape', [90, 0, 0])]).toEqual([0, 0, 0]);
  });
});

it('a head with padded crown, thin temples and a wall: each zone within 0.15 mm, the wall nowhere thin', () => {
  const zones: Zone[] = [
    { name: 'crown', region: namedRegion('crown', 105), thicknessMm: 12, blendMm: 25 },
    { name: 'temples', region: namedRegion('temples', 105), thicknessMm: 5, blendMm: 16 },
  ];
  const liner = makeLiner(headOf(10_000), { foamMm: 8, toleranceMm: 0.2, wallMm: 3, openings: [], zones }, QUIET_RUN);
  if (typeof liner === 'string') throw new Error(liner);
  expect([liner.troubles, liner.selfIntersections]).toEqual([0, 0]);
  for (const zone of liner.zones) {
    expect(zone.samples).toBeGreaterThan(100);
    expect(Math.max(zone.thicknessMm - zone.minMm, zone.maxMm - zone.thicknessMm)).toBeLessThan(0.3);
    expect(Math.abs(zone.meanMm - zone.thicknessMm)).toBeLessThan(0.02);
  }
  expect(liner.wallEvidence?.minMm).toBeGreaterThan(2.7);
});

it('a zone, a volume left free and a wall on a ball: each place within 0.15 mm of the closed form, the wall too', () => {
  const [r, wallMm, clearanceMm, radiusMm] = [40, 3, 2, 8];
  const centre: Vec3 = [r + 10, 0, 0];
  const region = { kind: 'spots', centres: [[0, 0, r]], radiusMm: 20 } as const;
  const liner = makeLiner(
    sphere(r, 4),
    {
      foamMm: BASE,
      toleranceMm: 0.1,
      wallMm,
      openings: [],
      zones: [{ ...SPOT, region }],
      keepOuts: [{ name: 'fan', shape: { kind: 'ball', centre, radiusMm }, clearanceMm }],
    },
    QUIET_RUN,
  );
  if (typeof liner === 'string') throw new Error(liner);
  expect([liner.troubles, liner.selfIntersections]).toEqual([0, 0]);
  // The liner is the outer of both: the ball with its zone, and the ball left free with its clearance.
  const { positions: p, triangles: t } = liner.surface.mesh;
  let worst = 0;
  for (let h = 0; h < t.length; h += 3) {
    const [x, y, z] = [0, 1, 2].map((k) => (p[t[h] * 3 + k] + p[t[h + 1] * 3 + k] + p[t[h + 2] * 3 + k]) / 3);
    const zone = Math.hypot(x, y, z) - radiusAt(Math.atan2(Math.hypot(x, y), z), r, 20);
    const fan = Math.hypot(x - centre[0], y - centre[1], z - centre[2]) - radiusMm - clearanceMm;
    worst = Math.max(worst, Math.abs(Math.min(zone, fan)));
  }
  // The facets of the ball's mesh lie up to 0.04 mm below it.
  expect(worst).toBeLessThan(0.15 + 0.04);
  expect(liner.wallEvidence?.minMm).toBeGreaterThan(wallMm - 0.15);
  expect(liner.wallEvidence?.maxMm).toBeLessThan(wallMm + 0.15);
});

describe('a volume left free while hollows are bridged', () => {
  const [r, clearanceMm, radiusMm] = [40, 2, 8];
  const centre: Vec3 = [r + 10, 0, 0];
  const keepOuts: KeepOut[] = [{ name: 'fan', shape: { kind: 'ball', centre, radiusMm }, clearanceMm }];
  const whole = { kind: 'box', min: [-99, -99, -99], max: [99, 99, 99] } as const;

  // Nothing of a ball is hollow, so the liner is the outer of two balls: closed form, as is a zone all over.
  it.each([
    ['alone', BASE, []],
    ['beside a zone', 12, [{ name: 'all', region: whole, thicknessMm: 12, blendMm: 20 }]],
  ] satisfies [string, number, Zone[]][])('%s stands in it as it is, within 0.3 mm', (_name, thick, zones) => {
    const wishes = { foamMm: BASE, toleranceMm: 0.2, bridgeMm: 12, openings: [], zones, keepOuts };
    const liner = makeLiner(sphere(r, 4), wishes, QUIET_RUN);
    if (typeof liner === 'string') throw new Error(liner);
    expect([liner.troubles, liner.selfIntersections]).toEqual([0, 0]);
    const { positions: p } = liner.surface.mesh;
    let worst = 0;
    for (let v = 0; v < p.length; v += 3) {
      const fan = Math.hypot(p[v] - centre[0], p[v + 1], p[v + 2]) - radiusMm - clearanceMm;
      worst = Math.max(worst, Math.abs(Math.min(Math.hypot(p[v], p[v + 1], p[v + 2]) - r - thick, fan)));
    }
    expect(worst).toBeLessThan(0.3);
    // The top of what it clears stands 60 mm out.
    expect(Math.abs(liner.asked[0].addedMaxMm - (r + 10 + radiusMm + clearanceMm - r - thick))).toBeLessThan(0.5);
  });
});

it('a wall’s field tells how far it is from a liner whose foam slopes: 150 seeded points against the closed form on a sphere', () => {
  const liner = new ZonedField(sphere(R, 5), BASE, [SPOT]);
  const wall = new WallField(liner, BASE);
  const random = seeded(14);
  const awayOf = (theta: number, r: number, at: number): number => {
    const to = radiusAt(theta);
    return Math.hypot(r * Math.sin(at) - to * Math.sin(theta), r * Math.cos(at) - to * Math.cos(theta));
  };
  let [worst, sloped, plain] = [0, 0, 0];
  for (let i = 0; i < 150; i++) {
    const [at, turn, over] = [random(), 2 * Math.PI * random(), 0.5 + 5 * random()];
    const r = radiusAt(at) + over;
    // Nearest by halving the spread of angles round the best.
    let [best, spread] = [at, 0.1];
    for (; spread > 1e-7; spread *= 0.7) {
      for (const theta of [best - spread, best + spread]) if (awayOf(theta, r, at) < awayOf(best, r, at)) best = theta;
    }
    const [across, z] = [r * Math.sin(at), r * Math.cos(at)];
    const [x, y] = [across * Math.cos(turn), across * Math.sin(turn)];
    const away = awayOf(best, r, at);
    worst = Math.max(worst, Math.abs(wall.at(x, y, z) - BASE - away));
    // The foot lies on the line to the nearest point, as far away as told.
    expect(Math.abs(Math.hypot(x - wall.x, y - wall.y, z - wall.z) - wall.distance)).toBeLessThan(1e-9);
    plain = Math.max(plain, Math.abs(liner.at(x, y, z) - BASE - away));
    if (over - away > 0.1) sloped++;
  }
  // Facets of the sphere lie up to 0.02 mm within it. The liner's own field is that much off where the foam slopes.
  expect(worst).toBeLessThan(0.04);
  expect(plain).toBeGreaterThan(0.2);
  expect(sloped).toBeGreaterThan(8);
});

describe('the cubes an offset is followed by', () => {
  it('reach a zone far thicker than the foam, beyond the low side of the form and the foam', () => {
    const back: Zone = {
      name: 'back',
      region: { kind: 'spots', centres: [[-60, 0, 0]], radiusMm: 70 },
      thicknessMm: 30,
      blendMm: 54,
    };
    const made = offsetSurface(new ZonedField(sphere(60, 4), 3, [back]), 3, 0.1, QUIET_RUN);
    if (made === undefined) throw new Error('nothing made');
    expect(Math.abs(boundsOf(made.mesh.positions).min[0] + 90)).toBeLessThan(0.15);
  });
});
