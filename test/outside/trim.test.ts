import Module from 'manifold-3d';
import { beforeAll, describe, expect, it } from 'vitest';
import { examine } from '../../electron/geometry/mend/health.ts';
import { areaOf, volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import { roundToSingle } from '../../electron/geometry/mesh/transform.ts';
import { cutFlat } from '../../electron/geometry/offset/cut-flat.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { findOperation } from '../../electron/operations/index.ts';
import { runOperation, type Operation } from '../../electron/operations/operation.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';
import { box, cylinder, ellipsoid, frustum, torus } from '../support/solids.ts';

/** A second implementation of the same cut: the solid-modelling library manifold-3d (Apache-2.0). */
let solids: Awaited<ReturnType<typeof Module>>;
beforeAll(async () => {
  solids = await Module();
  solids.setup();
});

function volumeByLibrary(mesh: Mesh, planes: readonly (readonly number[])[]): number {
  const given = new solids.Mesh({
    numProp: 3,
    vertProperties: Float32Array.from(mesh.positions),
    triVerts: mesh.triangles.slice(),
  });
  let solid = new solids.Manifold(given);
  for (const [px, py, pz, nx, ny, nz] of planes) {
    const size = Math.hypot(nx, ny, nz);
    const normal: Vec3 = [nx / size, ny / size, nz / size];
    solid = solid.trimByPlane(normal, px * normal[0] + py * normal[1] + pz * normal[2]);
  }
  return solid.volume();
}

const SEED = 20_261_125;
const bodies: readonly (readonly [string, Mesh])[] = [
  ['ellipsoid', roundToSingle(ellipsoid(100, 77, 120, 4))],
  ['torus', roundToSingle(torus(60, 25, 96, 48))],
  ['cylinder', roundToSingle(cylinder(40, 120, 96, 4))],
  ['frustum', roundToSingle(frustum(45, 25, 120, 72, 3))],
  ['box', roundToSingle(box(200, 150, 100))],
];

describe.each(bodies)('trim of a %s against a second implementation', (name, body) => {
  const random = seeded(SEED + name.length);
  const near = (): number => 40 * random() - 20;
  const way = (): number => 2 * random() - 1;

  it(`by two planes lying anyhow (seed ${SEED}): sound, and the same volume to 1e-6`, () => {
    for (let trial = 0; trial < 12; trial++) {
      const planes = [0, 1].map(() => [near(), near(), near(), way(), way(), way()]);
      const outcome = runOperation(
        findOperation('trim') as Operation,
        [{ mesh: body, name, fromFile: IDENTITY, unit: 'millimetre' }],
        { planes },
      );
      const expected = volumeByLibrary(body, planes);
      if (!outcome.ok) {
        expect(outcome.fault.code).toBe('mesh.all-trimmed');
        expect(expected).toBeLessThan(1);
        continue;
      }
      const mesh = outcome.value.mesh as Mesh;
      const health = examine(mesh);
      expect(health).toMatchObject({ watertight: true, selfIntersections: 0, degenerateFaces: 0 });
      expect(volumeOf(mesh) / expected).toBeCloseTo(1, 6);
    }
  });

  it.each([
    [0, 0, 1],
    [0, 1, 0],
    [1, 0, 0],
    [1, 1, 0],
    [1, 0, -1],
  ])('by a plane through its middle, and so through vertices: normal %d %d %d', (x, y, z) => {
    const { mesh, cutAreaMm2 } = cutFlat(body, { point: [0, 0, 0], normal: [x, y, z] });
    expect(examine(mesh)).toMatchObject({ watertight: true, selfIntersections: 0, degenerateFaces: 0 });
    const other = cutFlat(body, { point: [0, 0, 0], normal: [-x, -y, -z] });
    const whole = volumeOf(body);
    expect((volumeOf(mesh) + volumeOf(other.mesh)) / whole).toBeCloseTo(1, 6);
    expect(volumeOf(mesh) / volumeByLibrary(body, [[0, 0, 0, x, y, z]])).toBeCloseTo(1, 6);
    // The two halves have the surface of the whole and both caps.
    expect((areaOf(mesh) + areaOf(other.mesh) - cutAreaMm2 - other.cutAreaMm2) / areaOf(body)).toBeCloseTo(1, 5);
  });
});

describe('colours across a cut', () => {
  it('stay where their surface stays, and are mixed along the edges cut', () => {
    const body = roundToSingle(ellipsoid(100, 77, 120, 4));
    // Red grows linearly with z, so that of a new vertex is known wherever it comes to lie.
    const redAt = (z: number): number => 127.5 + z;
    const colours = Uint8Array.from(body.positions, (_, at) =>
      at % 3 === 0 ? Math.round(redAt(body.positions[at + 2])) : 40,
    );
    const { mesh } = cutFlat({ ...body, colours }, { point: [0, 0, 13.37], normal: [0.2, 0, 1] });
    expect(mesh.colours?.length).toBe(mesh.positions.length);
    let rim = 0;
    for (let at = 0; at < mesh.positions.length; at += 3) {
      const [x, , z] = mesh.positions.subarray(at, at + 3);
      if (Math.abs(0.2 * x + z - 13.37) < 1e-3) rim++;
      // Rounding of both ends and of the mixture.
      expect(Math.abs((mesh.colours as Uint8Array)[at] - redAt(z))).toBeLessThanOrEqual(1);
      expect((mesh.colours as Uint8Array)[at + 1]).toBe(40);
    }
    expect(rim).toBeGreaterThan(50);
    const outcome = runOperation(
      findOperation('trim') as Operation,
      [{ mesh: { ...body, colours }, name: 'painted', fromFile: IDENTITY, unit: 'millimetre' }],
      { planes: [[0, 0, 0, 0, 0.3, 1]] },
    );
    expect(outcome.ok && outcome.value.mesh?.colours?.length === outcome.value.mesh?.positions.length).toBe(true);
  });
});
