import { describe, expect, it } from 'vitest';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { clipSurface } from '../../../electron/geometry/flatten/clip-surface.ts';
import { borderLoops, eulerNumber, openAlong } from '../../../electron/geometry/flatten/disc.ts';
import { drapeSurface } from '../../../electron/geometry/flatten/drape.ts';
import { Knife } from '../../../electron/geometry/flatten/knife.ts';
import { layFlat } from '../../../electron/geometry/flatten/lay-flat.ts';
import { liftSurface } from '../../../electron/geometry/flatten/lift.ts';
import { borderRuns, crossesItself } from '../../../electron/geometry/flatten/outline.ts';
import { takePatch } from '../../../electron/geometry/flatten/patch.ts';
import { findTwins } from '../../../electron/geometry/mesh/twins.ts';
import { areaOf } from '../../../electron/geometry/mesh/quantities.ts';
import { cap, field, tube } from '../../support/caps.ts';
import { ellipsoid, sphere } from '../../support/solids.ts';
import { seeded } from '../../support/random.ts';

const quiet = (): void => {};

describe('the border of a patch', () => {
  it('is one loop for a disc, two for a tube, none for a ball', () => {
    for (const [mesh, loops, euler] of [
      [cap(10, 1, 4), 1, 1],
      [tube(10, 10, 20, 12, 3), 2, 0],
      [sphere(10, 2), 0, 2],
    ] as const) {
      expect(borderLoops(mesh.triangles, mesh.positions.length / 3)).toHaveLength(loops);
      expect(eulerNumber(mesh.triangles, mesh.positions.length / 3)).toBe(euler);
    }
  });

  it('opens a tube along a straight row of edges into a disc, each vertex of the row twice', () => {
    const { positions, triangles } = tube(10, 10, 20, 12, 3);
    const opened = openAlong(triangles, positions.length / 3, (a, b) => a % 12 === 0 && b % 12 === 0);
    expect(opened.source.length).toBe(positions.length / 3 + 4);
    expect(eulerNumber(opened.triangles, opened.source.length)).toBe(1);
  });

  it('tells the runs of one line apart, and ends a run at the tip of a dart', () => {
    const runs = borderRuns(Int32Array.of(-1, 3, 3, 3, 3, -1), (i) => i === 3);
    expect(runs).toEqual([
      { line: 3, at: [1, 2, 3] },
      { line: 3, at: [3, 4, 5] },
      { line: -1, at: [5, 0, 1] },
    ]);
  });

  it('knows an outline that crosses itself', () => {
    expect(crossesItself([0, 0, 4, 0, 4, 4, 0, 4])).toBe(false);
    expect(crossesItself([0, 0, 4, 4, 4, 0, 0, 4])).toBe(true);
  });
});

describe('clipping', () => {
  it('gives a disc its area, pi r², and a clean edge', () => {
    const plane = field(100, 50);
    const values = new Float64Array(plane.positions.length / 3);
    for (let v = 0; v < values.length; v++)
      values[v] = 40 - Math.hypot(plane.positions[v * 3], plane.positions[v * 3 + 1]);
    const { mesh } = clipSurface(plane, values);
    expect(Math.abs(areaOf(mesh) / (Math.PI * 1600) - 1)).toBeLessThan(0.003);
    const [loop] = borderLoops(mesh.triangles, mesh.positions.length / 3);
    for (const v of loop)
      expect(Math.abs(Math.hypot(mesh.positions[v * 3], mesh.positions[v * 3 + 1]) - 40)).toBeLessThan(0.15);
  });

  it('keeps all, or nothing', () => {
    const plane = field(10, 4);
    expect(clipSurface(plane, new Float64Array(25).fill(1)).mesh.triangles.length).toBe(plane.triangles.length);
    expect(clipSurface(plane, new Float64Array(25).fill(-1)).mesh.triangles.length).toBe(0);
  });
});

describe('the knife', () => {
  it.each([1, 2, 3, 4, 5, 6])(
    'leaves the surface what it was, and joins the ends of each cut by edges (seed %i)',
    (seed) => {
      const random = seeded(seed);
      const body = sphere(80, 3);
      const knife = new Knife(body);
      const point = (): Vec3 => [random() - 0.5, random() - 0.5, random() - 0.5].map((x) => 300 * x) as unknown as Vec3;
      for (let line = 0; line < 4; line++) {
        const from = knife.vertexAt(point());
        const to = knife.vertexAt(point());
        const chain = knife.cutBetween(from, to, line, quiet);
        expect(chain?.[0]).toBe(from);
        expect(chain?.at(-1)).toBe(to);
        for (let i = 1; i < (chain?.length ?? 0); i++) {
          expect(knife.cutOf((chain as number[])[i - 1], (chain as number[])[i])).toBeGreaterThanOrEqual(0);
        }
      }
      const cut = knife.mesh();
      const twins = findTwins(cut.triangles, cut.positions.length / 3);
      expect([twins.openEdges, twins.nonManifoldEdges, twins.flippedEdges]).toEqual([0, 0, 0]);
      expect(areaOf(cut)).toBeCloseTo(areaOf(body), 1);
    },
  );

  it('cuts a sphere by a plane into two halves of its area', () => {
    const knife = new Knife(sphere(80, 4));
    const chains = knife.cutWhere((p) => p[0] * 0.3 + p[1] * 0.5 + p[2] - 1e-9, 0);
    expect(chains).toHaveLength(1);
    const whole = knife.mesh();
    const opened = openAlong(whole.triangles, whole.positions.length / 3, (a, b) => knife.cutOf(a, b) >= 0);
    const loops = borderLoops(opened.triangles, opened.source.length);
    expect(loops).toHaveLength(2);
    const laid = layFlat(whole, { seams: [], allowedGive: 1, relief: 'none' }, quiet);
    // Not cut in that call: a whole ball cannot be laid flat.
    expect(laid).toEqual({ handles: true });
  });
});

