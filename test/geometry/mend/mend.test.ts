import { describe, expect, it } from 'vitest';
import { examine, guessUnit } from '../../../electron/geometry/mend/health.ts';
import { mend } from '../../../electron/geometry/mend/mend.ts';
import { weldEqual } from '../../../electron/geometry/mend/weld.ts';
import { volumeOf } from '../../../electron/geometry/mesh/quantities.ts';
import { scaling, transformMesh, translation } from '../../../electron/geometry/mesh/transform.ts';
import type { Mesh } from '../../../shared-types/mesh.ts';
import { seeded } from '../../support/random.ts';
import { join, meshOf, soup } from '../../support/meshes.ts';
import { box, cylinder, ellipsoid, sphere, torus } from '../../support/solids.ts';

/** Of five kinds by turns; more than continuous integration has time for with MEND_BODIES (npm run trials). */
const BODIES = Number(process.env['MEND_BODIES'] ?? 15);

/** Without the faces whose middle `gone` says. */
function without(mesh: Mesh, gone: (x: number, y: number, z: number) => boolean): Mesh {
  const kept: number[] = [];
  const { positions: p, triangles: t } = mesh;
  for (let f = 0; f < t.length; f += 3) {
    const at = [0, 1, 2].map((k) => (p[t[f] * 3 + k] + p[t[f + 1] * 3 + k] + p[t[f + 2] * 3 + k]) / 3);
    if (!gone(at[0], at[1], at[2])) kept.push(t[f], t[f + 1], t[f + 2]);
  }
  return { ...mesh, triangles: Uint32Array.from(kept) };
}

function expectSound(mesh: Mesh): void {
  const health = examine(mesh);
  expect(health).toMatchObject({
    openEdges: 0,
    nonManifoldEdges: 0,
    nonManifoldVertices: 0,
    degenerateFaces: 0,
    duplicateFaces: 0,
    selfIntersections: 0,
    oriented: true,
    watertight: true,
  });
  expect(mesh.positions).toEqual(Float64Array.from(mesh.positions, Math.fround));
}

describe('health', () => {
  it('counts what is wrong', () => {
    const open = without(sphere(100, 3), (_x, _y, z) => z < -60);
    const health = examine(join(open, transformMesh(translation([300, 0, 0]), box(10, 10, 10))));
    expect(health.pieces).toBe(2);
    expect(health.boundaryLoops).toBe(1);
    expect(health.openEdges).toBeGreaterThan(10);
    expect(health.watertight).toBe(false);
    expect(examine(sphere(50, 2))).toMatchObject({ watertight: true, pieces: 1, selfIntersections: 0 });
    const inside = sphere(50, 2);
    expect(examine({ ...inside, triangles: inside.triangles.toReversed() })).toMatchObject({
      oriented: false,
      watertight: false,
    });
    // two balls that touch in one vertex
    const two = join(sphere(10, 1), transformMesh(translation([20, 0, 0]), sphere(10, 1)));
    expect(examine(two).nonManifoldVertices).toBe(1);
  });

  it('guesses the unit from the size and says why', () => {
    const of = (across: number) => guessUnit({ min: [0, 0, 0], max: [across, across / 2, across / 3] });
    expect(of(0.24)).toEqual({ unit: 'metre', mmPerUnit: 1000, reason: '0.24 across: metres, probably' });
    expect(of(240).unit).toBe('millimetre');
    expect(of(24).unit).toBe('centimetre');
    expect(of(10).unit).toBe('inch');
    expect(of(1e6).unit).toBe('unknown');
  });
});

