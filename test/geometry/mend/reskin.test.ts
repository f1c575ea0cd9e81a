import { describe, expect, it } from 'vitest';
import { examine } from '../../../electron/geometry/mend/health.ts';
import { mend } from '../../../electron/geometry/mend/mend.ts';
import { howFarMoved } from '../../../electron/geometry/mend/moved.ts';
import { reskin } from '../../../electron/geometry/mend/reskin.ts';
import { areaOf, volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { transformMesh, translation } from '../../../electron/geometry/mesh/transform.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { createRun, Cancelled } from '../../../shared-types/progress.ts';
import { RESKIN_PHASE } from '../../../electron/geometry/mend/reskin.ts';
import { box, sphere, torus } from '../../support/solids.ts';

function join(...parts: readonly Mesh[]): Mesh {
  const positions = new Float64Array(parts.reduce((sum, part) => sum + part.positions.length, 0));
  const triangles: number[] = [];
  let at = 0;
  for (const part of parts) {
    positions.set(part.positions, at);
    for (const v of part.triangles) triangles.push(v + at / 3);
    at += part.positions.length;
  }
  return { positions, triangles: Uint32Array.from(triangles) };
}

const SOUND = {
  openEdges: 0,
  nonManifoldEdges: 0,
  nonManifoldVertices: 0,
  degenerateFaces: 0,
  duplicateFaces: 0,
  selfIntersections: 0,
  watertight: true,
};

describe('reskin', () => {
  it('lays a sound skin on a sphere: points on it, volume within 0.5 %', () => {
    const body = sphere(50, 4);
    const skin = reskin(body, 4, 'largest');
    expect(examine(skin)).toMatchObject({ ...SOUND, pieces: 1 });
    let worst = 0;
    for (let i = 0; i < skin.positions.length; i += 3)
      worst = Math.max(worst, Math.abs(Math.hypot(...skin.positions.subarray(i, i + 3)) - 50));
    // the sphere's own facets lie up to 0.08 inside; a point keeps 3 % of a cube from its edge's ends
    expect(worst).toBeLessThan(0.08 + 0.03 * 4 * Math.sqrt(3));
    expect(volumeOf(skin) / volumeOf(body)).toBeCloseTo(1, 2);
  });

  it('keeps the hole of a torus: Gauss-Bonnet, V - E + F = 0', () => {
    const skin = reskin(torus(70, 30, 60, 30), 5, 'largest');
    expect(examine(skin)).toMatchObject(SOUND);
    const faces = skin.triangles.length / 3;
    expect(skin.positions.length / 3 - faces / 2).toBe(0);
  });

  it('closes what is open, and bridges the hole smoothly', () => {
    const whole = sphere(50, 4);
    const { positions: p, triangles: t } = whole;
    const kept: number[] = [];
    for (let f = 0; f < t.length; f += 3) if (p[t[f] * 3 + 2] < 40) kept.push(t[f], t[f + 1], t[f + 2]);
    const skin = reskin({ ...whole, triangles: Uint32Array.from(kept) }, 4, 'largest');
    expect(examine(skin)).toMatchObject({ ...SOUND, pieces: 1 });
    // between a flat lid at 40 and the whole sphere
    const lidless = volumeOf(whole) - Math.PI * 10 * 10 * (50 - 10 / 3);
    expect(volumeOf(skin)).toBeGreaterThan(0.98 * lidless);
    expect(volumeOf(skin)).toBeLessThan(volumeOf(whole));
  });

  it('takes the colour of the surface', () => {
    const body = box(60, 60, 60);
    const colours = Uint8Array.from({ length: 24 }, (_, i) => (i % 3 === 0 ? 200 : 10));
    const skin = reskin({ ...body, colours }, 6, 'largest');
    expect(skin.colours?.length).toBe(skin.positions.length);
    expect([...(skin.colours as Uint8Array).subarray(0, 3)]).toEqual([200, 10, 10]);
  });

  it('finds nothing in a lone sheet', () => {
    const sheet: Mesh = {
      positions: Float64Array.of(0, 0, 0, 100, 0, 0, 100, 100, 0, 0, 100, 0),
      triangles: Uint32Array.of(0, 1, 2, 0, 2, 3),
    };
    expect(reskin(sheet, 5, 'largest').triangles.length).toBe(0);
  });

  it('stops when asked', () => {
    const run = createRun({ [RESKIN_PHASE]: 1 }, { cancelled: () => true });
    expect(() => reskin(sphere(50, 2), 5, 'largest', run)).toThrow(Cancelled);
  });
});

describe('how far mending moved the surface', () => {
  it('is measured in steps, and is the distance of two balls about one middle', () => {
    let ticks = 0;
    const { max, mean } = howFarMoved(sphere(50, 4), sphere(51, 5), () => ticks++);
    // The outer ball's facets lie up to 0.02 inside it.
    expect(max).toBeLessThanOrEqual(1 + 1e-9);
    expect(mean).toBeGreaterThan(0.98);
    expect(ticks).toBeGreaterThan(sphere(50, 4).positions.length / 3 / 64);
  });
});

describe('mend with a skin', () => {
  it('lays one when asked, at the resolution asked', () => {
    const { mesh, report } = mend(sphere(50, 3), { keep: 'largest', reskin: 6 });
    expect(report.reskinned).toEqual({ resolution: 6, reason: 'asked for' });
    expect(examine(mesh)).toMatchObject(SOUND);
  });

  it('unites two bodies that run into one another: lens formula', () => {
    const other = transformMesh(translation([60, 0, 0]), sphere(50, 4));
    const { mesh, report, after } = mend(join(sphere(50, 4), other), { keep: 'all' });
    expect(report.reskinned?.reason).toBe('pieces overlap');
    expect(after).toMatchObject({ ...SOUND, pieces: 1 });
    // Two balls of radius r at distance d share pi (4r + d)(2r - d)^2 / 12 (two equal caps; MathWorld, from memory)
    const shared = (Math.PI * (4 * 50 + 60) * (2 * 50 - 60) ** 2) / 12;
    const exact = 2 * ((4 * Math.PI * 50 ** 3) / 3) - shared;
    expect(Math.abs(volumeOf(mesh) / exact - 1)).toBeLessThan(0.01);
    expect(areaOf(mesh)).toBeLessThan(2 * 4 * Math.PI * 50 ** 2);
  });
});