describe('laying flat along drawn lines', () => {
  const on = (x: number, y: number): Vec3 => [x, y, Math.sqrt(8100 - x * x - y * y)];

  it('gives an island and the ring around it, opened', () => {
    const ring = { name: 'ring', points: [on(20, 0), on(-10, 18), on(-10, -18), on(20, 0)] };
    const laid = layFlat(cap(90, 0.8, 12), { seams: [ring], allowedGive: 1, relief: 'none' }, quiet);
    if (!('pieces' in laid)) throw new Error(JSON.stringify(laid));
    expect(laid.pieces).toHaveLength(2);
    expect(laid.lines.map((line) => line.kind)).toEqual(['given', 'opening']);
    const areas = laid.pieces.map((piece) => areaOf(piece.mesh)).toSorted((a, b) => a - b);
    expect(areas[0] + areas[1]).toBeCloseTo(areaOf(cap(90, 0.8, 12)), 2);
  });

  it('cuts on from a slit: lines that cross leave the corners between them (found by random lines on a head)', () => {
    const seams = [
      { name: 'one', points: [on(-30, -5), on(5, 12), on(30, -4)] },
      { name: 'two', points: [on(-25, 14), on(4, -6), on(25, 16)] },
    ];
    const laid = layFlat(cap(90, 0.8, 12), { seams, allowedGive: 1, relief: 'none' }, quiet);
    if (!('pieces' in laid)) throw new Error(JSON.stringify(laid));
    // The two lines cross twice: one island, and the rest around it, opened to it.
    expect(laid.pieces).toHaveLength(2);
    for (const piece of laid.pieces) expect(piece.strain.flipped).toBe(0);
  });

  it('says which line does not lie on the surface', () => {
    const seams = [{ name: 'far', points: [on(0, 0), on(0, 0)] }];
    expect(layFlat(cap(90, 0.8, 6), { seams, allowedGive: 1, relief: 'none' }, quiet)).toEqual({ lost: 'far' });
  });
});

describe('a patch within a drawn line', () => {
  const body = sphere(90, 4);
  const circle = Array.from({ length: 24 }, (_, i): Vec3 => {
    const turn = (2 * Math.PI * i) / 24;
    return [90 * Math.sin(0.5) * Math.cos(turn), 90 * Math.sin(0.5) * Math.sin(turn), 90 * Math.cos(0.5)];
  });

  it('is the cap of area 2 pi R² (1 - cos x), on the smaller side', () => {
    const patch = takePatch(body, body, { kind: 'curve', curve: circle }, quiet);
    const area = 2 * Math.PI * 8100 * (1 - Math.cos(0.5));
    // Shortest ways between 24 points of the circle run a little inside it, chords of the mesh too.
    expect(Math.abs(areaOf(patch as never) / area - 1)).toBeLessThan(0.02);
  });

  it('is the other side when a point there is given', () => {
    const patch = takePatch(body, body, { kind: 'curve', curve: circle, inside: [0, 0, -90] }, quiet);
    expect(areaOf(patch as never)).toBeGreaterThan(areaOf(body) * 0.9);
  });

  it('is none when the line does not go round anything', () => {
    expect(takePatch(body, body, { kind: 'curve', curve: [circle[0], circle[1], circle[0]] }, quiet)).toBeUndefined();
  });
});

describe('draping', () => {
  it('halves waves of the length given: 1 / (1 + (L / l)^4), by the equation solved', () => {
    for (const [length, left] of [
      [30, 1 / 2],
      [60, 16 / 17],
    ] as const) {
      const wave = field(150, 60, (x) => Math.cos((2 * Math.PI * x) / length));
      const { mesh } = drapeSurface(wave, 30, quiet);
      const middle = 30 * 61 + 30;
      expect(Math.abs(mesh.positions[middle * 3 + 2] - left)).toBeLessThan(0.05);
    }
  });

  it('leaves the border of an open cap where it is', () => {
    const open = cap(93, 0.9, 12);
    const { mesh } = drapeSurface(open, 30, quiet);
    for (let i = 0; i < mesh.positions.length; i += 3) {
      const [x, y, z] = [mesh.positions[i], mesh.positions[i + 1], mesh.positions[i + 2]];
      expect(Math.abs(Math.hypot(x, y, z) - 93)).toBeLessThan(0.3);
      expect(Math.acos(z / Math.hypot(x, y, z))).toBeLessThan(0.904);
    }
  });

  it('leaves the size of a head alone', () => {
    const head = ellipsoid(100, 77, 115, 4);
    const { movedMaxMm } = drapeSurface(head, 30, quiet);
    expect(movedMaxMm).toBeLessThan(0.1);
  });
});

it('lifting a sphere makes it a sphere larger by the height', () => {
  const { mesh, turnedShare } = liftSurface(sphere(90, 4), 5);
  expect(turnedShare).toBe(0);
  for (let i = 0; i < mesh.positions.length; i += 3) {
    expect(Math.hypot(mesh.positions[i], mesh.positions[i + 1], mesh.positions[i + 2])).toBeCloseTo(95, 2);
  }
  // Within a hollow of 4 mm there is no room for a sheet whose middle stands 6 mm off it.
  expect(liftSurface(sphere(4, 2), -6).turnedShare).toBe(1);
  expect(liftSurface(tube(4, 4, 30, 24, 8), -6).turnedShare).toBe(1);
});