describe('mend', () => {
  it('leaves a sound mesh as it is, to single precision', () => {
    const body = ellipsoid(100, 77, 90, 4);
    const { mesh, report } = mend(body, { keep: 'largest' });
    expect(mesh.positions).toEqual(Float64Array.from(body.positions, Math.fround));
    expect(mesh.triangles).toEqual(body.triangles);
    expect(report.movedMax).toBe(0);
    expect(report.dropped).toEqual([]);
  });

  it('welds a soup and turns an inside-out body', () => {
    const body = sphere(80, 3);
    const turned = soup({ ...body, triangles: body.triangles.toReversed() });
    const { mesh } = mend(turned, { keep: 'largest' });
    expectSound(mesh);
    expect(volumeOf(mesh)).toBeCloseTo(volumeOf(body), -2);
    expect(weldEqual(soup(body)).mesh.positions.length).toBe(body.positions.length);
  });

  it('closes a missing crown along its curve: within 2 % of the radius', () => {
    const whole = sphere(100, 5);
    const { mesh, report } = mend(
      without(whole, (_x, _y, z) => z > 94),
      { keep: 'largest' },
    );
    expectSound(mesh);
    expect(report.filled.length).toBe(1);
    expect(report.filled[0].faired).toBe(true);
    let worst = 0;
    for (let i = 0; i < mesh.positions.length; i += 3) {
      worst = Math.max(worst, Math.abs(Math.hypot(...mesh.positions.subarray(i, i + 3)) - 100));
    }
    expect(worst).toBeLessThan(2);
  });

  it('closes an open neck flat', () => {
    const { mesh, report } = mend(
      without(cylinder(60, 200, 96, 40), (_x, _y, z) => z < -90),
      { keep: 'largest' },
    );
    expectSound(mesh);
    expect(report.filled[0].way).toBe('flat');
    expect(Math.min(...mesh.positions)).toBeGreaterThan(-96);
  });

  it('keeps the body and drops a chair of more area, dust and a second body', () => {
    const wall = without(box(10, 900, 900), (x) => x < 0);
    const { mesh, report } = mend(
      join(
        sphere(100, 4),
        transformMesh(translation([-200, 0, 0]), wall),
        transformMesh(translation([150, 0, 0]), sphere(3, 1)),
      ),
      { keep: 'largest' },
    );
    expectSound(mesh);
    expect(report.dropped.map((piece) => piece.faces).sort((a, b) => b - a)[0]).toBeLessThan(100);
    expect(report.dropped.length).toBe(2);
    expect(volumeOf(mesh)).toBeCloseTo(volumeOf(sphere(100, 4)), -3);
  });

  it('does not weld the two sides of a thin wall', () => {
    // a shell 0.4 thick whose edges are about 7 long
    const outer = sphere(100, 4);
    const inner = { ...sphere(99.6, 4), triangles: sphere(99.6, 4).triangles.toReversed() };
    const { mesh } = mend(join(outer, inner), { keep: 'all' });
    expect(examine(mesh).pieces).toBe(2);
  });

  it('works in any unit and far from the origin', () => {
    for (const factor of [0.001, 0.1, 39.37]) {
      const scan = transformMesh(
        scaling(factor),
        without(sphere(100, 4), (x) => x > 90),
      );
      expectSound(mend(transformMesh(translation([5 * factor, 900 * factor, 0]), scan), { keep: 'largest' }).mesh);
    }
  });

  it('leaves a large hole open when asked to', () => {
    const { after, report } = mend(
      without(sphere(100, 4), (_x, _y, z) => z < 0),
      { keep: 'largest', maxHolePerimeter: 300 },
    );
    expect(report.holesLeft).toBe(1);
    expect(after?.boundaryLoops).toBe(1);
  });

  const seed = 4242;
  it(`makes ${BODIES} randomly broken bodies sound (seed ${seed})`, () => {
    const random = seeded(seed);
    for (let trial = 0; trial < BODIES; trial++) {
      const body = [
        sphere(90, 3),
        ellipsoid(100, 77, 120, 3),
        torus(70, 30, 40, 24),
        box(120, 90, 150),
        cylinder(60, 180, 40, 12),
      ][trial % 5];
      const broken = breakUp(body, random);
      const { mesh, left } = mend(broken, { keep: 'largest' });
      expect(left, `trial ${trial}`).toBe(0);
      expectSound(mesh);
    }
  });
});

/** Holes, doubled and flipped faces, torn and jittered corners, slivers, fins, debris, no shared vertices. */
function breakUp(body: Mesh, random: () => number): Mesh {
  const torn = soup(body);
  const positions = torn.positions.slice();
  const edge = Math.sqrt((4 * Math.PI * 90 * 90) / (body.triangles.length / 3));
  for (let i = 0; i < positions.length; i++) if (random() < 0.04) positions[i] += (random() - 0.5) * 0.2 * edge;
  const triangles: number[] = [];
  for (let f = 0; f < torn.triangles.length; f += 3) {
    const [a, b, c] = torn.triangles.subarray(f, f + 3);
    const dice = random();
    if (dice < 0.04) continue;
    if (dice < 0.08) triangles.push(a, c, b);
    else triangles.push(a, b, c);
    if (dice > 0.97) triangles.push(a, b, c);
    if (dice > 0.95 && dice < 0.96) triangles.push(a, b, b);
  }
  const base = positions.length / 3;
  const extra = [...positions];
  for (let k = 0; k < 4; k++) {
    const corner = Math.floor(random() * base);
    for (let c = 0; c < 2; c++)
      for (let axis = 0; axis < 3; axis++) extra.push(positions[corner * 3 + axis] + (random() - 0.5) * 2 * edge);
    triangles.push(corner, extra.length / 3 - 2, extra.length / 3 - 1);
  }
  return join(
    meshOf(extra, triangles),
    transformMesh(translation([200 * random(), 250, 0]), sphere(2 + 3 * random(), 1)),
  );
}
