import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { QUIET_RUN } from '../../../shared-types/progress.ts';
import { areaOf, boundsOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { PATCH_COUNT, PATCH_OF_EDGE } from '../../../electron/geometry/offset/cell-patches.ts';
import { cutFlat } from '../../../electron/geometry/offset/cut-flat.ts';
import { foamVolume } from '../../../electron/geometry/offset/foam-volume.ts';
import { measureOffset } from '../../../electron/geometry/offset/measure-offset.ts';
import { offsetSurface } from '../../../electron/geometry/offset/offset-surface.ts';
import { SignedField } from '../../../electron/geometry/offset/signed-field.ts';
import { makeLiner, type Liner } from '../../../electron/geometry/offset/liner.ts';
import type { Zone } from '../../../electron/geometry/offset/zones.ts';
import { findSelfIntersections } from '../../../electron/geometry/spatial/self-intersections.ts';
import { join, moved } from '../../support/meshes.ts';
import { seeded } from '../../support/random.ts';
import { box, cylinder, sphere, subdivide, torus } from '../../support/solids.ts';

function soundness(mesh: Mesh): number[] {
  const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
  return [twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges, findSelfIntersections(mesh).length];
}

/** Distance to a box by its own formula, negative inside. */
function boxDistance(x: number, y: number, z: number, a: number, b: number, c: number): number {
  const q = [Math.abs(x) - a / 2, Math.abs(y) - b / 2, Math.abs(z) - c / 2];
  return Math.hypot(...q.map((v) => Math.max(v, 0))) + Math.min(Math.max(...q), 0);
}

describe('signed field', () => {
  it('agrees with the closed form of a box, also off its corners and edges', () => {
    const field = new SignedField(box(20, 30, 40));
    const random = seeded(11);
    for (let i = 0; i < 4000; i++) {
      const [x, y, z] = [0, 0, 0].map(() => (random() - 0.5) * 70);
      expect(field.at(x, y, z)).toBeCloseTo(boxDistance(x, y, z, 20, 30, 40), 9);
    }
  });
});

describe('cell patches', () => {
  it('every cut edge has a patch, an empty and a full cell have none, and mirrored patterns without doubtful faces agree', () => {
    expect([PATCH_COUNT[0], PATCH_COUNT[255], PATCH_COUNT[1], PATCH_COUNT[0x0f]]).toEqual([0, 0, 1, 1]);
    // Two opposite corners of the cube outside (inside connected): two patches. All checkered: four.
    expect(PATCH_COUNT[255 ^ 1 ^ 128]).toBe(2);
    expect(PATCH_COUNT[0b01101001]).toBe(4);
    for (let pattern = 0; pattern < 256; pattern++) {
      let cut = 0;
      for (let edge = 0; edge < 12; edge++) if (PATCH_OF_EDGE[pattern * 12 + edge] >= 0) cut++;
      expect(cut === 0).toBe(PATCH_COUNT[pattern] === 0);
    }
  });
});

describe('creases and topology', () => {
  /** Two boxes in an L: the offset's crease in the hollow corner is at (t, ., t) from it, known exactly. */
  it('puts the crease of a hollow corner where both walls are t away', () => {
    const L: Mesh = (() => {
      // An L-shaped prism: profile in x-z, from y = -40 to 40.
      const profile = [0, 0, 60, 0, 60, 20, 20, 20, 20, 60, 0, 60];
      const positions: number[] = [];
      for (const y of [-40, 40]) for (let i = 0; i < 12; i += 2) positions.push(profile[i], y, profile[i + 1]);
      const cap = [0, 1, 2, 0, 2, 3, 0, 3, 4, 0, 4, 5];
      const triangles: number[] = [...cap];
      for (let i = 0; i < 12; i += 3) triangles.push(cap[i] + 6, cap[i + 2] + 6, cap[i + 1] + 6);
      for (let i = 0; i < 6; i++) {
        const j = (i + 1) % 6;
        triangles.push(i, i + 6, j + 6, i, j + 6, j);
      }
      return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles) };
    })();
    const form = volumeOf(L) > 0 ? L : { ...L, triangles: L.triangles.toReversed() };
    const field = new SignedField(form);
    const made = offsetSurface(field, 8, 0.1, QUIET_RUN);
    if (made === undefined) throw new Error('nothing made');
    expect(soundness(made.mesh)).toEqual([0, 0, 0, 0]);
    const evidence = measureOffset(field, 8, made.mesh, QUIET_RUN);
    expect(evidence.maxAbsErrorMm).toBeLessThan(0.15);
    // The crease runs through (28, y, 28); the liner passes within the tolerance of each of its points.
    const liner = new SignedField(made.mesh);
    for (let y = -38; y <= 38; y += 0.7) expect(Math.abs(liner.at(28, y, 28))).toBeLessThan(0.15);
  });

  it('a ring whose hole closes becomes a body without a hole, one whose hole stays keeps it', () => {
    const euler = (mesh: Mesh): number => mesh.positions.length / 3 - mesh.triangles.length / 6;
    const ring = new SignedField(torus(30, 10, 96, 48));
    const open = offsetSurface(ring, 10, 0.1, QUIET_RUN);
    const shut = offsetSurface(ring, 24, 0.1, QUIET_RUN);
    // V - F/2 is the Euler characteristic: 0 for a torus, 2 for a sphere.
    expect(euler(open?.mesh as Mesh)).toBe(0);
    expect(euler(shut?.mesh as Mesh)).toBe(2);
  });

  it('two bodies far apart give two pieces, near ones melt into one', () => {
    const apart = offsetSurface(
      new SignedField(join(sphere(15, 3), moved(sphere(15, 3), 60, 0, 0))),
      5,
      0.1,
      QUIET_RUN,
    );
    const near = offsetSurface(new SignedField(join(sphere(15, 3), moved(sphere(15, 3), 38, 0, 0))), 5, 0.1, QUIET_RUN);
    expect([apart?.pieces, near?.pieces]).toEqual([2, 1]);
    expect(soundness(near?.mesh as Mesh)).toEqual([0, 0, 0, 0]);
  });

  it('leaves out the pocket inside a closed jar and says so', () => {
    const inner = sphere(40, 3);
    const jar = join(sphere(50, 3), { ...inner, triangles: inner.triangles.toReversed() });
    const made = offsetSurface(new SignedField(jar), 6, 0.1, QUIET_RUN);
    expect([made?.pieces, made?.pocketsDropped]).toEqual([1, 1]);
    // The pocket is the inner sphere less 6 mm.
    expect(made?.pocketVolumeMm3).toBeGreaterThan((4 / 3) * Math.PI * 33.5 ** 3);
    expect(made?.pocketVolumeMm3).toBeLessThan((4 / 3) * Math.PI * 34.5 ** 3);
    // Foam lies round it, not in it: the shell from 50 to 56 mm.
    const foam = foamVolume(jar, made?.mesh as Mesh, made?.pocketVolumeMm3);
    expect(Math.abs(foam / ((4 / 3) * Math.PI * (56 ** 3 - 50 ** 3)) - 1)).toBeLessThan(0.03);
  });

  it('inward by more than the body is thick leaves nothing', () => {
    expect(offsetSurface(new SignedField(box(20, 30, 40)), -11, 0.1, QUIET_RUN)).toBeUndefined();
  });
});

it('a hole in a liner is seen also where no vertex or face middle of the form lies beneath it', () => {
  const form = box(120, 90, 60);
  const whole = subdivide(box(136, 106, 76), 5, (x, y, z) => [x, y, z]);
  const { positions: p, triangles: t } = whole;
  const middle = (h: number, k: number): number => (p[t[h] * 3 + k] + p[t[h + 1] * 3 + k] + p[t[h + 2] * 3 + k]) / 3;
  const holed = t.filter((_, i) => {
    const h = i - (i % 3);
    return !(middle(h, 2) > 37.9 && Math.hypot(middle(h, 0) - 40, middle(h, 1) + 25) < 14);
  });
  // A box's own offset is rounded: with corners, their true points lie 8 - 8/√3 mm within.
  const field = new SignedField(form);
  expect(measureOffset(field, 8, whole, QUIET_RUN).missingMaxMm).toBeCloseTo(8 - 8 / Math.sqrt(3), 3);
  // The hole is a disk of 14 mm, its border as fine as the faces, 4 mm.
  const { missingMaxMm } = measureOffset(field, 8, { ...whole, triangles: holed }, QUIET_RUN);
  expect(missingMaxMm).toBeGreaterThan(10);
  expect(missingMaxMm).toBeLessThan(15);
});

describe('flat cut', () => {
  it('halves a box: volume, area of the cut, still closed', () => {
    const cut = cutFlat(box(20, 30, 40), { point: [0, 0, 5], normal: [0, 0, 2] });
    expect(volumeOf(cut.mesh)).toBeCloseTo(20 * 30 * 15, 6);
    expect(cut.cutAreaMm2).toBeCloseTo(600, 3);
    expect(soundness(cut.mesh)).toEqual([0, 0, 0, 0]);
  });

  it('gives the ring of a tube of two nested surfaces', () => {
    const inner = cylinder(30, 80, 64, 8);
    const shell = join(cylinder(40, 100, 64, 10), { ...inner, triangles: inner.triangles.toReversed() });
    const cut = cutFlat(shell, { point: [0, 0, 3], normal: [0, 0, -1] });
    const regular = (r: number): number => 32 * r * r * Math.sin((2 * Math.PI) / 64);
    expect(cut.loops).toBe(2);
    expect(cut.cutAreaMm2).toBeCloseTo(regular(40) - regular(30), 3);
    expect(soundness(cut.mesh)).toEqual([0, 0, 0, 0]);
  });
});

describe('liner', () => {
  it('a wall makes a shell of the volume between the two surfaces', () => {
    const liner = makeLiner(
      sphere(50, 4),
      { foamMm: 8, wallMm: 3, toleranceMm: 0.1, openings: [] },
      QUIET_RUN,
    ) as Liner;
    const volume = (4 / 3) * Math.PI * (61 ** 3 - 58 ** 3);
    expect(Math.abs((liner?.mesh === undefined ? 0 : volumeOf(liner.mesh)) / volume - 1)).toBeLessThan(0.01);
    expect(liner?.selfIntersections).toBe(0);
  });

  it('bridging fills a waist with the sweep of a ball, and never comes nearer than the foam', () => {
    const form = join(sphere(20, 4), moved(sphere(20, 4), 44, 0, 0));
    const plain = makeLiner(form, { foamMm: 5, toleranceMm: 0.1, openings: [] }, QUIET_RUN) as Liner;
    const bridged = makeLiner(form, { foamMm: 5, bridgeMm: 10, toleranceMm: 0.2, openings: [] }, QUIET_RUN) as Liner;
    expect(bridged?.minMm).toBeGreaterThan(4.8);
    expect(plain?.maxMm).toBeLessThan(5.15);
    expect(plain?.evidence.missingMaxMm).toBeLessThan(0.15);
    expect(plain?.evidence.p99AbsErrorMm).toBeLessThan(0.05);
    // Ball of radius 10 resting on both spheres of radius 25 about centres 44 apart: its centre is at height
    // sqrt(35² - 22²) over the middle, so the waist has this radius there.
    const waist = Math.sqrt(35 ** 2 - 22 ** 2) - 10;
    const field = new SignedField(bridged?.mesh as Mesh);
    expect(Math.abs(field.at(22, waist, 0))).toBeLessThan(0.15);
    expect(bridged.evidence.maxAbsErrorMm).toBeLessThan(0.25);
    expect(soundness(bridged?.mesh as Mesh)).toEqual([0, 0, 0, 0]);
  });

  it('zones are bridged too: a spot of its own thickness stays, and the waist beside it is filled as before', () => {
    const form = join(sphere(20, 4), moved(sphere(20, 4), 44, 0, 0));
    const zone: Zone = {
      name: 'end',
      region: { kind: 'spots', centres: [[-20, 0, 0]], radiusMm: 12 },
      thicknessMm: 8,
      blendMm: 8,
    };
    const wishes = { foamMm: 5, bridgeMm: 10, toleranceMm: 0.2, openings: [], zones: [zone] };
    const liner = makeLiner(form, wishes, QUIET_RUN) as Liner;
    expect(soundness(liner.mesh)).toEqual([0, 0, 0, 0]);
    expect(Math.abs(liner.zones[0].meanMm - 8)).toBeLessThan(0.05);
    const waist = Math.sqrt(35 ** 2 - 22 ** 2) - 10;
    const field = new SignedField(liner.mesh);
    expect(Math.abs(field.at(22, waist, 0))).toBeLessThan(0.3);
    expect(Math.abs(field.at(-28, 0, 0))).toBeLessThan(0.2);
  });

  it('grows with area, not volume: ten times the size has about a hundred times the faces, not a thousand', () => {
    const small = offsetSurface(new SignedField(box(20, 20, 20)), 2, 0.4, QUIET_RUN);
    const big = offsetSurface(new SignedField(box(200, 200, 200)), 2, 0.4, QUIET_RUN);
    const ratio = (big?.mesh.triangles.length as number) / (small?.mesh.triangles.length as number);
    expect(ratio).toBeLessThan(150);
    expect(areaOf(big?.mesh as Mesh)).toBeGreaterThan(240_000);
    expect(boundsOf(big?.mesh.positions as Float64Array).max[0]).toBeCloseTo(102, 0);
  });
});
